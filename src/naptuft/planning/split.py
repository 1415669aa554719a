"""Batches split over several machines where that makes orders less late.

A good plan of whole batches comes first. Batches that end in late orders, or stand in their way on a machine, and
whose steps have more than one machine, are then tried in parts, the plan carried over and moved a little. A split is
kept where it saves more late minutes, weighted, than the minutes of setting up and changing over it adds, and only as
long as the plan without it is worse.
"""

from __future__ import annotations

import datetime
import itertools
import time
from bisect import bisect
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

from naptuft.book.model import Book
from naptuft.planning.allocate import Allocated, allocate
from naptuft.planning.batch_size import getting_ready
from naptuft.planning.design import Designs, seconds_each
from naptuft.planning.explode import Explosion, explode
from naptuft.planning.outcome import late_words
from naptuft.planning.problem import Placement, Schedule
from naptuft.planning.schedule.search import DEFAULT_EFFORT, Progress
from naptuft.planning.tied import bettered_tied, schedule_tied
from naptuft.planning.timing import Timing, pose
from naptuft.plant.calendar import minutes_after
from naptuft.quantity import from_si

MOVES = 400
"""Moves tried on each plan carried over."""
MOST_TRIES = 16
FIRST, TRYING, BETTERED, CHECKED = 0.7, 0.1, 0.9, 0.05
"""Shares of the limits: until the plan of whole batches is made, for trying splits, until what is kept is bettered,
for trying it with fewer; the rest betters it again."""
HALF = 0.5
"""Getting ready for a part takes at most this share of its time at a step, where the book asks for no less."""


@dataclass(frozen=True)
class Wanted:
    """What splitting is decided from.

    quantities  order line -> quantity to deliver
    starts      batches (`Batch.whole`) that would use a lot too late -> when they start; their lots keep until then
    """

    book: Book
    designs: Designs
    quantities: Mapping[str, float]
    starts: Mapping[str, datetime.datetime]

    def made(self, parts: Mapping[str, int]) -> Made | None:
        """The work orders with some batches in parts; None where their material does not do."""
        explosion = explode(self.book, self.designs, self.quantities, parts)
        starts = {batch.number: self.starts[batch.whole] for batch in explosion.batches if batch.whole in self.starts}
        allocated = allocate(self.book, explosion, starts)
        if allocated.gaps:
            return None
        return Made(parts, explosion, allocated, pose(self.book, self.designs, explosion, allocated))

    def supposed(self, parts: Mapping[str, int], like: Made) -> Made:
        """The work orders with some batches in parts, their material taken to be there when it is in other parts."""
        explosion = explode(self.book, self.designs, self.quantities, parts)
        there = {batch.whole: like.allocated.release.get(batch.number) for batch in like.explosion.batches}
        release = {b.number: when for b in explosion.batches if (when := there.get(b.whole)) is not None}
        allocated = replace(like.allocated, release=release)
        return Made(parts, explosion, allocated, pose(self.book, self.designs, explosion, allocated))


@dataclass(frozen=True)
class Made:
    """Work orders, what they take, and the scheduling problem they pose; parts: `Batch.whole` -> how many."""

    parts: Mapping[str, int]
    explosion: Explosion
    allocated: Allocated
    timing: Timing


@dataclass(frozen=True)
class Stand:
    """Work orders on the floor."""

    made: Made
    plan: Schedule

    @cached_property
    def finish(self) -> Mapping[int, int]:
        """When each job is finished, its last wait included. [minute]"""
        ends: dict[int, int] = defaultdict(int)
        for placed in self.plan.placements:
            wait = self.made.timing.problem.jobs[placed.job].operations[placed.index].min_wait
            ends[placed.job] = max(ends[placed.job], placed.end + wait)
        return ends

    @cached_property
    def late(self) -> Mapping[str, int]:
        """How late each order line is whose last work order is late. [min]"""
        origin = self.made.timing.problem.origin
        assert origin is not None
        late: dict[str, int] = defaultdict(int)
        for job, batch in enumerate(self.made.timing.batches):
            for demand in batch.demands:
                if demand.by_order:
                    over = self.finish[job] - minutes_after(origin, demand.due)
                    late[demand.consumer] = max(late[demand.consumer], over)
        return {name: over for name, over in late.items() if over > 0}

    @property
    def weighted(self) -> float:
        """Late minutes of the order lines, times their weights."""
        weight = {d.consumer: d.weight for batch in self.made.timing.batches for d in batch.demands if d.by_order}
        return sum(weight[name] * minutes for name, minutes in self.late.items())

    @cached_property
    def setting_up(self) -> int:
        """Minutes spent getting ready and changing over."""
        jobs = self.made.timing.problem.jobs
        return sum(
            placed.changeover
            + next(m.setup for m in jobs[placed.job].operations[placed.index].modes if m.machine == placed.machine)
            for placed in self.plan.placements
        )

    @property
    def worth(self) -> tuple[float, ...]:
        """What plans are compared by, the less the better."""
        late = self.made.timing.problem.aims.late
        figures = self.plan.objective
        return figures if late is None else (late * figures[0] + figures[1],)

    def pays(self, before: Stand) -> bool:
        """Whether it is worth what it adds of setting up to a plan with fewer parts."""
        saved = before.weighted - self.weighted
        return saved > max(0, self.setting_up - before.setting_up) and self.worth < before.worth


