"""From a problem to the best plan found: first lists, annealing, proof of small problems.

With `effort` (candidate plans) the answer repeats exactly; with `seconds` it may not.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from naptuft.errors import Infeasible
from naptuft.planning.problem import Placement, Problem, Schedule
from naptuft.planning.schedule import bound as bounds
from naptuft.planning.schedule import exact, heating, reasons, shops
from naptuft.planning.schedule.anneal import STANDS_ON_BEST, start_walk
from naptuft.planning.schedule.decode import fresh_plan
from naptuft.planning.schedule.dispatch import EARLIEST_DUE, LONGEST_TAIL, TARDINESS, even_scales
from naptuft.planning.schedule.engine import PLAIN, compiled
from naptuft.planning.schedule.faults import faults_of
from naptuft.planning.schedule.fold import (
    FAR,
    ITEMS,
    OPERATIONS,
    Folded,
    Table,
    fold,
)
from naptuft.planning.schedule.listed import Listed, list_of, placements_of
from naptuft.planning.schedule.no_room import no_room
from naptuft.planning.schedule.put_off import put_off, say_why
from naptuft.planning.schedule.quick import is_timed
from naptuft.planning.schedule.retime import start_timed
from naptuft.planning.schedule.tuning import CHUNK, tune

DEFAULT_EFFORT = 40_000
CHANGE_SHARE = 0.05
MOST_SCALE = 0.05
LEAST_LATE = 1e-6
PROGRESS_SECONDS = 0.25
LARGE = 2_500
SOON = 4.0
DUE_SCALES = (30.0, 100.0, 300.0, 1000.0, 3000.0, 10000.0, 30000.0)
CHANGE_SCALES = (1.0, 3.0, 6.0, 10.0, 20.0, 40.0, 100.0, 1000.0)


@dataclass(frozen=True)
class Progress:
    """How a search stands.

    objective  the figures of the best plan so far
    bound      proven lower bound of the first figure
    effort     candidate plans tried
    seconds    since the search began
    done       share of the limits used up, 0 to 1
    trying     what is being tried, in words
    """

    objective: tuple[float, ...]
    bound: float
    effort: int
    seconds: float
    done: float
    trying: str


class _Warming(threading.Thread):
    """Compiles what a search calls, by calling it.

    lists  the engine, once it has what a list takes
    made   the engine, once it has all
    """

    def __init__(self, search: Search):
        super().__init__()  # waited for at exit: an interpreter that ends while it compiles is aborted
        self.search = search
        self.lists: Any = None
        self.made: Any = None
        self.failed: BaseException | None = None
        self.start()

    def run(self) -> None:
        try:
            self.made = self.warmed()
        except BaseException as error:  # carried to the thread that waits
            self.failed = error

    def warmed(self) -> Any:
        problem, (table, weight) = self.search.problem, self.search.folded
        engine = compiled()
        order, modes = np.zeros(table[ITEMS], np.int32), np.zeros(table[OPERATIONS], np.int32)
        plan = fresh_plan(table)
        engine.dispatch(table, weight, EARLIEST_DUE, even_scales(len(problem.machines), 1.0, 1.0), order, modes)
        engine.decode(table, order, modes, plan)
        engine.measure(table, weight, plan)
        self.lists = engine
        if self.search.plain:
            shops.Rounds(problem, table, 1).warm(engine, order, modes)
            return engine
        self.search.chunk(engine, *self.search.walk(engine, 1, 1.0, Listed(order, modes, (0.0, 0.0))), 1, 1.0)
        return engine


class Search:
    """One run of the scheduler: the best plan so far and what is left of the limits."""

    def __init__(
        self,
        problem: Problem,
        seed: int,
        effort: int | None,
        seconds: float | None,
        progress: Callable[[Progress], None] | None,
        stop: Callable[[], bool] | None,
        threads: int,
        begin: Sequence[Placement] | None = None,
    ):
        self.problem = problem
        self.begin = begin
        self.folded: Folded = fold(problem)
        self.seed = seed
        self.threads = max(1, threads)
        self.plain = shops.is_plain(problem)
        self.timed = is_timed(self.folded.table)
        self.effort = DEFAULT_EFFORT if effort is None and seconds is None else effort
        self.began = time.monotonic()
        self.seconds = seconds
        self.progress = progress
        self.stop = stop
        self.best: Listed | None = None
        self.proven = False
        self.bound = bounds.lower_bound(problem)
        self.tried = 0
        self.grid: tuple[tuple[float, float], tuple[float, float]] = (math.inf, math.inf), (1.0, 1.0)
        self.starts: list[Listed] = []
        self.warming: _Warming | None = None
        self.trail: list[tuple[int, float]] = []
        self.told = -1.0
        self.stopped = False

    def over(self) -> bool:
        """Whether a limit is reached or the user has stopped the search."""
        if self.stop is not None and not self.stopped and self.stop():
            self.stopped = True
        return (
            self.stopped
            or self.proven
            or (self.effort is not None and self.tried >= self.effort)
            or (self.seconds is not None and time.monotonic() - self.began >= self.seconds)
        )

    def share_done(self) -> float:
        """How much of the limits is used up, 0 to 1."""
        shares = [0.0]
        if self.effort:
            shares.append(self.tried / self.effort)
        if self.seconds:
            shares.append((time.monotonic() - self.began) / self.seconds)
        return min(1.0, max(shares))

    def tell(self, trying: str, always: bool = False) -> None:
        """Report progress, a few times a second at most."""
        now = time.monotonic() - self.began
        if self.progress is None or self.best is None or not (always or now - self.told >= PROGRESS_SECONDS):
            return
        self.told = now
        self.progress(Progress(self.objective(), self.bound, self.tried, now, self.share_done(), trying))

    def objective(self) -> tuple[float, ...]:
        """Figures of the best plan, as a `Schedule` carries them."""
        assert self.best is not None
        return self.best.figures[:1] if self.problem.objective == "makespan" else self.best.figures

    def offer(self, order: Table, modes: Table, figures: tuple[float, float]) -> None:
        """Keep a list that is better than the best."""
        if self.best is None or self.worth(figures) < self.worth(self.best.figures):
            self.best = Listed(order.copy(), modes.copy(), (float(figures[0]), float(figures[1])))
            self.trail.append((self.tried, float(figures[0])))
            self.proven = self.proven or self._is_least(self.best.figures)

    def worth(self, figures: tuple[float, float]) -> tuple[float, float]:
        """What plans are compared by, the less the better: the figures in order, or by weight."""
        late = self.problem.aims.late
        if late is None or self.problem.objective == "makespan" or figures[0] >= FAR:
            return figures
        return figures[0] * late + figures[1], figures[0]

    def _is_least(self, figures: tuple[float, float]) -> bool:
        """Whether the bounds alone prove a plan: no plan has fewer than 0 changeover minutes."""
        return figures[0] <= self.bound and figures[1] == 0

    def by_rule(self, engine: Any, rule: int, due_scale: float, change_scale: float) -> tuple[float, float]:
        """Try the list of one dispatch rule. Its figures."""
        table, weight = self.folded
        order = np.zeros(table[ITEMS], np.int32)
        modes = np.zeros(table[OPERATIONS], np.int32)
        plan = fresh_plan(table)
        engine.dispatch(
            table, weight, rule, even_scales(len(self.problem.machines), due_scale, change_scale), order, modes
        )
        engine.decode(table, order, modes, plan)
        self.tried += 1
        figures = engine.measure(table, weight, plan)
        self.offer(order, modes, figures)
        return figures

    def decoded(self, engine: Any, order: Table, modes: Table) -> None:
        """Offer the plan of a list."""
        table, weight = self.folded
        plan = fresh_plan(table)
        engine.decode(table, order, modes, plan)
        self.offer(order, modes, engine.measure(table, weight, plan))

    def first_lists(self) -> Any:
        """Lists by dispatch rules, or the plan to begin from; the compiled engine, or None when a limit came first."""
        if self.begin is not None:
            placed = {(placement.job, placement.index): placement for placement in self.begin}
            _, modes = list_of(self.problem, tuple(placed[key] for key in self.problem.keys))
            self.decoded(PLAIN, self.order_of(self.begin), modes)
            self.tried += 1
            self.tell("the plan to begin from", always=True)
            return None if self.over() else self.warm()
        rule = LONGEST_TAIL if self.problem.objective == "makespan" else EARLIEST_DUE
        # plain Python takes seconds on a large problem; compiled code kept on disk is there sooner
        self.by_rule(self.soon() if self.folded.table[OPERATIONS] > LARGE else PLAIN, rule, 1.0, 1.0)
        self.tell("first list", always=True)
        engine = None if self.over() else self.warm()
        if engine is None:
            return None
        if self.problem.objective == "makespan":
            self.by_rule(engine, EARLIEST_DUE, 1.0, 1.0)
            return engine
        for due_scale in DUE_SCALES:
            for change_scale in CHANGE_SCALES:
                if self.over():
                    return engine
                figures = self.by_rule(engine, TARDINESS, due_scale, change_scale)
                if self.worth(figures) < self.worth(self.grid[0]):
                    self.grid = figures, (due_scale, change_scale)
            self.tell("lists by apparent tardiness cost")
        tune(self, engine)
        return engine

    def soon(self) -> Any:
        """The compiled engine for lists where it is there soon, else the plain one."""
        self.warming = self.warming or _Warming(self)
        since = time.monotonic()
        while self.warming.is_alive() and self.warming.lists is None and time.monotonic() - since < SOON:
            self.warming.join(0.02)
        return self.warming.lists or PLAIN

    def warm(self) -> Any:
        """The compiled engine, made in a thread so that a limit can cut the waiting short."""
        self.warming = thread = self.warming or _Warming(self)
        while thread.is_alive():
            thread.join(0.05)
            if self.best is not None and self.over():
                break
            self.tell("compiling the decoder (once on a machine)")
        if thread.failed is not None:
            raise thread.failed
        return thread.made

    def improve(self, engine: Any, until: Callable[[], bool]) -> None:
        """Look for better plans from the best list on."""
        if self.plain:
            shops.improve(self, engine, until, CHUNK)
        else:
            heating.improve(self, engine, until)

    def walk(self, engine: Any, seed: int, scale: float, start: Listed) -> tuple[Any, Any]:
        """A walk that stands on a list."""
        table, weight = self.folded
        by_weight = self.problem.aims.late is not None and self.problem.objective != "makespan"
        begin = start_timed if self.timed else start_walk
        draft, walk = begin(table, start.order, start.modes, seed, scale, by_weight)
        (engine.settle_timed if self.timed else engine.settle)(table, weight, draft, walk)
        self.write_down(engine, draft, walk)
        return draft, walk

    def chunk(self, engine: Any, draft: Any, walk: Any, trials: int, temperature: float) -> int:
        """Walk a number of trials at one temperature. Trials made."""
        table, weight = self.folded
        if self.timed:
            done, _ = engine.anneal_timed(table, weight, draft, walk, trials, temperature)
            engine.sort_timed(table, weight, draft, walk)
        else:
            done, _ = engine.anneal(table, weight, draft, walk, trials, temperature)
            engine.sort_by_start(table, weight, draft, walk)
        self.write_down(engine, draft, walk)
        return max(1, done)

    def write_down(self, engine: Any, draft: Any, walk: Any) -> None:
        """Keep the list a walk stands on where it is its best."""
        engine.keep_best(draft, walk, 0, 0)
        if walk.figures[STANDS_ON_BEST]:
            engine.write_best(draft, walk, 0, 0)

    def temperatures(self) -> tuple[float, float]:
        """First temperature, and what a changeover minute counts in late minutes."""
        operations = [operation for job in self.problem.jobs for operation in job.operations]
        minutes = sum(mode.duration for o in operations for mode in o.modes) / sum(len(o.modes) for o in operations)
        if self.problem.objective == "makespan":
            return 0.3 * minutes, 0.0
        weight = sum(job.weight for job in self.problem.jobs) / len(self.problem.jobs)
        late = self.problem.aims.late
        if late is not None:
            scale = 1.0 / max(LEAST_LATE, late)
            return max(1.0, weight * minutes, scale * minutes), scale
        # Where orders wait long, a minute of changeover costs far more late minutes further on than a trial sees, at
        # most one for each of them; the shares were chosen by trial.
        assert self.best is not None
        first, second = self.best.figures
        scale = min(CHANGE_SHARE * first / max(1.0, second), MOST_SCALE * len(self.problem.jobs))
        return max(1.0, weight * minutes), max(1.0, scale)

    def prove_small(self) -> None:
        """Hand a small problem whole to the exact solver."""
        assert self.best is not None
        placements = self.placements(self.best)
        proof = exact.prove(
            self.problem,
            placements,
            self.best.figures,
            work=4.0 if self.effort is None else max(1.0, self.effort / 10_000),
            seconds=None if self.seconds is None else max(0.2, 0.6 * (self.seconds - (time.monotonic() - self.began))),
            stop=self.stop,
        )
        if proof is None:
            return
        self.bound = max(self.bound, proof.bound)
        if proof.placements is not None and proof.figures < self.best.figures:
            self.take(proof.placements)
        self.proven = proof.proven and self.best.figures <= proof.figures

    def order_of(self, begun: Sequence[Placement]) -> Table:
        """The items of the list, in the order of operations given."""
        place = {(placement.job, placement.index): at for at, placement in enumerate(begun)}
        items = [
            (place[key], at)
            for at, key in enumerate(self.problem.keys)
            if key[1] == 0 or self.problem.jobs[key[0]].operations[key[1] - 1].max_wait is None
        ]
        return np.array([at for _, at in sorted(items)], dtype=np.int32)

    def order(self) -> tuple[tuple[int, int], ...]:
        """Job and index of the first operation of every item of the best list."""
        assert self.best is not None
        keys = self.problem.keys
        return tuple(keys[int(item)] for item in self.best.order)

    def take(self, placements: tuple[Placement, ...]) -> None:
        """Turn a plan into the list sorted by its starts and offer it."""
        self.decoded(PLAIN, *list_of(self.problem, placements))

    def placements(self, best: Listed) -> tuple[Placement, ...]:
        """The plan of a list, without reasons."""
        return placements_of(self.problem, self.folded.table, best)

    def answer(self) -> Schedule:
        """The best plan with its reasons. Raises Infeasible where it runs past the calendars."""
        assert self.best is not None
        placements = self.placements(self.best)
        beyond = [placement for placement in placements if placement.end >= FAR]
        if beyond:
            raise Infeasible(*no_room(self.problem, beyond))
        status: Literal["optimal", "feasible"] = "optimal" if self.proven else "feasible"
        early, saved = placements, 0.0
        if self.problem.aims.waiting > 0 and self.problem.objective != "makespan":
            placements, saved = put_off(self.problem, early)
        explained = reasons.explain(self.problem, placements)
        if saved:
            explained = say_why(self.problem, early, explained)
        first, *others = self.objective()
        return Schedule(
            placements=explained,
            objective=(first, *(figure - saved for figure in others)),
            bound=self.best.figures[0] if self.proven else self.bound,
            status=status,
            effort=self.tried,
            trail=tuple(self.trail),
            order=self.order(),
        )


def schedule(
    problem: Problem,
    *,
    seed: int = 1,
    effort: int | None = None,
    seconds: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    threads: int = 1,
    begin: Sequence[Placement] | None = None,
) -> Schedule:
    """The best plan found within the limits, with a reason for every start.

    seed      of the search; the same seed, effort and threads give the same plan
    effort    candidate plans to try; with neither limit, a moderate number
    seconds   wall time; with it the plan may not repeat
    progress  called a few times a second
    stop      polled; True ends the search with the best plan so far
    threads   cores to use
    begin     a plan to better: its operations in the order they are placed, on their machines; minutes do not count
    Raises Infeasible, before solving, with everything that makes the problem impossible; after it,
    where no plan was found that ends within the calendars.

    >>> from naptuft.planning.problem import Job, Machine, Mode, Operation
    >>> jobs = tuple(Job(name, (Operation((Mode(0, minutes),)),), due=minutes) for name, minutes in (("a", 5), ("b", 3)))
    >>> plan = schedule(Problem((Machine("press"),), jobs))
    >>> plan.objective, plan.status
    ((3.0, 0.0), 'optimal')
    """
    faults = faults_of(problem)
    if faults:
        raise Infeasible(*faults)
    if not problem.jobs:
        return Schedule((), (0.0,) if problem.objective == "makespan" else (0.0, 0.0), 0.0, "optimal")
    search = Search(problem, seed, effort, seconds, progress, stop, threads, begin)
    engine = search.first_lists()
    assert search.best is not None
    small = exact.is_small(problem)
    if engine is not None and not search.over():
        if small:
            share = search.share_done() + 0.25 * (1 - search.share_done())
            search.improve(engine, lambda: search.over() or search.share_done() >= share)
            if not search.over():
                search.tell("proof of the whole problem", always=True)
                search.prove_small()
        search.improve(engine, search.over)
    search.tell("done", always=True)
    return search.answer()
