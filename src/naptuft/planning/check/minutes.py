"""A schedule held against its problem, in whole minutes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from naptuft.planning.plan import Finding
from naptuft.planning.problem import Job, Machine, Operation, Placement, Problem


def check_schedule(problem: Problem, placements: Sequence[Placement]) -> tuple[Finding, ...]:
    """Every rule of the problem the placements break; empty when the schedule is right.

    Placements may come in any order. Those that name no operation or machine of the problem are reported
    and left out of the other rules.

    >>> from naptuft.planning.problem import Mode
    >>> job = Job("A", (Operation((Mode(0, 5),)),))
    >>> problem = Problem((Machine("M"),), (job,))
    >>> check_schedule(problem, [Placement(0, 0, 0, start=0, end=4)])[0].message
    'takes 4 min of open time on M; 5 min are needed'
    """
    known = [placed for placed in placements if _named(problem, placed)]
    findings = [
        Finding("every operation once", _raw_place(placed), "names a job, operation or machine the problem has not")
        for placed in placements
        if not _named(problem, placed)
    ]
    found: dict[tuple[int, int], list[Placement]] = {}
    for placed in known:
        found.setdefault((placed.job, placed.index), []).append(placed)
    for number, job in enumerate(problem.jobs):
        for index in range(len(job.operations)):
            times = len(found.get((number, index), ()))
            if times != 1:
                findings.append(
                    Finding("every operation once", _place(problem, number, index), f"is placed {times} times")
                )
    once = {key: places[0] for key, places in found.items()}
    for placed in known:
        findings += _check_own(problem, placed)
    findings += _check_machines(problem, known)
    findings += _check_jobs(problem, once)
    findings += _check_stores(problem, known)
    return tuple(findings)


def _named(problem: Problem, placed: Placement) -> bool:
    return (
        0 <= placed.job < len(problem.jobs)
        and 0 <= placed.index < len(problem.jobs[placed.job].operations)
        and 0 <= placed.machine < len(problem.machines)
    )


def _raw_place(placed: Placement) -> str:
    return f"job {placed.job}, operation {placed.index + 1}, machine {placed.machine}"


def _place(problem: Problem, job: int, index: int) -> str:
    return f"job {problem.jobs[job].name}, operation {index + 1}"


def _operation(problem: Problem, placed: Placement) -> Operation:
    return problem.jobs[placed.job].operations[placed.index]


def _check_own(problem: Problem, placed: Placement) -> list[Finding]:
    """What one placement breaks by itself: its machine, its duration, the machine's open time, time 0."""
    place = _place(problem, placed.job, placed.index)
    operation, machine = _operation(problem, placed), problem.machines[placed.machine]
    findings = []
    if placed.start < 0:
        findings.append(Finding("not before the start", place, f"starts at minute {placed.start}, before the plan"))
    if operation.pinned is not None and operation.pinned != (placed.machine, placed.start):
        pin = problem.machines[operation.pinned[0]].name if operation.pinned[0] < len(problem.machines) else "nothing"
        findings.append(
            Finding(
                "pinned",
                place,
                f"starts at minute {placed.start} on {machine.name}; it is pinned to minute {operation.pinned[1]} on {pin}",
            )
        )
    durations = {mode.duration for mode in operation.modes if mode.machine == placed.machine}
    if not durations:
        findings.append(Finding("right machine", place, f"is on {machine.name}, which cannot do it"))
        return findings
    outside = _outside_open_time(operation, machine, placed)
    if outside:
        findings.append(Finding("open time", place, outside))
    worked = _worked(machine, placed.start, placed.end)
    if worked not in durations:
        wanted = " or ".join(str(minutes) for minutes in sorted(durations))
        findings.append(
            Finding(
                "right duration", place, f"takes {worked} min of open time on {machine.name}; {wanted} min are needed"
            )
        )
    return findings


def _worked(machine: Machine, start: int, end: int) -> int:
    if machine.open is None:
        return end - start
    return sum(max(0, min(end, closes) - max(start, opens)) for opens, closes in machine.open)


def _outside_open_time(operation: Operation, machine: Machine, placed: Placement) -> str:
    if machine.open is None:
        return ""
    if not operation.pauses:
        if any(opens <= placed.start and placed.end <= closes for opens, closes in machine.open):
            return ""
        return f"may not pause, but no open stretch of {machine.name} holds minutes {placed.start} to {placed.end}"
    if placed.start == placed.end:
        inside = any(opens <= placed.start <= closes for opens, closes in machine.open)
        return "" if inside else f"stands at minute {placed.start}, when {machine.name} is closed"
    if not any(opens <= placed.start < closes for opens, closes in machine.open):
        return f"starts at minute {placed.start}, when {machine.name} is closed"
    if not any(opens < placed.end <= closes for opens, closes in machine.open):
        return f"ends at minute {placed.end}, when {machine.name} is closed"
    return ""


