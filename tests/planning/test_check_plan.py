"""The checker of plans: one small plan worked out by hand, spoiled on purpose for each rule."""

import datetime
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from naptuft.book.model import Book, Lot, LotLength, Material, Order, Part, Product, RouteStep, Settings
from naptuft.brush.blend import FillingTarget, LengthAsked
from naptuft.calculation import Result, Value
from naptuft.planning.check import check_plan
from naptuft.planning.plan import (
    Allocation,
    BlendLine,
    CostLine,
    CutPattern,
    CutPiece,
    DesignOutcome,
    Load,
    OrderOutcome,
    Plan,
    PlannedBlend,
    PlannedCutList,
    PlannedOperation,
    ProfileBar,
    Purchase,
    Quality,
    Serving,
    WorkOrder,
)
from naptuft.plant.calendar import Closure, Shift
from naptuft.plant.work_centre import Changeover, Machine, Rack, WorkCentre
from naptuft.quantity import Measure

ZONE = ZoneInfo("Europe/London")
NONE = Decimal(0)


def at(day: int, clock: str) -> datetime.datetime:
    """A time of the plan's week; day 0 is Monday 30 November."""
    hour, minute = map(int, clock.split(":"))
    return datetime.datetime(2026, 11, 30, hour, minute, tzinfo=ZONE) + datetime.timedelta(days=day)


def wall(day: int, clock: str) -> datetime.datetime:
    return at(day, clock).replace(tzinfo=None)


DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday")


def centre(code: str) -> WorkCentre:
    return WorkCentre(code=code, name=code.lower(), crew="ALL", people=1.0)


def machine(code: str, work_centre: str, speed: float = 1.0) -> Machine:
    return Machine(
        code=code, work_centre=work_centre, name=code, calendar="day", speed=speed, rate_per_hour=Decimal(10)
    )


def changeover(before: str, after: str, minutes: float) -> Changeover:
    return Changeover(work_centre="SET", before=before, after=after, duration=minutes * 60)


def step(product: str, number: int, centre: str, setup: float, each: float | None, **more: Any) -> RouteStep:
    return RouteStep(
        product=product,
        step=number,
        name=f"step {number}",
        work_centre=centre,
        setup=setup * 60,
        time_each=each,
        **more,
    )


