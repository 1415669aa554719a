"""Where the hours of machines go, the chain that ends in an order, and what a rate asks for."""

from __future__ import annotations

import datetime
from dataclasses import replace
from math import ceil

import pytest

from naptuft import services
from naptuft.errors import DesignError
from naptuft.planning.chain import chain_of
from naptuft.planning.machine_time import USES, centre_time, machine_time
from naptuft.planning.rate_needs import rate_needs
from naptuft.plant.work_centre import Rack
from small_plants import after, scraper_plant


@pytest.fixture(scope="module")
def demo():
    """The Quillbeck book and a quick plan of it."""
    book = services.demo_book()
    return book, services.plan_book(book, effort=1)


def scraper(**changes):
    book = scraper_plant(**changes)
    return book, services.plan_book(book, effort=20)


def test_the_uses_of_every_machine_add_up_to_the_clock(demo):
    book, plan = demo
    times = machine_time(book, plan)
    assert [time.machine for time in times] == [machine.code for machine in book.machines]
    for time in times:
        assert set(time.minutes) == set(USES)
        assert sum(time.minutes.values()) == plan.horizon_days * 1440
        assert all(minutes >= 0 for minutes in time.minutes.values())


def test_hours_run_are_those_of_the_plan(demo):
    book, plan = demo
    used = centre_time(machine_time(book, plan))
    end = plan.start + datetime.timedelta(days=plan.horizon_days)
    alone = {machine.work_centre for machine in book.machines if machine.takes is None}
    for load in plan.loads:
        own = [o for o in plan.operations if o.work_centre == load.work_centre]
        if load.work_centre in alone and all(operation.end <= end for operation in own):
            assert used[load.work_centre]["runs"] == sum(operation.run_minutes for operation in own)


def test_a_bench_without_blades_waits_for_a_part():
    book, plan = scraper()
    press = next(o for o in plan.operations if o.work_centre == "PRESS")
    rivet = min((o for o in plan.operations if o.work_centre == "BENCH"), key=lambda o: o.start)
    waited = int((press.end - plan.start).total_seconds() // 60)
    time = next(time for time in machine_time(book, plan) if time.machine == rivet.machine)
    assert rivet.start == press.end
    assert time.minutes["part being made"] == waited
    assert time.minutes["material not there"] == 0


def test_a_press_without_steel_waits_for_material():
    book = scraper_plant()
    lots = tuple(
        replace(lot, arrives=after(1) + datetime.timedelta(hours=2)) if lot.material == "STEEL" else lot
        for lot in book.lots
    )
    book, plan = scraper(lots=lots)
    time = next(time for time in machine_time(book, plan) if time.machine == "P-1")
    press = next(o for o in plan.operations if o.machine == "P-1")
    assert press.start == plan.start + datetime.timedelta(days=1, hours=2)
    assert time.minutes["material not there"] == 12 * 60 + 2 * 60


def test_the_chain_of_each_late_order_ends_when_the_order_is_ready(demo):
    _, plan = demo
    late = [order for order in plan.orders if order.late_minutes and order.work_orders]
    assert late
    for order in late:
        chain = chain_of(plan, order)
        last = chain[-1].operation
        assert last.end + datetime.timedelta(minutes=last.wait_minutes) == order.finish
        assert [link.operation.start for link in chain] == sorted(link.operation.start for link in chain)
        assert chain[0].ready >= plan.start


def test_a_rate_is_asked_of_each_work_centre():
    """9,000 scrapers a week of five 12-hour days at 12 s on two benches and 3 s on a press, worked out by hand."""
    needs = rate_needs(scraper_plant(), {}, "SCRAPER", 9000)
    centres = {each.work_centre: each for each in needs.centres}
    assert centres["BENCH"].utilisation == pytest.approx(9000 * 12 / (2 * 60 * 3600))
    assert centres["PRESS"].utilisation == pytest.approx(9000 * 3 / (60 * 3600))
    assert centres["BENCH"].machines == 1
    assert centres["BENCH"].people == pytest.approx(0.5)
    assert needs.bottleneck == "BENCH"
    assert needs.most == pytest.approx(36_000)


def test_racks_follow_from_the_time_on_them():
    """Little's law (Operations Research 9, 1961, 383): an hour on racks of 50 at the pace of the open hours."""
    book = scraper_plant()
    routes = tuple(
        replace(step, wait=3600.0, rack="DRY", per_rack=50) if step.product == "SCRAPER" else step
        for step in book.routes
    )
    book = replace(book, routes=routes, racks=(Rack(code="DRY", name="drying", capacity=4),))
    (rack,) = rate_needs(book, {}, "SCRAPER", 9000).racks
    pace = 9000 / (60 * 3600)
    assert rack.needed == ceil(pace * (3600 + 50 * 12) / 50)
    assert rack.has == 4


@pytest.mark.parametrize(("product", "rate", "place"), [("SCRAPR", 10, "product"), ("SCRAPER", 0, "rate")])
def test_what_cannot_be_asked_is_named(product, rate, place):
    with pytest.raises(DesignError) as found:
        rate_needs(scraper_plant(), {}, product, rate)
    assert [fault.place for fault in found.value.faults] == [place]
