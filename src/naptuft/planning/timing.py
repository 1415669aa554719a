"""Work orders as a scheduling problem in minutes, and the schedule back as operations with times."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import ceil

from naptuft.book.model import Book, Pin, RouteStep
from naptuft.planning.allocate import Allocated
from naptuft.planning.design import Designs, seconds_each
from naptuft.planning.explode import Batch, Explosion
from naptuft.planning.pins import pins_of
from naptuft.planning.plan import Load, PlannedOperation
from naptuft.planning.problem import (
    Aims,
    Crew,
    Job,
    Machine,
    Mode,
    Need,
    Operation,
    Placement,
    Problem,
    Schedule,
    SharedStore,
)
from naptuft.planning.schedule.open_time import open_between, shared
from naptuft.planning.schedule.rules import calendar_of
from naptuft.planning.tied import Tie, ties_of
from naptuft.plant.calendar import minutes_after, moment_at, open_stretches, overtime_stretches
from naptuft.plant.work_centre import Machine as WorkMachine
from naptuft.plant.work_centre import changeover_minutes

SPARE_DAYS = 120


@dataclass(frozen=True)
class Timing:
    """A problem and how to read it back: the step behind each operation of each job.

    ties  work orders that must begin within a time after another
    """

    problem: Problem
    batches: tuple[Batch, ...]
    steps: tuple[tuple[RouteStep, ...], ...]
    ties: tuple[Tie, ...] = ()


def pose(book: Book, designs: Designs, explosion: Explosion, allocated: Allocated) -> Timing:
    """The scheduling problem of an explosion and its allocation.

    Calendars run on for `SPARE_DAYS` past the horizon, so that what is late still has a time.
    Batches that serve orders carry their weight; the rest weigh nothing but keep a due time, which
    guides the order in which they are tried.
    """
    machine_index = {machine.code: place for place, machine in enumerate(book.machines)}
    store_index = {rack.code: place for place, rack in enumerate(book.racks)}
    days = book.settings.horizon_days + SPARE_DAYS
    machines = tuple(
        Machine(
            machine.code,
            _opened(book.shifts, book.closures, (machine.calendar, machine.code), book.start, days),
            takes=machine.takes,
            overtime=_in_overtime(book.shifts, book.closures, (machine.calendar, machine.code), book.start, days),
        )
        for machine in book.machines
    )
    needs = needs_of(explosion)
    crews = _crews(book)
    people = _people(book)
    takes = {
        centre.code: max((m.takes or 0 for m in book.machines_of.get(centre.code, ())), default=0)
        for centre in book.work_centres
    }
    held = pins_of(book, explosion)
    jobs, steps = [], []
    for batch in explosion.batches:
        route = tuple(step for step in book.route_of[batch.product] if step.stage == batch.stage)
        operations = []
        for step in route:
            pin = held.get((batch.number, step.step))
            work = batch.started * seconds_each(designs, step)
            modes = tuple(
                Mode(
                    machine_index[machine.code],
                    minutes := max(1, ceil((step.setup + work / machine.speed) / 60 - 1e-9)),
                    min(minutes, ceil(step.setup / 60 - 1e-9)),
                    penalty_of(book, step, machine),
                )
                for machine in book.machines_of[step.work_centre]
            )
            operations.append(
                Operation(
                    modes,
                    step.family or None,
                    ceil(step.wait / 60 - 1e-9),
                    None if step.most_wait is None else int(step.most_wait / 60 + 1e-9),
                    store_index[step.rack] if step.rack else None,
                    racks_held(step, batch.started),
                    step.pauses,
                    step.name,
                    None if pin is None else (machine_index[pin.machine], minute_of(book, pin)),
                    needs=people[step.work_centre],
                    load=loads_filled(step, batch.started, takes[step.work_centre]),
                    transfers=transfer_batches(step, batch.started) if step is not route[-1] else 1,
                )
            )
        released = allocated.release.get(batch.number, book.start)
        jobs.append(
            Job(
                batch.number,
                tuple(operations),
                minutes_after(book.start, released + datetime.timedelta(seconds=59)),
                minutes_after(book.start, batch.due),
                batch.weight,
                needs.get(batch.number, ()),
            )
        )
        steps.append(route)
    problem = Problem(
        machines,
        tuple(jobs),
        tuple(SharedStore(rack.code, rack.capacity) for rack in book.racks),
        _changeovers(book, tuple(steps)),
        origin=book.start,
        crews=crews,
        aims=aims_of(book),
    )
    return Timing(problem, explosion.batches, tuple(steps), ties_of(book, explosion))


def minute_of(book: Book, pin: Pin) -> int:
    """When a pinned step starts. [minute of the plan]"""
    return minutes_after(book.start, pin.start.replace(tzinfo=book.start.tzinfo))


def penalty_of(book: Book, step: RouteStep, machine: WorkMachine) -> int:
    """What doing a step on a machine counts, in whole minutes of changeover."""
    other = book.settings.other_machine if step.preferred not in ("", machine.code) else 0.0
    return round((machine.penalty + other) / 60)


def aims_of(book: Book) -> Aims:
    """What a plan of a book is judged by besides lateness."""
    settings = book.settings
    return Aims(settings.overtime_counts, settings.waiting_counts, settings.late_counts)


def racks_held(step: RouteStep, quantity: float) -> int:
    """Racks a batch fills at a step; 0 where it holds none.

    >>> racks_held(RouteStep(product="H", step=10, name="dip", work_centre="V", rack="HANG", per_rack=30), 610)
    21
    """
    return ceil(quantity / step.per_rack - 1e-9) if step.rack and step.per_rack else 0


def loads_filled(step: RouteStep, quantity: float, takes: int) -> int:
    """Loads of a machine a batch fills; all of it where the route tells nothing, 0 where it takes one at a time.

    >>> loads_filled(RouteStep(product="B", step=20, name="bake", work_centre="O", per_load=90), 200, 8)
    3
    """
    return takes if step.per_load is None or takes == 0 else ceil(quantity / step.per_load - 1e-9)


def transfer_batches(step: RouteStep, quantity: float) -> int:
    """Equal batches a step is handed on in, none smaller than the route says.

    >>> transfer_batches(RouteStep(product="B", step=20, name="join", work_centre="J", transfer=90), 200)
    2
    """
    return 1 if step.transfer is None else max(1, int(quantity / step.transfer + 1e-9))


# kept, because one book is posed again and again: for every batch tried in parts, every replay and change
_opened = lru_cache(maxsize=256)(open_stretches)
_in_overtime = lru_cache(maxsize=256)(overtime_stretches)


def _crews(book: Book) -> tuple[Crew, ...]:
    days = book.settings.horizon_days + SPARE_DAYS
    return tuple(
        Crew(
            crew.name,
            crew.heads,
            _opened(book.shifts, book.closures, (crew.calendar,), book.start, days) if crew.calendar else None,
        )
        for crew in book.crews
    )


def _people(book: Book) -> Mapping[str, tuple[Need, ...]]:
    """What each work centre needs of its crew, for its changeovers too."""
    number = {crew.code: place for place, crew in enumerate(book.crews)}
    return {
        centre.code: (Need(number[centre.crew], centre.people, True),)
        if centre.people > 0 and centre.crew in number
        else ()
        for centre in book.work_centres
    }


def needs_of(explosion: Explosion) -> Mapping[str, tuple[str, ...]]:
    """For each batch, the batches that must be finished before it starts."""
    needs: dict[str, set[str]] = {}
    for supply in explosion.supplies:
        needs.setdefault(supply.consumer, set()).add(supply.batch)
    return {consumer: tuple(sorted(makers)) for consumer, makers in needs.items()}


def _changeovers(book: Book, steps: tuple[tuple[RouteStep, ...], ...]) -> dict[int, dict[tuple[str, str], int]]:
    families: dict[str, set[str]] = {}
    for route in steps:
        for step in route:
            if step.family:
                families.setdefault(step.work_centre, set()).add(step.family)
    tables = {}
    for work_centre, names in families.items():
        table = {
            (before, after): minutes
            for before in sorted(names)
            for after in sorted(names)
            if (minutes := changeover_minutes(book.changeovers, work_centre, before, after)) > 0
        }
        if table:
            for place, machine in enumerate(book.machines):
                if machine.work_centre == work_centre:
                    tables[place] = table
    return tables


def operations_of(book: Book, timing: Timing, schedule: Schedule) -> tuple[PlannedOperation, ...]:
    """The schedule as operations with times, in order of start."""
    hazard = {centre.code: centre.hazard for centre in book.work_centres}
    planned = []
    for placement in schedule.placements:
        batch = timing.batches[placement.job]
        step = timing.steps[placement.job][placement.index]
        operation = timing.problem.jobs[placement.job].operations[placement.index]
        product = book.product[batch.product]
        run = next(mode.duration for mode in operation.modes if mode.machine == placement.machine)
        planned.append(
            PlannedOperation(
                batch.number,
                step.step,
                step.name,
                step.work_centre,
                timing.problem.machines[placement.machine].name,
                moment_at(book.start, placement.start),
                moment_at(book.start, placement.end),
                run,
                placement.changeover,
                operation.min_wait,
                batch.started,
                product.unit,
                step.family,
                step.rack,
                operation.units,
                product.line,
                hazard[step.work_centre],
                step.instruction,
                placement.reason,
                overtime_of(timing.problem, placement),
            )
        )
    return tuple(sorted(planned, key=lambda o: (o.start, o.machine, o.work_order, o.step)))


def overtime_of(problem: Problem, placement: Placement) -> int:
    """Minutes of a placed operation, and of its changeover, that are in overtime.

    >>> press = Machine("press", ((0, 600), (1440, 2040)), overtime=((480, 600),))
    >>> cut = Problem((press,), (Job("A", (Operation((Mode(0, 100),)),)),))
    >>> overtime_of(cut, Placement(0, 0, 0, 450, 550)), overtime_of(cut, Placement(0, 0, 0, 490, 590, 20))
    (70, 110)
    """
    overtime = problem.machines[placement.machine].overtime
    if not overtime:
        return 0
    operation = problem.jobs[placement.job].operations[placement.index]
    mode = next(m for m in operation.modes if m.machine == placement.machine)
    worked = shared(calendar_of(problem, operation, mode), overtime)
    changed = open_between(overtime, placement.start - placement.changeover, placement.start)
    return open_between(worked, placement.start, placement.end) + changed


def loads_of(book: Book, operations: tuple[PlannedOperation, ...]) -> tuple[Load, ...]:
    """How busy each work centre is inside the horizon, the busiest first."""
    days = book.settings.horizon_days
    end = book.start + datetime.timedelta(days=days)
    loads = []
    for centre in book.work_centres:
        machines = book.machines_of.get(centre.code, ())
        opened = sum(
            close - begin
            for machine in machines
            for begin, close in open_stretches(
                book.shifts, book.closures, (machine.calendar, machine.code), book.start, days
            )
        )
        several = {machine.code for machine in machines if machine.takes is not None}
        runs = {
            (o.machine, o.start, *(() if o.machine in several else (o.work_order, o.step))): o.run_minutes
            for o in operations
            if o.work_centre == centre.code and o.start < end
        }
        inside = [o for o in operations if o.work_centre == centre.code and o.start < end]
        loads.append(
            Load(
                centre.code,
                centre.name,
                len(machines),
                opened,
                sum(runs.values()),
                sum(o.changeover_minutes for o in inside),
            )
        )
    return tuple(sorted(loads, key=lambda load: (-load.share, load.work_centre)))
