"""Whole books planned and held against themselves; then one fact of the book changed behind the plan's back."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.book.model import Book
from naptuft.planning.check import check_plan
from naptuft.planning.plan import Plan
from naptuft.services.plans import plan_book

INCHES = Path(__file__).parent.parent / "book" / "data" / "inch_refills"


@pytest.fixture(scope="module")
def demo() -> tuple[Book, Plan]:
    book = read_book(demo_folder())
    return book, plan_book(book, seed=1, effort=200)


def test_the_demo_plan_is_clean(demo: tuple[Book, Plan]):
    assert demo[1].checks == ()


def test_the_demo_plan_has_something_to_say_and_keeps_most_promises(demo: tuple[Book, Plan]):
    states = [order.state for order in demo[1].orders]
    assert len(states) == 120
    assert states.count("on time") + states.count("from stock") >= 80
    assert states.count("short") >= 2
    assert states.count("late") >= 2
    short = " ".join(order.reason for order in demo[1].orders if order.state == "short")
    assert "FB-ACR18" in short


def test_the_busiest_work_centre_of_the_demo_is_busy_but_not_full(demo: tuple[Book, Plan]):
    busiest = demo[1].loads[0]
    assert busiest.work_centre == "MOULDING"
    assert 0.70 <= busiest.share <= 0.90


def test_a_plant_in_inches_is_planned_clean():
    book = read_book(INCHES)
    plan = plan_book(book, seed=1, effort=200)
    assert plan.checks == ()
    assert [order.state for order in plan.orders].count("from stock") == 1
    tubes = {cut.stock_length_mm for cut in plan.cut_lists}
    assert len(tubes) == 1
    assert tubes.pop() == pytest.approx(73 * 25.4)
    assert all(cut.proven_optimal for cut in plan.cut_lists)


def _slower(book: Book) -> Book:
    machines = tuple(replace(m, speed=m.speed * 0.9) if m.code == "LINE-1" else m for m in book.machines)
    return replace(book, machines=machines)


def _closed(book: Book) -> Book:
    return replace(
        book, closures=tuple(replace(c, calendar="VAT-1") if c.calendar == "PRESS-A" else c for c in book.closures)
    )


def _fewer_racks(book: Book) -> Book:
    return replace(book, racks=tuple(replace(rack, capacity=60) for rack in book.racks))


def _longer_flash_off(book: Book) -> Book:
    return replace(
        book, routes=tuple(replace(s, wait=s.wait + 3600) if s.name == "first coat" else s for s in book.routes)
    )


def _longer_changeover(book: Book) -> Book:
    rules = tuple(replace(c, duration=c.duration + 60) if c.work_centre == "MOULDING" else c for c in book.changeovers)
    return replace(book, changeovers=rules)


def _all_held(book: Book) -> Book:
    return replace(
        book, lots=tuple(replace(lot, state="held") if lot.material == "RS-PP" else lot for lot in book.lots)
    )


def _smaller_lots(book: Book) -> Book:
    lots = tuple(
        replace(lot, quantity=replace(lot.quantity, number=lot.quantity.number / 2)) if lot.material == "NA-12" else lot
        for lot in book.lots
    )
    return replace(book, lots=lots)


def _curlier(book: Book) -> Book:
    return replace(book, lots=tuple(replace(lot, curl=0.2) if lot.curl is not None else lot for lot in book.lots))


def _wider_kerf(book: Book) -> Book:
    return replace(book, settings=replace(book.settings, kerf=0.004))


def _dearer_energy(book: Book) -> Book:
    return replace(book, settings=replace(book.settings, energy_price_per_kwh=book.settings.energy_price_per_kwh * 2))


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (_slower, "right duration"),
        (_closed, "open time"),
        (_fewer_racks, "rack capacity"),
        (_longer_flash_off, "least wait"),
        (_longer_changeover, "right changeover"),
        (_all_held, "no held lot"),
        (_smaller_lots, "lot not over-drawn"),
        (_curlier, "grams balance"),
        (_wider_kerf, "lengths balance"),
        (_dearer_energy, "costs add up"),
    ],
)
def test_a_book_changed_behind_the_plan_is_found_out(
    demo: tuple[Book, Plan], change: Callable[[Book], Book], rule: str
):
    book, plan = demo
    assert rule in {finding.rule for finding in check_plan(change(book), plan)}
