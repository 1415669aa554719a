"""Exact improvement of a part of a plan at a time.

A *window* sets some operations free: those of a group of machines, those about one time, or a late order
and its neighbours. All others stay where they are. The window is a problem of its own, solved by the same
exact model as a small whole problem; what lies behind it counts through due times, as if a delay went
through to the orders it leads to. What comes out is a proposal: the decoder tells what it is worth.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeAlias

from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem, SharedStore
from naptuft.planning.schedule.exact import Model, solved, weight_scale
from naptuft.planning.schedule.open_time import open_between
from naptuft.planning.schedule.rules import binding_crews, calendar_of, thousandths

Key: TypeAlias = tuple[int, int]

FIRST_SIZE = 20
LEAST_SIZE, MOST_SIZE = 8, 60
GROW, SHRINK = 1.1, 0.85
BESIDE = 0.3
"""Part of the pivots that are not of late orders."""


@dataclass(frozen=True)
class Worth:
    """What a job's finish is worth to the orders it leads to: harmless until `due`, then `weight` a minute."""

    due: int
    weight: float


class Surroundings:
    """A plan, and what each operation of it can be moved by."""

    def __init__(self, problem: Problem, placements: Sequence[Placement]):
        self.problem = problem
        self.placed = {(p.job, p.index): p for p in placements}
        self.number = {job.name: number for number, job in enumerate(problem.jobs)}

    @cached_property
    def on_machine(self) -> list[list[Key]]:
        """The operations of each machine in order of start."""
        rows: list[list[Key]] = [[] for _ in self.problem.machines]
        for key, placed in sorted(self.placed.items(), key=lambda entry: (entry[1].start, entry[1].end, entry[0])):
            rows[placed.machine].append(key)
        return rows

    @cached_property
    def consumers(self) -> list[list[int]]:
        """The jobs that wait for each job."""
        rows: list[list[int]] = [[] for _ in self.problem.jobs]
        for number, job in enumerate(self.problem.jobs):
            for name in dict.fromkeys(job.after):
                rows[self.number[name]].append(number)
        return rows

    @cached_property
    def worths(self) -> list[Worth | None]:
        """What the finish of each job is worth, those that wait for it included. None: nothing."""
        found: dict[int, Worth | None] = {}

        def of(job: int) -> Worth | None:
            if job not in found:
                known = self.problem.jobs[job]
                parts = [] if known.due is None or known.weight <= 0 else [Worth(known.due, known.weight)]
                for consumer in self.consumers[job]:
                    after = self.worth_after(consumer, -1, of(consumer))
                    if after is not None:
                        parts.append(after)
                found[job] = (
                    Worth(min(part.due for part in parts), sum(part.weight for part in parts)) if parts else None
                )
            return found[job]

        return [of(job) for job in range(len(self.problem.jobs))]

    def worth_after(self, job: int, index: int, worth: Worth | None) -> Worth | None:
        """What it is worth that the operation after this one of the job can start; -1: its first."""
        if worth is None:
            return None
        operations = self.problem.jobs[job].operations
        slack = 0
        for k in range(index + 1, len(operations) - 1):
            slack += self.placed[job, k + 1].start - self.placed[job, k].end - operations[k].min_wait
        start = self.placed[job, index + 1].start
        return Worth(start + max(0, slack) + worth.due - self.finish(job), worth.weight)

    def worth_of(self, job: int, index: int) -> Worth | None:
        """What the end of an operation, its least wait included, is worth."""
        if index + 1 == len(self.problem.jobs[job].operations):
            return self.worths[job]
        return self.worth_after(job, index, self.worths[job])

    @cached_property
    def pressures(self) -> dict[Key, float]:
        """What a minute sooner on its machine is worth at each operation: to its own orders and, as far as the
        machine goes on without a gap, to those of the operations behind it.
        """
        found: dict[Key, float] = {}
        for number, row in enumerate(self.on_machine):
            stretches = self.problem.machines[number].open
            behind = 0.0
            begins = None
            for key in reversed(row):
                place = self.placed[key]
                if begins is not None and open_between(stretches, place.end, begins) > 0:
                    behind = 0.0
                worth = self.worth_of(*key)
                if worth is not None and place.end + _operation(self.problem, key).min_wait > worth.due:
                    behind += worth.weight
                begins = place.start - place.changeover
                found[key] = behind
        return found

    def since(self, free: Iterable[Key]) -> int:
        """When the first of some operations begins, its changeover included. [minute]"""
        return min(self.placed[key].start - self.placed[key].changeover for key in free)

    def ready(self, key: Key) -> int:
        """When an operation could start by its own job. [minute]"""
        job, index = key
        if index:
            return self.placed[job, index - 1].end + self.problem.jobs[job].operations[index - 1].min_wait
        known = self.problem.jobs[job]
        return max([known.release, *(self.finish(self.number[name]) for name in known.after)])

    def finish(self, job: int) -> int:
        """When a job is finished. [minute]"""
        last = len(self.problem.jobs[job].operations) - 1
        return self.placed[job, last].end + self.problem.jobs[job].operations[last].min_wait

    @cached_property
    def late(self) -> dict[int, float]:
        """Weighted late minutes of each late job."""
        found = {}
        for number, job in enumerate(self.problem.jobs):
            if job.due is not None and job.weight > 0 and self.finish(number) > job.due:
                found[number] = job.weight * (self.finish(number) - job.due)
        return found


