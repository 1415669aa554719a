"""A schedule, and what scatters about it, as the arrays the replayer reads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from naptuft.errors import DesignError, Fault
from naptuft.planning.problem import Need, Operation, Placement, Problem
from naptuft.planning.schedule.open_time import end_of_run, shared
from naptuft.plant.spread import Spread

SLACK = 1e-6
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


def _groups(problem: Problem, sequence: Sequence[Placement]) -> list[list[int]]:
    """Places in sequence of operations together in one machine, the first of each its leader."""
    groups: dict[tuple[int, int, int, str | None, int], list[int]] = {}
    for k, placed in enumerate(sequence):
        operation = problem.jobs[placed.job].operations[placed.index]
        alone = -1 if problem.machines[placed.machine].takes is not None else k
        groups.setdefault((placed.machine, placed.start, placed.end, operation.family, alone), []).append(k)
    return list(groups.values())


class Ways:
    """Calendars of the machines, alone and with the crews that operations need there, each with a number."""

    def __init__(self, problem: Problem):
        self.problem = problem
        self.known: dict[tuple[int, frozenset[int]], int] = {}
        self.stretches: list[tuple[float, float]] = []
        self.bounds: list[tuple[int, int]] = []
        self.opened: list[tuple[tuple[int, int], ...] | None] = []
        for operation in _operations(problem):
            for mode in operation.modes:
                self.number(mode.machine, operation.needs)

    def number(self, machine: int, needs: Sequence[Need]) -> int:
        """The number of the calendar of a machine with all that are needed there."""
        key = machine, frozenset(need.crew for need in needs if need.people > 0)
        if key not in self.known:
            opened = self.problem.machines[machine].open
            for crew in sorted(key[1]):
                opened = shared(opened, self.problem.crews[crew].open)
            self.opened.append(None if opened is None else tuple(opened))
            rows = [(0.0, float("inf"))] if opened is None else [(float(a), float(b)) for a, b in opened]
            # beyond the last stretch work goes on without closing
            rows.append((rows[-1][1] if rows else 0.0, float("inf")))
            self.bounds.append((len(self.stretches), len(self.stretches) + len(rows)))
            self.stretches += rows
            self.known[key] = len(self.known)
        return self.known[key]


class Users:
    """Which machines can use a store or a crew, each pair with a number, and how often one does."""

    def __init__(self, problem: Problem):
        self.stores = len(problem.stores)
        pairs = {
            (resource, mode.machine)
            for operation in _operations(problem)
            for mode in operation.modes
            for resource in self.asked(operation)
        }
        self.number = {pair: place for place, pair in enumerate(sorted(pairs))}
        self.uses = [0] * len(pairs)
        self.resources = self.stores + len(problem.crews)

    def asked(self, operation: Operation) -> list[int]:
        """The store and the crews that an operation takes up: stores first, then crews behind all stores."""
        store = [operation.store] if operation.store is not None and operation.units > 0 else []
        return store + [self.stores + need.crew for need in operation.needs if need.people > 0]

    def use(self, resource: int, machine: int) -> int:
        """Count one use; the number of its pair."""
        number = self.number[resource, machine]
        self.uses[number] += 1
        return number

    def rows(self) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
        """Bounds of each resource, and (machine, uses) of each pair."""
        bounds, begin = [], 0
        for resource in range(self.resources):
            count = sum(pair[0] == resource for pair in self.number)
            bounds.append((begin, begin + count))
            begin += count
        return bounds, [(machine, self.uses[number]) for (_, machine), number in self.number.items()]


def _operations(problem: Problem) -> Iterator[Operation]:
    return (operation for job in problem.jobs for operation in job.operations)


def _first_share(problem: Problem, placed: Placement, opened: tuple[tuple[int, int], ...] | None) -> float:
    """The part of its run after which an operation hands on its first transfer batch, as planned."""
    operation = problem.jobs[placed.job].operations[placed.index]
    if operation.transfers == 1 or placed.end <= placed.start:
        return 1.0
    mode = min((m for m in operation.modes if m.machine == placed.machine), key=lambda m: m.duration)
    minutes = mode.setup + -(-(mode.duration - mode.setup) // operation.transfers)
    done = end_of_run(opened, minutes, operation.pauses, placed.start)
    return 1.0 if done is None else min(1.0, (done - placed.start) / (placed.end - placed.start))


def _last_share(problem: Problem, placed: Placement) -> float:
    """Minutes for the last transfer batch an operation gets; -1: it gets all at once."""
    operations = problem.jobs[placed.job].operations
    if placed.index == 0 or operations[placed.index - 1].transfers == 1:
        return -1.0
    own = (m for m in operations[placed.index].modes if m.machine == placed.machine)
    mode = min(own, key=lambda m: m.duration)
    return float(-(-(mode.duration - mode.setup) // operations[placed.index - 1].transfers))


def arrays_of(model: Model) -> tuple[Any, ...]:
    """The arrays `floor.replay` reads, in its order."""
    import numpy as np

    from naptuft.planning.risk import floor

    problem, sequence, scatter = model.problem, model.sequence, model.scatter
    place = {(placed.job, placed.index): k for k, placed in enumerate(sequence)}
    last = {number: place[number, len(job.operations) - 1] for number, job in enumerate(problem.jobs)}
    last_wait = {number: job.operations[-1].min_wait for number, job in enumerate(problem.jobs)}
    number_of = {job.name: number for number, job in enumerate(problem.jobs)}
    group_of = {k: group for group in _groups(problem, sequence) for k in group}
    spreads, ways, users = _Spreads(), Ways(problem), Users(problem)
    keys = [(number, index) for number, job in enumerate(problem.jobs) for index in range(len(job.operations))]
    key_of = {key: k for k, key in enumerate(keys)}
    waits_for: dict[int, list[int]] = {}
    for k, goods in enumerate(scatter.goods):
        for job in goods.jobs:
            waits_for.setdefault(job, []).append(k)
    whole = np.zeros((len(sequence), floor.WIDTH), np.int32)
    figures = np.zeros((len(sequence), floor.FIGURES), np.float64)
    before: list[int] = []
    lags: list[float] = []
    shares: list[float] = []
    goods_of: list[int] = []
    held: list[tuple[int, int]] = []
    held_figures: list[tuple[float, float]] = []
    crews: list[tuple[int, int, int]] = []
    crew_figures: list[float] = []

    def waits(k: int) -> float:
        """Enter what one operation waits for; its release where that is not goods."""
        placed = sequence[k]
        job = problem.jobs[placed.job]
        if placed.index:
            earlier = place[placed.job, placed.index - 1]
            operation = job.operations[placed.index - 1]
            before.append(earlier)
            lags.append(operation.min_wait)
            opened = ways.opened[ways.number(sequence[earlier].machine, operation.needs)]
            shares.append(_first_share(problem, sequence[earlier], opened))
            return 0.0
        for name in job.after:
            other = number_of[name]
            before.append(last[other])
            lags.append(last_wait[other])
            shares.append(1.0)
        goods_of.extend(waits_for.get(placed.job, ()))
        return 0.0 if placed.job in waits_for else float(job.release)

    for k, placed in enumerate(sequence):
        job = problem.jobs[placed.job]
        operation = job.operations[placed.index]
        group = group_of[k]
        whole[k, floor.BEFORE_FROM], whole[k, floor.GOODS_FROM] = len(before), len(goods_of)
        whole[k, floor.NEED_FROM], whole[k, floor.CREWS_FROM] = len(held), len(crews)
        earliest = waits(k)
        whole[k, floor.LEADER] = group[0] if group[0] != k else -1
        if group[0] == k:
            earliest = max([earliest, *(waits(other) for other in group[1:])])
            for other in group:
                member = problem.jobs[sequence[other].job].operations[sequence[other].index]
                if member.store is not None and member.units > 0:
                    held.append((member.store, users.use(member.store, placed.machine)))
                    held_figures.append((member.units, member.min_wait))
            for need in operation.needs:
                if need.people > 0:
                    crew = len(problem.stores) + need.crew
                    crews.append((crew, users.use(crew, placed.machine), int(need.changeover)))
                    crew_figures.append(need.people)
        whole[k, floor.BEFORE_TO], whole[k, floor.GOODS_TO] = len(before), len(goods_of)
        whole[k, floor.NEED_TO], whole[k, floor.CREWS_TO] = len(held), len(crews)
        whole[k, floor.MACHINE] = placed.machine
        whole[k, floor.CALENDAR] = ways.number(placed.machine, operation.needs)
        whole[k, floor.PAUSES] = operation.pauses
        key = placed.job, placed.index
        whole[k, floor.KEY] = key_of[key]
        whole[k, floor.TIME_SPREAD] = spreads.number(scatter.times.get(key))
        got = scatter.yields.get(key)
        whole[k, floor.YIELD_SPREAD] = spreads.number(got.got if got else None)
        figures[k, floor.MINUTES] = _planned_minutes(operation, placed.machine)
        figures[k, floor.CHANGEOVER] = sum(sequence[other].changeover for other in group)
        figures[k, floor.NOT_BEFORE] = earliest
        figures[k, floor.GOOD_SHARE] = got.planned if got else 1.0
        longest = job.operations[placed.index - 1].max_wait if placed.index else None
        figures[k, floor.LONGEST_WAIT] = -1.0 if longest is None else longest
        figures[k, floor.LAST_SHARE] = _last_share(problem, placed)
    goods_rows = [(goods.arrives, spreads.number(goods.late)) for goods in scatter.goods]
    stops = np.zeros((len(problem.machines), 3), np.float64)
    for machine, breakdown in scatter.breakdowns.items():
        stops[machine] = 1.0, spreads.number(breakdown.between), spreads.number(breakdown.repair)
    bounds, entries = users.rows()
    target_rows, ends, end_lags, arrivals = [], [], [], []
    for target in model.targets:
        row = [len(ends), len(ends) + len(target.jobs), len(arrivals), len(arrivals) + len(target.goods)]
        ends += [last[job] for job in target.jobs]
        end_lags += [last_wait[job] for job in target.jobs]
        arrivals += target.goods
        target_rows.append(row)

    rows_of_spreads = np.array([_spread_row(spread) for spread in spreads.numbers], np.float64).reshape((-1, 4))

    def integers(values: Sequence[Any], width: int = 0) -> Any:
        return np.array(values, np.int64).reshape((-1, width) if width else (-1,))

    def numbers(values: Sequence[Any], width: int = 0) -> Any:
        return np.array(values, np.float64).reshape((-1, width) if width else (-1,))

    return (
        whole,
        figures,
        integers(before),
        numbers(lags),
        numbers(shares),
        integers(goods_of),
        numbers(goods_rows, 2),
        integers(held, 2),
        numbers(held_figures, 2),
        integers(crews, 3),
        numbers(crew_figures),
        numbers([*(store.capacity for store in problem.stores), *(crew.people + SLACK for crew in problem.crews)]),
        integers(bounds, 2),
        integers(entries, 2),
        numbers(ways.stretches, 2),
        integers(ways.bounds, 2),
        stops,
        rows_of_spreads,
        floor.tabled(rows_of_spreads),
        integers(target_rows, 4),
        integers(ends),
        numbers(end_lags),
        integers(arrivals),
        np.arange(len(sequence), dtype=np.int64),
    )
