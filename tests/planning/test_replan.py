"""Plans changed by what happened: what stays, what moves, and what a planner is told."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.book.model import Book, Order
from naptuft.costing.rollup import cost_plan
from naptuft.errors import DesignError
from naptuft.planning.check import check_plan
from naptuft.planning.plan import Plan
from naptuft.planning.replan import Charge, Happening, Replanned, happenings_csv, read_happenings, replan
from naptuft.planning.weeks import plan_weeks
from small_plants import MONDAY, after, scraper_plant

TUESDAY = datetime.datetime(2026, 12, 1, 10)


@cache
def demo() -> tuple[Book, Plan]:
    """The demo book and a plan of it, without a search."""
    book = read_book(demo_folder())
    return book, plan_weeks(book, effort=1)


def findings(done: Replanned) -> list[str]:
    """What the independent checker holds against a plan once it is costed."""
    book, plan = done.book, done.plan
    costs = cost_plan(
        book, plan.work_orders, plan.operations, plan.allocations, plan.orders, plan.designs, plan.cut_lists
    )
    totals = {cost.name: cost.total for cost in costs if cost.of == "order"}
    orders = tuple(replace(order, cost=totals[order.name]) for order in plan.orders)
    return [f"{f.rule}: {f.place} {f.message}" for f in check_plan(book, replace(plan, costs=costs, orders=orders))]


def times(plan: Plan) -> dict[tuple[str, int], tuple[str, datetime.datetime]]:
    """Machine and start of every operation."""
    return {(o.work_order, o.step): (o.machine, o.start) for o in plan.operations}


def wall(minutes: float) -> datetime.datetime:
    """So many minutes after the small plant's start."""
    return MONDAY + datetime.timedelta(minutes=minutes)


def small(**changes: object) -> tuple[Book, Plan]:
    """The scraper plant and its plan: blades of one batch, then scrapers."""
    book = scraper_plant(**changes)
    return book, plan_weeks(book, effort=1)


def test_when_nothing_happened_nothing_changes():
    book, plan = demo()
    done = replan(book, plan, TUESDAY, (), effort=1)
    assert done.moved == 0
    assert done.changes == ()
    assert times(done.plan) == times(plan)
    assert [order.finish for order in done.plan.orders] == [order.finish for order in plan.orders]
    assert findings(done) == []


def test_a_breakdown_moves_under_a_tenth_of_what_is_ahead_where_there_is_another_machine():
    book, plan = demo()
    up = TUESDAY + datetime.timedelta(hours=4)
    down = Happening(kind="machine down", machine="LINE-2", until=up)
    done = replan(book, plan, TUESDAY, (down,), effort=60)
    assert 0 < done.moved < 0.1 * done.ahead
    assert findings(done) == []
    busy = [o for o in done.plan.operations if o.machine == "LINE-2" and o.start.replace(tzinfo=None) >= TUESDAY]
    assert all(o.start.replace(tzinfo=None) >= up for o in busy)


def test_a_bad_tuesday_press_down_lot_held_and_a_rush_order():
    book, plan = demo()
    at = TUESDAY.replace(tzinfo=book.start.tzinfo)
    begun = {o.work_order for o in plan.operations if o.start < at}
    lot = next(b.lots[0].lot for b in plan.blends if b.work_order not in begun and b.lots[0].lot in book.lot)
    happenings = (
        Happening(kind="machine down", machine="PRESS-B", until=TUESDAY + datetime.timedelta(hours=4)),
        Happening(kind="lot held", lot=lot),
        Happening(
            kind="order added", order="S-9001", line=1, customer="Harrow Lane Stores", product="B-WALL100",
            quantity=300, due=datetime.datetime(2026, 12, 16, 14), weight=5.0,
        ),
    )  # fmt: skip
    done = replan(book, plan, TUESDAY, happenings, effort=60)
    before, now = times(plan), times(done.plan)
    started = {key for key, (_, start) in before.items() if start < at}
    assert {key: now[key] for key in started} == {key: before[key] for key in started}
    assert all(start >= at for key, (_, start) in now.items() if key not in started)
    assert not any(a.lot == lot and a.source == "stock" and a.work_order not in begun for a in done.plan.allocations)
    rush = next(order for order in done.plan.orders if order.order == "S-9001")
    assert rush.quantity == 300
    assert rush.finish is not None or rush.short_quantity == 300
    assert any(change.kind == "order" and change.place == "S-9001/1" for change in done.changes)
    assert findings(done) == []


