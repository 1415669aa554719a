"""Capacity at rough cut, as a production engineer would ask for it."""

from __future__ import annotations

import datetime
from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from naptuft.errors import DesignError
from naptuft.planning.capacity import (
    Station,
    balance_line,
    cavities_for_rate,
    crew_for_rate,
    line_capacity,
    machine_counts,
    mean_wait,
    racks_for_rate,
    rough_cut,
    takt_time,
    waiting_odds,
)
from naptuft.plant.work_centre import Changeover
from small_plants import after, scraper_plant


def test_a_rough_cut_counts_every_part_of_what_is_due():
    """600 scrapers of 12 s on the bench; their 600 blades of 3 s and 10 min setup on the press; 12 h open a weekday."""
    loads = {load.work_centre: load for load in rough_cut(scraper_plant(), {}, days=28, periods=1)}
    assert loads["BENCH"].run_minutes == pytest.approx(120)
    assert loads["BENCH"].setup_minutes == 0
    assert (loads["PRESS"].run_minutes, loads["PRESS"].setup_minutes) == (pytest.approx(30), pytest.approx(10))
    assert loads["PRESS"].open_minutes == 20 * 720
    assert loads["BENCH"].open_minutes == 2 * 20 * 720
    assert loads["BENCH"].people == pytest.approx(120 / (20 * 720))


def test_work_counts_in_the_period_it_is_due_and_what_is_due_later_not_at_all():
    order = scraper_plant().orders[0]
    lines = tuple(replace(order, line=line, due=after(days)) for line, days in enumerate((2, 9, 30), 1))
    loads = rough_cut(scraper_plant(orders=lines), {}, days=7, periods=2)
    bench = [load.run_minutes for load in loads if load.work_centre == "BENCH"]
    assert bench == [pytest.approx(120), pytest.approx(120)]
    assert [load.start for load in loads if load.work_centre == "PRESS"] == [
        datetime.date(2026, 11, 30),
        datetime.date(2026, 12, 7),
    ]


def test_a_rough_cut_counts_the_longest_change_to_the_family():
    base = scraper_plant()
    routes = tuple(replace(step, family=step.product) for step in base.routes)
    other = replace(routes[1], product="SCRAPER", step=20, family="SCRAPER")
    changes = (Changeover(work_centre="PRESS", before="*", after="BLADE", duration=25 * 60.0),)
    book = replace(base, routes=(*routes, other), changeovers=changes)
    press = next(load for load in rough_cut(book, {}, periods=1) if load.work_centre == "PRESS")
    assert press.setup_minutes == pytest.approx(10 + 25 + 10)


def test_work_due_while_nothing_is_open_is_endlessly_much():
    book = scraper_plant(shifts=())
    assert all(load.utilisation == inf for load in rough_cut(book, {}, periods=1))


def test_a_work_centre_over_its_share_needs_another_machine():
    order = replace(scraper_plant().orders[0], quantity=140_000)
    loads = rough_cut(scraper_plant(orders=(order,)), {}, periods=1)
    assert machine_counts(loads, {"PRESS": 1, "BENCH": 2}) == {"PRESS": 1, "BENCH": 3}


@given(
    st.lists(
        st.builds(Station, st.just("s"), st.floats(0.1, 1e4), st.integers(1, 9), st.floats(0.05, 1), st.floats(0.5, 1)),
        min_size=1,
        max_size=6,
    ),
    st.floats(1e-6, 10),
)
def test_at_its_own_rate_the_bottleneck_is_never_idle_and_no_station_is_overloaded(stations, rate):
    named = tuple(replace(station, name=f"S{k}") for k, station in enumerate(stations))
    full = line_capacity(named, line_capacity(named, rate).rate)
    assert max(load.utilisation for load in full.loads) == pytest.approx(1)
    assert next(load for load in full.loads if load.station == full.bottleneck).utilisation == pytest.approx(1)


@given(st.floats(1e-3, 1), st.floats(1, 1e5), st.integers(1, 200))
def test_racks_hold_what_is_on_them_and_one_fewer_would_not(rate, time, per_rack):
    racks = racks_for_rate(rate, time, per_rack)
    assert racks * per_rack >= rate * time - 1e-6 * per_rack
    assert (racks - 1) * per_rack < rate * time


@given(st.integers(1, 12), st.floats(0.01, 0.99))
def test_more_machines_at_the_same_load_let_fewer_wait(machines, load):
    fewer = waiting_odds(load * machines, 1.0, machines)
    more = waiting_odds(load * (machines + 1), 1.0, machines + 1)
    assert 0 < more < fewer <= 1
    assert mean_wait(load * machines, 1.0, machines) >= 0


@given(
    st.dictionaries(st.sampled_from("abcdefgh"), st.floats(0.5, 10), min_size=1),
    st.floats(10, 30),
    st.randoms(use_true_random=False),
)
def test_a_balanced_line_does_every_task_once_in_order_and_in_time(tasks, takt, dice):
    names = sorted(tasks)
    after_of = {name: [other for other in names[:k] if dice.random() < 0.3] for k, name in enumerate(names)}
    seats = balance_line(tasks, after_of, takt)
    order = [name for seat in seats for name in seat.tasks]
    assert sorted(order) == names
    assert all(
        seat.time <= takt + 1e-6 and seat.time == pytest.approx(sum(tasks[t] for t in seat.tasks)) for seat in seats
    )
    assert all(order.index(before) < order.index(name) for name in names for before in after_of[name])
    assert len(seats) >= crew_for_rate(list(tasks.values()), takt)


def test_what_cannot_be_is_refused_with_its_name():
    with pytest.raises(DesignError, match=r"arrivals: 4\.0; allowed: below 2 × 2"):
        waiting_odds(4.0, 2.0, 2)
    with pytest.raises(DesignError, match=r"task a: 9\.0; allowed: at most the takt, 5 s"):
        balance_line({"a": 9.0}, {}, 5.0)
    with pytest.raises(DesignError, match="break the loop"):
        balance_line({"a": 1.0, "b": 1.0}, {"a": ["b"], "b": ["a"]}, 5.0)
    with pytest.raises(DesignError, match="line, after: 'c'"):
        balance_line({"a": 1.0}, {"a": ["c"]}, 5.0)
    with pytest.raises(DesignError, match="open time"):
        takt_time(0.0, 10.0)
    with pytest.raises(DesignError, match="cycle"):
        cavities_for_rate(1.0, 0.0)
    with pytest.raises(DesignError, match="machines"):
        Station("dip", 10.0, machines=0)
    with pytest.raises(DesignError, match="line"):
        line_capacity((), 1.0)