BOOK = Book(
    settings=Settings(
        plant="Quillbeck Brush & Nap",
        zone="Europe/London",
        start=datetime.datetime(2026, 11, 30, 6),
        horizon_days=7,
        kerf=0.002,
        end_trim=0.010,
    ),
    shifts=tuple(Shift(calendar="day", weekday=day, opens=360, closes=840) for day in DAYS),
    closures=(Closure(calendar="SPIN-1", start=wall(2, "06:00"), end=wall(2, "10:00")),),
    work_centres=tuple(centre(code) for code in ("MIX", "SET", "WIND", "CUT", "SPIN")),
    machines=(
        machine("MIX-1", "MIX"),
        machine("SET-1", "SET"),
        machine("SET-2", "SET", speed=2.0),
        machine("WIND-1", "WIND"),
        machine("CUT-1", "CUT"),
        machine("SPIN-1", "SPIN"),
    ),
    changeovers=(
        changeover("*", "*", 40),
        changeover("100 mm", "*", 30),
        changeover("*", "63 mm", 25),
        changeover("38 mm", "63 mm", 5),
    ),
    racks=(Rack(code="HANG", name="hanging racks", capacity=3),),
    materials=(
        Material(code="BR57", name="bristle 57", kind="bristle", unit="kg", price_per_unit=Decimal(30)),
        Material(code="BR51", name="bristle 51", kind="bristle", unit="kg", price_per_unit=Decimal(25)),
        Material(
            code="EPOXY",
            name="epoxy",
            kind="adhesive",
            unit="kg",
            price_per_unit=Decimal(8),
            lead_days=0,
            least_order=Measure(5, "kg"),
            order_multiple=Measure(5, "kg"),
        ),
        Material(code="CORE", name="core", kind="core", unit="pcs", price_per_unit=Decimal(1)),
    ),
    lots=(
        Lot(code="L-1", material="BR57", quantity=Measure(1000, "g"), received=datetime.date(2026, 9, 1)),
        Lot(code="L-2", material="BR51", quantity=Measure(2, "kg"), received=datetime.date(2026, 9, 1), curl=0.075),
        Lot(
            code="L-3",
            material="EPOXY",
            quantity=Measure(0.5, "kg"),
            received=datetime.date(2026, 9, 1),
            expires=datetime.date(2026, 12, 1),
        ),
        Lot(code="L-4", material="CORE", quantity=Measure(2), received=datetime.date(2026, 9, 1)),
        Lot(code="L-5", material="FINISHED", quantity=Measure(15), received=datetime.date(2026, 9, 1)),
        Lot(code="L-6", material="CORE", quantity=Measure(9), received=datetime.date(2026, 9, 1), state="held"),
        Lot(
            code="L-7",
            material="CORE",
            quantity=Measure(9),
            received=datetime.date(2026, 9, 1),
            arrives=wall(1, "08:00"),
        ),
    ),
    lot_lengths=(
        LotLength(lot="L-1", length=0.057, share=1.0),
        LotLength(lot="L-2", length=0.052, share=0.6),
        LotLength(lot="L-2", length=0.050, share=0.4),
    ),
    designs={
        "FILLING": FillingTarget(
            profile=(
                LengthAsked(length=0.057, share=0.65, tolerance=0.05),
                LengthAsked(length=0.051, share=0.35, tolerance=0.05),
            ),
            max_lots=2,
            combing_loss=0.0,
            stray=0.0,
        )
    },
    products=(
        Product(code="FILLING", name="filling", line="filling", unit="kg"),
        Product(code="WALL", name="wall brush", line="brush", price_per_unit=Decimal("6.40"), scrap=0.0),
        Product(
            code="SASH",
            name="sash brush",
            line="brush",
            price_per_unit=Decimal(4),
            least_batch=Measure(30),
            most_batch=Measure(40),
        ),
        Product(code="TUBE", name="stock tube", line="stock tube"),
        Product(code="REFILL", name="refill", line="refill", price_per_unit=Decimal(2)),
        Product(code="FINISHED", name="finished before", line="other", price_per_unit=Decimal(1)),
    ),
    parts=(
        Part(product="FILLING", part="BR57", from_design="blend"),
        Part(product="FILLING", part="BR51", from_design="blend"),
        Part(product="WALL", part="FILLING", from_design="fill_weight"),
        Part(product="WALL", part="EPOXY", quantity=Measure(4.5, "g"), loss=0.10),
        Part(product="SASH", part="EPOXY", quantity=Measure(10, "g")),
        Part(product="TUBE", part="CORE", quantity=Measure(1)),
        Part(product="REFILL", part="TUBE", from_design="cut list"),
    ),
    routes=(
        step("FILLING", 10, "MIX", 10, 50),
        step("WALL", 10, "SET", 9, None, from_design="setting_time", family="100 mm", wait=3600, most_wait=36000,
             rack="HANG", per_rack=30),
        step("WALL", 20, "SET", 0, 30),
        step("SASH", 10, "SET", 0, 60, family="63 mm", wait=3600, rack="HANG", per_rack=30),
        step("TUBE", 10, "WIND", 0, 300, wait=480 * 60),
        step("TUBE", 20, "CUT", 0, 120, stage="cut"),
        step("REFILL", 10, "SPIN", 0, 60, pauses=False),
        step("FINISHED", 10, "SPIN", 0, 60),
    ),
    orders=(
        Order(order="S-1", line=1, customer="Harrow Lane", product="WALL", quantity=60, due=wall(0, "12:00")),
        Order(order="S-1", line=2, customer="Harrow Lane", product="REFILL", quantity=20, due=wall(1, "06:00")),
        Order(order="S-2", line=1, customer="Mill Row", product="SASH", quantity=30, due=wall(0, "10:45")),
        Order(order="S-2", line=2, customer="Mill Row", product="FINISHED", quantity=15, due=wall(0, "09:00")),
        Order(order="S-3", line=1, customer="Mill Row", product="FINISHED", quantity=5, due=wall(0, "09:00")),
    ),
)  # fmt: skip


def work_order(number: str, product: str, quantity: float, start: Any, finish: Any, needs: tuple[str, ...], serves: str,
               stage: Any = "make", unit: str = "pcs") -> WorkOrder:  # fmt: skip
    order, line = serves.split("/")
    return WorkOrder(
        number, product, product, "other", stage, quantity, quantity, unit, at(0, "06:00"), finish, start, finish,
        (Serving(order, int(line), quantity),), needs,
    )  # fmt: skip


