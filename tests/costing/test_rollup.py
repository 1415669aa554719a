"""The cost of small plans, each figure worked by hand in the test."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from naptuft.book.model import Book, Lot, Material, Part, Product, RouteStep, Settings
from naptuft.calculation import Result, Value
from naptuft.costing.margin import order_margins
from naptuft.costing.rollup import FOR_STOCK, cost_plan
from naptuft.planning.plan import (
    Allocation,
    CostLine,
    CutPattern,
    CutPiece,
    DesignOutcome,
    OrderOutcome,
    PlannedCutList,
    PlannedOperation,
    Serving,
    WorkOrder,
)
from naptuft.plant.work_centre import Crew, Machine, WorkCentre
from naptuft.quantity import Measure
from sample_book import sample_book
from sample_plan import ALLOCATIONS, CUT_LISTS, OPERATIONS, sample_designs, sample_orders, sample_work_orders

START = datetime.datetime(2026, 11, 30, 6, tzinfo=ZoneInfo("UTC"))


def money(text: str) -> Decimal:
    """Short for an amount."""
    return Decimal(text)


def book(**more) -> Book:
    """One machine at 20 an hour and 6 kW, two people at 15 an hour, power at 0.25, overhead 10 %."""
    facts = {
        "settings": Settings(
            plant="Quillbeck Brush & Nap",
            start=datetime.datetime(2026, 11, 30, 6),
            energy_price_per_kwh=money("0.25"),
            overhead=0.10,
        ),
        "crews": (Crew(code="C", name="crew", heads=4, wage_per_hour=money("15")),),
        "work_centres": (WorkCentre(code="W", name="place", crew="C", people=2.0),),
        "machines": (
            Machine(code="M", work_centre="W", name="m", calendar="c", rate_per_hour=money("20"), power=6000.0),
        ),
        "materials": (
            Material(
                code="PP",
                name="resin",
                kind="resin",
                unit="kg",
                price_per_unit=money("2"),
                scrap_price_per_unit=money("0.5"),
            ),
        ),
        "products": (
            Product(code="A", name="a", line="handle"),
            Product(code="B", name="b", line="boxed set"),
            Product(code="C", name="c", line="other"),
        ),
        "parts": (Part(product="A", part="PP", quantity=Measure(50, "g")),),
    }
    return Book(**(facts | more))


def work_order(number: str, product: str, quantity: float, started: float, *serves: Serving, **more) -> WorkOrder:
    """A work order with only what costing reads."""
    facts: dict[str, Any] = {"stage": "make", "unit": "pcs"} | more
    return WorkOrder(
        number=number,
        product=product,
        product_name=product,
        product_line="other",
        quantity=quantity,
        started=started,
        release=START,
        due=START,
        start=START,
        finish=START,
        serves=serves,
        needs=(),
        **facts,
    )


def operation(number: str, run: int, changeover: int = 0) -> PlannedOperation:
    """An operation of so many minutes on the one machine."""
    return PlannedOperation(
        work_order=number,
        step=10,
        name="make",
        work_centre="W",
        machine="M",
        start=START,
        end=START + datetime.timedelta(minutes=run),
        run_minutes=run,
        changeover_minutes=changeover,
        wait_minutes=0,
        quantity=1.0,
        unit="pcs",
        family="",
        rack="",
        racks=0,
        product_line="other",
        hazard="none",
        instruction="",
        earliest_start_reason="",
    )


def outcome(name: str, product: str, quantity: int, *numbers: str, **more) -> OrderOutcome:
    """An order line with only what costing reads."""
    facts = {"from_stock": 0, "short_quantity": 0, "value": None} | more
    return OrderOutcome(
        order=name,
        line=1,
        customer="x",
        product=product,
        product_name=product,
        product_line="other",
        quantity=quantity,
        due=START,
        finish=START,
        late_minutes=0,
        state="on time",
        reason="",
        work_orders=numbers,
        cost=Decimal(0),
        **facts,
    )


def taken(
    number: str, material: str, lot: str, source, quantity: float, cost: str = "0", unit: str = "pcs"
) -> Allocation:
    """An allocation."""
    return Allocation(number, material, material, lot, source, quantity, unit, money(cost))


def line(costs: tuple[CostLine, ...], of: str, name: str) -> CostLine:
    """The one cost line of this kind and name."""
    (found,) = [cost for cost in costs if (cost.of, cost.name) == (of, name)]
    return found


def kinds(cost: CostLine) -> tuple[str, ...]:
    """The kinds as text, in the order they are declared."""
    return tuple(
        str(getattr(cost, kind))
        for kind in ("material", "machine", "labour", "energy", "overhead", "scrap", "regrind_credit", "total")
    )


def test_a_work_order_without_loss_costs_material_machine_labour_energy_and_overhead():
    """90 min run + 30 min changeover = 2 h: machine 40, labour 2 x 2 x 15 = 60, energy 1.5 x 6 x 0.25 = 2.25."""
    costs = cost_plan(
        book(),
        (work_order("W-1", "C", 100.0, 100.0, Serving("S", 1, 100.0)),),
        (operation("W-1", 90, 30),),
        (taken("W-1", "PP", "L", "stock", 5.0, "12.50", "kg"),),
        (outcome("S", "C", 100, "W-1"),),
    )
    expected = ("12.50", "40.00", "60.00", "2.25", "10.00", "0.00", "0.00", "124.75")
    assert kinds(line(costs, "work order", "W-1")) == expected
    assert kinds(line(costs, "order", "S/1")) == expected
    assert line(costs, "product", "C").total == money("1.2475")
    assert not [cost for cost in costs if cost.name == FOR_STOCK]


def test_work_orders_in_an_oven_together_share_its_run_by_the_loads_they_fill():
    """One run of 90 min of an oven of 4 loads, 3 of A (250 at 100 a load) and 1 of C: together what one run costs."""
    oven = Machine(
        code="M", work_centre="W", name="oven", calendar="c", rate_per_hour=money("20"), power=6000.0, takes=4
    )
    steps = tuple(
        RouteStep(product=product, step=10, name="bake", work_centre="W", time_each=0.0, per_load=100)
        for product in ("A", "C")
    )
    plant = book(machines=(oven,), routes=steps)
    costs = cost_plan(
        plant,
        (
            work_order("W-1", "A", 250.0, 250.0, Serving("S", 1, 250.0)),
            work_order("W-2", "C", 80.0, 80.0, Serving("T", 1, 80.0)),
        ),
        (replace(operation("W-1", 90, 30), quantity=250.0), replace(operation("W-2", 90), quantity=80.0)),
        (),
        (outcome("S", "A", 250, "W-1"), outcome("T", "C", 80, "W-2")),
    )
    first, second = line(costs, "work order", "W-1"), line(costs, "work order", "W-2")
    assert second.machine == money("7.50")
    assert first.machine == money("32.50")
    assert first.energy + second.energy == money("2.25")
    assert first.labour + second.labour == money("60.00")


def test_the_share_of_lost_units_is_moved_to_scrap_and_nothing_is_added():
    """100 started for 80 good: a fifth of every kind is scrap; 124.75 stays 124.75."""
    costs = cost_plan(
        book(),
        (work_order("W-1", "C", 80.0, 100.0, Serving("S", 1, 80.0)),),
        (operation("W-1", 90, 30),),
        (taken("W-1", "PP", "L", "stock", 5.0, "12.50", "kg"),),
        (outcome("S", "C", 80, "W-1"),),
    )
    assert kinds(line(costs, "work order", "W-1")) == (
        "10.00", "32.00", "48.00", "1.80", "8.00", "24.95", "0.00", "124.75",
    )  # fmt: skip


def test_runners_and_web_earn_the_scrap_price_of_their_material():
    """4 g of runner on each of 1,000 started is 4 kg at 0.50: 2.00 back."""
    design = DesignOutcome("A", "a", "handle", "handle", Result((Value("regrind_mass", "runner", 0.004, "g"),)))
    costs = cost_plan(
        book(),
        (work_order("W-1", "A", 1000.0, 1000.0, Serving("S", 1, 1000.0)),),
        (),
        (taken("W-1", "PP", "P-1", "purchase", 54.0, "108.00", "kg"),),
        (outcome("S", "A", 1000, "W-1"),),
        (design,),
    )
    assert kinds(line(costs, "order", "S/1"))[-2:] == ("-2.00", "106.00")
    assert line(costs, "product", "A").regrind_credit == money("-0.0020")


def test_runners_fed_back_are_not_paid_for_twice():
    """`resin_mass` is what leaves stock after feeding back the runner: material is less already, so no credit."""
    figures = Result((Value("resin_mass", "resin", 0.050, "g"), Value("regrind_mass", "runner", 0.004, "g")))
    part = Part(product="A", part="PP", from_design="resin_mass")
    costs = cost_plan(
        book(parts=(part,)),
        (work_order("W-1", "A", 1000.0, 1000.0, Serving("S", 1, 1000.0)),),
        (),
        (taken("W-1", "PP", "P-1", "purchase", 50.0, "100.00", "kg"),),
        (outcome("S", "A", 1000, "W-1"),),
        (DesignOutcome("A", "a", "handle", "handle", figures),),
    )
    assert kinds(line(costs, "order", "S/1"))[-2:] == ("0.00", "100.00")


def test_a_made_part_costs_the_orders_that_use_it_in_proportion_and_the_rest_is_for_stock():
    """120 of A for 60.00: 40 go into B, 50 straight to an order, 30 to stock: 20.00, 25.00, 15.00."""
    costs = cost_plan(
        book(),
        (
            work_order("W-1", "A", 120.0, 120.0, Serving("S", 1, 40.0), Serving("T", 1, 50.0)),
            work_order("W-2", "B", 20.0, 20.0, Serving("S", 1, 20.0)),
        ),
        (),
        (
            taken("W-1", "PP", "L", "stock", 6.0, "60.00", "kg"),
            taken("W-2", "A", "W-1", "made", 40.0),
            taken("W-2", "BOX", "P", "purchase", 20.0, "7.00"),
        ),
        (outcome("S", "B", 20, "W-2"), outcome("T", "A", 50, "W-1")),
    )
    assert line(costs, "work order", "W-2").total == money("7.00")
    assert line(costs, "order", "S/1").total == money("27.00")
    assert line(costs, "order", "T/1").total == money("25.00")
    assert line(costs, "order", FOR_STOCK).total == money("15.00")
    assert line(costs, "product", "B").total == money("1.3500")
    assert line(costs, "product", "A").total == money("0.5000")


def test_a_filling_counted_in_grams_and_taken_in_kilograms_is_shared_right():
    """2,000 g for 80.00, of which 1.5 kg is taken: 60.00 to the order and 20.00 for stock."""
    costs = cost_plan(
        book(),
        (
            work_order("W-1", "C", 2000.0, 2000.0, Serving("S", 1, 1500.0), unit="g"),
            work_order("W-2", "B", 10.0, 10.0, Serving("S", 1, 10.0)),
        ),
        (),
        (
            taken("W-1", "BR", "L", "stock", 2.0, "80.00", "kg"),
            taken("W-2", "C", "W-1", "made", 1.5, unit="kg"),
        ),
        (outcome("S", "B", 10, "W-2"),),
    )
    assert line(costs, "order", "S/1").total == money("60.00")
    assert line(costs, "order", FOR_STOCK).total == money("20.00")


def test_a_cutting_batch_is_shared_by_length_so_that_offcuts_fall_on_what_was_cut():
    """10 tubes for 90.00 cut to 40 pieces of 240 and 40 of 120: 60.00 and 30.00, though the counts are equal."""
    cut = PlannedCutList(
        "W-2", "tube", "C", "", 1500.0, 2.0, 10.0,
        (CutPattern((CutPiece("W-3", "long", 240.0, 4), CutPiece("W-4", "short", 120.0, 4)), 10, 30.0),),
        10, 10, True, 300.0, 0.96,
    )  # fmt: skip
    costs = cost_plan(
        book(),
        (
            work_order("W-1", "C", 10.0, 10.0, Serving("S", 1, 7.0), Serving("T", 1, 3.0)),
            work_order("W-2", "C", 10.0, 10.0, Serving("S", 1, 40.0), Serving("T", 1, 40.0), stage="cut"),
            work_order("W-3", "A", 40.0, 40.0, Serving("S", 1, 40.0)),
            work_order("W-4", "B", 40.0, 40.0, Serving("T", 1, 40.0)),
        ),
        (),
        (
            taken("W-1", "CORE", "L", "stock", 10.0, "90.00"),
            taken("W-2", "C", "W-1", "made", 10.0),
            taken("W-3", "C", "W-2", "made", 40.0),
            taken("W-4", "C", "W-2", "made", 40.0),
        ),
        (outcome("S", "A", 40, "W-3"), outcome("T", "B", 40, "W-4")),
        cut_lists=(cut,),
    )
    assert line(costs, "order", "S/1").total == money("60.00")
    assert line(costs, "order", "T/1").total == money("30.00")
    assert line(costs, "product", "A").total == money("1.5000")


def test_an_order_from_stock_costs_the_price_of_the_lot():
    """30 at the lot's 0.95 is 28.50, and the product's unit cost is the lot's."""
    lots = (
        Lot(
            code="L-9",
            material="A",
            quantity=Measure(400, "pcs"),
            received=datetime.date(2026, 1, 1),
            price_per_unit=money("0.95"),
        ),
    )
    order = outcome("S", "A", 30, from_stock=30)
    costs = cost_plan(book(lots=lots), (), (), (), (order,))
    assert line(costs, "order", "S/1").total == money("28.50")
    assert line(costs, "product", "A").total == money("0.9500")


