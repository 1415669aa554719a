"""A plan that is good on the floor: judged by what replays expect, not by what is on paper.

A plan packed tight on paper hands every delay on. So plans are also made of the problem with its work stretched and
its goods late (`stretch`), their lists are planned with the planned minutes again, and of these and the plan that is best
on paper the one is taken from which replays expect the fewest weighted late minutes. From there work that
makes orders late is moved ahead or to another machine, as long as the replays expect less of it (`bench`). All
plans are judged with the same random numbers; the answer is told with fresh ones.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.planning.problem import Placement, Problem, Schedule
from naptuft.planning.risk.model import Scatter, Target, model_of, targets_of
from naptuft.planning.risk.replays import replays
from naptuft.planning.risk.stretch import stretched
from naptuft.planning.tied import Tie, keeps_ties, schedule_tied

SHARES = (0.5, 0.7, 0.85)
JUDGED = 256
CONFIRMED = 4000
FRESH = 1_000_003
ROUND = 300
ON_PAPER, STRETCHED, MOVED = 0.3, 0.35, 0.93
EFFORT = 20_000


@dataclass(frozen=True)
class Expected:
    """Weighted late minutes of a plan.

    planned   on paper: nothing scatters
    expected  mean over replays; error: standard error of that mean
    """

    planned: float
    expected: float
    error: float


@dataclass(frozen=True)
class SteadyAnswer:
    """The plan to be expected best, and what is expected of it and of the plan that is best on paper.

    schedule      the plan; paper's own where nothing better was found
    paper         the plan that is best on paper
    of_schedule, of_paper     what replays tell of each, with random numbers that no plan was chosen by
    saved         weighted late minutes expected less; error: standard error, both plans in the same replays
    by            where the plan comes from: paper, stretched or moved
    replays       how many tell
    tried         plans judged by replays
    """

    schedule: Schedule
    paper: Schedule
    of_schedule: Expected
    of_paper: Expected
    saved: float
    error: float
    by: Literal["paper", "stretched", "moved"]
    replays: int
    tried: int


@dataclass(frozen=True)
class _Candidate:
    schedule: Schedule
    by: Literal["paper", "stretched", "moved"]
    late: Any

    @property
    def mean(self) -> float:
        return float(self.late.mean())


class _Limits:
    """What is left of the time or the effort, and whether to stop."""

    def __init__(self, seconds: float | None, effort: int | None, stop: Callable[[], bool] | None):
        self.seconds = seconds
        self.effort = EFFORT if seconds is None and effort is None else effort
        self.began = time.monotonic()
        self.asked = stop or (lambda: False)

    def of(self, until: float, share: float) -> dict[str, Any]:
        """Limits of one search: a share of the effort, or the seconds until a share of all has passed."""
        limits: dict[str, Any] = {"stop": self.asked}
        if self.effort is not None:
            limits["effort"] = max(1, int(self.effort * share))
        if self.seconds is not None:
            limits["seconds"] = max(0.05, self.seconds * until - self.passed())
        return limits

    def passed(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.began

    def over(self, until: float, tried: int) -> bool:
        """Whether moving is over."""
        if self.asked() or (self.effort is not None and tried >= self.effort // 20):
            return True
        return self.seconds is not None and self.passed() >= until * self.seconds


def steady(
    problem: Problem,
    spreads: Scatter,
    *,
    targets: Sequence[Target] | None = None,
    ties: Sequence[Tie] = (),
    seed: int = 1,
    seconds: float | None = None,
    effort: int | None = None,
    threads: int = 1,
    confirmed: int = CONFIRMED,
    progress: Callable[[str, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> SteadyAnswer:
    """The plan of which the fewest weighted late minutes are expected when everything scatters as told.

    targets    what is to be finished by when; None: every job with a due time
    ties       jobs that must begin within a time after another; every plan keeps them
    seconds    for all of it; the answer may then differ from run to run
    effort     or candidate plans tried on paper: the same problem, spreads, seed and effort give the same answer
    confirmed  replays that tell of the two plans in the end
    progress   called with what is being done and its share done
    stop       polled; True ends the search with the best plan so far
    Raises DesignError where nothing is due, and whatever `schedule` raises.
    """
    import numpy as np

    chosen = tuple(targets_of(problem) if targets is None else targets)
    if targets is None and not chosen:
        raise DesignError(Fault("problem", "no due times", "at least one job with a due time", "say what is due when"))
    limits = _Limits(seconds, effort, stop)
    tell = progress or (lambda _what, _done: None)
    due = np.array([target.due for target in chosen])
    weight = np.array([target.weight for target in chosen])

    def late(plan: Schedule, count: int, number: int) -> Any:
        model = model_of(problem, plan.placements, spreads, chosen)
        return np.maximum(0.0, replays(model, count, number, threads).finish - due) @ weight

    tell("the plan on paper", 0.0)
    paper = schedule_tied(problem, ties, seed=seed, threads=threads, **limits.of(ON_PAPER, 1.0))
    found = [_Candidate(paper, "paper", late(paper, JUDGED, seed))]
    for number, share in enumerate(SHARES):
        if limits.asked():
            break
        until = ON_PAPER + STRETCHED * (number + 1) / len(SHARES)
        tell(f"a plan with room, {found[0].mean:,.0f} late minutes expected of the plan on paper", until)
        plan = _with_room(problem, spreads, ties, share, seed, threads, limits.of(until, 1 / len(SHARES)))
        if plan is not None:
            found.append(_Candidate(plan, "stretched", late(plan, JUDGED, seed)))
    best = min(found, key=lambda candidate: candidate.mean)
    tried = len(found)
    moving = _moved(problem, spreads, ties, chosen, best, seed, limits, lambda plan: late(plan, JUDGED, seed))
    for best, moves in moving:
        tell(f"moving what makes orders late, {best.mean:,.0f} late minutes expected", ON_PAPER + STRETCHED)
        tried = len(found) + moves
    tell("fresh replays of both plans", MOVED)
    fresh = [late(plan, confirmed, seed + FRESH) for plan in (best.schedule, paper)]
    if fresh[0].mean() > fresh[1].mean():
        best, fresh[0] = found[0], fresh[1]
    saved = fresh[1] - fresh[0]
    on_time = Scatter(goods=spreads.goods)
    told = [
        Expected(float(late_on_paper(problem, plan, on_time, chosen)), float(amounts.mean()), _error(amounts))
        for plan, amounts in zip((best.schedule, paper), fresh, strict=True)
    ]
    return SteadyAnswer(
        replace(best.schedule, bound=paper.bound),
        paper,
        told[0],
        told[1],
        float(saved.mean()),
        _error(saved),
        best.by,
        confirmed,
        tried,
    )


def late_on_paper(problem: Problem, plan: Schedule, spreads: Scatter, targets: Sequence[Target]) -> float:
    """Weighted late minutes of the targets where all goes as planned."""
    end = {(placed.job, placed.index): placed.end for placed in plan.placements}
    total = 0.0
    for target in targets:
        finishes = [
            end[job, len(problem.jobs[job].operations) - 1] + problem.jobs[job].operations[-1].min_wait
            for job in target.jobs
        ]
        finish = max([*finishes, *(spreads.goods[k].arrives for k in target.goods)], default=0.0)
        total += target.weight * max(0.0, finish - target.due)
    return total


def _error(amounts: Any) -> float:
    return float(amounts.std(ddof=1) / len(amounts) ** 0.5) if len(amounts) > 1 else 0.0


def _with_room(
    problem: Problem,
    spreads: Scatter,
    ties: Sequence[Tie],
    share: float,
    seed: int,
    threads: int,
    limits: dict[str, Any],
) -> Schedule | None:
    """The list of a plan of the stretched problem, planned with the planned minutes; None where there is none."""
    try:
        plan = schedule_tied(stretched(problem, spreads, share), ties, seed=seed, threads=threads, **limits)
    except Infeasible:
        return None
    in_order = sorted(plan.placements, key=lambda p: (p.start, p.end, p.job, p.index))
    return planned(problem, [(p.job, p.index, p.machine) for p in in_order], ties, plan.effort)


def planned(
    problem: Problem, sequence: Sequence[tuple[int, int, int]], ties: Sequence[Tie] = (), effort: int = 0
) -> Schedule | None:
    """The plan of a list of job, index and machine, everything as soon as it can be; None where it keeps some rule not.

    The list holds every operation, each behind all it waits for.
    """
    import numpy as np

    from naptuft.planning.check import check_schedule
    from naptuft.planning.schedule.decode import CHANGEOVER, END, START, fresh_plan
    from naptuft.planning.schedule.engine import compiled
    from naptuft.planning.schedule.fold import FAR, fold
    from naptuft.planning.schedule.reasons import explain
    from naptuft.planning.schedule.rules import ways_of

    numbers: dict[tuple[int, int], tuple[int, int, int]] = {}
    first_mode = 0
    for job, work in enumerate(problem.jobs):
        head = len(numbers)
        for index, operation in enumerate(work.operations):
            number = len(numbers)
            if index == 0 or work.operations[index - 1].max_wait is None:
                head = number
            numbers[job, index] = number, first_mode, head
            first_mode += len(ways_of(problem, operation))
    machine = np.zeros(len(numbers), np.int32)
    modes = np.zeros(len(numbers), np.int32)
    order = []
    for job, index, on in sequence:
        number, first, head = numbers[job, index]
        options = ways_of(problem, problem.jobs[job].operations[index])
        quickest = min((way.mode.duration, k) for k, way in enumerate(options) if way.mode.machine == on)[1]
        machine[number], modes[number] = on, first + quickest
        if head == number:
            order.append(number)
    folded = fold(problem)
    plan = fresh_plan(folded.table)
    engine = compiled()
    engine.decode(folded.table, np.array(order, np.int32), modes, plan)
    if len(plan) and plan[:, END].max() >= FAR:
        return None
    placements = tuple(
        Placement(
            job,
            index,
            int(machine[number]),
            int(plan[number, START]),
            int(plan[number, END]),
            int(plan[number, CHANGEOVER]),
        )
        for (job, index), (number, _, _) in numbers.items()
    )
    if check_schedule(problem, placements) or not keeps_ties(problem, ties, placements):
        return None
    figures = engine.measure(folded.table, folded.weight, plan)
    return Schedule(explain(problem, placements), (float(figures[0]), float(figures[1])), None, "feasible", effort)


def _moved(
    problem: Problem,
    spreads: Scatter,
    ties: Sequence[Tie],
    targets: Sequence[Target],
    best: _Candidate,
    seed: int,
    limits: _Limits,
    judged: Callable[[Schedule], Any],
) -> Iterable[tuple[_Candidate, int]]:
    """Ever better plans from one on, each with how many moves were tried until then."""
    from naptuft.planning.risk.bench import Bench

    dice = random.Random(seed)
    bench = Bench(problem, best.schedule.placements, spreads, targets, seed, JUDGED)
    tried = 0
    while not limits.over(MOVED, tried):
        taken = 0
        for _ in range(ROUND):
            if limits.over(MOVED, tried):
                break
            tried += 1
            move = bench.propose(dice)
            if move is not None and bench.attempt(move):
                taken += 1
                bench.look()
            elif tried % 20 == 0:
                bench.look()
        if not taken:
            continue
        plan = planned(problem, bench.sequence(), ties)
        late = None if plan is None else judged(plan)
        if plan is not None and late is not None and late.mean() < best.mean:
            best = _Candidate(plan, "moved", late)
            yield best, tried
        bench = Bench(problem, best.schedule.placements, spreads, targets, seed, JUDGED)
    yield best, tried
