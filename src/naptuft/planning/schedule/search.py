"""From a problem to the best plan found: first lists, annealing, proof of small problems.

With `effort` (candidate plans) the answer repeats exactly; with `seconds` it may not.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from naptuft.errors import Fault, Infeasible
from naptuft.planning.problem import Placement, Problem, Schedule
from naptuft.planning.schedule import bound as bounds
from naptuft.planning.schedule import exact, reasons, shops
from naptuft.planning.schedule.anneal import FIRST_BEST, FIRST_NOW, SECOND_BEST, SECOND_NOW, STANDS_ON_BEST, start_walk
from naptuft.planning.schedule.decode import CHANGEOVER, END, START, fresh_plan
from naptuft.planning.schedule.dispatch import EARLIEST_DUE, LONGEST_TAIL, TARDINESS, even_scales
from naptuft.planning.schedule.engine import PLAIN, compiled
from naptuft.planning.schedule.faults import faults_of, step_name
from naptuft.planning.schedule.fold import (
    FAR,
    ITEMS,
    OPERATIONS,
    Folded,
    Table,
    fold,
)
from naptuft.planning.schedule.open_time import open_between
from naptuft.planning.schedule.put_off import put_off, say_why
from naptuft.planning.schedule.quick import is_timed
from naptuft.planning.schedule.retime import start_timed
from naptuft.planning.schedule.rules import ways_of
from naptuft.planning.schedule.tuning import CHAIN, Chain
from naptuft.planning.schedule.windows import Windows

DEFAULT_EFFORT = 40_000
CHUNK = 2_000
TUNING = 0.3
FRESH_CHAINS = 4
# windows: once moves are cold and have found nothing for a share of the limits; CP-SAT's work, and trials it counts for
COLD, STALE = 0.6, 0.06
WINDOW_WORK, WINDOW_SECONDS, WINDOW_TRIALS = 0.3, 2.0, 20_000
CHANGE_SHARE = 0.05
MOST_SCALE = 0.05
ROUNDS = 6
COOLEST, QUENCHED = 0.1, 0.03
WARM = 1.0
HEATINGS = 24
FIRST_COOLING = 0.25
STARTS = 6
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


@dataclass
class _List:
    order: Table
    modes: Table
    figures: tuple[float, float]


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
        self.search.chunk(engine, *self.search.walk(engine, 1, 1.0, _List(order, modes, (0.0, 0.0))), 1, 1.0)
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
    ):
        self.problem = problem
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
        self.best: _List | None = None
        self.proven = False
        self.bound = bounds.lower_bound(problem)
        self.tried = 0
        self.grid: tuple[tuple[float, float], tuple[float, float]] = (math.inf, math.inf), (1.0, 1.0)
        self.starts: list[_List] = []
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
            self.best = _List(order.copy(), modes.copy(), (float(figures[0]), float(figures[1])))
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
        """Lists by dispatch rules; the compiled engine, or None when a limit came first."""
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
        self.tune(engine)
        return engine

    def tune(self, engine: Any) -> None:
        """Lists by rules tuned to the plant, each tried with a short walk; the walks' lists are kept to start from.

        What a short walk makes of a list tells what a long one would. Once a few chains have begun from the rule
        that is best for the plant as a whole, the others begin from the scales of the best walk.
        """
        began = self.share_done()
        goal = began + TUNING * (1.0 - began)
        left = None if self.effort is None else int(self.effort * TUNING / 10)
        even = even_scales(len(self.problem.machines), *self.grid[1])
        longest = math.inf if self.effort is not None else (goal - began) * (self.seconds or 0.0) / (2 * ROUNDS)
        tuned: list[tuple[tuple[float, float], Table]] = []
        number = 0

        def going() -> bool:
            return not self.over() and (self.share_done() < goal if left is None else left > 0)

        with ThreadPoolExecutor(self.threads) as pool:
            while going():
                scales = even if number < FRESH_CHAINS else min(tuned, key=lambda entry: entry[0])[1]
                seeds = [self.seed + 1000 * (number + k + 1) for k in range(self.threads)]
                number += self.threads
                chains = [Chain(self.folded, scales, seed, self.worth) for seed in seeds]
                since = time.monotonic()
                while chains[0].walked < CHAIN and going() and time.monotonic() - since < longest:
                    steps = 50 if left is None else min(50, max(1, left // self.threads))
                    running = [pool.submit(chain.walk, engine, steps, self.over) for chain in chains]
                    tried = sum(future.result() for future in running)
                    self.tried += tried
                    if left is not None:
                        left -= tried
                    for chain in chains:
                        self.offer(chain.order, chain.modes, chain.figures)
                    self.tell("lists by rules tuned to each machine")
                chains = [chain for chain in chains if chain.walked]  # none where a limit came first: no list then
                if not chains:
                    break
                lasting = time.monotonic() - since if self.effort is None else None
                trials = 10 * chains[0].walked
                running = [
                    pool.submit(self.try_out, engine, chain, seed, trials, lasting)
                    for chain, seed in zip(chains, seeds, strict=True)
                ]
                # all are waited for first: what one proves must not cut another short
                walked = [future.result() for future in running]
                for chain, (start, tried) in zip(chains, walked, strict=True):
                    self.tried += tried
                    self.starts.append(start)
                    tuned.append((self.worth(start.figures), chain.best_scales))
                    if self.best is None or self.worth(start.figures) < self.worth(self.best.figures):
                        self.decoded(engine, start.order, start.modes)
                self.tell("moves on the lists")
        self.starts.sort(key=lambda start: self.worth(start.figures))

    def try_out(self, engine: Any, chain: Chain, seed: int, trials: int, lasting: float | None) -> tuple[_List, int]:
        """The best list of a short walk from the list of a chain, and the trials made.

        trials   how many, where it does not last so many seconds
        lasting  None: so many trials
        """
        hot, scale = self.temperatures()
        start = _List(chain.order, chain.modes, chain.figures)
        draft, walk = self.walk(engine, seed, scale, start)
        began, tried, done = time.monotonic(), 0, 0.0
        while done < 1 and not self.over():
            chunk = CHUNK if lasting is not None else min(CHUNK, trials - tried)
            tried += self.chunk(engine, draft, walk, chunk, hot * QUENCHED**done)
            done = tried / trials if lasting is None else (time.monotonic() - began) / max(1e-9, lasting)
        figures = float(walk.figures[FIRST_BEST]), float(walk.figures[SECOND_BEST])
        return _List(walk.best_order, walk.best_modes, figures), tried

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
        assert self.best is not None
        if self.plain:
            shops.improve(self, engine, until, CHUNK)
            return
        hot, scale = self.temperatures()
        starts = (self.starts or [self.best])[:STARTS]
        walks = [self.walk(engine, self.seed + 1000 * k, scale, start) for k, start in enumerate(starts)]
        while len(walks) < self.threads:
            walks.append(self.walk(engine, self.seed + 1000 * len(walks), scale, self.best))
        plain = self.problem.objective == "makespan" or self.folded.table[OPERATIONS] > LARGE
        windows = None if plain else Windows(self.problem, self.seed)
        began = changed = self.share_done()
        kept: tuple[float, _List] | None = None
        steps = heated = 0
        with ThreadPoolExecutor(self.threads) as pool:
            while not until():
                done = (self.share_done() - began) / max(1e-9, 1.0 - began)
                heat, cooled = heat_at(done)
                if heat > heated:
                    heated = heat
                    kept = min([_stands_on(walk, scale) for walk in walks] + ([kept] if kept else []), key=_value)
                    seeds = [self.seed + 1000 * k + 7 * heat for k in range(self.threads)]
                    walks = [self.walk(engine, seed, scale, kept[1]) for seed in seeds]
                temperature = (WARM * hot if heat else hot) * COOLEST**cooled
                now = [walks[(steps * self.threads + k) % len(walks)] for k in range(self.threads)]
                trials = CHUNK
                if self.effort is not None:
                    trials = min(CHUNK, max(1, (self.effort - self.tried) // self.threads))
                best = self.best.figures
                window = None
                if windows is not None and done > COLD and self.share_done() - changed > STALE and self.can_window():
                    window = pool.submit(self.window, windows)
                    del now[self.threads - 1 :]
                running = [pool.submit(self.chunk, engine, *walk, trials, temperature) for walk in now]
                self.tried += sum(future.result() for future in running)
                for _, walk in now:
                    found = float(walk.figures[FIRST_BEST]), float(walk.figures[SECOND_BEST])
                    if self.worth(found) < self.worth(self.best.figures):
                        self.decoded(engine, walk.best_order, walk.best_modes)
                if window is not None:
                    self.tried += WINDOW_TRIALS
                    found, before = window.result(), self.best.figures
                    if found is not None:
                        self.take(found)
                    if self.best.figures != before:
                        worst = max(range(len(walks)), key=lambda k: self.worth(_stands_at(walks[k])))
                        walks[worst] = self.walk(engine, self.seed + 1000 * worst + steps, scale, self.best)
                if self.best.figures != best:
                    changed = self.share_done()
                steps += 1
                self.tell("moves on the list" if window is None else "a window solved exactly")

    def can_window(self) -> bool:
        """Whether the limits have room for a window."""
        return self.effort is None or self.effort - self.tried >= WINDOW_TRIALS

    def window(self, windows: Windows) -> tuple[Placement, ...] | None:
        """What the exact solver proposes for a part of the best plan. None: nothing better."""
        assert self.best is not None
        left = math.inf if self.seconds is None else self.seconds - (time.monotonic() - self.began)
        return windows.improve(
            self.placements(self.best),
            work=WINDOW_WORK,
            seconds=None if self.seconds is None else min(WINDOW_SECONDS, max(0.1, left)),
            stop=self.over,
        )

    def walk(self, engine: Any, seed: int, scale: float, start: _List) -> tuple[Any, Any]:
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

    def take(self, placements: tuple[Placement, ...]) -> None:
        """Turn a plan into the list sorted by its starts and offer it."""
        self.decoded(PLAIN, *list_of(self.problem, placements))

    def placements(self, best: _List) -> tuple[Placement, ...]:
        """The plan of a list, without reasons."""
        table, _ = self.folded
        plan = fresh_plan(table)
        PLAIN.decode(table, best.order, best.modes, plan)
        placed = []
        number = first_mode = 0
        for job, work in enumerate(self.problem.jobs):
            for index, operation in enumerate(work.operations):
                ways = ways_of(self.problem, operation)
                mode = ways[int(best.modes[number]) - first_mode].mode
                row = plan[number]
                placed.append(Placement(job, index, mode.machine, int(row[START]), int(row[END]), int(row[CHANGEOVER])))
                number += 1
                first_mode += len(ways)
        return tuple(placed)

    def answer(self) -> Schedule:
        """The best plan with its reasons. Raises Infeasible where it runs past the calendars."""
        assert self.best is not None
        placements = self.placements(self.best)
        beyond = [placement for placement in placements if placement.end >= FAR]
        if beyond:
            raise Infeasible(*(self._no_room(placement) for placement in _first_on_each(beyond)))
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
        )

    def _no_room(self, placement: Placement) -> Fault:
        if self.problem.jobs[placement.job].operations[placement.index].pinned is not None:
            return self._missed_pin(placement)
        machine = self.problem.machines[placement.machine]
        stretches = machine.open or ()
        needed = sum(
            min(mode.duration for mode in operation.modes)
            for job in self.problem.jobs
            for operation in job.operations
            if all(mode.machine == placement.machine for mode in operation.modes)
        )
        room = sum(closes - opens for opens, closes in stretches)
        return Fault(
            f"calendar of {machine.name}",
            f"{step_name(self.problem.jobs[placement.job], placement.index)} and work after it",
            f"what fits before it ends at {reasons.clock(stretches[-1][1] if stretches else 0)}: "
            f"{room} min are open, at least {needed} min are asked of this machine alone",
            "open more time, move work to another machine or plan fewer orders",
        )

    def _missed_pin(self, placement: Placement) -> Fault:
        job, index = self.problem.jobs[placement.job], placement.index
        before = f"step {index} of it" if index else " and ".join(job.after) or "others"
        return Fault(
            f"{step_name(job, index)}, pinned",
            "not kept",
            f"a pin that {before} can be ready for; the search found no plan that is",
            "pin it later, unpin it, or search longer",
        )


def _stands_at(walk: tuple[Any, Any]) -> tuple[float, float]:
    """Figures of the plan a walk stands on."""
    return float(walk[1].figures[FIRST_NOW]), float(walk[1].figures[SECOND_NOW])


def _stands_on(walk: tuple[Any, Any], scale: float) -> tuple[float, _List]:
    """What the plan a walk stands on comes to, and its list."""
    figures = _stands_at(walk)
    return figures[0] + scale * figures[1], _List(walk[0].order.copy(), walk[0].modes.copy(), figures)


def _value(kept: tuple[float, _List]) -> float:
    return kept[0]


def heat_at(done: float) -> tuple[int, float]:
    """How often the walks have been heated again when a share of the limits is used up, and how far they have cooled since."""
    if done < FIRST_COOLING:
        return 0, done / FIRST_COOLING
    turn = min((done - FIRST_COOLING) / (1.0 - FIRST_COOLING), 1.0) * HEATINGS
    return 1 + min(int(turn), HEATINGS - 1), turn - min(int(turn), HEATINGS - 1)


def _first_on_each(placements: list[Placement]) -> list[Placement]:
    firsts: dict[int, Placement] = {}
    for placement in placements:
        firsts.setdefault(placement.machine, placement)
    return list(firsts.values())


def list_of(problem: Problem, placements: tuple[Placement, ...]) -> tuple[Table, Table]:
    """The list of items by start time, and the modes, of a plan given by job and index."""
    modes = []
    starts = []
    item_starts: list[tuple[int, int, int]] = []
    first_mode = 0
    at = 0
    for job in problem.jobs:
        tied = False
        ready = job.release
        for operation in job.operations:
            placement = placements[at]
            ways = ways_of(problem, operation)
            usual = not open_between(problem.machines[placement.machine].overtime, placement.start, placement.end)
            choices = [
                (way.usual != usual, way.mode.duration, way.mode.penalty, k)
                for k, way in enumerate(ways)
                if way.mode.machine == placement.machine and placement.end - placement.start >= way.mode.duration
            ]
            modes.append(first_mode + min(choices)[3])
            if not tied:
                # of those that start together in one machine, the last to be ready goes first: it makes the batch wait
                together = problem.machines[placement.machine].takes is not None and ready < placement.start
                item_starts.append((placement.start, -ready if together else -placement.start, at))
            starts.append(placement.start)
            ready = max(placement.start, placement.end + operation.min_wait)
            tied = operation.max_wait is not None
            first_mode += len(ways)
            at += 1
    order = np.array([item for _, _, item in sorted(item_starts)], dtype=np.int32)
    return order, np.array(modes, dtype=np.int32)


def schedule(
    problem: Problem,
    *,
    seed: int = 1,
    effort: int | None = None,
    seconds: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    threads: int = 1,
) -> Schedule:
    """The best plan found within the limits, with a reason for every start.

    seed      of the search; the same seed, effort and threads give the same plan
    effort    candidate plans to try; with neither limit, a moderate number
    seconds   wall time; with it the plan may not repeat
    progress  called a few times a second
    stop      polled; True ends the search with the best plan so far
    threads   cores to use
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
    search = Search(problem, seed, effort, seconds, progress, stop, threads)
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