def operation(number: str, step: int, machine: str, start: Any, end: Any, run: int, quantity: float, **more: Any):
    facts = {"changeover_minutes": 0, "wait_minutes": 0, "family": "", "rack": "", "racks": 0, **more}
    return PlannedOperation(
        work_order=number, step=step, name=f"step {step}", work_centre=machine.split("-")[0], machine=machine, start=start,
        end=end, run_minutes=run, quantity=quantity, unit="pcs", product_line="other", hazard="none", instruction="",
        earliest_start_reason="", **facts,
    )  # fmt: skip


def taking(number: str, material: str, lot: str, quantity: float, unit: str, cost: str = "0", source: Any = "stock"):
    return Allocation(number, material, material, lot, source, quantity, unit, Decimal(cost))


def outcome(
    name: str, product: str, quantity: int, due: Any, finish: Any, state: Any, works: tuple[str, ...], **more: Any
):
    order, line = name.split("/")
    facts: dict[str, Any] = {
        "late_minutes": 0,
        "short_quantity": 0,
        "from_stock": 0,
        "reason": "",
        "cost": NONE,
        **more,
    }
    price = BOOK.product[product].price_per_unit
    return OrderOutcome(
        order=order, line=int(line), customer="", product=product, product_name="", product_line="", quantity=quantity,
        due=due, finish=finish, state=state, work_orders=works, value=price and price * quantity, **facts,
    )  # fmt: skip


def cost(of: Any, name: str, material: str, machine: str) -> CostLine:
    spent = Decimal(material), Decimal(machine)
    return CostLine(of, name, 1.0, "pcs", *spent, NONE, NONE, NONE, NONE, NONE, sum(spent, NONE))


def design(product: str, **figures: float) -> DesignOutcome:
    values = tuple(Value(name, name, value, "") for name, value in figures.items())
    return DesignOutcome(product, product, "other", "by hand", Result(values))


