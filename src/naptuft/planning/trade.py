"""What a plan is judged by, and what more of one costs in the others.

The same work is scheduled again under several emphases, and each answer is measured by everything: late
minutes, changeover, work in progress and its waiting, overtime, the age of material when it is used, how
evenly machines are loaded. A point that another beats in everything is marked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil, sqrt

from naptuft.book.model import Book
from naptuft.planning.answered import answered
from naptuft.planning.plan import Plan
from naptuft.planning.problem import Aims, Placement, Problem, Schedule
from naptuft.planning.schedule.open_time import end_of_run, open_between
from naptuft.planning.schedule.rules import calendar_of
from naptuft.planning.tied import Tie, schedule_tied
from naptuft.plant.calendar import minutes_after

DAY = 1440
FEW_CHANGEOVERS = 0.05
"""What a late minute counts where changeover is dear: a plan may come 20 minutes late to save one of changeover."""
IN_BALANCE = 1.0
DEAR_WAITING = 1.0
DEAR_OVERTIME = 20
ROOM = 1.5
"""How far above its mean load a machine may be loaded on any day, where load is to be even; chosen, with no source."""
LEAST_SHARE = 0.25


@dataclass(frozen=True)
class Measures:
    """What a plan is judged by; of everything less is better.

    late_minutes         weight x late minutes of all orders
    changeover_minutes   minutes machines are changed over
    jobs_in_progress     work orders begun and not finished, the mean over the time from first start to last finish
    waiting_minutes      minutes work orders wait between their steps, beyond the waits asked of them
    overtime_minutes     minutes worked in overtime
    material_age_days    age of bought material when it is used, each lot by its cost
    unevenness           standard deviation of the daily load of a machine, each day a share of its open time,
                         the mean over machines by their work
    """

    late_minutes: float
    changeover_minutes: int
    jobs_in_progress: float
    waiting_minutes: int
    overtime_minutes: int
    material_age_days: float
    unevenness: float

    def values(self) -> tuple[float, ...]:
        """All of them, in the order above."""
        return tuple(vars(self).values())


@dataclass(frozen=True)
class Taken:
    """Material that a job uses: when it came, in minutes from the start of the plan, and what it cost."""

    job: int
    came: int
    cost: float


@dataclass(frozen=True)
class TradePoint:
    """One emphasis and what came of it.

    name       the emphasis, in words
    how        what was asked of the search, in the words of the book's settings
    beaten_by  names of the points that are no worse in anything and better in something
    """

    name: str
    how: str
    measures: Measures
    schedule: Schedule
    beaten_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Emphasis:
    """A way to ask for a plan. aims: what else is judged; even: days filled to little more than the mean."""

    name: str
    how: str
    aims: Aims | None = None
    even: bool = False


def emphases(problem: Problem) -> tuple[Emphasis, ...]:
    """What is tried: the book's own aims first, then each of the others in turn."""
    own = problem.aims
    tried = [
        Emphasis("as the book asks", "settings of the book", own),
        Emphasis(
            "few changeovers",
            f"a late minute counts {FEW_CHANGEOVERS:g} of a changeover minute",
            replace(own, late=FEW_CHANGEOVERS),
        ),
        Emphasis("in balance", "a late minute counts as one of changeover", replace(own, late=IN_BALANCE)),
        Emphasis(
            "little work in progress",
            f"lateness first; a minute of waiting counts {DEAR_WAITING:g} of changeover",
            replace(own, waiting=DEAR_WAITING),
        ),
        Emphasis("even load", f"no machine filled above {ROOM:.0%} of its mean on any day", own, even=True),
    ]
    if any(machine.overtime for machine in problem.machines):
        tried.insert(
            4,
            Emphasis(
                "little overtime",
                f"lateness first; a minute of overtime counts {DEAR_OVERTIME} of changeover",
                replace(own, overtime=DEAR_OVERTIME),
            ),
        )
    return tuple(tried)


