"""Steps pinned in the book: kept, told of on the plan, or named with what they clash with."""

import datetime
from dataclasses import replace

import pytest

from naptuft.book.model import Order, Pin
from naptuft.errors import Infeasible
from naptuft.planning.check import check_plan
from naptuft.planning.risk.of_plan import risk_of_plan
from naptuft.planning.trade import trade
from naptuft.planning.weeks import plan_weeks
from naptuft.services import plan_book
from small_plants import after, scraper_plant

WEDNESDAY_NOON = after(2.25)


def pin(
    product: str = "SCRAPER", machine: str = "B-2", start: datetime.datetime = WEDNESDAY_NOON, line: int = 1
) -> Pin:
    return Pin(order="S-1", line=line, product=product, step=10, machine=machine, start=start)


def where(plan, product: str) -> tuple[str, datetime.datetime, str]:
    numbers = {order.number for order in plan.work_orders if order.product == product}
    (found,) = [o for o in plan.operations if o.work_order in numbers]
    return found.machine, found.start.replace(tzinfo=None), found.earliest_start_reason


def test_a_pinned_step_stands_where_it_is_pinned_and_says_so():
    free = plan_weeks(scraper_plant(), effort=50)
    assert where(free, "SCRAPER")[:2] != ("B-2", WEDNESDAY_NOON)
    plan = plan_book(scraper_plant(pins=(pin(),)), effort=50)
    machine, start, reason = where(plan, "SCRAPER")
    assert (machine, start) == ("B-2", WEDNESDAY_NOON)
    assert "pinned" in reason
    assert plan.checks == ()


def test_a_pin_on_a_part_holds_the_work_order_that_makes_it():
    plan = plan_book(scraper_plant(pins=(pin("BLADE", "P-1", after(1.25)),)), effort=50)
    assert where(plan, "BLADE")[:2] == ("P-1", after(1.25))
    assert plan.checks == ()


def test_the_checker_tells_of_a_pin_that_is_not_kept():
    free = plan_book(scraper_plant(), effort=50)
    (finding,) = check_plan(scraper_plant(pins=(pin(),)), free)
    assert finding.rule == "pinned"
    assert "pinned on B-2" in finding.message


@pytest.mark.parametrize(
    ("pins", "told"),
    [
        ((pin(start=after(5.25)),), "is open"),
        ((pin(start=after(0.01)),), "when step 10 of W-0001 (BLADE) is over"),
        ((pin("BLADE", "P-1", after(4.25)), pin(start=after(3.25))), "is over"),
    ],
)
def test_a_pin_that_cannot_be_kept_is_named_with_what_it_clashes_with(pins, told):
    with pytest.raises(Infeasible) as refused:
        plan_weeks(scraper_plant(pins=pins), effort=50)
    assert any(
        fault.place == "Pins, S-1/1, SCRAPER, step 10" and told in fault.allowed for fault in refused.value.faults
    )


def test_two_pins_at_one_time_on_one_bench_clash():
    orders = (
        *scraper_plant().orders,
        Order(order="S-1", line=2, customer="Mill Lane", product="SCRAPER", quantity=600, due=after(20)),
    )
    with pytest.raises(Infeasible, match="step 10"):
        plan_weeks(scraper_plant(orders=orders, pins=(pin(), pin(line=2, start=after(2.27)))), effort=50)


def test_a_pin_without_work_is_named():
    plant = scraper_plant(pins=(pin(),))
    stocked = replace(
        plant,
        lots=(
            *plant.lots,
            replace(
                plant.lots[1], code="L-9", material="SCRAPER", quantity=replace(plant.lots[1].quantity, number=700.0)
            ),
        ),
    )
    with pytest.raises(Infeasible, match="it comes from stock"):
        plan_weeks(stocked, effort=50)


def test_replays_and_trade_offs_keep_a_pin():
    plant = scraper_plant(pins=(pin(),))
    plan = plan_book(plant, effort=50)
    assert risk_of_plan(plant, plan, count=50, seed=1).odds[0].on_time == 1.0
    for point in trade(plant, plan, effort=20):
        assert any((p.machine, p.start) == (2, 54 * 60) for p in point.schedule.placements)