PLAN = Plan(
    plant="Quillbeck Brush & Nap",
    revision="1",
    currency="EUR",
    start=at(0, "06:00"),
    horizon_days=7,
    quality=Quality(24.0, 25, 0.0, "feasible", 10, 1, True),
    orders=(
        outcome("S-1/1", "WALL", 60, at(0, "12:00"), at(0, "08:50"), "on time", ("W-2",), cost=Decimal("55.63")),
        outcome("S-1/2", "REFILL", 20, at(1, "06:00"), at(1, "06:24"), "late", ("W-6",), late_minutes=24,
                reason="waits for the glue of work order W-4 to cure", cost=Decimal("7.67")),
        outcome("S-2/1", "SASH", 30, at(0, "10:45"), at(0, "10:45"), "on time", ("W-3",), cost=Decimal("11.57")),
        outcome("S-2/2", "FINISHED", 15, at(0, "09:00"), at(0, "06:00"), "from stock", (), from_stock=15, cost=NONE),
        outcome("S-3/1", "FINISHED", 5, at(0, "09:00"), None, "short", (), short_quantity=5, reason="none left",
                cost=NONE),
    ),
    work_orders=(
        work_order("W-1", "FILLING", 1.2, at(0, "06:00"), at(0, "06:11"), (), "S-1/1", unit="kg"),
        work_order("W-2", "WALL", 60, at(0, "06:11"), at(0, "08:50"), ("W-1",), "S-1/1"),
        work_order("W-3", "SASH", 30, at(0, "09:15"), at(0, "10:45"), (), "S-2/1"),
        work_order("W-4", "TUBE", 2, at(0, "06:00"), at(0, "14:10"), (), "S-1/2"),
        work_order("W-5", "TUBE", 2, at(1, "06:00"), at(1, "06:04"), ("W-4",), "S-1/2", stage="cut"),
        replace(work_order("W-6", "REFILL", 20, at(1, "06:04"), at(1, "06:24"), ("W-5",), "S-1/2"), due=at(1, "06:00")),
    ),
    operations=(
        operation("W-1", 10, "MIX-1", at(0, "06:00"), at(0, "06:11"), 11, 1.2),
        operation("W-2", 10, "SET-1", at(0, "06:11"), at(0, "07:20"), 69, 60, family="100 mm", wait_minutes=60, rack="HANG",
                  racks=2),
        operation("W-2", 20, "SET-1", at(0, "08:20"), at(0, "08:50"), 30, 60),
        operation("W-3", 10, "SET-1", at(0, "09:15"), at(0, "09:45"), 30, 30, family="63 mm", changeover_minutes=25,
                  wait_minutes=60, rack="HANG", racks=1),
        operation("W-4", 10, "WIND-1", at(0, "06:00"), at(0, "06:10"), 10, 2, wait_minutes=480),
        operation("W-5", 20, "CUT-1", at(1, "06:00"), at(1, "06:04"), 4, 2),
        operation("W-6", 10, "SPIN-1", at(1, "06:04"), at(1, "06:24"), 20, 20),
    ),
    allocations=(
        taking("W-1", "BR57", "L-1", 0.83, "kg", "24.90"),
        taking("W-1", "BR51", "L-2", 400, "g", "10.00"),
        taking("W-2", "FILLING", "W-1", 1.2, "kg", source="made"),
        taking("W-2", "EPOXY", "L-3", 0.3, "kg", "2.40"),
        taking("W-3", "EPOXY", "P-1", 0.3, "kg", "2.40", source="purchase"),
        taking("W-4", "CORE", "L-4", 2, "pcs", "2.00"),
        taking("W-5", "TUBE", "W-4", 2, "pcs", source="made"),
        taking("W-6", "TUBE", "W-5", 20, "pcs", source="made"),
        taking("S-2/2", "FINISHED", "L-5", 15, "pcs"),
    ),
    blends=(
        PlannedBlend(
            "W-1", "FILLING", (BlendLine("L-1", "BR57", 830.0), BlendLine("L-2", "BR51", 400.0)), 1200.0, 30.0,
            (ProfileBar(57.0, 0.65, 0.05, 0.6917), ProfileBar(51.0, 0.35, 0.05, 0.3083)), Decimal("34.90"), True,
            Decimal("34.90"),
        ),
    ),
    cut_lists=(
        PlannedCutList(
            "W-5", "tube", "TUBE", "", 2000.0, 2.0, 10.0, (CutPattern((CutPiece("W-6", "REFILL", 190.0, 10),), 2, 60.0),),
            2, 2, True, 120.0, 0.95,
        ),
    ),
    purchases=(
        Purchase("P-1", "EPOXY", "epoxy", 5.0, "kg", datetime.date(2026, 11, 30), at(0, "06:30"), Decimal(40), 0.3, ("S-2/1",)),
    ),
    designs=(
        design("WALL", fill_weight=0.020, setting_time=60.0), design("TUBE", core_length=2.0), design("REFILL", length=0.190),
    ),
    costs=(
        cost("work order", "W-1", "34.90", "1.83"), cost("work order", "W-2", "2.40", "16.50"),
        cost("work order", "W-3", "2.40", "9.17"), cost("work order", "W-4", "2.00", "1.67"),
        cost("work order", "W-5", "0", "0.67"), cost("work order", "W-6", "0", "3.33"),
        cost("order", "S-1/1", "37.30", "18.33"), cost("order", "S-1/2", "2.00", "5.67"),
        cost("order", "S-2/1", "2.40", "9.17"), cost("order", "S-2/2", "0", "0"), cost("order", "S-3/1", "0", "0"),
    ),
    loads=(Load("SET", "set", 2, 4800, 129, 25),),
    checks=(),
)  # fmt: skip

Spoil = Callable[[Plan], Plan]


def swap(group: str, place: int, **changes: Any) -> Spoil:
    """Change one entry of one part of the plan."""

    def spoil(plan: Plan) -> Plan:
        entries = list(getattr(plan, group))
        entries[place] = replace(entries[place], **changes)
        return replace(plan, **{group: tuple(entries)})

    return spoil


def drop(group: str, place: int) -> Spoil:
    def spoil(plan: Plan) -> Plan:
        entries = list(getattr(plan, group))
        del entries[place]
        return replace(plan, **{group: tuple(entries)})

    return spoil


def both(*spoils: Spoil) -> Spoil:
    def spoil(plan: Plan) -> Plan:
        for one in spoils:
            plan = one(plan)
        return plan

    return spoil


def blend_bars(*bars: ProfileBar) -> Spoil:
    return swap("blends", 0, profile=bars)


def pattern(**changes: Any) -> Spoil:
    return swap("cut_lists", 0, patterns=(replace(PLAN.cut_lists[0].patterns[0], **changes),))


def test_the_plan_worked_out_by_hand_is_clean():
    assert check_plan(BOOK, PLAN) == ()


