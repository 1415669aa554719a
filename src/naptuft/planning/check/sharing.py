"""What work orders share at one time: machines that take several, crews, and work handed on in batches."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from naptuft.book.model import RouteStep
from naptuft.planning.check.hours import Stretches, both, minutes_in, open_by, open_time, usual_time
from naptuft.planning.check.reading import Reading
from naptuft.planning.plan import Finding, PlannedOperation
from naptuft.plant.work_centre import Crew, Machine, WorkCentre

SLACK = 1e-6


def where(operation: PlannedOperation) -> str:
    """The place of an operation, for a finding."""
    return f"work order {operation.work_order}, step {operation.step}"


def crew_of(reading: Reading, work_centre: str) -> tuple[Crew | None, float]:
    """The crew that runs a work centre, and how many of it a running machine needs."""
    centre: WorkCentre | None = next((c for c in reading.book.work_centres if c.code == work_centre), None)
    if centre is None or centre.people <= 0:
        return None, 0.0
    return next((crew for crew in reading.book.crews if crew.code == centre.crew), None), centre.people


def open_with_crew(reading: Reading, machine: Machine) -> Stretches:
    """When a machine is open and its crew is there, in minutes from the book's start."""
    stretches = open_time(reading, machine)
    crew, _ = crew_of(reading, machine.work_centre)
    if crew is None or not crew.calendar:
        return stretches
    return both(stretches, open_by(reading, (crew.calendar,)))


def overtime(reading: Reading, machine: Machine, operation: PlannedOperation) -> float:
    """Minutes of an operation and of its changeover in which its machine is open for overtime alone."""
    start, end = reading.minute(operation.start), reading.minute(operation.end)
    worked = open_with_crew(reading, machine)
    usual = usual_time(reading, machine)
    over = minutes_in(worked, start, end) - minutes_in(both(worked, usual), start, end)
    begins = start - operation.changeover_minutes
    opened = open_time(reading, machine)
    return over + minutes_in(opened, begins, start) - minutes_in(both(opened, usual), begins, start)


def groups_of(reading: Reading, run: list[PlannedOperation], machine: Machine | None) -> list[list[PlannedOperation]]:
    """Operations of a machine, those that are in it together in one list, in order of time."""
    if machine is None or machine.takes is None:
        return [[operation] for operation in run]
    groups: dict[tuple[float, float, str], list[PlannedOperation]] = {}
    for operation in run:
        key = reading.minute(operation.start), reading.minute(operation.end), operation.family
        groups.setdefault(key, []).append(operation)
    return list(groups.values())


def run_shares(reading: Reading) -> dict[tuple[str, int], float]:
    """What each operation bears of a run it shares with others in one machine, by its loads; 1 for one that does not."""
    takes = {machine.code: machine for machine in reading.book.machines if machine.takes is not None}
    by_machine: dict[str, list[PlannedOperation]] = {}
    for operation in reading.plan.operations:
        if operation.machine in takes:
            by_machine.setdefault(operation.machine, []).append(operation)
    shares = {}
    for code, run in by_machine.items():
        for group in groups_of(reading, run, takes[code]):
            loads = [_loads(reading, takes[code], operation) for operation in group]
            for operation, own in zip(group, loads, strict=True):
                shares[operation.work_order, operation.step] = own / sum(loads) if sum(loads) else 1 / len(loads)
    return shares


def _loads(reading: Reading, machine: Machine, operation: PlannedOperation) -> int:
    """Loads of a machine an operation fills; all of it where its route tells nothing."""
    work_order = reading.work_order.get(operation.work_order)
    steps = () if work_order is None else reading.steps(work_order)
    each = next((step.per_load for step in steps if step.step == operation.step), None)
    return machine.takes or 0 if each is None else ceil(operation.quantity / each - 1e-9)