def measures_of(problem: Problem, placements: Sequence[Placement], taken: Sequence[Taken] = ()) -> Measures:
    """Everything a plan is judged by.

    >>> from naptuft.planning.problem import Job, Machine, Mode, Operation
    >>> job = Job("a", (Operation((Mode(0, 10),), min_wait=5), Operation((Mode(0, 10),))), due=20)
    >>> plan = (Placement(0, 0, 0, 0, 10), Placement(0, 1, 0, 20, 30))
    >>> found = measures_of(Problem((Machine("press", ((0, 100),)),), (job,)), plan)
    >>> found.late_minutes, found.waiting_minutes, found.jobs_in_progress
    (10.0, 5, 1.0)
    """
    placed = {(place.job, place.index): place for place in placements}
    late, waiting, progress = 0.0, 0, 0
    first, last = min(p.start for p in placements), 0
    for number, job in enumerate(problem.jobs):
        finish = placed[number, len(job.operations) - 1].end + job.operations[-1].min_wait
        last = max(last, finish)
        progress += finish - placed[number, 0].start
        if job.due is not None:
            late += job.weight * max(0, finish - job.due)
        for index, operation in enumerate(job.operations[:-1]):
            if operation.transfers == 1:
                waiting += placed[number, index + 1].start - placed[number, index].end - operation.min_wait
    overtime = sum(
        open_between(problem.machines[place.machine].overtime, place.start, place.end)
        for place in _once_a_batch(problem, placements)
    )
    costs = sum(each.cost for each in taken)
    ages = sum(each.cost * max(0, placed[each.job, 0].start - each.came) for each in taken)
    return Measures(
        late,
        sum(place.changeover for place in placements),
        progress / max(1, last - first),
        waiting,
        overtime,
        ages / costs / DAY if costs else 0.0,
        unevenness(problem, placements),
    )