FLOOR: list[tuple[str, Spoil]] = [
    ("start of the plan", lambda plan: replace(plan, start=at(0, "06:01"))),
    ("horizon", lambda plan: replace(plan, horizon_days=8)),
    ("one number each", lambda plan: replace(plan, work_orders=(*plan.work_orders, plan.work_orders[0]))),
    ("known product", swap("work_orders", 0, product="NOTHING")),
    ("known work order", swap("operations", 0, work_order="W-99")),
    ("size of the work order", swap("work_orders", 1, started=59)),
    ("size of the work order", swap("work_orders", 2, quantity=29, started=29)),
    ("size of the work order", swap("work_orders", 2, quantity=41, started=41)),
    ("size of the work order", swap("work_orders", 2, serves=(Serving("S-2", 1, 31),))),
    ("figures of the plan", swap("loads", 0, run_minutes=128)),
    ("figures of the plan", swap("loads", 0, open_minutes=4799)),
    ("whole route", drop("operations", 2)),
    ("whole route", swap("operations", 2, step=30)),
    ("whole route", lambda plan: replace(plan, operations=(*plan.operations, plan.operations[2]))),
    ("times of the work order", swap("work_orders", 1, start=at(0, "06:12"))),
    ("times of the work order", swap("work_orders", 1, finish=at(0, "08:49"))),
    ("order of the steps", swap("operations", 2, start=at(0, "07:10"), end=at(0, "07:40"))),
    ("least wait", swap("operations", 2, start=at(0, "08:19"), end=at(0, "08:49"))),
    ("least wait", swap("operations", 1, wait_minutes=59)),
    ("most wait", swap("operations", 2, start=at(1, "08:20"), end=at(1, "08:50"))),
    ("release", swap("work_orders", 1, release=at(0, "06:12"))),
    ("needed work orders", swap("work_orders", 1, needs=("W-1", "W-99"))),
    ("needed work orders", swap("operations", 1, start=at(0, "06:10"), end=at(0, "07:19"))),
    ("needed work orders", swap("work_orders", 1, needs=())),
    ("not before the start", swap("operations", 0, start=at(0, "05:59"), end=at(0, "06:10"))),
    ("right machine", swap("operations", 0, machine="MIX-9")),
    ("right machine", swap("operations", 0, machine="SPIN-1")),
    ("right machine", swap("operations", 0, work_centre="SPIN")),
    ("right family", swap("operations", 3, family="38 mm")),
    ("quantity of the operation", swap("operations", 3, quantity=29)),
    ("right duration", swap("operations", 3, run_minutes=29, end=at(0, "09:44"))),
    ("right duration", swap("operations", 3, end=at(0, "09:46"))),
    ("right duration", swap("operations", 3, machine="SET-2")),
    ("right duration", lambda plan: replace(plan, designs=plan.designs[1:])),
    ("open time", swap("operations", 6, start=at(0, "13:50"), end=at(1, "06:10"))),
    ("open time", swap("operations", 6, start=at(2, "06:04"), end=at(2, "06:24"))),
    ("open time", swap("operations", 5, start=at(0, "14:10"), end=at(1, "06:04"))),
    ("open time", swap("operations", 5, start=at(0, "13:56"), end=at(0, "14:02"))),
    ("one at a time", swap("operations", 3, start=at(0, "09:14"), end=at(0, "09:44"))),
    ("one at a time", swap("operations", 3, start=at(0, "08:30"), end=at(0, "09:00"))),
    ("right changeover", swap("operations", 3, changeover_minutes=30)),
    ("right changeover", swap("operations", 1, changeover_minutes=5)),
    ("racks taken", swap("operations", 1, racks=1)),
    ("racks taken", swap("operations", 1, rack="")),
    ("rack capacity", swap("operations", 3, start=at(0, "08:19"), end=at(0, "08:49"), machine="SET-2", quantity=60.0)),
]

