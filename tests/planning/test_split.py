"""Batches split over several machines where that makes orders less late, and only there."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from naptuft.planning.answered import answered
from naptuft.planning.check import check_plan
from naptuft.planning.design import design_products
from naptuft.planning.explode import explode
from naptuft.planning.plan_json import plan_from_json, plan_text
from naptuft.planning.weeks import plan_weeks
from naptuft.quantity import Measure
from naptuft.services import plan_book
from small_plants import after, scraper_plant


def plant(hours=4.0, **settings):
    """600 scrapers wanted soon: 40 min at the press, then 2 h on one of two benches or 1 h on both."""
    book = scraper_plant()
    orders = tuple(replace(order, due=after(hours / 24)) for order in book.orders)
    return replace(book, orders=orders, settings=replace(book.settings, **settings))


def riveted(plan):
    return sorted((o for o in plan.operations if o.name == "rivet"), key=lambda o: o.start)


def test_a_late_order_is_made_on_two_machines_side_by_side():
    """Pressed by 06:40; riveted by 08:40 on one bench, by 07:40 on two: due at 08:00 it is on time only so."""
    plan = plan_book(plant(2.0), effort=200)
    assert [order.late_minutes for order in plan.orders] == [0]
    assert {(o.machine, o.quantity, o.run_minutes) for o in riveted(plan)} == {("B-1", 300, 60), ("B-2", 300, 60)}
    parts = [order for order in plan.work_orders if order.product == "SCRAPER"]
    assert [order.parts for order in parts] == [2, 2]
    assert all(order.note.startswith("one of 2 parts of a batch") for order in parts)
    assert all("S-1/1 is 40 min less late" in order.note for order in parts)
    assert sum(a.quantity for a in plan.allocations if a.material == "GRIP") == 600
    assert plan.checks == ()


def test_an_order_in_time_is_left_whole():
    plan = plan_weeks(plant(4.0), effort=200)
    assert [order.parts for order in plan.work_orders] == [1, 1]
    assert all(order.note == "" for order in plan.work_orders)


def test_the_book_may_forbid_it():
    plan = plan_weeks(plant(2.0, most_parts=1), effort=200)
    assert [order.late_minutes for order in plan.orders] == [40]
    assert [order.parts for order in plan.work_orders] == [1, 1]


def test_no_part_is_smaller_than_the_least_batch():
    book = plant(2.0)
    least = tuple(replace(p, least_batch=Measure(301)) if p.code == "SCRAPER" else p for p in book.products)
    assert len(riveted(plan_weeks(replace(book, products=least), effort=200))) == 1
    enough = tuple(replace(p, least_batch=Measure(300)) if p.code == "SCRAPER" else p for p in book.products)
    assert len(riveted(plan_weeks(replace(book, products=enough), effort=200))) == 2


def test_no_part_takes_longer_to_get_ready_for_than_to_make():
    book = plant(2.0)

    def with_set_up(minutes):
        routes = tuple(replace(s, setup=60.0 * minutes) if s.name == "rivet" else s for s in book.routes)
        return replace(book, routes=routes)

    assert len(riveted(plan_weeks(with_set_up(25), effort=200))) == 2
    assert len(riveted(plan_weeks(with_set_up(61), effort=200))) == 1


def test_a_split_that_saves_less_than_it_adds_of_changing_over_is_not_made():
    """Due at 08:30 it is 10 min late whole; a second bench would have to be set up for 12 min."""
    book = plant(2.5)
    routes = tuple(replace(s, setup=720.0, time_each=10.8) if s.name == "rivet" else s for s in book.routes)
    plan = plan_weeks(replace(book, routes=routes), effort=200)
    assert [order.late_minutes for order in plan.orders] == [10]
    assert len(riveted(plan)) == 1


def test_one_machine_is_no_reason_to_split():
    book = plant(2.0)
    machines = tuple(machine for machine in book.machines if machine.code != "B-2")
    assert len(riveted(plan_weeks(replace(book, machines=machines), effort=200))) == 1


def test_it_repeats_by_seed_and_effort_and_keeps_its_effort():
    book = plant(2.0)
    plan = plan_weeks(book, effort=200)
    assert plan == plan_weeks(book, effort=200)
    assert plan.quality.effort <= 200


def test_parts_live_on_in_the_plan_file_and_in_the_problem_it_answers():
    book = plant(1.0)
    plan = plan_book(book, effort=200)
    assert [order.parts for order in plan.work_orders if order.product == "SCRAPER"] == [2, 2]
    assert plan_from_json(json.loads(plan_text(plan))) == plan
    posed = answered(book, plan)
    late = sum(
        job.weight * max(0, posed.schedule.placements[-1].end - (job.due or 0))
        for job in posed.timing.problem.jobs
        if job.weight
    )
    assert late == plan.quality.weighted_late_minutes == plan.orders[0].late_minutes


@pytest.mark.parametrize(("said", "rule"), [(3, "figures of the plan"), (4, "parts of a batch")])
def test_parts_that_lie_about_their_number_are_found(said, rule):
    plan = plan_book(plant(1.0), effort=200)
    orders = tuple(replace(order, parts=said) if order.parts == 2 else order for order in plan.work_orders)
    assert rule in {finding.rule for finding in check_plan(plant(1.0), replace(plan, work_orders=orders))}


@pytest.mark.parametrize("parts", [1, 2, 3, 5])
def test_parts_make_and_take_what_the_whole_would(parts):
    book = plant()
    scrapped = tuple(replace(p, scrap=0.01) if p.code == "SCRAPER" else p for p in book.products)
    book = replace(book, products=scrapped)
    explosion = explode(book, design_products(book), {"S-1/1": 600.0}, {"SCRAPER#make#0": parts})
    scrapers = [b for b in explosion.batches if b.product == "SCRAPER"]
    assert len(scrapers) == parts
    assert sum(b.quantity for b in scrapers) == 600
    assert sum(b.weight for b in scrapers) == pytest.approx(1.0)
    assert all(b.started * 0.99 >= b.quantity for b in scrapers)
    (blade,) = (b for b in explosion.batches if b.product == "BLADE")
    assert blade.quantity == sum(b.started for b in scrapers)
    assert {s.consumer: s.quantity for s in explosion.supplies} == {b.number: b.started for b in scrapers}
    assert {r.batch: r.quantity for r in explosion.requirements if r.part == "GRIP"} == {
        b.number: b.started for b in scrapers
    }


def test_later_orders_are_made_with_one_for_which_getting_ready_takes_too_long():
    """100 blades are pressed in 5 min after 10 min of set-up: at most a quarter of it is 600 blades, 30 min."""
    book = scraper_plant()
    orders = tuple(
        replace(book.orders[0], order=f"S-{n}", product="BLADE", quantity=100, due=after(day))
        for n, day in enumerate((2, 12, 22))
    )

    def sizes(**settings):
        one = replace(book, orders=orders, settings=replace(book.settings, **settings))
        wanted = {order.name: float(order.quantity) for order in orders}
        return [batch.quantity for batch in explode(one, design_products(one), wanted).batches]

    assert sizes() == [100, 100, 100]
    assert sizes(setting_up=0.25) == [300]
    assert sizes(setting_up=0.6) == [200, 100]