def check_loads_taken(
    machine: Machine | None, groups: Iterable[list[PlannedOperation]], steps: dict[tuple[str, int], RouteStep]
) -> list[Finding]:
    """Machines filled with more loads than they take."""
    findings = []
    if machine is None or machine.takes is None:
        return findings
    for group in groups:
        loads = 0
        for operation in group:
            step = steps.get((operation.work_order, operation.step))
            each = None if step is None else step.per_load
            loads += machine.takes if each is None else ceil(operation.quantity / each - 1e-9)
        if loads > machine.takes:
            findings.append(
                Finding(
                    "batch capacity",
                    where(group[-1]),
                    f"{machine.code} would be filled with {loads} loads; it takes {machine.takes}",
                )
            )
    return findings


def check_crews(reading: Reading, groups: Iterable[list[PlannedOperation]]) -> list[Finding]:
    """Times when more people of a crew are needed than it has."""
    machines = {machine.code: machine for machine in reading.book.machines}
    changes: dict[str, list[tuple[float, float, PlannedOperation]]] = {}
    for group in groups:
        operation = group[0]
        machine = machines.get(operation.machine)
        crew, people = crew_of(reading, operation.work_centre)
        if machine is None or crew is None:
            continue
        start, end = reading.minute(operation.start), reading.minute(operation.end)
        spans = [(max(start, a), min(end, b)) for a, b in open_with_crew(reading, machine)]
        spans.append((start - sum(o.changeover_minutes for o in group), start))
        for since, until in spans:
            if since < until:
                moves = changes.setdefault(crew.code, [])
                moves += [(since, people, operation), (until, -people, operation)]
    findings = []
    for crew in reading.book.crews:
        busy = 0.0
        for _, people, operation in sorted(changes.get(crew.code, ()), key=lambda move: move[:2]):
            busy += people
            if people > 0 and busy > crew.heads + SLACK:
                findings.append(
                    Finding(
                        "crew",
                        where(operation),
                        f"{busy:g} people of crew {crew.code} would be needed at one time; there are {crew.heads}",
                    )
                )
    return findings


def batches_handed_on(step: RouteStep, quantity: float) -> int:
    """Equal batches a step is handed on in, none smaller than the route says; 1 where it says nothing."""
    return max(1, int(quantity / step.transfer + 1e-9)) if step.transfer else 1


def check_handing_on(
    reading: Reading, before: PlannedOperation, after: PlannedOperation, steps: tuple[RouteStep, RouteStep]
) -> list[Finding]:
    """Not started before the first transfer batch is there, not ended before the last is worked on."""
    step, follows = steps
    count = batches_handed_on(step, before.quantity)
    machine = next((machine for machine in reading.book.machines if machine.code == before.machine), None)
    if machine is None:
        return []
    wait, findings = ceil(step.wait / 60 - 1e-9), []
    left: float = _with_setup(step, before.run_minutes, count)
    first = reading.minute(before.end)
    for opens, closes in open_with_crew(reading, machine):
        since = max(opens, reading.minute(before.start))
        if since + left <= closes:
            first = since + left
            break
        left -= max(0.0, closes - since)
    if reading.minute(after.start) < first + wait - SLACK:
        findings.append(
            Finding(
                "transfer batches",
                where(after),
                f"starts {first + wait - reading.minute(after.start):g} min before the first of {count} transfer "
                f"batches of step {before.step} is there",
            )
        )
    own_setup = min(after.run_minutes, ceil(follows.setup / 60 - 1e-9))
    last = reading.minute(before.end) + wait + ceil((after.run_minutes - own_setup) / count)
    if reading.minute(after.end) < last - SLACK:
        findings.append(
            Finding(
                "transfer batches",
                where(after),
                f"ends {last - reading.minute(after.end):g} min before the last of {count} transfer batches of "
                f"step {before.step} can be done",
            )
        )
    return findings


def _with_setup(step: RouteStep, run: int, count: int) -> int:
    """Minutes until the first of so many batches is done."""
    setup = min(run, ceil(step.setup / 60 - 1e-9))
    return setup + ceil((run - setup) / count)
