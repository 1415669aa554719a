"""Replays of plans: what a planner is told, and that the numbers do not depend on where they are run."""

from __future__ import annotations

import datetime
import json
from dataclasses import replace

import numpy as np
import pytest

from naptuft.book.check import faults_of
from naptuft.book.model import Book
from naptuft.errors import DesignError
from naptuft.planning.plan import Plan
from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem, SharedStore
from naptuft.planning.risk.answer import assess
from naptuft.planning.risk.model import Breakdown, Goods, Scatter, Target, Yield, model_of
from naptuft.planning.risk.of_plan import answer_as_json, model_of_plan, risk_of_plan
from naptuft.planning.risk.replays import replays, traced
from naptuft.planning.risk.what_if import plan_books
from naptuft.planning.weeks import plan_weeks
from naptuft.plant.spread import DeliverySpread, Stops, WorkSpread, lognormal, triangular, weibull
from small_plants import scraper_plant

DAY = ((0, 480), (1440, 1920), (2880, 3360))


def scattered(**changes: object) -> Book:
    """The scraper plant whose bench takes 90 to 160 % of the planned time."""
    spread = WorkSpread(work_centre="BENCH", of="time", form="triangular", least=0.9, likely=1.0, most=1.6)
    return scraper_plant(work_spreads=(spread,), **changes)


def planned(book: Book) -> Plan:
    """A plan of it, without a search."""
    return plan_weeks(book, effort=1)


def finish_of(plan: Plan) -> datetime.datetime:
    """When the first order line is ready."""
    finish = plan.orders[0].finish
    assert finish is not None
    return finish


def one_machine(minutes: list[int], opened=None, pauses: bool = False, due: int | None = None) -> tuple:
    """Jobs in a row on one machine, as a problem and placements on an always open one."""
    jobs = tuple(Job(f"J{k}", (Operation((Mode(0, m),), pauses=pauses),), due=due) for k, m in enumerate(minutes))
    starts = np.cumsum([0, *minutes])
    placements = [Placement(k, 0, 0, int(starts[k]), int(starts[k + 1])) for k in range(len(minutes))]
    return Problem((Machine("bench", opened),), jobs), placements


def test_without_spreads_every_replay_is_the_plan():
    book = scraper_plant()
    plan = planned(book)
    answer = assess(model_of_plan(book, plan), 20)
    (order,) = answer.odds
    finish = (finish_of(plan) - book.start).total_seconds() / 60
    assert order.early == order.middle == order.late == finish
    assert order.on_time == answer.all_on_time == 1.0
    assert answer.weighted_late_minutes == answer.planned_late_minutes == 0.0


def test_the_odds_lie_between_certain_and_hopeless_and_the_bands_in_order():
    loose = scattered()
    finish = finish_of(planned(loose))
    due = finish.replace(tzinfo=None) + datetime.timedelta(minutes=10)
    tight = scattered(orders=(replace(loose.orders[0], due=due),))
    answer = assess(model_of_plan(tight, planned(tight)), 2000)
    (order,) = answer.odds
    assert 0.05 < order.on_time < 0.95
    assert 0 < order.error < 0.02
    assert order.early < order.middle < order.late
    assert order.late_minutes > 0
    assert answer.shares[0].machine in ("P-1", "B-1", "B-2")
    assert sum(share.share for share in answer.shares) == pytest.approx(1)


def test_the_bands_end_at_the_odds_asked_for():
    book = scattered()
    model = model_of_plan(book, planned(book))
    finish = replays(model, 2000, seed=1).finish[:, 0]
    for share in (0.8, 0.95):
        (order,) = assess(model, 2000, band=share, buffers=False).odds
        assert (finish <= order.late).mean() == pytest.approx(share, abs=0.002)
        assert (finish <= order.early).mean() == pytest.approx(1 - share, abs=0.002)
    with pytest.raises(DesignError, match=r"0\.5 to 0\.999"):
        assess(model, 10, band=0.3)


def test_the_same_seed_gives_the_same_numbers_however_the_replays_are_split():
    book = scattered()
    model = model_of_plan(book, planned(book))
    whole = replays(model, 1203, seed=7).finish
    assert np.array_equal(whole, replays(model, 1203, seed=7, threads=3).finish)
    assert np.array_equal(whole[1100:1110], traced(model, seed=7, count=10, first=1100).finish)
    assert not np.array_equal(whole, replays(model, 1203, seed=8).finish)


@pytest.mark.filterwarnings("default")
def test_a_cluster_gives_the_same_numbers_as_one_machine():
    distributed = pytest.importorskip("distributed")
    book = scattered()
    model = model_of_plan(book, planned(book))
    here = replays(model, 1203, seed=7)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as cluster:
        told: list[int] = []
        there = replays(model, 1203, seed=7, cluster=cluster.scheduler_address, progress=told.append)
    assert np.array_equal(here.finish, there.finish)
    assert np.array_equal(here.waits_broken, there.waits_broken)
    assert told[-1] == 1203