@dataclass(frozen=True)
class Posed:
    """A window as a problem, and which operation of the whole each of its operations is.

    keys  by job and index of the window's problem; operations that stay are among them
    """

    problem: Problem
    keys: dict[Key, Key]
    free: frozenset[Key]


def pose_window(around: Surroundings, free: frozenset[Key]) -> Posed:
    """The problem of a window. Operations tied by a longest wait must be free together."""
    whole, placed = around.problem, around.placed
    since = around.since(free)
    until = max(placed[key].end for key in free)
    until += (until - since) // 4
    touched = sorted({mode.machine for job, index in free for mode in whole.jobs[job].operations[index].modes})
    machines: list[Machine] = []
    staying: list[tuple[Key, int]] = []
    following: list[tuple[Key, int]] = []
    here: dict[int, int] = {}
    for number in touched:
        here[number] = len(machines)
        row = around.on_machine[number]
        before = [key for key in row if placed[key].start < since and key not in free]
        behind = [key for key in row if placed[key].start >= since and key not in free]
        cut = next((k for k, key in enumerate(behind) if placed[key].start >= until), len(behind))
        follower = next((key for key in behind[cut:] if _operation(whole, key).pinned is None), None)
        if follower is not None:
            following.append((follower, number))
        told = [key for key in before if _operation(whole, key).family is not None][-1:]
        opens = max((placed[key].end for key in before), default=0)
        staying += [(key, number) for key in (*told, *(key for key in before[-1:] if key not in told), *behind[:cut])]
        known = whole.machines[number]
        calendar = _calendar(whole, free, number)
        last = max((placed[key].end for key in behind[: cut + 1]), default=until)
        machines.append(
            Machine(
                known.name,
                tuple(
                    (max(a, opens), min(b, max(until, last)))
                    for a, b in (((0, max(until, last)),) if calendar is None else calendar)
                    if max(a, opens) < min(b, max(until, last))
                ),
                None if told else known.set_for,
            )
        )
    jobs: list[Job] = []
    keys: dict[Key, Key] = {}
    for key, number in staying:
        keys[len(jobs), 0] = key
        jobs.append(_staying(whole, placed[key], here[number]))
    for key, number in following:
        keys[len(jobs), 0] = key
        jobs.append(_following(around, key, here[number]))
    stores = {operation.store for key in free if (operation := _operation(whole, key)).units > 0} - {None}
    known_here = {key for key, _ in (*staying, *following)}
    for key, place in placed.items():
        operation = _operation(whole, key)
        held = operation.store in stores and operation.units > 0 and key not in free and key not in known_here
        if held and place.start < until and place.end + operation.min_wait > since:
            keys[len(jobs), 0] = key
            jobs.append(_staying(whole, place, len(machines)))
            machines.append(Machine(f"{key}"))
    segments = _segments(free)
    last_of = {job: f"{job}:{first}" for job, first, last in segments if last + 1 == len(whole.jobs[job].operations)}
    for job, first, last in segments:
        known = whole.jobs[job]
        release = known.release
        after = []
        if first:
            release = placed[job, first - 1].end + known.operations[first - 1].min_wait
        else:
            for name in known.after:
                maker = around.number[name]
                if maker in last_of:
                    after.append(last_of[maker])
                else:
                    release = max(release, around.finish(maker))
        worth = around.worth_of(job, last)
        for index in range(first, last + 1):
            keys[len(jobs), index - first] = job, index
        jobs.append(
            Job(
                f"{job}:{first}",
                tuple(_moved(known.operations[index], here) for index in range(first, last + 1)),
                release,
                None if worth is None else max(worth.due, since),
                0.0 if worth is None else worth.weight,
                tuple(after),
            )
        )
    problem = Problem(
        tuple(machines),
        tuple(jobs),
        tuple(SharedStore(store.name, store.capacity) for store in whole.stores),
        {here[number]: whole.changeovers[number] for number in touched if number in whole.changeovers},
    )
    return Posed(problem, keys, free)