def test_what_runs_on_a_machine_that_stops_goes_on_when_it_is_up_again():
    book, plan = small()
    press = next(o for o in plan.operations if o.machine == "P-1")
    at = press.start + datetime.timedelta(minutes=20)
    up = (at + datetime.timedelta(hours=1)).replace(tzinfo=None)
    done = replan(book, plan, at, (Happening(kind="machine down", machine="P-1", until=up),), effort=1)
    again = next(o for o in done.plan.operations if o.machine == "P-1")
    assert again.start == press.start
    assert again.end == press.end + datetime.timedelta(hours=1)
    assert findings(done) == []


def test_work_done_early_lets_nothing_move_that_need_not():
    book, plan = small()
    press = next(o for o in plan.operations if o.machine == "P-1")
    early = (press.end - datetime.timedelta(minutes=10)).replace(tzinfo=None)
    told = Happening(kind="done", work_order=press.work_order, step=press.step, until=early)
    done = replan(book, plan, early, (told,), effort=1)
    assert done.moved == 0
    assert next(o for o in done.plan.operations if o.machine == "P-1").end.replace(tzinfo=None) == early


def test_work_not_started_begins_no_sooner_than_now():
    book, plan = small()
    press = next(o for o in plan.operations if o.machine == "P-1")
    at = press.start + datetime.timedelta(minutes=15)
    told = Happening(kind="not started", work_order=press.work_order, step=press.step)
    done = replan(book, plan, at, (told,), effort=1)
    assert next(o for o in done.plan.operations if o.machine == "P-1").start == at
    assert findings(done) == []


def test_work_started_late_runs_from_when_it_was_started():
    book, plan = small()
    press = next(o for o in plan.operations if o.machine == "P-1")
    late = (press.start + datetime.timedelta(minutes=9)).replace(tzinfo=None)
    told = Happening(kind="started", work_order=press.work_order, step=press.step, since=late)
    done = replan(book, plan, late + datetime.timedelta(minutes=3), (told,), effort=1)
    again = next(o for o in done.plan.operations if o.machine == "P-1")
    assert again.start.replace(tzinfo=None) == late
    assert again.end - again.start == press.end - press.start


def test_a_held_lot_is_replaced_by_another_where_there_is_one():
    from naptuft.book.model import Lot
    from naptuft.quantity import Measure

    spare = Lot(code="L-3", material="STEEL", quantity=Measure(60, "kg"), received=datetime.date(2026, 10, 2))
    book, plan = small(lots=(*scraper_plant().lots, spare))
    assert "L-1" in {a.lot for a in plan.allocations}
    done = replan(book, plan, MONDAY, (Happening(kind="lot held", lot="L-1"),), effort=1)
    steel = {a.lot for a in done.plan.allocations if a.material == "STEEL"}
    assert steel == {"L-3"}
    assert done.plan.orders[0].state == "on time"
    assert findings(done) == []


def test_a_held_lot_without_another_is_bought_again_and_the_work_waits_for_it():
    book, plan = small()
    done = replan(book, plan, MONDAY, (Happening(kind="lot held", lot="L-1"),), effort=1)
    (bought,) = done.plan.purchases
    assert bought.material == "STEEL"
    press = next(o for o in done.plan.operations if o.machine == "P-1")
    assert press.start >= bought.arrives
    assert findings(done) == []


def test_a_held_lot_that_cannot_be_replaced_leaves_its_order_short_and_says_why():
    book, plan = small()
    done = replan(book, plan, MONDAY, (Happening(kind="lot held", lot="L-2"),), effort=1)
    (order,) = done.plan.orders
    assert (order.state, order.short_quantity) == ("short", 600)
    assert "grip (GRIP) is short" in order.reason
    assert any(change.kind == "work order" and "dropped" in change.why for change in done.changes)


def test_a_held_lot_on_the_floor_already_is_told():
    book, plan = small()
    press = next(o for o in plan.operations if o.machine == "P-1")
    at = press.start + datetime.timedelta(minutes=5)
    done = replan(book, plan, at, (Happening(kind="lot held", lot="L-1"),), effort=1)
    assert any("set its goods aside" in change.why for change in done.changes)
    assert done.moved == 0


