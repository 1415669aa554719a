"""A book in, the weeks out: on a plant small enough to reason about."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from naptuft.book.model import Lot
from naptuft.planning.weeks import plan_weeks
from naptuft.plant.calendar import Closure
from naptuft.plant.work_centre import Changeover
from naptuft.quantity import Measure
from naptuft.services import plan_book, read_book, write_book
from small_plants import after, scraper_plant


def planned(book):
    return plan_weeks(book, seed=1, effort=20)


def outcome(plan, name="S-1/1"):
    return next(order for order in plan.orders if order.name == name)


def operation(plan, name):
    return next(o for o in plan.operations if o.name == name)


def test_a_line_with_time_and_material_is_on_time():
    plan = plan_book(scraper_plant(), effort=20)
    order = outcome(plan)
    assert (order.state, order.late_minutes, order.short_quantity, order.reason) == ("on time", 0, 0, "")
    assert order.finish is not None
    assert order.finish <= order.due
    assert plan.checks == ()


def test_times_follow_from_the_route():
    plan = planned(scraper_plant())
    press, rivet = operation(plan, "press"), operation(plan, "rivet")
    assert press.run_minutes == 40
    assert press.end - press.start == datetime.timedelta(minutes=40)
    assert rivet.run_minutes == 120
    assert rivet.start >= press.end


def test_a_step_done_outside_comes_back_after_the_lead_time_written_in_days(tmp_path):
    book = scraper_plant()
    out = replace(book.routes[1], step=20, name="send out for plating", setup=1800.0, time_each=0.0, wait=7 * 86400.0)
    write_book(replace(book, routes=(*book.routes, out)), tmp_path)
    routes = tmp_path / "Routes.csv"
    text = routes.read_text(encoding="utf-8-sig")
    assert ",10080," in text
    routes.write_text(text.replace(",10080,", ",7 day,"), encoding="utf-8-sig")
    plan = plan_book(read_book(tmp_path), effort=20)
    sent, rivet = operation(plan, "send out for plating"), operation(plan, "rivet")
    assert sent.end + datetime.timedelta(days=7) <= rivet.start < sent.end + datetime.timedelta(days=8)
    assert plan.checks == ()


def test_a_part_that_cannot_be_bought_makes_the_line_short_by_what_is_missing():
    book = scraper_plant()
    few = tuple(replace(lot, quantity=Measure(150)) if lot.material == "GRIP" else lot for lot in book.lots)
    plan = plan_book(replace(book, lots=few), effort=20)
    order = outcome(plan)
    assert (order.state, order.short_quantity) == ("short", 450)
    assert "GRIP" in order.reason
    assert [w.quantity for w in plan.work_orders if w.product == "SCRAPER"] == [150]
    assert plan.checks == ()


def test_the_line_due_last_goes_short_first():
    book = scraper_plant()
    few = tuple(replace(lot, quantity=Measure(700)) if lot.material == "GRIP" else lot for lot in book.lots)
    second = replace(book.orders[0], order="S-2", due=after(12))
    plan = planned(replace(book, lots=few, orders=(*book.orders, second)))
    assert outcome(plan, "S-1/1").short_quantity == 0
    assert outcome(plan, "S-2/1").short_quantity == 500


def test_a_late_purchase_is_named_as_the_reason_and_removing_it_heals():
    book = scraper_plant()
    soon = replace(book, lots=book.lots[1:], orders=(replace(book.orders[0], due=after(2)),))
    order = outcome(planned(soon))
    assert order.state == "late"
    assert "purchase P-0001 of strip steel" in order.reason
    healed = replace(soon, lots=book.lots)
    assert outcome(planned(healed)).state == "on time"


def test_a_closed_machine_is_named_as_the_reason():
    book = scraper_plant()
    shut = Closure(calendar="P-1", start=after(-1), end=after(10), why="maintenance")
    order = outcome(planned(replace(book, closures=(shut,))))
    assert order.state == "late"
    assert "P-1" in order.reason
    assert "closed" in order.reason


def test_an_order_wholly_in_stock_needs_no_work():
    book = scraper_plant()
    ready = Lot(code="L-9", material="SCRAPER", quantity=Measure(900), received=datetime.date(2026, 11, 1))
    plan = plan_book(replace(book, lots=(*book.lots, ready)), effort=20)
    order = outcome(plan)
    assert (order.state, order.from_stock, order.work_orders) == ("from stock", 600, ())
    assert plan.operations == ()
    assert plan.checks == ()


def test_a_lot_past_its_last_day_when_work_really_starts_is_not_used():
    book = scraper_plant()
    shut = Closure(calendar="P-1", start=after(-1), end=after(10), why="maintenance")
    stale = replace(book.lots[0], code="L-0", expires=datetime.date(2026, 12, 9))
    plan = plan_book(replace(book, closures=(shut,), lots=(stale, *book.lots)), effort=20)
    assert {a.lot for a in plan.allocations if a.material == "STEEL"} == {"L-1"}
    assert plan.checks == ()


def test_changeovers_follow_the_families_of_the_route():
    book = scraper_plant()
    route = [replace(s, family="wide") if s.product == "SCRAPER" else s for s in book.routes]
    narrow = replace(route[0], product="NARROW", family="narrow")
    plan = plan_book(
        replace(
            book,
            machines=book.machines[:2],
            products=(*book.products, replace(book.products[0], code="NARROW")),
            parts=(*book.parts, *(replace(p, product="NARROW") for p in book.parts if p.product == "SCRAPER")),
            routes=(*route, narrow),
            orders=(*book.orders, replace(book.orders[0], order="S-2", product="NARROW")),
            changeovers=(Changeover(work_centre="BENCH", before="*", after="*", duration=1800.0),),
        ),
        effort=50,
    )
    bench = sorted((o for o in plan.operations if o.work_centre == "BENCH"), key=lambda o: o.start)
    assert [o.changeover_minutes for o in bench] == [0, 30]
    assert plan.checks == ()


@pytest.mark.parametrize("seed", [1, 2])
def test_the_same_seed_and_effort_give_the_same_plan(seed):
    book = scraper_plant()
    assert plan_weeks(book, seed=seed, effort=30) == plan_weeks(book, seed=seed, effort=30)