def _operation(problem: Problem, key: Key) -> Operation:
    return problem.jobs[key[0]].operations[key[1]]


def _calendar(problem: Problem, free: frozenset[Key], machine: int):
    """When a machine is open and the crews that its work needs are there."""
    for key in sorted(free):
        operation = _operation(problem, key)
        for mode in operation.modes:
            if mode.machine == machine:
                return calendar_of(problem, operation, mode)
    return problem.machines[machine].open


def _staying(problem: Problem, placement: Placement, machine: int) -> Job:
    operation = problem.jobs[placement.job].operations[placement.index]
    stays = replace(
        operation,
        modes=(Mode(machine, placement.end - placement.start),),
        pauses=False,
        pinned=(machine, placement.start),
        max_wait=None,
        needs=(),
        transfers=1,
        load=0,
    )
    return Job(f"stays {placement.job}:{placement.index}", (stays,), weight=0.0)


def _following(around: Surroundings, key: Key, machine: int) -> Job:
    """The first operation behind a window on one of its machines: it carries the worth of all that comes after."""
    place, operation = around.placed[key], _operation(around.problem, key)
    minutes = next(mode.duration for mode in operation.modes if mode.machine == place.machine)
    follows = replace(
        operation, modes=(Mode(machine, minutes),), max_wait=None, needs=(), transfers=1, load=0, store=None
    )
    pressure = around.pressures[key]
    return Job(
        f"follows on {machine}",
        (follows,),
        min(around.ready(key), place.start),
        0 if pressure else None,
        pressure,
    )


def _moved(operation: Operation, here: dict[int, int]) -> Operation:
    modes = tuple(replace(mode, machine=here[mode.machine]) for mode in operation.modes)
    return replace(operation, modes=modes, needs=())


def _segments(free: Iterable[Key]) -> list[tuple[int, int, int]]:
    """Runs of free operations of one job: job, first and last index."""
    found: list[tuple[int, int, int]] = []
    for job, index in sorted(free):
        if found and found[-1][0] == job and found[-1][2] + 1 == index:
            found[-1] = job, found[-1][1], index
        else:
            found.append((job, index, index))
    return found


