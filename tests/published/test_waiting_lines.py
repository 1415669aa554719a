"""Waiting lines: Erlang's formula, and the replayer as a queue.

Render, Stair and Hanna, Quantitative Analysis for Management, instructor's manual, alternative example 14.3:
an information desk of two, 20 people an hour, 2 minutes each: desk idle half the time, 3/4 of a person there.
Hillier and Lieberman, Introduction to Operations Research, County Hospital (one doctor, 2 an hour, 20 minutes
each): 40 minutes' wait; with two doctors 1/24 hour (from memory; 40 minutes also as worked out by students).
Gross and Harris, Fundamentals of Queueing Theory, eye clinic: three doctors, 6 an hour, 20 minutes each: 8/9 of a
patient waiting (from memory).
J. D. C. Little, Operations Research 9 (1961) 383: L = lambda W.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from naptuft.planning.capacity import mean_wait, units_inside, waiting_odds
from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem, SharedStore
from naptuft.planning.risk.model import Scatter, model_of
from naptuft.planning.risk.replays import traced
from naptuft.plant.spread import weibull

CUSTOMERS, FIRST_COUNTED, REPLAYS = 1200, 300, 120


def queue(between: int, service: int, servers: int) -> tuple[Any, Any, Any]:
    """Arrival, start and end of service of each customer, shape (replays, customers): random arrivals and times.

    A gate lets customers in one at a time, after exponential times; servers alike are a store with a place each.
    """
    machines = (Machine("gate"), *(Machine(f"seat {k}") for k in range(CUSTOMERS)))
    jobs = tuple(
        Job(f"{k}", (Operation((Mode(0, between),)), Operation((Mode(1 + k, service),), store=0, units=1)))
        for k in range(CUSTOMERS)
    )
    placements = []
    ends = [0] * servers
    for k in range(CUSTOMERS):
        there = between * (k + 1)
        start = max(there, ends[k % servers])
        ends[k % servers] = start + service
        placements += [Placement(k, 0, 0, there - between, there), Placement(k, 1, 1 + k, start, start + service)]
    problem = Problem(machines, jobs, (SharedStore("servers", servers),))
    by_chance = weibull(1.0, 1.0)
    scatter = Scatter(times={(k, index): by_chance for k in range(CUSTOMERS) for index in (0, 1)})
    model = model_of(problem, placements, scatter, ())
    trace = traced(model, seed=5, count=REPLAYS)
    column = {(placed.job, placed.index): place for place, placed in enumerate(model.sequence)}
    gate = [column[k, 0] for k in range(CUSTOMERS)]
    served = [column[k, 1] for k in range(CUSTOMERS)]
    return trace.ends[:, gate], trace.starts[:, served], trace.ends[:, served]


def test_the_information_desk_holds_three_quarters_of_a_person():
    """Render, Stair and Hanna, alternative example 14.3: P0 1/2, L 3/4."""
    waiting = mean_wait(20.0, 30.0, 2)
    assert units_inside(20.0, waiting + 1 / 30) == pytest.approx(3 / 4)
    assert waiting_odds(20.0, 30.0, 2) == pytest.approx(1 / 6)


def test_the_emergency_room_waits_40_minutes_and_2_and_a_half():
    """Hillier and Lieberman, County Hospital: 2/3 h with one doctor, 1/24 h with two."""
    assert mean_wait(2.0, 3.0, 1) * 60 == pytest.approx(40)
    assert mean_wait(2.0, 3.0, 2) == pytest.approx(1 / 24)


def test_the_eye_clinic_has_eight_ninths_of_a_patient_waiting():
    """Gross and Harris: 6 an hour, three doctors at 3 an hour: Lq 8/9."""
    assert units_inside(6.0, mean_wait(6.0, 3.0, 3)) == pytest.approx(8 / 9)


@pytest.mark.parametrize(("between", "service", "servers"), [(30, 20, 1), (3, 2, 2), (10, 20, 3)])
def test_customers_in_the_replayer_wait_as_long_as_erlang_says(between, service, servers):
    """The three lines above, replayed: mean wait and share that waits within 4 standard errors."""
    arrived, started, _ = queue(between, service, servers)
    waits = (started - arrived)[:, FIRST_COUNTED:]
    for measured, wanted in (
        (waits.mean(axis=1), mean_wait(1 / between, 1 / service, servers)),
        ((waits > 1e-9).mean(axis=1), waiting_odds(1 / between, 1 / service, servers)),
    ):
        error = measured.std(ddof=1) / REPLAYS**0.5
        assert error < 0.05 * wanted
        assert abs(measured.mean() - wanted) < 4 * error


def test_the_number_inside_is_the_rate_times_the_time_inside():
    """Little 1961: counted at moments on the clock, against arrivals a minute times minutes inside."""
    arrived, _, left = queue(10, 20, 3)
    begin, end = 3000.0, 9000.0
    moments = np.linspace(begin, end, 400)
    inside = np.mean([[(a <= t).sum() - (b <= t).sum() for t in moments] for a, b in zip(arrived, left, strict=True)])
    counted = (arrived >= begin) & (arrived < end)
    rate = counted.sum() / (end - begin) / REPLAYS
    assert inside == pytest.approx(units_inside(rate, (left - arrived)[counted].mean()), rel=0.02)
