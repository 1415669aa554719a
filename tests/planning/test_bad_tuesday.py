"""A scripted bad Tuesday in the demo plant: a press down, a lot held, a rush order, read from a list of happenings."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.book.model import Book
from naptuft.costing.rollup import cost_plan
from naptuft.planning.check import check_plan
from naptuft.planning.plan import Plan, PlannedOperation
from naptuft.planning.replan import Charge, Replanned, read_happenings, replan
from naptuft.planning.weeks import plan_weeks

TUESDAY = datetime.datetime(2026, 12, 1, 10)
HAPPENINGS = """\
kind,machine,until,lot,order,line,customer,product,quantity,due,weight
machine down,PRESS-B,2026-12-01 14:00,,,,,,,,
lot held,,,{lot},,,,,,,
order added,,,,S-9001,1,Harrow Lane Stores,B-WALL100,300,2026-12-16 14:00,5
"""
DEAR = Charge(now=8000.0, least=4000.0)


@cache
def monday() -> tuple[Book, Plan, str]:
    """The demo book, its plan, and a lot that work not yet begun on Tuesday takes of."""
    book = read_book(demo_folder())
    plan = plan_weeks(book, effort=1)
    at = TUESDAY.replace(tzinfo=book.start.tzinfo)
    begun = {o.work_order for o in plan.operations if o.start < at}
    lot = next(b.lots[0].lot for b in plan.blends if b.work_order not in begun and b.lots[0].lot in book.lot)
    return book, plan, lot


@cache
def tuesday(charge: Charge | None = None, most_moved: float = 0.1) -> Replanned:
    """The plan changed by all three."""
    book, plan, lot = monday()
    return replan(
        book, plan, TUESDAY, read_happenings(HAPPENINGS.format(lot=lot)), effort=1, charge=charge, most_moved=most_moved
    )


def by_step(plan: Plan) -> dict[tuple[str, int], PlannedOperation]:
    """Operations by work order and step."""
    return {(o.work_order, o.step): o for o in plan.operations}


@pytest.mark.parametrize("charge", [None, DEAR], ids=["as a rule", "where moves are dear"])
def test_the_checker_finds_nothing(charge):
    done = tuesday(charge)
    book, plan = done.book, done.plan
    costs = cost_plan(
        book, plan.work_orders, plan.operations, plan.allocations, plan.orders, plan.designs, plan.cut_lists
    )
    totals = {cost.name: cost.total for cost in costs if cost.of == "order"}
    orders = tuple(replace(order, cost=totals[order.name]) for order in plan.orders)
    assert check_plan(book, replace(plan, costs=costs, orders=orders)) == ()


def test_started_work_stays_where_it_was_and_nothing_new_starts_before_ten():
    _, plan, _ = monday()
    done = tuesday()
    before, now = by_step(plan), by_step(done.plan)
    started = {key for key, operation in before.items() if operation.start < done.at}
    assert started
    for key in started:
        assert (now[key].machine, now[key].start) == (before[key].machine, before[key].start)
    for key, operation in now.items():
        if key not in started:
            assert operation.start >= done.at
            assert operation.start - datetime.timedelta(minutes=operation.changeover_minutes) >= done.at or (
                before[key].start == operation.start
            )


def test_nothing_new_runs_on_the_press_while_it_is_down():
    done = tuesday()
    up = done.at.replace(hour=14)
    assert not any(done.at < o.start < up for o in done.plan.operations if o.machine == "PRESS-B")


def test_the_held_lot_is_taken_by_nothing_that_had_not_begun():
    _, plan, lot = monday()
    done = tuesday()
    begun = {o.work_order for o in plan.operations if o.start < done.at}
    assert any(a.lot == lot for a in plan.allocations)
    assert {a.work_order for a in done.plan.allocations if a.lot == lot} <= begun


def test_the_rush_order_has_a_date():
    done = tuesday()
    rush = next(order for order in done.plan.orders if order.order == "S-9001")
    assert rush.quantity == 300
    assert rush.short_quantity == 0
    assert rush.finish is not None


def test_the_list_of_changes_tells_all_that_moved_and_why():
    _, plan, _ = monday()
    done = tuesday()
    before, now = by_step(plan), by_step(done.plan)
    told = {change.place: change for change in done.changes if change.kind == "operation"}
    moved = {
        key for key in before if key in now and (before[key].machine, before[key].start) != (now[key].machine, now[key].start)
    }  # fmt: skip
    assert len(moved) == done.moved
    for number, step in moved:
        change = told[f"{number} step {step}, {now[number, step].name}"]
        assert change.before != change.after
        assert change.why
    assert any(change.kind == "order" and change.place == "S-9001/1" and change.before == "" for change in done.changes)


def test_some_work_cannot_stay_and_that_is_counted():
    done = tuesday()
    assert 0 < done.stuck <= done.moved < done.ahead
    assert done.told <= done.moved


def test_fewer_move_where_moving_is_dear_and_orders_are_later_for_it():
    dear, usual = tuesday(DEAR, 1.0), tuesday(None, 1.0)
    assert dear.stuck == usual.stuck <= dear.moved < usual.moved
    assert dear.plan.quality.weighted_late_minutes > usual.plan.quality.weighted_late_minutes