class _WindowModel(Model):
    """The exact model of a window: what stays keeps its time, open or closed, and crews are kept to."""

    def __init__(self, posed: Posed, around: Surroundings, scale: int):
        ends = [around.placed[key].end + _operation(around.problem, key).min_wait for key in posed.keys.values()]
        room = max(around.placed[key].end for key in posed.free) - min(around.placed[key].start for key in posed.free)
        super().__init__(posed.problem, max(ends) + room, scale)
        self.posed = posed
        self._crews(around)

    def _calendar(self, operation: Operation, step: Any, machine: int, minutes: int, literal: Any) -> None:
        if operation.pinned is None:
            super()._calendar(operation, step, machine, minutes, literal)
        else:
            self.model.add(step.end == step.start + minutes)

    def _crews(self, around: Surroundings) -> None:
        whole = around.problem
        step_of = {key: self.steps[at[0]][at[1]] for at, key in self.posed.keys.items() if key in self.posed.free}
        since = around.since(self.posed.free)
        for crew in sorted(binding_crews(whole)):
            intervals, people = [], []
            for key, step in step_of.items():
                for need in _operation(whole, key).needs:
                    if need.crew == crew:
                        begins, size = (self.model.new_int_var(0, 2 * self.horizon, "") for _ in range(2))
                        self.model.add(begins == step.start - (step.changeover if need.changeover else 0))
                        intervals.append(self.model.new_interval_var(begins, size, step.end, ""))
                        people.append(thousandths(need.people))
            if not intervals:
                continue
            for key, place in around.placed.items():
                if key in step_of or place.end <= since or place.start >= self.horizon:
                    continue
                for need in _operation(whole, key).needs:
                    if need.crew == crew:
                        begun = place.start - (place.changeover if need.changeover else 0)
                        intervals.append(self.model.new_fixed_size_interval_var(begun, place.end - begun, ""))
                        people.append(thousandths(need.people))
            self.model.add_cumulative(intervals, people, int(whole.crews[crew].people * 1000 + 1e-6))


@dataclass(frozen=True)
class Answer:
    """What the exact solver made of a window.

    placements  the plan with the window's operations where it puts them; None: it has nothing better
    proven      whether it is sure that the window has no better
    possible    False: not even the plan at hand is an answer to the window's problem
    """

    placements: tuple[Placement, ...] | None
    proven: bool
    possible: bool = True


def solve_window(
    around: Surroundings,
    free: frozenset[Key],
    *,
    work: float,
    seconds: float | None = None,
    stop: Callable[[], bool] | None = None,
) -> Answer:
    """Solve one window from the plan at hand.

    work     CP-SAT's deterministic time
    seconds  wall time besides; with it the answer may not repeat
    stop     polled; ends the search
    """
    from ortools.sat.python import cp_model

    posed = pose_window(around, free)
    scale = weight_scale(posed.problem)
    if scale is None:
        return Answer(None, False)
    built = _WindowModel(posed, around, scale)
    here = {key: at for at, key in posed.keys.items()}
    machines = {machine.name: number for number, machine in enumerate(posed.problem.machines)}
    names = [machine.name for machine in around.problem.machines]
    built.hint(
        [
            replace(place, job=here[key][0], index=here[key][1], machine=machines.get(names[place.machine], 0))
            for key, place in around.placed.items()
            if key in here
        ]
    )
    penalties = [
        mode.penalty * built.steps[job][index].chosen[number]
        for (job, index), key in posed.keys.items()
        if key in free
        for number, mode in enumerate(_operation(around.problem, key).modes)
        if mode.penalty
    ]
    changed_over = [step.changeover for steps in built.steps for step in steps]
    built.model.minimize(built.first + scale * sum(changed_over + penalties))
    status, solver = solved(built.model, work=work, seconds=seconds, stop=stop)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Answer(None, False, status != cp_model.INFEASIBLE)
    found = dict(around.placed)
    for place in built.placements(solver):
        key = posed.keys[place.job, place.index]
        if key in free:
            machine = names.index(posed.problem.machines[place.machine].name)
            found[key] = replace(place, job=key[0], index=key[1], machine=machine)
    _push(around, found)
    moved = any(
        (found[key].start, found[key].machine) != (around.placed[key].start, around.placed[key].machine) for key in free
    )
    return Answer(tuple(found.values()) if moved else None, status == cp_model.OPTIMAL)


def _push(around: Surroundings, placed: dict[Key, Placement]) -> None:
    """Put what now waits for something in a window behind it."""
    finished: dict[int, int] = {}

    def finish(job: int) -> int:
        if job not in finished:
            known = around.problem.jobs[job]
            ready = max([known.release, *(finish(around.number[name]) for name in known.after)])
            for index, operation in enumerate(known.operations):
                place = placed[job, index]
                if place.start < ready:
                    place = replace(place, start=ready, end=ready + place.end - place.start)
                    placed[job, index] = place
                ready = place.start if operation.transfers > 1 else place.end + operation.min_wait
            finished[job] = ready
        return finished[job]

    for job in range(len(around.problem.jobs)):
        finish(job)


