"""What a plan is judged by, and what more of one costs in the others."""

from dataclasses import replace

import pytest

from naptuft.planning.answered import answered
from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem, Schedule
from naptuft.planning.trade import (
    Measures,
    Taken,
    TradePoint,
    in_open_hours,
    marked,
    measures_of,
    rationed,
    trade,
)
from naptuft.planning.weeks import plan_weeks
from small_plants import scraper_plant

DAYS = tuple((day * 1440, day * 1440 + 600) for day in range(20))


def run(minutes: int, machine: int = 0, **more) -> Operation:
    return Operation((Mode(machine, minutes),), **more)


def test_every_measure_of_a_plan_worked_out_by_hand():
    """Two jobs on two machines. The second is late by 100 minutes that count double; 60 minutes of it are overtime."""
    press = Machine("press", ((0, 600),), overtime=((480, 600),))
    bench = Machine("bench", ((0, 600), (1440, 2040)))
    jobs = (
        Job("a", (run(120), run(60, 1, name="rivet")), due=700),
        Job("b", (run(180, min_wait=30), run(90, 1)), due=1500, weight=2.0),
    )
    plan = (
        Placement(0, 0, 0, 0, 120),
        Placement(0, 1, 1, 150, 210),
        Placement(1, 0, 0, 360, 540, 45),
        Placement(1, 1, 1, 1510, 1600),
    )
    taken = (Taken(0, -1440, 30.0), Taken(1, -1440 * 2, 10.0))

    found = measures_of(Problem((press, bench), jobs), plan, taken)

    assert found.late_minutes == 2.0 * 100
    assert found.changeover_minutes == 45
    assert found.waiting_minutes == 30 + (1510 - 540 - 30)
    assert found.overtime_minutes == 60
    assert found.jobs_in_progress == pytest.approx((210 + 1240) / 1600)
    assert found.material_age_days == pytest.approx((30 * 1.0 + 10 * (2 + 360 / 1440)) / 40)
    # press: 300 of 600 minutes on its one day; bench: 60 of 600, then 90 of 600
    assert found.unevenness == pytest.approx(150 * 0.025 / 450)


def test_work_that_is_in_an_oven_together_loads_it_once():
    oven = Machine("oven", DAYS, takes=4)
    jobs = tuple(Job(name, (run(100, load=1, family="low"),)) for name in "abc")
    plan = tuple(Placement(job, 0, 0, 0, 100) for job in range(3))
    overtime = replace(oven, overtime=((0, 600),))
    assert measures_of(Problem((overtime,), jobs), plan).overtime_minutes == 100


def test_a_machine_loaded_alike_every_day_is_even():
    jobs = tuple(Job(str(day), (run(300),)) for day in range(4))
    problem = Problem((Machine("press", DAYS),), jobs)
    alike = tuple(Placement(day, 0, 0, day * 1440, day * 1440 + 300) for day in range(4))
    heaped = tuple(Placement(day, 0, 0, (day // 2) * 2880 + day % 2 * 300, 0) for day in range(4))
    heaped = tuple(replace(place, end=place.start + 300) for place in heaped)
    assert measures_of(problem, alike).unevenness == 0.0
    assert measures_of(problem, heaped).unevenness > 0.3


def test_a_plan_for_shorter_days_is_clean_in_the_hours_there_are():
    from naptuft.planning.schedule import schedule

    jobs = tuple(Job(str(k), (run(130, pauses=True), run(70, 1, pauses=True)), due=9000) for k in range(12))
    problem = Problem((Machine("press", DAYS), Machine("bench", DAYS)), jobs)
    first = schedule(problem, effort=300)
    shorter = rationed(problem, first.placements)
    assert sum(b - a for a, b in shorter.machines[1].open or ()) < sum(b - a for a, b in DAYS)

    even = in_open_hours(problem, schedule(shorter, effort=300).placements)

    assert check_schedule(problem, even) == ()
    assert measures_of(problem, even).unevenness < measures_of(problem, first.placements).unevenness


def test_a_point_that_another_beats_in_everything_is_marked():
    def point(name: str, late: float, changeover: int) -> TradePoint:
        return TradePoint(
            name, "", Measures(late, changeover, 1, 1, 0, 1, 0), Schedule((), (0.0, 0.0), None, "feasible")
        )

    found = marked([point("first", 0, 100), point("worse", 5, 110), point("other", 5, 50)])
    assert [each.beaten_by for each in found] == [(), ("first", "other"), ()]


def test_every_point_of_a_book_is_a_plan_without_fault():
    book = scraper_plant()
    plan = plan_weeks(book, effort=200)
    told = []
    points = trade(book, plan, effort=200, progress=lambda name, done: told.append((name, done)))

    problem = answered(book, plan).timing.problem
    assert [point.name for point in points][:2] == ["the plan at hand", "as the book asks"]
    assert len(points) == 1 + len(told) == len({point.name for point in points})
    for point in points:
        assert check_schedule(problem, point.schedule.placements) == ()
    # steel came sixty days before the plan begins
    assert all(point.measures.material_age_days >= 60 for point in points)


def test_a_trade_that_is_stopped_keeps_the_points_it_has():
    book = scraper_plant()
    plan = plan_weeks(book, effort=50)
    assert [point.name for point in trade(book, plan, effort=50, stop=lambda: True)] == ["the plan at hand"]
