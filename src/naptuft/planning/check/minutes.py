"""A schedule held against its problem, in whole minutes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from naptuft.planning.check.together import Stretches, check_batches, check_crews, groups_on, may_run
from naptuft.planning.plan import Finding
from naptuft.planning.problem import Operation, Placement, Problem, Schedule


def check_schedule(problem: Problem, placements: Sequence[Placement]) -> tuple[Finding, ...]:
    """Every rule of the problem the placements break; empty when the schedule is right.

    Placements may come in any order. Those that name no operation or machine of the problem are reported
    and left out of the other rules.

    >>> from naptuft.planning.problem import Job, Machine, Mode
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
    groups = [
        groups_on(
            problem,
            machine,
            sorted((p for p in known if p.machine == number), key=lambda p: (p.start, p.end, p.job, p.index)),
        )
        for number, machine in enumerate(problem.machines)
    ]
    for number, on_machine in enumerate(groups):
        findings += _check_machine(problem, number, on_machine)
        findings += check_batches(problem, on_machine)
    findings += check_crews(problem, (group for on_machine in groups for group in on_machine))
    findings += _check_jobs(problem, once)
    findings += _check_stores(problem, known)
    return tuple(findings)


def check_figures(problem: Problem, schedule: Schedule) -> tuple[Finding, ...]:
    """The figures of a schedule that are not those of its placements; empty when they are.

    The second counts, in minutes of changeover: changeovers, penalties of the ways chosen, minutes worked in
    overtime and minutes waited between steps, as the problem's aims weigh them. Operations together in one machine
    count each for itself.
    """
    once = {(placed.job, placed.index): placed for placed in schedule.placements}
    if problem.objective == "makespan":
        figures = (float(max((_finish(problem, k, once) for k in range(len(problem.jobs))), default=0)),)
    else:
        late = sum(
            job.weight * max(0, _finish(problem, number, once) - job.due)
            for number, job in enumerate(problem.jobs)
            if job.due is not None
        )
        figures = late, sum(_counted(problem, placed, once) for placed in once.values())
    return tuple(
        Finding("figures of the schedule", f"figure {number}", f"is said to be {said:g}; it is {is_:g}")
        for number, (said, is_) in enumerate(zip(schedule.objective, figures, strict=True), 1)
        if abs(said - is_) > 1e-6 * max(1.0, abs(is_))
    )


def _counted(problem: Problem, placed: Placement, once: dict[tuple[int, int], Placement]) -> float:
    """What one placement counts besides lateness, the waiting after it included."""
    operation, machine = _operation(problem, placed), problem.machines[placed.machine]
    penalty = min((mode.penalty for mode in operation.modes if mode.machine == placed.machine), default=0)
    counted = placed.changeover + penalty
    counted += problem.aims.overtime * _worked(machine.overtime, placed.start, placed.end)
    follows = once.get((placed.job, placed.index + 1))
    if follows is not None and operation.transfers == 1:
        counted += problem.aims.waiting * max(0, follows.start - placed.end - operation.min_wait)
    return counted


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
    calendar = may_run(problem, operation, machine)
    name = machine.name if calendar == machine.open else f"{machine.name} with its crew"
    outside = _outside_open_time(operation, calendar, name, placed)
    if outside:
        findings.append(Finding("open time", place, outside))
    worked = _worked(calendar, placed.start, placed.end)
    if worked not in durations:
        wanted = " or ".join(str(minutes) for minutes in sorted(durations))
        findings.append(
            Finding("right duration", place, f"takes {worked} min of open time on {name}; {wanted} min are needed")
        )
    return findings


def _worked(calendar: Stretches, start: int, end: int) -> int:
    if calendar is None:
        return end - start
    return sum(max(0, min(end, closes) - max(start, opens)) for opens, closes in calendar)