class Windows:
    """Which windows to try on a plan; their size follows what the solver can do in the time it is given."""

    def __init__(self, problem: Problem, seed: int):
        self.problem = problem
        self.chance = random.Random(seed)
        self.size = float(FIRST_SIZE)
        self.turn = 0
        self.movable = [
            [
                operation.pinned is None
                and operation.transfers == 1
                and (not index or job.operations[index - 1].transfers == 1)
                and all(problem.machines[mode.machine].takes is None for mode in operation.modes)
                for index, operation in enumerate(job.operations)
            ]
            for job in problem.jobs
        ]

    def improve(
        self,
        placements: Sequence[Placement],
        *,
        work: float,
        seconds: float | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> tuple[Placement, ...] | None:
        """One window of a plan improved, to be decoded in the order of its starts. None: nothing better."""
        if self.problem.objective == "makespan":
            return None
        around = Surroundings(self.problem, placements)
        free = self.choose(around)
        if len(free) < 2:
            return None
        answer = solve_window(around, free, work=work, seconds=seconds, stop=stop)
        self.size = min(max(self.size * (GROW if answer.proven else SHRINK), LEAST_SIZE), MOST_SIZE)
        return answer.placements

    def choose(self, around: Surroundings) -> frozenset[Key]:
        """The operations set free: about an operation of a late order mostly."""
        kinds = self._of_machines, self._of_time, self._of_order
        kind = kinds[self.turn % len(kinds)]
        self.turn += 1
        free: set[Key] = set()
        for key in kind(around, self._pivot(around)):
            tied = self._tied(key)
            if all(self.movable[job][index] for job, index in tied):
                free |= tied
            if len(free) >= self.size:
                break
        return frozenset(free)

    def _pivot(self, around: Surroundings) -> Key:
        if around.late and self.chance.random() > BESIDE:
            job = self.chance.choices(list(around.late), list(around.late.values()))[0]
            return job, self.chance.randrange(len(self.problem.jobs[job].operations))
        return self.chance.choice(list(around.placed))

    def _of_machines(self, around: Surroundings, pivot: Key) -> Iterable[Key]:
        """Operations of the pivot's machines, the nearest in time first."""
        group = {mode.machine for mode in _operation(self.problem, pivot).modes}
        return _nearest(around, pivot, (key for machine in group for key in around.on_machine[machine]))

    def _of_time(self, around: Surroundings, pivot: Key) -> Iterable[Key]:
        """Operations of all machines, the nearest in time first."""
        return _nearest(around, pivot, around.placed)

    def _of_order(self, around: Surroundings, pivot: Key) -> Iterable[Key]:
        """The operations of the pivot's job and of what it waits for, each with those beside it on its machine."""
        job: int | None = pivot[0]
        chain: list[Key] = []
        while job is not None and len(chain) < self.size:
            chain += [(job, index) for index in reversed(range(len(self.problem.jobs[job].operations)))]
            makers = [around.number[name] for name in self.problem.jobs[job].after]
            job = max(makers, key=around.finish, default=None)
        for key in chain:
            yield key
            row = around.on_machine[around.placed[key].machine]
            at = row.index(key)
            yield from row[max(0, at - 2) : at]
            yield from row[at + 1 : at + 2]

    def _tied(self, key: Key) -> set[Key]:
        """An operation and those that longest waits tie it to."""
        job, index = key
        operations = self.problem.jobs[job].operations
        first = last = index
        while first and operations[first - 1].max_wait is not None:
            first -= 1
        while last + 1 < len(operations) and operations[last].max_wait is not None:
            last += 1
        return {(job, k) for k in range(first, last + 1)}


def _nearest(around: Surroundings, pivot: Key, keys: Iterable[Key]) -> list[Key]:
    about = around.placed[pivot].start
    return sorted(keys, key=lambda key: (abs(around.placed[key].start - about), key))
