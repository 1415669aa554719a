"""Preferred machines, overtime and aims of a book: obeyed by the plan, paid for, and worked out again by the checker."""

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest

from naptuft.book.model import Book
from naptuft.errors import DesignError
from naptuft.planning.answered import answered
from naptuft.planning.check import check_figures, check_plan
from naptuft.planning.problem import Aims, Job, Machine, Mode, Operation, Problem
from naptuft.planning.replan import Happening, replan
from naptuft.planning.schedule import read_instance, schedule
from naptuft.planning.tied import keeps_ties
from naptuft.planning.trade import trade
from naptuft.planning.weeks import plan_weeks
from naptuft.plant.calendar import WEEKDAYS, Shift
from naptuft.plant.spread import WorkSpread
from naptuft.quantity import Measure
from naptuft.services.plans import costed_and_checked as costed
from small_plants import after, scraper_plant


def plant(**settings: object) -> Book:
    """The scraper plant with two hours of overtime after each shift of its one bench; pressing is quick."""
    book = scraper_plant()
    overtime = tuple(Shift(calendar="day", weekday=day, opens=1080, closes=1200, overtime=True) for day in WEEKDAYS[:5])
    machines = tuple(machine for machine in book.machines if machine.code != "B-2")
    orders = tuple(replace(order, quantity=4500, due=after(1.6)) for order in book.orders)
    lots = tuple(replace(lot, quantity=replace(lot.quantity, number=lot.quantity.number * 10)) for lot in book.lots)
    return replace(
        book,
        shifts=(*book.shifts, *overtime),
        machines=machines,
        orders=orders,
        lots=lots,
        settings=replace(book.settings, **settings),
    )


def overtime_minutes(plan) -> int:
    return sum(operation.overtime_minutes for operation in plan.operations)


def test_work_goes_on_in_overtime_and_is_paid_for_it():
    book = plant()
    plan = costed(book, plan_weeks(book, effort=100))
    assert overtime_minutes(plan) > 0
    assert check_plan(book, plan) == ()
    usual = replace(book, settings=replace(book.settings, overtime_pay=1.0))
    dearer = sum(line.labour + line.scrap for line in plan.costs if line.of == "work order")
    cheaper = sum(line.labour + line.scrap for line in costed(usual, plan).costs if line.of == "work order")
    assert dearer - cheaper == pytest.approx(
        Decimal(overtime_minutes(plan)) / 60 * 20 * Decimal("0.5"), abs=Decimal("0.02")
    )


def test_overtime_said_wrong_is_found():
    book = plant()
    plan = costed(book, plan_weeks(book, effort=100))
    wrong = replace(
        plan, operations=tuple(replace(o, overtime_minutes=o.overtime_minutes + 7) for o in plan.operations)
    )
    rules = {finding.rule for finding in check_plan(book, wrong)}
    assert {"overtime", "costs add up"} <= rules


def test_the_preferred_machine_is_used_where_nothing_is_late():
    book = scraper_plant()
    for preferred in ("B-1", "B-2"):
        routes = tuple(replace(s, preferred=preferred) if s.work_centre == "BENCH" else s for s in book.routes)
        plan = plan_weeks(replace(book, routes=routes), effort=200)
        assert {o.machine for o in plan.operations if o.work_centre == "BENCH"} == {preferred}
    machines = tuple(replace(m, penalty=1200.0) if m.code == "B-1" else m for m in book.machines)
    plan = plan_weeks(replace(book, machines=machines), effort=200)
    assert {o.machine for o in plan.operations if o.work_centre == "BENCH"} == {"B-2"}


DAYS = tuple((1440 * day, 1440 * day + 600) for day in range(30))
OVER = tuple((1440 * day + 480, 1440 * day + 600) for day in range(30))
AIMS = [Aims(), Aims(overtime=3), Aims(waiting=0.5), Aims(2, 0.25, 10.0)]


@pytest.mark.parametrize("aims", AIMS)
def test_the_checker_works_the_figures_out_again(aims):
    def steps(number: int) -> tuple[Operation, ...]:
        both = (Mode(0, 90 + number), Mode(1, 100 + number, penalty=25))
        return Operation(both, "ab"[number % 2], pauses=True), Operation((Mode(2, 60),), min_wait=10, pauses=True)

    changes = {0: {("a", "b"): 30, ("b", "a"): 15}}
    machines = tuple(Machine(name, DAYS, overtime=OVER) for name in ("M1", "M2", "M3"))
    jobs = tuple(Job(f"J{k}", steps(k), due=200 + 90 * k, weight=1.0 + k % 3) for k in range(8))
    problem = Problem(machines, jobs, changeovers=changes, aims=aims)
    plan = schedule(problem, effort=300)
    assert check_figures(problem, plan) == ()
    late, rest = plan.objective
    assert check_figures(problem, replace(plan, objective=(late + 1, rest)))[0].place == "figure 1"
    assert check_figures(problem, replace(plan, objective=(late, rest + 1)))[0].place == "figure 2"