STOCK: list[tuple[str, Spoil]] = [
    ("known work order", swap("allocations", 0, work_order="W-99")),
    ("known lot", swap("allocations", 0, lot="L-99")),
    ("known lot", swap("allocations", 4, lot="P-99")),
    ("known lot", swap("allocations", 2, lot="W-99")),
    ("right material", swap("allocations", 5, lot="L-3")),
    ("right material", swap("allocations", 2, lot="W-4")),
    ("no held lot", swap("allocations", 5, lot="L-6")),
    ("material is there", swap("allocations", 5, lot="L-7")),
    ("material is there", swap("purchases", 0, arrives=at(0, "09:16"))),
    ("material is there", swap("operations", 0, start=at(0, "06:05"), end=at(0, "06:16"))),
    (
        "before its last day",
        both(
            swap("operations", 1, start=at(2, "06:11"), end=at(2, "07:20")),
            swap("operations", 2, start=at(2, "08:20"), end=at(2, "08:50")),
        ),
    ),
    ("lot not over-drawn", swap("allocations", 0, quantity=1.001)),
    ("lot not over-drawn", swap("allocations", 5, quantity=-2)),
    ("goods from stock", swap("orders", 3, from_stock=16)),
    ("goods from stock", drop("allocations", 8)),
    ("lot not over-drawn", both(swap("orders", 3, from_stock=16), swap("allocations", 8, quantity=16))),
    ("known lot", swap("allocations", 8, lot="W-6", source="made")),
    ("right material", swap("allocations", 8, material="CORE", lot="L-4", quantity=1)),
    ("lot not over-drawn", swap("allocations", 4, quantity=5.1)),
    ("purchase can be had", swap("purchases", 0, material="CORE")),
    ("purchase can be had", swap("purchases", 0, quantity=4)),
    ("purchase can be had", swap("purchases", 0, quantity=7)),
    ("purchase can be had", swap("purchases", 0, order_by=datetime.date(2026, 11, 29))),
    ("purchase can be had", swap("purchases", 0, order_by=datetime.date(2026, 12, 1))),
    ("made in full", swap("allocations", 2, quantity=1.3)),
    ("made in full", swap("work_orders", 1, serves=(Serving("S-1", 1, 61),))),
    ("part in full", drop("allocations", 3)),
    ("part in full", swap("allocations", 3, quantity=0.299)),
    ("part in full", swap("allocations", 6, quantity=1)),
    ("part in full", swap("allocations", 3, material="CORE", lot="L-4", quantity=1, unit="pcs")),
    ("no more than needed", swap("allocations", 3, quantity=0.31)),
    ("no more than needed", swap("allocations", 6, quantity=3)),
]

LAID_OUT: list[tuple[str, Spoil]] = [
    ("blend for each filling", drop("blends", 0)),
    ("known work order", swap("blends", 0, work_order="W-99")),
    ("grams balance", swap("blends", 0, combings_grams=29.0)),
    ("grams balance", swap("blends", 0, wanted_grams=1190.0, combings_grams=40.0)),
    ("grams balance", swap("blends", 0, wanted_grams=1231.0, combings_grams=-1.0)),
    ("right material", swap("blends", 0, lots=(BlendLine("L-1", "BR57", 830.0), BlendLine("L-4", "CORE", 400.0)))),
    ("blend and takings agree", swap("blends", 0, lots=(BlendLine("L-1", "BR57", 1230.0),))),
    ("blend and takings agree", swap("allocations", 1, quantity=390)),
    ("length profile", blend_bars(ProfileBar(57.0, 0.65, 0.05, 0.71), ProfileBar(51.0, 0.35, 0.05, 0.29))),
    ("length profile", blend_bars(ProfileBar(57.0, 0.65, 0.05, 0.67), ProfileBar(51.0, 0.35, 0.05, 0.31))),
    ("length profile", blend_bars(ProfileBar(57.0, 0.66, 0.05, 0.6917), ProfileBar(51.0, 0.34, 0.05, 0.3083))),
    ("length profile", blend_bars(ProfileBar(57.0, 0.65, 0.05, 0.68), ProfileBar(51.0, 0.35, 0.05, 0.32))),
    ("lots in a blend", swap("blends", 0, lots=(*PLAN.blends[0].lots, BlendLine("L-2", "BR51", 0.0)))),
    (
        "grams balance",
        both(
            swap("blends", 0, lots=(BlendLine("L-1", "BR57", 900.0), BlendLine("L-2", "BR51", 330.0))),
            swap("allocations", 0, quantity=0.90),
            swap("allocations", 1, quantity=330),
        ),
    ),
    ("cut list for each cutting", drop("cut_lists", 0)),
    ("known work order", swap("cut_lists", 0, work_order="W-99")),
    ("pieces in full", pattern(pieces=(CutPiece("W-6", "REFILL", 190.0, 9),), offcut_mm=252.0)),
    ("stock pieces counted", swap("cut_lists", 0, rolls=3)),
    ("stock pieces counted", pattern(count=3)),
    ("optimal means proven", swap("cut_lists", 0, lower_bound=1)),
    ("lengths balance", pattern(pieces=(CutPiece("W-6", "REFILL", 190.0, 11),))),
    ("lengths balance", pattern(offcut_mm=62.0)),
    ("lengths balance", swap("cut_lists", 0, offcut_mm=121.0)),
    ("lengths balance", swap("cut_lists", 0, kerf_mm=1.0)),
    ("lengths balance", swap("cut_lists", 0, end_trim_mm=9.0)),
    ("lengths balance", swap("cut_lists", 0, stock_length_mm=2010.0)),
    ("lengths balance", pattern(pieces=(CutPiece("W-6", "REFILL", 191.0, 10),), offcut_mm=50.0)),
    ("known work order", pattern(pieces=(CutPiece("W-9", "REFILL", 190.0, 10),))),
]

