"""A schedule, and what scatters about it, as the arrays the replayer reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from naptuft.errors import DesignError, Fault
from naptuft.planning.problem import Operation, Placement, Problem
from naptuft.plant.spread import Spread

FORM_NUMBERS = {"triangular": 0, "lognormal": 1, "Weibull": 2}


@dataclass(frozen=True)
class Goods:
    """Something that arrives, and the jobs that wait for it instead of their release.

    arrives  planned [minute]
    late     spread of the minutes it comes late; None: on time
    """

    name: str
    arrives: float
    jobs: tuple[int, ...]
    late: Spread | None = None


@dataclass(frozen=True)
class Breakdown:
    """Stops of one machine: running minutes from one to the next, and minutes of repair."""

    between: Spread
    repair: Spread


@dataclass(frozen=True)
class Yield:
    """Good share planned for a step, and the spread of the share got; what lacks is made again there."""

    planned: float
    got: Spread


@dataclass(frozen=True)
class Scatter:
    """What scatters about a plan; the default is nothing.

    times       (job, index) -> spread of the time taken, as a share of the planned time
    yields      (job, index) -> yield
    breakdowns  index of the machine -> its stops
    """

    times: Mapping[tuple[int, int], Spread] = field(default_factory=dict)
    yields: Mapping[tuple[int, int], Yield] = field(default_factory=dict)
    breakdowns: Mapping[int, Breakdown] = field(default_factory=dict)
    goods: tuple[Goods, ...] = ()


@dataclass(frozen=True)
class Target:
    """What must be finished by a time: an order, or a job with a due time.

    jobs   indices of the jobs that must be finished, their last wait included
    goods  places in `Scatter.goods` that must have arrived
    due    [minute]; weight  what a late minute counts
    """

    name: str
    due: float
    jobs: tuple[int, ...]
    weight: float = 1.0
    goods: tuple[int, ...] = ()


@dataclass(frozen=True)
class Model:
    """A plan ready to be replayed.

    sequence  placements in the order replayed
    arrays    what `floor.replay` reads before the seed, in its order
    """

    problem: Problem
    sequence: tuple[Placement, ...]
    scatter: Scatter
    targets: tuple[Target, ...]
    arrays: tuple[Any, ...]


def targets_of(problem: Problem) -> tuple[Target, ...]:
    """Every job with a due time as a target."""
    return tuple(
        Target(job.name, float(job.due), (number,), job.weight)
        for number, job in enumerate(problem.jobs)
        if job.due is not None
    )


def model_of(
    problem: Problem,
    placements: Sequence[Placement],
    scatter: Scatter | None = None,
    targets: Sequence[Target] | None = None,
) -> Model:
    """A schedule made ready for replays.

    placements  one for every operation, keeping every rule of the problem
    targets     what to tell the odds of; None: every job with a due time

    An operation the plan starts later than it could is held until its planned start in every replay.
    Raises DesignError where the schedule lacks an operation, or starts one before it can.
    """
    scatter = scatter or Scatter()
    chosen = tuple(targets_of(problem) if targets is None else targets)
    sequence = in_sequence(problem, placements)
    model = Model(problem, sequence, scatter, chosen, ())
    return replace(model, arrays=_held(model))


def in_sequence(problem: Problem, placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """Placements by start, what comes first in a job or waits for another job kept in order. Raises DesignError."""
    there = {(placed.job, placed.index) for placed in placements}
    missing = [
        Fault(f"{job.name}, step {index + 1}", "", "a place in the schedule", "plan every operation, then replay")
        for number, job in enumerate(problem.jobs)
        for index in range(len(job.operations))
        if (number, index) not in there
    ]
    if missing or len(there) != len(placements):
        raise DesignError(
            *missing or [Fault("schedule", len(placements), f"{len(there)}, each operation once", "delete the others")]
        )
    depth = _depths(problem)
    return tuple(sorted(placements, key=lambda p: (p.start, p.end, depth[p.job], p.index, p.job)))


def _depths(problem: Problem) -> list[int]:
    """How many jobs, one after the other, come before each."""
    number_of = {job.name: number for number, job in enumerate(problem.jobs)}
    depth: list[int | None] = [None] * len(problem.jobs)
    for begin in range(len(problem.jobs)):
        stack = [begin]
        while stack:
            number = stack[-1]
            before = [number_of[name] for name in problem.jobs[number].after]
            waiting = [other for other in before if depth[other] is None]
            if waiting and depth[number] is None:
                stack += waiting
                continue
            depth[number] = 1 + max((depth[other] or 0 for other in before), default=0)
            stack.pop()
    return [found or 0 for found in depth]


def _held(model: Model) -> tuple[Any, ...]:
    """The arrays, each operation the plan starts later than it could being held until then."""
    import numpy as np

    from naptuft.planning.risk.floor import NOT_BEFORE
    from naptuft.planning.risk.replays import held_to_plan

    on_time = tuple(replace(goods, late=None) for goods in model.scatter.goods)
    quiet = arrays_of(replace(model, scatter=Scatter(goods=on_time)))
    planned = np.array([placed.start for placed in model.sequence], np.float64)
    starts = held_to_plan(quiet, planned)
    for placed, start in zip(model.sequence, starts, strict=True):
        if start > placed.start + 1e-6:
            raise DesignError(_cannot(model.problem, placed, start))
    arrays = arrays_of(model)
    arrays[1][:, NOT_BEFORE] = quiet[1][:, NOT_BEFORE]
    return arrays


def _cannot(problem: Problem, placed: Placement, start: float) -> Fault:
    return Fault(
        f"{problem.jobs[placed.job].name}, step {placed.index + 1}",
        placed.start,
        f"a start at minute {start:g} or later, as its job, machine, calendar and racks allow",
        "have the plan checked, and replay one that keeps every rule",
    )


def _spread_row(spread: Spread) -> tuple[float, float, float, float]:
    return FORM_NUMBERS[spread.form], spread.a, spread.b, spread.c


class _Spreads:
    """The distinct spreads of a model, each with a number."""

    def __init__(self) -> None:
        self.numbers: dict[Spread, int] = {}

    def number(self, spread: Spread | None) -> int:
        return -1 if spread is None else self.numbers.setdefault(spread, len(self.numbers))


def _planned_minutes(operation: Operation, machine: int) -> int:
    return min(mode.duration for mode in operation.modes if mode.machine == machine)


def arrays_of(model: Model) -> tuple[Any, ...]:
    """The arrays `floor.replay` reads, in its order."""
    import numpy as np

    from naptuft.planning.risk import floor

    problem, sequence, scatter = model.problem, model.sequence, model.scatter
    place = {(placed.job, placed.index): k for k, placed in enumerate(sequence)}
    last = {number: place[number, len(job.operations) - 1] for number, job in enumerate(problem.jobs)}
    last_wait = {number: job.operations[-1].min_wait for number, job in enumerate(problem.jobs)}
    number_of = {job.name: number for number, job in enumerate(problem.jobs)}
    spreads = _Spreads()
    waits_for: dict[int, list[int]] = {}
    for k, goods in enumerate(scatter.goods):
        for job in goods.jobs:
            waits_for.setdefault(job, []).append(k)
    whole = np.zeros((len(sequence), floor.WIDTH), np.int32)
    figures = np.zeros((len(sequence), floor.FIGURES), np.float64)
    before: list[int] = []
    lags: list[float] = []
    goods_of: list[int] = []
    held: list[int] = []
    held_figures: list[tuple[float, float]] = []
    users: list[set[int]] = [set() for _ in problem.stores]
    for k, placed in enumerate(sequence):
        job = problem.jobs[placed.job]
        operation = job.operations[placed.index]
        whole[k, floor.BEFORE_FROM], whole[k, floor.GOODS_FROM] = len(before), len(goods_of)
        earliest = 0.0
        figures[k, floor.LONGEST_WAIT] = -1.0
        if placed.index:
            earlier = job.operations[placed.index - 1]
            before.append(place[placed.job, placed.index - 1])
            lags.append(earlier.min_wait)
            if earlier.max_wait is not None:
                figures[k, floor.LONGEST_WAIT] = earlier.max_wait
        else:
            for name in job.after:
                other = number_of[name]
                before.append(last[other])
                lags.append(last_wait[other])
            goods_of += waits_for.get(placed.job, ())
            if placed.job not in waits_for:
                earliest = max(earliest, job.release)
        whole[k, floor.MACHINE] = placed.machine
        whole[k, floor.PAUSES] = operation.pauses
        whole[k, floor.BEFORE_TO], whole[k, floor.GOODS_TO] = len(before), len(goods_of)
        whole[k, floor.HELD_FROM] = len(held)
        if operation.store is not None and operation.units > 0:
            held.append(operation.store)
            held_figures.append((operation.units, operation.min_wait))
            users[operation.store].add(placed.machine)
        whole[k, floor.HELD_TO] = len(held)
        key = placed.job, placed.index
        whole[k, floor.TIME_SPREAD] = spreads.number(scatter.times.get(key))
        got = scatter.yields.get(key)
        whole[k, floor.YIELD_SPREAD] = spreads.number(got.got if got else None)
        figures[k, floor.MINUTES] = _planned_minutes(operation, placed.machine)
        figures[k, floor.CHANGEOVER] = placed.changeover
        figures[k, floor.NOT_BEFORE] = earliest
        figures[k, floor.GOOD_SHARE] = got.planned if got else 1.0
    goods_rows = [(goods.arrives, spreads.number(goods.late)) for goods in scatter.goods]
    stops = np.zeros((len(problem.machines), 3), np.float64)
    for machine, breakdown in scatter.breakdowns.items():
        stops[machine] = 1.0, spreads.number(breakdown.between), spreads.number(breakdown.repair)
    stretches: list[tuple[float, float]] = []
    calendars = np.zeros((len(problem.machines), 2), np.int64)
    for number, machine in enumerate(problem.machines):
        opened = ((0.0, np.inf),) if machine.open is None else machine.open
        calendars[number] = len(stretches), len(stretches) + len(opened)
        stretches += opened
    bounds = np.cumsum([0, *map(len, users)])
    target_rows, ends, end_lags, arrivals = [], [], [], []
    for target in model.targets:
        row = [len(ends), len(ends) + len(target.jobs), len(arrivals), len(arrivals) + len(target.goods)]
        ends += [last[job] for job in target.jobs]
        end_lags += [last_wait[job] for job in target.jobs]
        arrivals += target.goods
        target_rows.append(row)

    def integers(values: Sequence[Any], width: int = 0) -> Any:
        return np.array(values, np.int64).reshape((-1, width) if width else (-1,))

    def numbers(values: Sequence[Any], width: int = 0) -> Any:
        return np.array(values, np.float64).reshape((-1, width) if width else (-1,))

    return (
        whole,
        figures,
        integers(before),
        numbers(lags),
        integers(goods_of),
        numbers(goods_rows, 2),
        integers(held),
        numbers(held_figures, 2),
        numbers([store.capacity for store in problem.stores]),
        integers(list(pairwise(bounds)), 2),
        integers([machine for group in users for machine in sorted(group)]),
        numbers(stretches, 2),
        calendars,
        stops,
        numbers([_spread_row(spread) for spread in spreads.numbers], 4),
        integers(target_rows, 4),
        integers(ends),
        numbers(end_lags),
        integers(arrivals),
    )