@dataclass(frozen=True)
class Limits:
    """Seed and limits of a search, as `schedule` takes them."""

    seed: int
    seconds: float | None
    effort: int | None
    progress: Callable[[Progress], None] | None = None
    stop: Callable[[], bool] | None = None


def schedule_in_parts(wanted: Wanted, whole: Made, limits: Limits) -> tuple[Made, Schedule]:
    """The best plan found within the limits, batches split where that pays; the work orders as split.

    Where nothing can be split the whole batches have all of the limits. Raises Infeasible as `schedule` does.
    """
    timing = whole.timing
    if not splittable(wanted.book, wanted.designs, timing):
        own = {"seed": limits.seed, "seconds": limits.seconds, "effort": limits.effort}
        return whole, schedule_tied(timing.problem, timing.ties, progress=limits.progress, stop=limits.stop, **own)
    clock = _Clock(limits)
    found = clock.search(timing, FIRST)
    tries = MOST_TRIES * MOVES if clock.effort is None else int(clock.effort * TRYING)
    over = clock.over_after(FIRST + TRYING)
    split, tried = split_late(wanted, whole, found, seed=limits.seed, tries=tries, over=over)
    clock.tried += tried
    if split is None:
        if found.status == "optimal" or clock.over_after(1.0)():
            return whole, replace(found, effort=clock.tried)
        stand = Stand(whole, found)
        more = clock.search(timing, 1.0, carried(whole, stand))
        best = min(more, found, key=lambda plan: Stand(whole, plan).worth)
        return whole, replace(best, bound=more.bound, effort=clock.tried)
    split = Stand(split.made, clock.search(split.made.timing, BETTERED, carried(split.made, split)))
    over = clock.over_after(BETTERED + CHECKED)
    split, tried = without_idle(wanted, split, seed=limits.seed, tries=tries // 2, over=over)
    clock.tried += tried
    more = clock.search(split.made.timing, 1.0, carried(split.made, split))
    before, after = Stand(whole, found), Stand(split.made, more)
    if not after.pays(before):
        return whole, replace(found, effort=clock.tried)
    return _noted(before, after), replace(more, effort=clock.tried)


class _Clock:
    """What is left of the limits of a search made in stages."""

    def __init__(self, limits: Limits):
        self.limits = limits
        self.effort = DEFAULT_EFFORT if limits.effort is None and limits.seconds is None else limits.effort
        self.began = time.monotonic()
        self.tried = 0

    def over_after(self, share: float) -> Callable[[], bool]:
        """Tells whether so much of the limits is used up, or the user has stopped."""

        def over() -> bool:
            limits = self.limits
            late = limits.seconds is not None and time.monotonic() - self.began >= share * limits.seconds
            spent = self.effort is not None and self.tried >= share * self.effort
            return late or spent or (limits.stop is not None and limits.stop())

        return over

    def search(self, timing: Timing, share: float, begin: Sequence[Placement] | None = None) -> Schedule:
        """Search until so much of the limits is used up; at least one plan is made."""
        limits, passed, tried = self.limits, time.monotonic() - self.began, self.tried

        def tell(state: Progress) -> None:
            if limits.progress is not None:
                limits.progress(replace(state, effort=state.effort + tried, seconds=state.seconds + passed))

        found = schedule_tied(
            timing.problem,
            timing.ties,
            begin=begin,
            seed=limits.seed,
            seconds=None if limits.seconds is None else max(0.0, share * limits.seconds - passed),
            effort=None if self.effort is None else max(1, ceil(share * self.effort) - tried),
            progress=tell,
            stop=limits.stop,
        )
        self.tried += found.effort
        return found


def _noted(before: Stand, after: Stand) -> Made:
    """The work orders, each part saying whose lateness it lessens, against the plan of whole batches."""
    made = after.made
    sooner = {name: late - after.late.get(name, 0) for name, late in before.late.items()}
    sooner = {name: minutes for name, minutes in sooner.items() if minutes > 0}
    serves = made.explosion.serves()
    batches = []
    for batch in made.explosion.batches:
        if batch.parts > 1:
            lines = [name for name in sooner if name in serves[batch.number]] or list(sooner)
            saved = " and ".join(f"{name} is {late_words(sooner[name])} less late" for name in sorted(lines))
            batch = replace(
                batch, note=f"one of {batch.parts} parts of a batch, made side by side: {saved} than with it whole"
            )
        batches.append(batch)
    return replace(
        made,
        explosion=replace(made.explosion, batches=tuple(batches)),
        timing=replace(made.timing, batches=tuple(batches)),
    )


def splittable(book: Book, designs: Designs, timing: Timing) -> Mapping[str, int]:
    """Batches that may be split, by `Batch.whole`, and into how many parts at most.

    No more parts than a step has machines or the book allows, none smaller than the least batch, none that takes
    longer to get ready for than to make, or than the share of its time the book allows. What is cut to a joint
    list, must be used in time or is pinned stays whole.
    """
    most = {}
    for job, batch, steps in zip(timing.problem.jobs, timing.batches, timing.steps, strict=True):
        product = book.product[batch.product]
        pinned = any(operation.pinned is not None for operation in job.operations)
        if batch.stage == "cut" or product.use_within is not None or pinned:
            continue
        parts = min(
            book.settings.most_parts, max(len({m.machine for m in operation.modes}) for operation in job.operations)
        )
        if product.least_batch is not None:
            parts = min(
                parts, int(batch.quantity / from_si(product.least_batch.si(product.pint_unit), product.pint_unit))
            )
        share = HALF if book.settings.setting_up is None else min(HALF, book.settings.setting_up)
        for step in steps:
            run = batch.started * seconds_each(designs, step)
            if ready := getting_ready(book, step):
                parts = min(parts, int(run / (ready * (1 / share - 1)) + 1e-9))
        if product.unit == "pcs":
            parts = min(parts, int(batch.quantity))
        if parts > 1:
            most[batch.whole] = parts
    return most


def split_late(
    wanted: Wanted, whole: Made, found: Schedule, *, seed: int, tries: int, over: Callable[[], bool]
) -> tuple[Stand | None, int]:
    """The plan with the splits that pay, each part noting why; None where none does. Plans tried besides.

    found  a plan of the whole batches
    tries  candidate plans tried at most; over: True ends the trying
    """
    most = splittable(wanted.book, wanted.designs, whole.timing)
    stand = Stand(whole, found)
    trial = _Trials(wanted, seed, tries, over)
    if not stand.late or not most or not any(True for _ in _candidates(stand, most)) or trial.spent():
        return None, 0
    stand = min(stand, trial.moved(whole, stand), key=lambda one: one.worth)
    seen: set[frozenset[tuple[str, int]]] = set()
    while not trial.spent():
        parts = next((p for p in _candidates(stand, most) if frozenset(p.items()) not in seen), None)
        if parts is None:
            break
        seen.add(frozenset(parts.items()))
        after = trial.moved(wanted.supposed(parts, stand.made), stand)
        if after.pays(stand):
            stand = trial.real(after, stand) or stand
    return (stand if stand.made.parts else None), trial.tried


def without_idle(wanted: Wanted, stand: Stand, *, seed: int, tries: int, over: Callable[[], bool]) -> tuple[Stand, int]:
    """The plan without the splits it is no worse without. Plans tried besides."""
    trial = _Trials(wanted, seed, tries, over)
    for name in list(stand.made.parts):
        if trial.spent():
            break
        parts = {other: parts for other, parts in stand.made.parts.items() if other != name}
        fewer = trial.moved(wanted.supposed(parts, stand.made), stand)
        if not stand.pays(fewer) and (made := wanted.made(parts)) is not None:
            stand = fewer if made.timing == fewer.made.timing else trial.moved(made, stand)
            stand = replace(stand, made=made)
    return stand, trial.tried


class _Trials:
    """Plans carried over to other work orders, within limits."""

    def __init__(self, wanted: Wanted, seed: int, tries: int, over: Callable[[], bool]):
        self.wanted, self.seed, self.over = wanted, seed, over
        self.left, self.tried = tries, 0
        self.moves = max(1, min(MOVES, tries // MOST_TRIES))

    def spent(self) -> bool:
        """Whether the limits are reached."""
        return self.left < self.moves or self.over()

    def real(self, supposed: Stand, before: Stand) -> Stand | None:
        """A plan with its material chosen; None where that does not do, or it no longer pays."""
        made = self.wanted.made(supposed.made.parts)
        if made is None:
            return None
        if made.timing == supposed.made.timing:
            return replace(supposed, made=made)
        after = self.moved(made, before)
        return after if after.pays(before) else None

    def moved(self, made: Made, stand: Stand) -> Stand:
        """Work orders planned as others stand, and moved a little."""
        self.left -= self.moves
        self.tried += self.moves
        timing = made.timing
        begin = carried(made, stand)
        return Stand(made, bettered_tied(timing.problem, timing.ties, begin, seed=self.seed, effort=self.moves))


def carried(made: Made, stand: Stand) -> tuple[Placement, ...]:
    """Every operation as its batch stands in another plan and in that order, the parts on one machine after another.

    Where a split makes others of the batches below it, those are put when they should begin.
    """
    origin = made.timing.problem.origin
    assert origin is not None
    number: dict[str, list[int]] = defaultdict(list)
    for job, batch in enumerate(stand.made.timing.batches):
        number[batch.whole].append(job)
    placed = {(place.job, place.index): place for place in stand.plan.placements}
    rank = {key: at for at, key in enumerate(stand.plan.order)}
    by_start = sorted(placed[key].start for key in stand.plan.order)
    count: dict[str, int] = defaultdict(int)
    begun: list[tuple[int, int, Placement]] = []
    for job, (work, batch) in enumerate(zip(made.timing.problem.jobs, made.timing.batches, strict=True)):
        stood, place = number[batch.whole], count[batch.whole]
        count[batch.whole] += 1
        at = bisect(by_start, minutes_after(origin, batch.begin))
        for index, operation in enumerate(work.operations):
            if not stood:
                begun.append(
                    (at, place, Placement(job, index, operation.modes[0].machine, 0, operation.modes[0].duration))
                )
                continue
            key = stood[min(place, len(stood) - 1)], index
            at, was = rank.get(key, at), placed[key]
            own = next(k for k, mode in enumerate(operation.modes) if mode.machine == was.machine)
            mode = operation.modes[(own + max(0, place - len(stood) + 1)) % len(operation.modes)]
            end = max(was.end, was.start + mode.duration)
            begun.append((at, place, Placement(job, index, mode.machine, was.start, end)))
    return tuple(placement for _, _, placement in sorted(begun, key=lambda one: one[:2]))


def _candidates(stand: Stand, most: Mapping[str, int]) -> Iterator[Mapping[str, int]]:
    """Further splits worth a try, those for the order whose lateness weighs most first.

    All that ends in the order together in two parts, and in more; then each alone, what stands in its way as well.
    """
    parts = stand.made.parts
    whole = [batch.whole for batch in stand.made.timing.batches]
    for chain, in_the_way in _held_up(stand):
        own = [name for name in dict.fromkeys(whole[job] for job in chain) if name in most]
        others = [name for name in dict.fromkeys(whole[job] for job in in_the_way) if name in most and name not in own]
        for count in range(2, max((most[name] for name in own), default=1) + 1):
            yield {**parts, **{name: min(count, most[name]) for name in own}}
        for name in (*own, *others):
            for count in range(2, most[name] + 1):
                yield {**parts, name: count}


def _held_up(stand: Stand) -> Iterator[tuple[list[int], list[int]]]:
    """For each late order, the jobs it ends with, the last first, and those just before them on machines they wait for."""
    problem = stand.made.timing.problem
    number = {job.name: place for place, job in enumerate(problem.jobs)}
    placed = {(place.job, place.index): place for place in stand.plan.placements}
    on_machine = sorted(stand.plan.placements, key=lambda p: (p.machine, p.start, p.end))
    before = {(b.job, b.index): a for a, b in itertools.pairwise(on_machine) if a.machine == b.machine}
    serving: dict[str, list[int]] = defaultdict(list)
    weight: dict[str, float] = {}
    for job, batch in enumerate(stand.made.timing.batches):
        for demand in batch.demands:
            if demand.by_order:
                serving[demand.consumer].append(job)
                weight[demand.consumer] = demand.weight
    for name in sorted(stand.late, key=lambda name: (-weight[name] * stand.late[name], name)):
        chain, in_the_way = [], []
        job: int | None = max(serving[name], key=lambda job: stand.finish[job])
        while job is not None:
            chain.append(job)
            last = max(
                (number[maker] for maker in problem.jobs[job].after), key=lambda k: stand.finish[k], default=None
            )
            ready = problem.jobs[job].release if last is None else max(problem.jobs[job].release, stand.finish[last])
            for index, operation in enumerate(problem.jobs[job].operations):
                other = before.get((job, index))
                if placed[job, index].start > ready and other is not None and other.end > ready:
                    in_the_way.append(other.job)
                ready = placed[job, index].end + operation.min_wait
            job = last if last is not None and stand.finish[last] > problem.jobs[job].release else None
        yield chain, in_the_way