def unevenness(problem: Problem, placements: Sequence[Placement]) -> float:
    """Standard deviation of machines' daily load, as a share of open time; the mean over machines by their work.

    Days count from the start of the plan to the last on which anything is worked on or due; days a machine is
    closed do not.
    """
    last_day = -(-_last_minute(problem, placements) // DAY)
    total = weight = 0.0
    for number, machine in enumerate(problem.machines):
        runs = [p for p in _once_a_batch(problem, placements) if p.machine == number]
        worked = sum(open_between(machine.open, p.start, p.end) for p in runs)
        loads = []
        for day in range(last_day):
            since, until = day * DAY, (day + 1) * DAY
            stretches = ((since, until),) if machine.open is None else machine.open
            opened = open_between(stretches, since, until)
            if opened:
                busy = sum(open_between(stretches, max(p.start, since), min(p.end, until)) for p in runs)
                loads.append(busy / opened)
        if worked and loads:
            mean = sum(loads) / len(loads)
            total += worked * sqrt(sum((load - mean) ** 2 for load in loads) / len(loads))
            weight += worked
    return total / weight if weight else 0.0


def _once_a_batch(problem: Problem, placements: Sequence[Placement]) -> list[Placement]:
    """The runs of machines: operations together in one machine are one run of it."""
    runs: dict[tuple[int, int, int], Placement] = {}
    for number, place in enumerate(placements):
        alone = -1 if problem.machines[place.machine].takes is not None else number
        runs.setdefault((place.machine, place.start, alone), place)
    return list(runs.values())


def _last_minute(problem: Problem, placements: Sequence[Placement]) -> int:
    """When the last of a plan is done or due."""
    return max(*(place.end for place in placements), *(job.due or 0 for job in problem.jobs))


def rationed(problem: Problem, placements: Sequence[Placement]) -> Problem:
    """The problem with each machine open no more of each stretch than a little above the mean load of a plan.

    A machine is left as it is where something that may not pause would no longer fit or something is pinned, and
    beyond the last minute that anything is planned or due.
    """
    until = _last_minute(problem, placements)
    longest = [0] * len(problem.machines)
    pinned = {operation.pinned[0] for job in problem.jobs for operation in job.operations if operation.pinned}
    for job in problem.jobs:
        for operation in job.operations:
            for mode in operation.modes:
                if not operation.pauses:
                    longest[mode.machine] = max(longest[mode.machine], mode.duration)
    machines = []
    for number, machine in enumerate(problem.machines):
        if machine.open is None or number in pinned:
            machines.append(machine)
            continue
        runs = [p for p in _once_a_batch(problem, placements) if p.machine == number]
        busy = sum(open_between(machine.open, p.start - p.changeover, p.end) for p in runs)
        opened = open_between(machine.open, 0, until)
        share = min(1.0, max(LEAST_SHARE, ROOM * busy / opened if opened else 1.0))
        shorter = tuple(
            (opens, opens + ceil(share * (closes - opens))) if closes <= until else (opens, closes)
            for opens, closes in machine.open
        )
        fits = all(closes - opens >= longest[number] for opens, closes in shorter)
        machines.append(replace(machine, open=shorter) if fits else machine)
    return replace(problem, machines=tuple(machines))


def in_open_hours(problem: Problem, placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """A plan made for shorter hours in the hours there are: every start stays, and what paused ends sooner."""
    shown = []
    for place in placements:
        operations = problem.jobs[place.job].operations
        operation = operations[place.index]
        fed_in_batches = place.index and operations[place.index - 1].transfers > 1
        tied = operation.max_wait is not None and place.index + 1 < len(operations)
        if operation.pauses and not fed_in_batches and not tied:
            mode = next(mode for mode in operation.modes if mode.machine == place.machine)
            end = end_of_run(calendar_of(problem, operation, mode), mode.duration, True, place.start)
            place = place if end is None else replace(place, end=end, reason="held back for an even load")
        shown.append(place)
    return tuple(shown)


def trade(
    book: Book,
    plan: Plan,
    *,
    seed: int = 1,
    effort: int | None = None,
    seconds: float | None = None,
    threads: int = 1,
    progress: Callable[[str, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> tuple[TradePoint, ...]:
    """The plan at hand, and its work scheduled again under each emphasis.

    effort, seconds  what the search may use for each; the lots, blends and cut lists of the plan stay
    stop             polled; the points found so far are returned

    Raises DesignError where the plan was made from another book.
    """
    posed = answered(book, plan)
    problem, taken = posed.timing.problem, taken_by(book, plan)
    points = [
        TradePoint(
            "the plan at hand", "as it stands", measures_of(problem, posed.schedule.placements, taken), posed.schedule
        )
    ]
    points += explored(
        problem, posed.timing.ties, taken, posed.schedule, seed=seed, effort=effort, seconds=seconds, threads=threads,
        progress=progress, stop=stop,
    )  # fmt: skip
    return marked(points)


def explored(
    problem: Problem,
    ties: Sequence[Tie],
    taken: Sequence[Taken],
    at_hand: Schedule,
    *,
    seed: int,
    effort: int | None,
    seconds: float | None,
    threads: int = 1,
    progress: Callable[[str, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> list[TradePoint]:
    """A point for each emphasis, as far as the time goes."""
    points = []
    tried = emphases(problem)
    for number, emphasis in enumerate(tried):
        if stop is not None and stop():
            break
        if progress is not None:
            progress(emphasis.name, number / len(tried))
        asked = replace(problem, aims=emphasis.aims or problem.aims)
        if emphasis.even:
            asked = rationed(asked, at_hand.placements)
        found = schedule_tied(asked, ties, seed=seed, effort=effort, seconds=seconds, threads=threads, stop=stop)
        if emphasis.even:
            found = replace(found, placements=in_open_hours(problem, found.placements), bound=None, status="feasible")
        points.append(TradePoint(emphasis.name, emphasis.how, measures_of(problem, found.placements, taken), found))
    return points


def taken_by(book: Book, plan: Plan) -> tuple[Taken, ...]:
    """The bought material each work order uses, and when it came."""
    number = {work.number: place for place, work in enumerate(plan.work_orders)}
    came: dict[str, int] = {}
    for lot in book.lots:
        came[lot.code] = DAY * (lot.received - book.start.date()).days
    for purchase in plan.purchases:
        came[purchase.number] = minutes_after(book.start, purchase.arrives)
    return tuple(
        Taken(number[each.work_order], came[each.lot], float(each.cost))
        for each in plan.allocations
        if each.work_order in number and each.lot in came and each.source != "made"
    )


def marked(points: Sequence[TradePoint]) -> tuple[TradePoint, ...]:
    """The points, each with the names of those that beat it in everything."""
    return tuple(
        replace(
            point,
            beaten_by=tuple(
                other.name
                for other in points
                if other.measures != point.measures
                and all(a <= b for a, b in zip(other.measures.values(), point.measures.values(), strict=True))
            ),
        )
        for point in points
    )