def test_what_if_books_planned_in_processes_are_planned_as_alone():
    orders = scraper_plant().orders
    books = [scraper_plant(orders=(replace(orders[0], quantity=quantity),)) for quantity in (300, 600)]
    assert plan_books(books, effort=5, processes=2) == tuple(plan_weeks(book, effort=5) for book in books)


def test_a_risk_answer_is_told_as_json_with_times_of_the_plant():
    book = scattered()
    plan = planned(book)
    told = json.loads(json.dumps(answer_as_json(risk_of_plan(book, plan, 50), book.start)))
    (order,) = told["odds"]
    assert order["name"] == "S-1/1"
    assert order["early"] <= order["middle"] <= order["late"]
    assert datetime.datetime.fromisoformat(order["due"]) == plan.orders[0].due
    assert told["replays"] == 50


def test_a_cluster_that_does_not_answer_is_named():
    pytest.importorskip("distributed")
    problem, placements = one_machine([10], due=10)
    with pytest.raises(DesignError, match="cluster: 'no-such-address'"):
        replays(model_of(problem, placements), 5, cluster="no-such-address")


def test_work_that_may_not_pause_runs_over_closing_time_rather_than_start_where_it_does_not_fit():
    problem, placements = one_machine([400, 60], DAY, due=480)
    longer = Scatter(times={(0, 0): triangular(1.3, 1.3, 1.3)})
    trace = traced(model_of(problem, placements, longer), 1, 1)
    assert trace.ends[0].tolist() == [520, 1500]
    assert trace.starts[0].tolist() == [0, 1440]


def test_work_that_may_pause_stops_at_closing_time():
    problem, placements = one_machine([400, 60], DAY, pauses=True, due=480)
    longer = Scatter(times={(0, 0): triangular(1.3, 1.3, 1.3)})
    trace = traced(model_of(problem, placements, longer), 1, 1)
    assert trace.ends[0].tolist() == [1480, 1540]


def test_what_a_poor_yield_lacks_is_made_again():
    problem, placements = one_machine([100], due=100)
    poor = Scatter(yields={(0, 0): Yield(0.98, triangular(0.49, 0.49, 0.49))})
    assert traced(model_of(problem, placements, poor), 1, 1).ends[0].tolist() == pytest.approx([200])
    good = Scatter(yields={(0, 0): Yield(0.90, triangular(0.95, 0.95, 0.95))})
    assert traced(model_of(problem, placements, good), 1, 1).ends[0].tolist() == [100]


def test_breakdowns_cost_their_share_of_the_running_time():
    """By renewal theory repairs take repair/between of the running time in the long run."""
    problem, placements = one_machine([1000] * 100, due=100_000)
    stops = Scatter(breakdowns={0: Breakdown(weibull(500.0, 1.5), lognormal(50.0, 0.8))})
    finish = replays(model_of(problem, placements, stops), 400).finish[:, -1]
    assert finish.mean() == pytest.approx(110_000, rel=0.005)


def test_a_work_order_waits_for_goods_that_come_late():
    problem, _ = one_machine([10], due=500)
    job = replace(problem.jobs[0], release=300)
    waiting = replace(problem, jobs=(job,))
    placed = [Placement(0, 0, 0, 300, 310)]
    late = Goods("P-1", 300.0, (0,), triangular(-400.0, 0.0, 100.0))
    finish = replays(model_of(waiting, placed, Scatter(goods=(late,))), 3000).finish[:, 0]
    assert finish.min() == pytest.approx(10)
    assert 390 < finish.max() <= 410
    assert finish.mean() < 310


def test_racks_that_are_full_make_work_wait():
    jobs = tuple(
        Job(f"J{k}", (Operation((Mode(k, 10),), min_wait=90, store=0, units=1),), due=100 + 100 * k) for k in range(2)
    )
    problem = Problem((Machine("a"), Machine("b")), jobs, (SharedStore("racks", 1),))
    placements = [Placement(0, 0, 0, 0, 10), Placement(1, 0, 1, 100, 110)]
    slow = Scatter(times={(0, 0): triangular(3.0, 3.0, 3.0)})
    model = model_of(problem, placements, slow)
    assert traced(model, 1, 1).starts[0].tolist() == [0, 120]
    bought = {buffer.what: buffer for buffer in assess(model, 10).buffers}
    assert bought["one rack more in racks"].saved == 20


def test_an_hour_more_a_day_saves_what_the_machine_lacks_and_nothing_elsewhere():
    jobs = tuple(Job(f"J{k}", (Operation((Mode(0, 480),)),), due=480 + 1440 * k) for k in range(2))
    problem = Problem((Machine("press", DAY), Machine("idle", DAY)), jobs)
    placements = [Placement(0, 0, 0, 0, 480), Placement(1, 0, 0, 1440, 1920)]
    answer = assess(model_of(problem, placements, Scatter(times={(0, 0): lognormal(1.1, 0.1)})), 500)
    assert [buffer.what for buffer in answer.buffers] == ["press open an hour longer each day"]