ANSWER: list[tuple[str, Spoil]] = [
    ("every order answered", drop("orders", 0)),
    ("every order answered", swap("orders", 0, order="S-9")),
    ("every order answered", swap("orders", 0, quantity=59)),
    ("every order answered", swap("orders", 0, due=at(0, "13:00"))),
    ("order and work agree", swap("orders", 0, work_orders=("W-3",))),
    ("short quantity", swap("orders", 4, short_quantity=4)),
    ("short quantity", swap("work_orders", 1, serves=(Serving("S-1", 1, 50),))),
    ("finish of the order", swap("orders", 0, finish=at(0, "08:49"))),
    ("finish of the order", swap("orders", 0, finish=None)),
    ("finish of the order", swap("orders", 4, finish=at(0, "08:49"))),
    ("minutes late", swap("orders", 1, late_minutes=23)),
    ("state of the order", swap("orders", 1, state="on time")),
    ("state of the order", swap("orders", 3, state="on time")),
    ("reason given", swap("orders", 1, reason="")),
    ("figures of the plan", lambda plan: replace(plan, quality=replace(plan.quality, changeover_minutes=24))),
    ("figures of the plan", lambda plan: replace(plan, quality=replace(plan.quality, weighted_late_minutes=23.0))),
    ("optimal means proven", lambda plan: replace(plan, quality=replace(plan.quality, bound=25.0))),
    ("optimal means proven", lambda plan: replace(plan, quality=replace(plan.quality, status="optimal"))),
    ("costs add up", swap("costs", 0, total=Decimal("36.91"))),
    ("costs add up", drop("costs", 0)),
    ("costs add up", swap("purchases", 0, cost=Decimal(41))),
    ("costs add up", swap("allocations", 2, cost=Decimal(1))),
    ("costs add up", lambda plan: replace(plan, costs=(*plan.costs, plan.costs[0]))),
    ("costs add up", swap("allocations", 3, cost=Decimal("2.50"))),
    ("costs add up", swap("orders", 0, cost=Decimal("2.01"))),
    ("costs add up", swap("costs", 3, machine=Decimal("3.67"), total=Decimal("5.67"))),
    (
        "costs add up",
        both(
            swap("costs", 6, machine=Decimal("28.33"), total=Decimal("65.63")), swap("orders", 0, cost=Decimal("65.63"))
        ),
    ),
    ("costs add up", swap("orders", 0, value=Decimal("1.00"))),
]


@pytest.mark.parametrize(("rule", "spoil"), [*FLOOR, *STOCK, *LAID_OUT, *ANSWER])
def test_a_plan_spoiled_on_purpose_is_found_out(rule: str, spoil: Spoil):
    found = {finding.rule for finding in check_plan(BOOK, spoil(PLAN))}
    assert rule in found


def test_only_the_rule_that_is_broken_is_named():
    for spoil, rule in (
        (swap("operations", 3, changeover_minutes=24), {"right changeover", "figures of the plan", "costs add up"}),
        (swap("allocations", 3, quantity=0.31), {"no more than needed", "costs add up"}),
        (swap("costs", 0, total=Decimal(37)), {"costs add up"}),
    ):
        assert {finding.rule for finding in check_plan(BOOK, spoil(PLAN))} == rule


