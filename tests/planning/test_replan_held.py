"""What is frozen or pinned when a plan is changed: it stays, or is named with what is in its way."""

import datetime

import pytest

from naptuft.book.model import Order, Pin
from naptuft.errors import DesignError, Infeasible
from naptuft.planning.replan import Happening, replan
from naptuft.planning.weeks import plan_weeks
from small_plants import after, scraper_plant

START = after(0)
LATER = Order(order="S-2", line=1, customer="Mill Lane", product="SCRAPER", quantity=600, due=after(20))


def at(minutes: float) -> datetime.datetime:
    return START + datetime.timedelta(minutes=minutes)


def times(plan) -> dict[tuple[str, int], tuple[str, datetime.datetime]]:
    return {(o.work_order, o.step): (o.machine, o.start.replace(tzinfo=None)) for o in plan.operations}


def rush(due: float = 0.03, quantity: int = 40) -> Happening:
    return Happening(
        kind="order added", order="S-9", line=1, customer="Mill Lane", product="SCRAPER", quantity=quantity,
        due=after(due), weight=99.0,
    )  # fmt: skip


def small(**changes):
    book = scraper_plant(orders=(*scraper_plant().orders, LATER), **changes)
    return book, plan_weeks(book, effort=1)


def test_frozen_time_stays_as_planned_though_a_rush_order_comes():
    book, plan = small()
    free = replan(book, plan, at(1), (rush(),), effort=40, most_moved=1.0)
    frozen = replan(book, plan, at(1), (rush(), Happening(kind="frozen", until=after(9))), effort=40, most_moved=1.0)
    assert free.moved > 0
    assert frozen.moved == 0
    before, now = times(plan), times(frozen.plan)
    assert {key: now[key] for key in before} == before


def test_a_step_is_pinned_elsewhere():
    book, plan = small()
    (number,) = [w.number for w in plan.work_orders if w.product == "SCRAPER" and w.serves[0].order == "S-2"]
    pinned = Happening(kind="pinned", work_order=number, step=10, machine="B-1", since=after(2.25))
    done = replan(book, plan, at(1), (pinned,), effort=20)
    assert times(done.plan)[number, 10] == ("B-1", after(2.25))
    assert not [change for change in done.changes if change.kind == "rule"]


def test_a_frozen_step_on_a_machine_that_is_down_is_named():
    book, plan = small()
    down = Happening(kind="machine down", machine="P-1", until=after(1.25))
    with pytest.raises(Infeasible) as refused:
        replan(book, plan, at(1), (down, Happening(kind="frozen", until=after(9))), effort=5)
    blades = {f"{o.work_order}, step 10, held on P-1" for o in plan.operations if o.machine == "P-1"}
    held = {fault.place: fault for fault in refused.value.faults}
    assert held.keys() & blades
    assert all("P-1" in held[place].allowed and "Tue 01 Dec" in held[place].allowed for place in held.keys() & blades)


def test_a_pin_before_what_it_waits_for_is_named():
    book, plan = small()
    (number,) = [w.number for w in plan.work_orders if w.product == "SCRAPER" and w.serves[0].order == "S-2"]
    with pytest.raises(Infeasible, match="when what it waits for is over"):
        replan(
            book,
            plan,
            at(1),
            (Happening(kind="pinned", work_order=number, step=10, machine="B-1", since=at(5)),),
            effort=5,
        )


def test_a_pin_of_the_book_is_kept_and_drops_out_once_told_otherwise():
    pin = Pin(order="S-2", line=1, product="SCRAPER", step=10, machine="B-2", start=after(3.25))
    book, plan = small(pins=(pin,))
    (number,) = [w.number for w in plan.work_orders if w.product == "SCRAPER" and w.serves[0].order == "S-2"]
    kept = replan(book, plan, at(1), (rush(),), effort=20)
    assert times(kept.plan)[number, 10] == ("B-2", after(3.25))
    assert kept.book.pins == (pin,)
    told = Happening(kind="pinned", work_order=number, step=10, machine="B-1", since=after(2.25))
    other = replan(book, plan, at(1), (told,), effort=20)
    assert times(other.plan)[number, 10] == ("B-1", after(2.25))
    assert other.book.pins == ()


def test_what_is_done_cannot_be_pinned_and_frozen_time_is_ahead():
    book, plan = small()
    first = min(plan.operations, key=lambda o: o.start)
    pinned = Happening(
        kind="pinned", work_order=first.work_order, step=first.step, machine=first.machine, since=after(2.25)
    )
    with pytest.raises(DesignError, match="done or running"):
        replan(book, plan, at(200), (pinned,), effort=5)
    with pytest.raises(DesignError, match="not before the time of replanning") as refused:
        replan(
            book,
            plan,
            at(200),
            (
                Happening(kind="frozen", until=START),
                Happening(
                    kind="pinned", work_order=first.work_order, step=first.step, machine="B-2", since=after(2.25)
                ),
            ),
            effort=5,
        )
    assert any(fault.place == "happening 2, pinned, machine" for fault in refused.value.faults)