def test_an_order_added_is_planned_beside_what_is_there():
    book, plan = small()
    more = Happening(
        kind="order added", order="S-2", line=1, customer="Weir Street", product="SCRAPER", quantity=200, due=after(9)
    )
    done = replan(book, plan, MONDAY, (more,), effort=1)
    assert [order.state for order in done.plan.orders] == ["on time", "on time"]
    assert done.moved == 0
    assert {order.number for order in done.plan.work_orders} > {order.number for order in plan.work_orders}
    assert findings(done) == []


@pytest.mark.parametrize("quantity", [0, 250, 900])
def test_a_changed_quantity_is_what_is_planned(quantity: int):
    book, plan = small()
    told = Happening(kind="quantity changed", order="S-1", line=1, quantity=quantity)
    done = replan(book, plan, MONDAY, (told,), effort=1)
    assert [order.quantity for order in done.plan.orders] == ([quantity] if quantity else [])
    assert all(order.state == "on time" for order in done.plan.orders)
    assert findings(done) == []


def test_work_nobody_wants_any_more_is_dropped_with_what_was_made_for_it():
    book, plan = small()
    told = Happening(kind="quantity changed", order="S-1", line=1, quantity=0)
    done = replan(book, plan, MONDAY, (told,), effort=1)
    assert done.plan.work_orders == ()
    assert done.plan.operations == ()


def test_the_same_seed_and_effort_give_the_same_plan():
    book, plan = demo()
    down = Happening(kind="machine down", machine="PRESS-A", until=TUESDAY + datetime.timedelta(hours=3))
    plans = [replan(book, plan, TUESDAY, (down,), effort=20, seed=4).plan for _ in range(2)]
    assert plans[0] == plans[1]


def test_a_search_makes_a_repaired_plan_no_worse():
    book, plan = demo()
    down = Happening(kind="machine down", machine="PRESS-A", until=TUESDAY + datetime.timedelta(hours=6))
    repaired = replan(book, plan, TUESDAY, (down,), effort=1)
    searched = replan(book, plan, TUESDAY, (down,), effort=80)

    def counted(done: Replanned) -> float:
        """Late minutes, changeovers and the charge for what moved, as they are weighed against each other."""
        before, now, charge, moves = times(plan), times(done.plan), Charge(), 0.0
        for key, (machine, start) in before.items():
            if key in now and now[key] != (machine, start):
                off = abs((now[key][1] - start).total_seconds() / 60)
                share = 1.0 if now[key][0] != machine else min(1.0, off / charge.tolerance)
                moves += share * charge.of((start - done.at).total_seconds() / 60)
        minutes = [one.quality.weighted_late_minutes + one.quality.changeover_minutes for one in (plan, done.plan)]
        return max(minutes) + moves

    assert counted(searched) <= counted(repaired)


def test_under_a_tenth_moves_when_a_press_is_down_and_what_more_would_win_is_told():
    book, plan = demo()
    down = Happening(kind="machine down", machine="PRESS-A", until=TUESDAY + datetime.timedelta(hours=4))
    done = replan(book, plan, TUESDAY, (down,), effort=1)
    assert 0 < done.moved <= done.most <= 0.1 * done.ahead
    assert done.beyond == ""
    assert findings(done) == []
    assert done.freer is not None
    assert done.freer.moved > done.most
    assert done.freer.plan.quality.weighted_late_minutes < done.plan.quality.weighted_late_minutes
    assert findings(done.freer) == []


def test_where_too_little_may_move_more_does_and_the_machine_that_pushes_it_is_named():
    book, plan = small()
    press = next(o for o in plan.operations if o.machine == "P-1")
    down = Happening(kind="machine down", machine="P-1", until=press.start.replace(tzinfo=None, hour=16))
    done = replan(book, plan, MONDAY, (down,), effort=1, most_moved=0.0)
    assert done.moved > done.most == 0
    assert done.beyond.startswith(
        f"no plan was found in which at most 0 of {done.ahead} operations ahead move: P-1 pushes"
    )
    assert replan(book, plan, MONDAY, (down,), effort=1, most_moved=1.0).beyond == ""