def test_a_longest_wait_outrun_is_counted():
    jobs = (
        Job("A", (Operation((Mode(0, 10),), max_wait=20), Operation((Mode(1, 10),)))),
        Job("B", (Operation((Mode(1, 15),)),)),
    )
    problem = Problem((Machine("mix"), Machine("set")), jobs)
    placements = [Placement(0, 0, 0, 0, 10), Placement(1, 0, 1, 0, 15), Placement(0, 1, 1, 15, 25)]
    certain = Scatter(times={(1, 0): triangular(3.0, 3.0, 3.0)})
    answer = assess(model_of(problem, placements, certain, [Target("A", 100.0, (0,))]), 50)
    assert [(wait.job, wait.share) for wait in answer.waits] == [("A", 1.0)]


def test_late_deliveries_lower_the_odds_and_ordering_sooner_mends_them():
    base = scraper_plant()
    short = replace(base, lots=tuple(lot for lot in base.lots if lot.material != "STEEL"))
    punctual = planned(short)
    due = finish_of(punctual).replace(tzinfo=None) + datetime.timedelta(hours=2)
    book = replace(
        short,
        orders=(replace(base.orders[0], due=due),),
        delivery_spreads=(DeliverySpread(material="*", form="triangular", least=0.0, likely=0.0, most=3 * 86400.0),),
    )
    answer = assess(model_of_plan(book, planned(book)), 1000)
    assert answer.odds[0].on_time < 0.6
    sooner = next(buffer for buffer in answer.buffers if buffer.kind == "day")
    assert sooner.saved > 3 * sooner.error > 0
    assert sooner.on_time > 0.1


def test_stops_of_the_book_make_its_orders_later():
    still = scraper_plant()
    stops = (Stops(machine="P-1", between=3600.0, repair=3600.0, variation=0.5),)
    broken = replace(still, stops=stops)
    finish = [assess(model_of_plan(book, planned(book)), 300).odds[0].late for book in (still, broken)]
    assert finish[1] > finish[0]


def test_the_most_particular_spread_counts():
    all_of_it = WorkSpread(work_centre="BENCH", of="time", form="triangular", least=2.0, likely=2.0, most=2.0)
    only_step = replace(all_of_it, product="SCRAPER", step=10, least=1.0, likely=1.0, most=1.0)
    book = scraper_plant(work_spreads=(all_of_it, only_step))
    assert not faults_of(book)
    plan = planned(book)
    finish = (finish_of(plan) - book.start).total_seconds() / 60
    assert assess(model_of_plan(book, plan), 5).odds[0].middle == finish


def test_spreads_that_spread_nothing_are_named_with_their_row():
    rows = (
        WorkSpread(work_centre="BENCH", product="BLADE", of="time", form="lognormal", mean=1.0, variation=0.1),
        WorkSpread(work_centre="PRESS", product="BLADE", step=20, of="time", form="lognormal", mean=1.0, variation=0.1),
    )
    late = (DeliverySpread(material="STEAL", form="Weibull", mean=86400.0, shape=1.0),)
    found = [str(fault) for fault in faults_of(scraper_plant(work_spreads=rows, delivery_spreads=late))]
    assert len(found) == 3
    assert found[0].startswith("Spreads, row 3, product: 'BLADE'")
    assert found[1].startswith("Spreads, row 4, step: 20; allowed: a step of BLADE at PRESS: 10")
    assert "did you mean STEEL?" in found[2]


@pytest.mark.parametrize(
    ("given", "places"),
    [
        ({"form": "triangular", "least": 0.9, "likely": 1.2}, ["most"]),
        ({"form": "triangular", "least": 1.2, "likely": 1.0, "most": 1.5}, ["likely"]),
        ({"form": "lognormal", "mean": 1.0, "shape": 2.0}, ["variation", "shape"]),
        ({"form": "Weibull", "mean": 1.0, "shape": 2.0, "of": "yield"}, ["form"]),
        ({"form": "lognormal", "mean": 1.0, "variation": 0.1, "step": 10}, ["product"]),
    ],
)
def test_a_spread_with_figures_that_do_not_fit_its_form_is_refused(given, places):
    with pytest.raises(DesignError) as caught:
        WorkSpread(work_centre="BENCH", **({"of": "time"} | given))
    assert [fault.place for fault in caught.value.faults] == places


def test_a_plan_of_another_book_is_refused():
    book = scraper_plant()
    plan = planned(book)
    other = replace(book, machines=tuple(m for m in book.machines if m.code != "P-1"), orders=())
    with pytest.raises(DesignError, match=r"P-1.*a machine of the book"):
        model_of_plan(other, plan)


def test_a_schedule_that_starts_work_too_soon_is_refused():
    problem, placements = one_machine([10, 10], due=20)
    placements[1] = replace(placements[1], start=5, end=15)
    with pytest.raises(DesignError, match="J1, step 1"):
        model_of(problem, placements)
    with pytest.raises(DesignError, match="a place in the schedule"):
        model_of(problem, placements[:1])


def test_no_replays_are_refused():
    problem, placements = one_machine([10], due=20)
    with pytest.raises(DesignError, match="replays"):
        replays(model_of(problem, placements), 0)
