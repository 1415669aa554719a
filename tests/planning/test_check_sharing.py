"""A book with few people, an oven that takes several work orders and work handed on in batches: planned so, and a
plan of another book found out."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from naptuft.book.model import Book, Order, Product, RouteStep
from naptuft.planning.check.floor import check_floor
from naptuft.planning.plan import Finding, Plan
from naptuft.planning.weeks import plan_weeks
from naptuft.plant.calendar import WEEKDAYS, Shift
from naptuft.plant.work_centre import Machine, WorkCentre
from small_plants import after, scraper_plant

PLANT = scraper_plant()
KINDS = ("KNIFE", "HOOK", "COMB")


def three_kinds(*steps: RouteStep, **changes: object) -> Book:
    """A plant that makes three products alike, each by the same steps, one order of each."""
    return replace(
        PLANT,
        products=tuple(Product(code=kind, name=kind.lower(), line="other") for kind in KINDS),
        parts=(),
        routes=tuple(replace(step, product=kind) for kind in KINDS for step in steps),
        orders=tuple(
            Order(order=f"S-{kind}", line=1, customer="Mill Lane", product=kind, quantity=300, due=after(9))
            for kind in KINDS
        ),
        **changes,
    )


def step(number: int, centre: str, **more: object) -> RouteStep:
    return RouteStep(product="", step=number, name=centre.lower(), work_centre=centre, **more)  # type: ignore[arg-type]


def planned(book: Book) -> Plan:
    plan = plan_weeks(book, effort=1)
    assert check_floor(book, plan) == ()
    return plan


def rules(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.rule for finding in findings}


RIVETED = three_kinds(step(10, "BENCH", time_each=12.0))
FEW = replace(RIVETED, crews=(replace(PLANT.crews[0], heads=1),))


def test_two_benches_run_at_once_where_there_are_people_and_in_turn_where_there_are_not():
    both = planned(RIVETED)
    assert both.operations[0].start == both.operations[1].start
    turns = sorted(planned(FEW).operations, key=lambda o: o.start)
    assert all(before.end <= later.start for before, later in pairwise(turns))
    assert "crew all hands: too few free" in turns[1].earliest_start_reason


def test_a_plan_that_needs_more_people_than_there_are_is_found_out():
    assert rules(check_floor(FEW, planned(RIVETED))) == {"crew"}


def test_a_crew_with_its_own_hours_keeps_them():
    mornings = tuple(Shift(calendar="morning", weekday=day, opens=360, closes=600) for day in WEEKDAYS[:5])
    early = replace(RIVETED, shifts=(*RIVETED.shifts, *mornings), crews=(replace(PLANT.crews[0], calendar="morning"),))
    plan = planned(early)
    assert all(operation.start.hour < 10 and operation.end.hour <= 10 for operation in plan.operations)
    overtime = replace(early, crews=PLANT.crews)
    longer = replace(overtime, routes=tuple(replace(s, time_each=60.0) for s in overtime.routes))
    found = check_floor(replace(longer, crews=early.crews), planned(longer))
    assert {"right duration"} <= rules(found)


OVEN = replace(
    three_kinds(step(10, "OVEN", setup=7200.0, time_each=0.0, family="hot", per_load=100, pauses=False)),
    work_centres=(*PLANT.work_centres, WorkCentre(code="OVEN", name="oven", crew="C", people=3.0)),
    machines=(
        *PLANT.machines,
        Machine(code="O-1", work_centre="OVEN", name="oven", calendar="day", rate_per_hour=Decimal(5), takes=6),
    ),
)


def test_work_orders_of_one_family_go_into_the_oven_together_up_to_what_it_takes():
    plan = planned(OVEN)
    starts = [operation.start for operation in plan.operations]
    assert len(starts) == 3
    assert len(set(starts)) == 2


def test_an_oven_is_loaded_by_its_runs_not_by_each_work_order_in_them():
    plan = planned(OVEN)
    load = next(load for load in plan.loads if load.work_centre == "OVEN")
    assert load.run_minutes == 2 * 120
    each = replace(load, run_minutes=3 * 120)
    said = replace(plan, loads=tuple(each if known is load else known for known in plan.loads))
    assert "figures of the plan" in rules(check_floor(OVEN, said))


def test_an_oven_that_is_overfilled_or_mixed_is_found_out():
    plan = planned(OVEN)
    smaller = tuple(replace(m, takes=5) if m.code == "O-1" else m for m in OVEN.machines)
    assert rules(check_floor(replace(OVEN, machines=smaller), plan)) == {"batch capacity"}
    single = tuple(replace(m, takes=None) if m.code == "O-1" else m for m in OVEN.machines)
    assert "one at a time" in rules(check_floor(replace(OVEN, machines=single), plan))


HANDED_ON = three_kinds(
    step(10, "PRESS", setup=600.0, time_each=24.0, transfer=60), step(20, "BENCH", time_each=30.0, wait=300.0)
)


def test_a_step_that_hands_on_in_batches_lets_the_next_start_early():
    plan = planned(HANDED_ON)
    first, second = (
        next(o for o in plan.operations if o.work_order == plan.operations[0].work_order and o.step == n)
        for n in (10, 20)
    )
    assert second.start < first.end
    assert (second.start - first.start).total_seconds() / 60 >= 10 + 24  # setup, then 60 of 300 pieces


def test_work_taken_up_before_it_is_handed_on_is_found_out():
    plan = planned(HANDED_ON)
    whole = replace(HANDED_ON, routes=tuple(replace(s, transfer=None) for s in HANDED_ON.routes))
    assert "order of the steps" in rules(check_floor(whole, plan))
    larger = replace(
        HANDED_ON, routes=tuple(replace(s, transfer=150 if s.transfer else None) for s in HANDED_ON.routes)
    )
    assert rules(check_floor(larger, plan)) == {"transfer batches"}
    assert check_floor(HANDED_ON, planned(larger)) == ()


@pytest.mark.parametrize("few", [FEW, OVEN, HANDED_ON])
def test_every_such_plan_says_why_nothing_starts_earlier(few: Book):
    assert all(operation.earliest_start_reason for operation in planned(few).operations)