def test_the_more_particular_changeover_wins():
    """Old and new named, then the new, then the old, then neither."""
    for families, minutes in ((("100 mm", "63 mm"), 25), (("100 mm", "38 mm"), 30), (("38 mm", "50 mm"), 40)):
        old, new = families
        routes = tuple(
            replace(step, family=old) if step.product == "WALL" and step.step == 10
            else replace(step, family=new) if step.product == "SASH" else step
            for step in BOOK.routes
        )  # fmt: skip
        plan = both(swap("operations", 1, family=old), swap("operations", 3, family=new, changeover_minutes=minutes))(
            PLAN
        )
        found = {finding.rule for finding in check_plan(replace(BOOK, routes=routes), plan)}
        assert "right changeover" not in found


def test_work_may_go_on_after_the_night():
    """A pausing step of eleven minutes from 13:55 on Monday ends at 06:06 on Tuesday."""
    plan = swap("operations", 0, start=at(0, "13:55"), end=at(1, "06:06"))(PLAN)
    assert {"open time", "right duration"}.isdisjoint(finding.rule for finding in check_plan(BOOK, plan))


def test_the_clock_going_back_makes_a_shift_an_hour_longer():
    """Europe/London leaves summer time on Sunday 2026-10-25 at 01:00 UTC (tz database, EU rule)."""
    start = datetime.datetime(2026, 10, 24, 22, tzinfo=ZONE)
    shifts = (
        Shift(calendar="day", weekday="Saturday", opens=22 * 60, closes=24 * 60),
        Shift(calendar="day", weekday="Sunday", opens=0, closes=6 * 60),
    )
    settings = replace(BOOK.settings, start=start.replace(tzinfo=None))
    order = Order(
        order="S-3",
        line=1,
        customer="Mill Row",
        product="FINISHED",
        quantity=540,
        due=datetime.datetime(2026, 10, 25, 6),
    )
    book = replace(BOOK, settings=settings, shifts=shifts, closures=(), orders=(order,), lots=())
    finish = datetime.datetime(2026, 10, 25, 6, tzinfo=ZONE)
    work = work_order("W-1", "FINISHED", 540, start, finish, (), "S-3/1")
    plan = replace(
        PLAN,
        start=start,
        quality=replace(PLAN.quality, weighted_late_minutes=0.0, changeover_minutes=0),
        orders=(outcome("S-3/1", "FINISHED", 540, finish, finish, "on time", ("W-1",), cost=Decimal(90)),),
        work_orders=(replace(work, release=start),),
        operations=(operation("W-1", 10, "SPIN-1", start, finish, 540, 540),),
        allocations=(),
        blends=(),
        cut_lists=(),
        purchases=(),
        loads=(),
        costs=(cost("work order", "W-1", "0", "90"), cost("order", "S-3/1", "0", "90")),
    )
    assert check_plan(book, plan) == ()
    early = replace(plan.operations[0], end=finish - datetime.timedelta(hours=1))
    assert "right duration" in {finding.rule for finding in check_plan(book, replace(plan, operations=(early,)))}


def test_findings_are_words_a_planner_understands():
    finding = next(f for f in check_plan(BOOK, swap("allocations", 5, lot="L-6")(PLAN)) if f.rule == "no held lot")
    assert finding.place == "work order W-4, CORE from L-6"
    assert finding.message == "the lot is held"


def test_whole_bundles_may_mix_more_than_is_asked_but_no_more_than_the_surplus():
    design = BOOK.designs["FILLING"]
    order = both(
        swap("work_orders", 0, started=1.1, quantity=1.1),
        swap("operations", 0, quantity=1.1),
    )(PLAN)
    balance = "grams balance"
    assert balance in {f.rule for f in check_plan(BOOK, order)}
    for surplus, found in ((0.10, False), (0.05, True)):
        book = replace(BOOK, designs={"FILLING": replace(design, bundles="whole", surplus=surplus)})
        assert (balance in {f.rule for f in check_plan(book, order)}) is found


def test_a_blend_asked_dry_is_weighed_dry():
    """1,200 g asked at 10 % of water is 1,080 g dry: lots with 10 % of water give it, dry lots too much."""
    design = replace(BOOK.designs["FILLING"], moisture=0.10)
    for moisture, found in ((0.10, False), (0.0, True)):
        lots = tuple(replace(lot, moisture=moisture) if lot.material.startswith("BR") else lot for lot in BOOK.lots)
        book = replace(BOOK, designs={"FILLING": design}, lots=lots)
        assert ("grams balance" in {f.rule for f in check_plan(book, PLAN)}) is found