def _check_machines(problem: Problem, placements: list[Placement]) -> list[Finding]:
    findings = []
    for number, machine in enumerate(problem.machines):
        table = problem.changeovers.get(number, {})
        run = sorted((p for p in placements if p.machine == number), key=lambda p: (p.start, p.end, p.job, p.index))
        setting = machine.set_for
        for placed in run:
            family = _operation(problem, placed).family
            wanted = 0 if family is None or setting is None else table.get((setting, family), 0)
            if placed.changeover != wanted:
                findings.append(
                    Finding(
                        "right changeover",
                        _place(problem, placed.job, placed.index),
                        f"has {placed.changeover} min of changeover on {machine.name}; "
                        f"from {setting or 'nothing'} to {family or 'no family'} takes {wanted} min",
                    )
                )
            setting = setting if family is None else family
        if run and run[0].start - run[0].changeover < 0 <= run[0].start:
            findings.append(
                Finding(
                    "not before the start",
                    _place(problem, run[0].job, run[0].index),
                    f"is changed over for from minute {run[0].start - run[0].changeover}, before the plan",
                )
            )
        latest: Placement | None = None
        for placed in run:
            if latest is not None and placed.start - placed.changeover < latest.end:
                other = _place(problem, latest.job, latest.index)
                findings.append(
                    Finding(
                        "one at a time",
                        _place(problem, placed.job, placed.index),
                        f"takes {machine.name} from minute {placed.start - placed.changeover}, changeover counted, "
                        f"while {other} runs until minute {latest.end}",
                    )
                )
            if latest is None or placed.end > latest.end:
                latest = placed
    return findings


def _check_jobs(problem: Problem, once: dict[tuple[int, int], Placement]) -> list[Finding]:
    findings = []
    numbers = {job.name: number for number, job in enumerate(problem.jobs)}
    for number, job in enumerate(problem.jobs):
        placed = [(index, once[number, index]) for index in range(len(job.operations)) if (number, index) in once]
        for (index, before), (following, after) in pairwise(placed):
            if following != index + 1:
                continue
            findings += _check_step(job, index, before, after, _place(problem, number, following))
        if not placed:
            continue
        place, first = _place(problem, number, placed[0][0]), placed[0][1]
        if first.start < job.release:
            findings.append(
                Finding(
                    "release", place, f"starts at minute {first.start}; the job is released at minute {job.release}"
                )
            )
        for name in job.after:
            if name not in numbers:
                findings.append(
                    Finding("after another job", place, f"waits for job {name}, which is not in the problem")
                )
                continue
            finish = _finish(problem, numbers[name], once)
            if first.start < finish:
                findings.append(
                    Finding(
                        "after another job",
                        place,
                        f"starts at minute {first.start}, before job {name} is finished at minute {finish}",
                    )
                )
    return findings


def _check_step(job: Job, index: int, before: Placement, after: Placement, place: str) -> list[Finding]:
    step = job.operations[index]
    gap = after.start - before.end
    if gap < 0:
        return [Finding("order of the steps", place, f"starts {-gap} min before operation {index + 1} ends")]
    if gap < step.min_wait:
        return [
            Finding("least wait", place, f"starts {gap} min after operation {index + 1}; {step.min_wait} must pass")
        ]
    if step.max_wait is not None and gap > step.max_wait:
        return [
            Finding(
                "most wait", place, f"starts {gap} min after operation {index + 1}; at most {step.max_wait} may pass"
            )
        ]
    return []


def _finish(problem: Problem, number: int, once: dict[tuple[int, int], Placement]) -> int:
    job = problem.jobs[number]
    ends = [
        once[number, index].end + operation.min_wait
        for index, operation in enumerate(job.operations)
        if (number, index) in once
    ]
    return max(ends, default=job.release)


def _check_stores(problem: Problem, placements: list[Placement]) -> list[Finding]:
    findings = []
    for number, store in enumerate(problem.stores):
        changes: list[tuple[int, int, Placement]] = []
        for placed in placements:
            operation = _operation(problem, placed)
            if operation.store == number:
                changes.append((placed.start, operation.units, placed))
                changes.append((placed.end + operation.min_wait, -operation.units, placed))
        held = 0
        for minute, units, placed in sorted(changes, key=lambda change: change[:2]):
            held += units
            if units > 0 and held > store.capacity:
                findings.append(
                    Finding(
                        "store capacity",
                        _place(problem, placed.job, placed.index),
                        f"at minute {minute} store {store.name} would hold {held}; it holds at most {store.capacity}",
                    )
                )
    return findings