def test_the_scheduling_format_holds_penalties_overtime_and_aims():
    problem = read_instance(
        {
            "machines": [{"name": "press", "open": [[0, 600]], "overtime": [[480, 600]]}],
            "jobs": [{"name": "A", "operations": [{"modes": [{"machine": "press", "duration": 5, "penalty": 12}]}]}],
            "objective": "weighted_tardiness_then_changeover",
            "aims": {"overtime": 2, "waiting": 0.5, "late": 100},
        }
    )
    assert problem.machines[0].overtime == ((480, 600),)
    assert problem.jobs[0].operations[0].modes[0].penalty == 12
    assert problem.aims == Aims(2, 0.5, 100.0)
    assert read_instance({"machines": [], "jobs": [], "objective": "makespan"}).aims == Aims()


def hurried(hours: float = 2.0, **changes: object) -> Book:
    """The scraper plant whose blades must be riveted within a time of being pressed."""
    book = scraper_plant()
    products = tuple(replace(p, use_within=3600 * hours) if p.code == "BLADE" else p for p in book.products)
    orders = tuple(
        replace(book.orders[0], order=f"S-{k}", quantity=quantity, due=after(due))
        for k, (quantity, due) in enumerate(((600, 3), (400, 3), (500, 9), (300, 9)))
    )
    return replace(book, products=products, orders=orders, **changes)


def test_what_must_be_used_in_time_is_made_for_one_work_order_and_used_in_time():
    most = tuple(replace(p, most_batch=Measure(350)) if p.code == "SCRAPER" else p for p in hurried().products)
    book = replace(hurried(), products=most)
    plan = costed(book, plan_weeks(book, effort=300))
    assert plan.checks == ()
    made = [a for a in plan.allocations if a.source == "made"]
    assert len(made) > 3
    assert len({a.lot for a in made}) == len({a.work_order for a in made}) == len(made)
    begins = {order.number: order.start for order in plan.work_orders}
    ends = {order.number: order.finish for order in plan.work_orders}
    assert all(begins[a.work_order] - ends[a.lot] <= datetime.timedelta(hours=2) for a in made)
    assert all(begins[a.work_order] >= ends[a.lot] for a in made)


def test_the_batch_is_no_larger_than_what_is_made_at_once_of_a_part_used_in_time():
    book = hurried()
    products = tuple(replace(p, most_batch=Measure(250)) if p.code == "BLADE" else p for p in book.products)
    plan = plan_weeks(replace(book, products=products), effort=100)
    assert max(order.quantity for order in plan.work_orders) <= 250
    too_few = tuple(replace(p, least_batch=Measure(300)) if p.code == "SCRAPER" else p for p in products)
    with pytest.raises(DesignError, match="at most 250 at once"):
        plan_weeks(replace(book, products=too_few), effort=100)


def test_a_plan_that_uses_too_late_is_found():
    book = hurried(hours=0.5)
    plan = costed(book, plan_weeks(book, effort=300))
    assert plan.checks == ()
    late = datetime.timedelta(minutes=45)
    moved = replace(
        plan,
        work_orders=tuple(
            replace(o, start=o.start + late, finish=o.finish + late) if o.product == "SCRAPER" else o
            for o in plan.work_orders
        ),
        operations=tuple(
            replace(o, start=o.start + late, end=o.end + late) if o.work_centre == "BENCH" else o
            for o in plan.operations
        ),
    )
    assert "use in time" in {finding.rule for finding in check_plan(book, moved)}


def test_a_plan_for_the_floor_and_every_emphasis_of_a_trade_use_it_in_time_too():
    scatter = tuple(
        WorkSpread(work_centre=code, of="time", form="triangular", least=0.9, likely=1.0, most=1.6)
        for code in ("PRESS", "BENCH")
    )
    book = hurried(work_spreads=scatter)
    plan = costed(book, plan_weeks(book, effort=2000, expected=True))
    assert plan.checks == ()
    timing = answered(book, plan).timing
    assert timing.ties
    for point in trade(book, plan, effort=200):
        assert keeps_ties(timing.problem, timing.ties, point.schedule.placements)


def test_when_the_benches_stop_what_must_be_used_in_time_is_made_later_too():
    book = hurried()
    plan = plan_weeks(book, effort=300)
    press = next(operation for operation in plan.operations if operation.name == "press")
    at = (plan.start + datetime.timedelta(hours=1)).replace(tzinfo=None)
    until = press.start.replace(tzinfo=None) + datetime.timedelta(days=2)
    stops = tuple(Happening(kind="machine down", machine=name, until=until) for name in ("B-1", "B-2"))

    changed = replan(book, plan, at, stops, effort=200)

    assert costed(changed.book, changed.plan).checks == ()
    again = {operation.name: operation for operation in changed.plan.operations}
    assert again["rivet"].start >= press.start + datetime.timedelta(days=2)
    assert again["rivet"].start - again["press"].end <= datetime.timedelta(hours=2)