def test_every_fault_of_the_happenings_is_named_at_once():
    book, plan = small()
    happenings = (
        Happening(kind="machine down", machine="P-9", until=after(1)),
        Happening(kind="done", work_order="W-0001", step=99),
        Happening(kind="lot held", lot="L-77"),
        Happening(kind="quantity changed", order="S-7", line=1, quantity=5),
        Happening(
            kind="order added", order="S-1", line=1, customer="Mill Lane", product="SCRAPERS", quantity=5, due=after(9)
        ),
        Happening(kind="started", work_order="W-0001", step=10, since=after(5)),
    )
    with pytest.raises(DesignError) as caught:
        replan(book, plan, MONDAY, happenings)
    told = "\n".join(str(fault) for fault in caught.value.faults)
    assert len(caught.value.faults) == 7
    for part in (
        "happening 1, machine down, machine: 'P-9'; allowed: a machine of the book; did you mean P-1?",
        "happening 2, done, step: 99; allowed: a step of W-0001: 10",
        "happening 3, lot held, lot: 'L-77'",
        "happening 4, quantity changed, order: 'S-7/1'; allowed: an order line of the book; did you mean S-1/1?",
        "happening 5, order added, product: 'SCRAPERS'; allowed: a product of the book; did you mean SCRAPER?",
        "happening 5, order added, order: 'S-1/1'",
        "happening 6, started, since: '2026-12-05 06:00'",
    ):
        assert part in told


def test_a_step_told_done_before_the_one_it_follows_is_refused():
    book, plan = demo()
    at = book.start + datetime.timedelta(minutes=1)
    number = next(o.work_order for o in plan.operations if o.step == 20 and o.start > at)
    with pytest.raises(DesignError, match="tell also of the step before it"):
        replan(book, plan, at, (Happening(kind="done", work_order=number, step=20),))


def test_a_time_before_the_plan_is_refused():
    book, plan = small()
    with pytest.raises(DesignError, match="time of replanning"):
        replan(book, plan, MONDAY - datetime.timedelta(days=1), ())


@pytest.mark.parametrize(
    ("given", "places"),
    [
        ({"kind": "machine down", "machine": "P-1"}, ["until"]),
        ({"kind": "lot held", "lot": "L-1", "machine": "P-1"}, ["machine"]),
        ({"kind": "done", "work_order": "W-1", "step": 10, "since": after(2), "until": after(1)}, ["until"]),
        ({"kind": "order added"}, ["order", "line", "customer", "product", "quantity", "due"]),
    ],
)
def test_a_happening_says_what_it_lacks_or_has_too_much(given, places):
    with pytest.raises(DesignError) as caught:
        Happening(**given)
    assert [fault.place for fault in caught.value.faults] == places


def test_happenings_read_from_csv_name_the_row_of_every_fault():
    given = "kind,machine,until,lot\nmachine down,P-1,tomorrow,\nlot held,,,\nlot hold,,,L-1\n"
    with pytest.raises(DesignError) as caught:
        read_happenings(given)
    assert [fault.place for fault in caught.value.faults] == [
        "happenings, row 2, until",
        "happenings, row 3, lot",
        "happenings, row 4, kind",
    ]


def test_happenings_written_read_back_the_same():
    happenings = (
        Happening(kind="machine down", machine="PRESS-A", since=after(0), until=after(1)),
        Happening(kind="lot held", lot='L-"1", x'),
        Happening(kind="quantity changed", order="S-1", line=2, quantity=0),
        Happening(
            kind="order added", order="S-2", line=1, customer="Weir, Street", product="X", quantity=5, due=after(3),
            weight=2.5,
        ),
    )  # fmt: skip
    assert read_happenings(happenings_csv(happenings)) == happenings


def test_json_that_is_no_list_is_named():
    with pytest.raises(DesignError, match="a JSON list of objects"):
        read_happenings('{"kind": "lot held"}')
    with pytest.raises(DesignError, match="happenings, line 1"):
        read_happenings("[{")


def test_goods_held_in_stock_are_made_instead():
    from naptuft.book.model import Lot
    from naptuft.quantity import Measure

    blades = Lot(code="L-B", material="BLADE", quantity=Measure(600), received=datetime.date(2026, 10, 2))
    goods = Lot(code="L-S", material="SCRAPER", quantity=Measure(100), received=datetime.date(2026, 10, 2))
    order = Order(order="S-1", line=1, customer="Mill Lane", product="SCRAPER", quantity=600, due=after(9))
    book, plan = small(lots=(*scraper_plant().lots, blades, goods), orders=(order,))
    assert not any(w.product == "BLADE" for w in plan.work_orders)
    held = (Happening(kind="lot held", lot="L-B"), Happening(kind="lot held", lot="L-S"))
    done = replan(book, plan, MONDAY, held, effort=1)
    assert any(w.product == "BLADE" for w in done.plan.work_orders)
    assert (done.plan.orders[0].state, done.plan.orders[0].from_stock) == ("on time", 0)
    assert findings(done) == []