def _outside_open_time(operation: Operation, calendar: Stretches, name: str, placed: Placement) -> str:
    if calendar is None:
        return ""
    if not operation.pauses:
        if any(opens <= placed.start and placed.end <= closes for opens, closes in calendar):
            return ""
        return f"may not pause, but no open stretch of {name} holds minutes {placed.start} to {placed.end}"
    if placed.start == placed.end:
        inside = any(opens <= placed.start <= closes for opens, closes in calendar)
        return "" if inside else f"stands at minute {placed.start}, when {name} is closed"
    if not any(opens <= placed.start < closes for opens, closes in calendar):
        return f"starts at minute {placed.start}, when {name} is closed"
    if not any(opens < placed.end <= closes for opens, closes in calendar):
        return f"ends at minute {placed.end}, when {name} is closed"
    return ""


def _check_machine(problem: Problem, number: int, groups: list[list[Placement]]) -> list[Finding]:
    """Changeovers of one machine, and one operation at a time, or one batch of them."""
    findings = []
    machine, table = problem.machines[number], problem.changeovers.get(number, {})
    setting = machine.set_for
    for group in groups:
        placed, changeover = group[0], sum(p.changeover for p in group)
        family = _operation(problem, placed).family
        wanted = 0 if family is None or setting is None else table.get((setting, family), 0)
        if changeover != wanted:
            findings.append(
                Finding(
                    "right changeover",
                    _place(problem, placed.job, placed.index),
                    f"has {changeover} min of changeover on {machine.name}; "
                    f"from {setting or 'nothing'} to {family or 'no family'} takes {wanted} min",
                )
            )
        setting = setting if family is None else family
    latest: Placement | None = None
    for group in groups:
        placed = group[0]
        begins = placed.start - sum(p.changeover for p in group)
        if latest is None and begins < 0 <= placed.start:
            findings.append(
                Finding(
                    "not before the start",
                    _place(problem, placed.job, placed.index),
                    f"is changed over for from minute {begins}, before the plan",
                )
            )
        if latest is not None and begins < latest.end:
            other = _place(problem, latest.job, latest.index)
            findings.append(
                Finding(
                    "one at a time",
                    _place(problem, placed.job, placed.index),
                    f"takes {machine.name} from minute {begins}, changeover counted, "
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
            if job.operations[index].transfers > 1:
                findings += _check_transfers(problem, before, after)
            else:
                findings += _check_step(job.operations[index], index, before, after, _place(problem, number, following))
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


def _check_step(step: Operation, index: int, before: Placement, after: Placement, place: str) -> list[Finding]:
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


def _check_transfers(problem: Problem, before: Placement, after: Placement) -> list[Finding]:
    """Not started before the first transfer batch is there, not ended before the last is worked on."""
    step, follows = _operation(problem, before), _operation(problem, after)
    place, machine = _place(problem, after.job, after.index), problem.machines[before.machine]
    findings = []
    firsts = [
        _after_work(
            may_run(problem, step, machine), before.start, mode.setup + _share(mode.duration - mode.setup, step)
        )
        for mode in step.modes
        if mode.machine == before.machine
    ]
    first = min((moment for moment in firsts if moment is not None), default=before.end) + step.min_wait
    if after.start < first:
        findings.append(
            Finding(
                "transfer batches",
                place,
                f"starts at minute {after.start}; the first of {step.transfers} transfer batches is there "
                f"at minute {first}",
            )
        )
    lasts = [_share(mode.duration - mode.setup, step) for mode in follows.modes if mode.machine == after.machine]
    last = before.end + step.min_wait + min(lasts, default=0)
    if after.end < last:
        findings.append(
            Finding(
                "transfer batches",
                place,
                f"ends at minute {after.end}; the last of {step.transfers} transfer batches cannot be done "
                f"before minute {last}",
            )
        )
    return findings


def _share(minutes: int, step: Operation) -> int:
    """Minutes for one of the transfer batches a step is handed on in, rounded up."""
    return -(-minutes // step.transfers)


def _after_work(calendar: Stretches, start: int, minutes: int) -> int | None:
    """The minute by which so many open minutes have passed since a start; None: the calendar ends before."""
    if calendar is None:
        return start + minutes
    for opens, closes in calendar:
        open_here = closes - max(start, opens)
        if open_here >= minutes and open_here >= 0:
            return max(start, opens) + minutes
        minutes -= max(0, open_here)
    return None


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