def test_lots_named_in_the_allocations_of_an_order_count_before_the_mean_price():
    """Where the plan says which lots serve the order, their money is taken."""
    costs = cost_plan(
        book(), (), (), (taken("S/1", "A", "L-9", "stock", 30.0, "27.00"),), (outcome("S", "A", 30, from_stock=30),)
    )
    assert line(costs, "order", "S/1").total == money("27.00")


def test_a_product_that_cannot_be_made_still_has_its_standard_cost():
    """50 g of resin at 2 a kilogram = 0.10; 36 s at 20 + 30 an hour = 0.50, energy 0.015, overhead 0.05; 5 % lost."""
    product = Product(code="A", name="a", line="handle", scrap=0.05)
    route = RouteStep(product="A", step=10, name="mould", work_centre="W", time_each=36.0)
    costs = cost_plan(
        book(products=(product,), routes=(route,)), (), (), (), (outcome("S", "A", 30, short_quantity=30),)
    )
    cost = line(costs, "product", "A")
    assert kinds(cost) == ("0.1000", "0.2000", "0.3000", "0.0150", "0.0500", "0.0350", "0.0000", "0.7000")
    assert line(costs, "order", "S/1").total == 0


def test_a_dearer_hour_never_makes_the_plan_cheaper():
    """The sample plan with every rate doubled costs more machine money, and no other kind but overhead moves."""
    plain = sample_book()
    dear = replace(
        plain, machines=tuple(replace(machine, rate_per_hour=machine.rate_per_hour * 2) for machine in plain.machines)
    )
    totals = []
    for a_book in (plain, dear):
        costs = cost_plan(
            a_book, sample_work_orders(), OPERATIONS, ALLOCATIONS, sample_orders(), sample_designs(), CUT_LISTS
        )
        own = [cost for cost in costs if cost.of == "work order"]
        totals.append({kind: sum(getattr(c, kind) for c in own) for kind in ("material", "machine", "labour", "total")})
    assert totals[1]["material"] == totals[0]["material"]
    assert totals[1]["labour"] == totals[0]["labour"]
    assert totals[1]["machine"] == pytest.approx(2 * totals[0]["machine"], abs=Decimal("0.01"))
    assert totals[1]["total"] > totals[0]["total"]


def test_the_margin_of_a_line_counts_only_what_is_delivered():
    """600 asked for 3,840 and 480 delivered: 3,072 of value."""
    costs = cost_plan(
        sample_book(), sample_work_orders(), OPERATIONS, ALLOCATIONS, sample_orders(), sample_designs(), CUT_LISTS
    )
    margins = {margin.order: margin for margin in order_margins(sample_orders(), costs)}
    assert margins["S-1002/1"].value == money("3072.00")
    assert margins["S-1002/1"].margin == money("3072.00") - line(costs, "order", "S-1002/1").total
    assert margins["S-1004/1"].margin == money("85.00")
