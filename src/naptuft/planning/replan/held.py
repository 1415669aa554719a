"""What must stay or stand where it is told when a plan is changed: pins of the book, pins told of, and frozen time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from naptuft.book.model import Book, Pin
from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.planning.explode import Explosion
from naptuft.planning.pins import pins_of
from naptuft.planning.problem import Placement, Problem
from naptuft.planning.replan.happenings import Happening, with_zone
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import Shifter
from naptuft.planning.schedule.reasons import clock
from naptuft.planning.timing import Timing, minute_of
from naptuft.plant.calendar import minutes_after

Held = Mapping[Key, tuple[int, int]]


def hold(
    book: Book,
    timing: Timing,
    planned: Mapping[Key, Placement],
    fixed: Iterable[Key],
    happenings: Iterable[Happening],
) -> Timing:
    """The problem with everything held pinned, and nothing that is done or running.

    A pin told of counts before frozen time, and both before the pins of the book.
    Raises DesignError with every pin told of a step that is done or running.
    """
    machine_of = {machine.name: number for number, machine in enumerate(timing.problem.machines)}
    job_of = {batch.number: number for number, batch in enumerate(timing.batches)}
    done, faults = set(fixed), []
    held: dict[Key, tuple[int, int]] = {}
    told: dict[Key, tuple[int, int]] = {}
    for happening in happenings:
        until, since = with_zone(happening.until, book), with_zone(happening.since, book)
        if happening.kind == "frozen" and until is not None:
            last = minutes_after(book.start, until)
            held |= {
                key: (placed.machine, placed.start)
                for key, placed in planned.items()
                if placed.start < last and happening.machine in ("", timing.problem.machines[placed.machine].name)
            }
        elif happening.kind == "pinned" and since is not None:
            job = job_of.get(happening.work_order)
            if job is None:
                faults.append(
                    Fault(
                        f"{happening.work_order}, pinned", "no longer made", "a work order still made", "delete the pin"
                    )
                )
                continue
            key = job, next(k for k, step in enumerate(timing.steps[job]) if step.step == happening.step)
            told[key] = machine_of[happening.machine], minutes_after(book.start, since)
            if key in done:
                place = f"{happening.work_order}, step {happening.step}, pinned"
                faults.append(Fault(place, "done or running", "a step not begun", "delete the pin"))
    if faults:
        raise DesignError(*faults)
    return replace(timing, problem=_pinned(timing.problem, {**held, **told}, done))


def _pinned(problem: Problem, held: Held, done: set[Key]) -> Problem:
    if not held and all(o.pinned is None for job in problem.jobs for o in job.operations):
        return problem
    jobs = tuple(
        replace(
            job,
            operations=tuple(
                replace(o, pinned=None if (n, k) in done else held.get((n, k), o.pinned))
                for k, o in enumerate(job.operations)
            ),
        )
        for n, job in enumerate(problem.jobs)
    )
    return replace(problem, jobs=jobs)


def still_pinned(book: Book, explosion: Explosion, timing: Timing) -> tuple[Pin, ...]:
    """The pins of the book that still hold: of work still made and not begun, and not told otherwise."""
    job_of = {batch.number: number for number, batch in enumerate(timing.batches)}
    machine_of = {machine.name: number for number, machine in enumerate(timing.problem.machines)}
    kept = []
    for (number, step), pin in pins_of(book, explosion).items():
        job = job_of[number]
        index = next(k for k, each in enumerate(timing.steps[job]) if each.step == step)
        held = timing.problem.jobs[job].operations[index].pinned
        if held == (machine_of[pin.machine], minute_of(book, pin)):
            kept.append(pin)
    return tuple(kept)


def ask_held(timing: Timing, shifter: Shifter, placed: Mapping[Key, Placement]) -> None:
    """Raise Infeasible with everything held that the changed plan could not keep, and what is in its way."""
    faults = []
    for key in sorted(shifter.pinned):
        if shifter.keeps(placed, key):
            continue
        pin = shifter.operation[key].pinned
        assert pin is not None
        number, step = timing.batches[key[0]].number, timing.steps[key[0]][key[1]].step
        name = timing.problem.machines[pin[0]].name
        faults.append(
            Fault(
                f"{number}, step {step}, held on {name}",
                clock(pin[1], timing.problem.origin),
                _in_the_way(timing, shifter, placed, key),
                "let it go, hold it later, or hold less",
            )
        )
    if faults:
        raise Infeasible(*faults)


def _in_the_way(timing: Timing, shifter: Shifter, placed: Mapping[Key, Placement], key: Key) -> str:
    machine, start = shifter.operation[key].pinned or (0, 0)
    origin, now = timing.problem.origin, placed[key]
    ready, _ = shifter.ready(key, machine, now.end - now.start, placed)
    name = timing.problem.machines[machine].name
    if ready > start:
        return f"no sooner than {clock(ready, origin)}, when what it waits for is over"
    opens = shifter.run(shifter.operation[key], machine, start, 0)[0]
    if opens > start:
        return f"a time when {name} is open and its people are there, the next from {clock(opens, origin)}"
    return f"a time when {name} is free and changed over, from {clock(max(now.start, ready), origin)}"
