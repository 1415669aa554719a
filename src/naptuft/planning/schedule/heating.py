"""Walks that cool, and are heated again from the best plan.

A walk that cools once ends in one of many valleys, some far deeper than others. So a few walks cool first; then those
of all cores go on from the best of them, warm again, cool, and so on. Source of the idea: Ingber, Mathematical and
Computer Modelling 18 (1993) 29 (reannealing), from memory.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from naptuft.planning.problem import Placement
from naptuft.planning.schedule.anneal import FIRST_BEST, FIRST_NOW, SECOND_BEST, SECOND_NOW
from naptuft.planning.schedule.fold import OPERATIONS
from naptuft.planning.schedule.listed import Listed
from naptuft.planning.schedule.tuning import CHUNK, QUENCHED
from naptuft.planning.schedule.windows import Windows

STARTS = 6
FIRST_COOLING, MOST_HEATINGS, LEAST_TRIALS = 0.25, 24, 40_000
COOLEST = 0.1
# share of the first temperature where a plan is begun from, so that it is not lost
WARM = 0.03
DEARER, LITTLE = 1.15, 0.98
# from this share of the limits on, changeover is weighed anew, and windows are solved where moves have found nothing for
# a share; CP-SAT's work, and trials it counts for
COLD, STALE = 0.6, 0.06
WINDOW_WORK, WINDOW_SECONDS, WINDOW_TRIALS = 0.3, 2.0, 20_000
MOST_WINDOWED = 2_500


def improve(search: Any, engine: Any, until: Callable[[], bool]) -> None:
    """Look for better plans from the best list on."""
    assert search.best is not None
    hot, least = search.temperatures()
    hot *= 1.0 if search.begin is None else WARM
    scale = least
    starts = (search.starts or [search.best])[:STARTS]
    walks = [search.walk(engine, search.seed + 1000 * k, scale, start) for k, start in enumerate(starts)]
    while len(walks) < search.threads:
        walks.append(search.walk(engine, search.seed + 1000 * len(walks), scale, search.best))
    plain = search.problem.objective == "makespan" or search.folded.table[OPERATIONS] > MOST_WINDOWED
    windows = None if plain else Windows(search.problem, search.seed)
    began = changed = search.share_done()
    kept: list[Listed] = []
    steps = heated = heatings = 0
    tried = search.tried
    with ThreadPoolExecutor(search.threads) as pool:
        while not until():
            done = (search.share_done() - began) / max(1e-9, 1.0 - began)
            if done >= FIRST_COOLING and heatings == 0:
                expected = (search.tried - tried) * (1.0 - FIRST_COOLING) / FIRST_COOLING
                heatings = max(1, min(MOST_HEATINGS, int(expected / LEAST_TRIALS)))
            heat, cooled = heat_at(done, heatings)
            if heat > heated:
                heated = heat
                kept = [min([*kept, search.best, *map(_stands_on, walks)], key=lambda found: found.comes_to(scale))]
                if done > COLD:
                    scale = weighed(search, scale, least, kept[0])
                seeds = [search.seed + 1000 * k + 7 * heat for k in range(search.threads)]
                walks = [search.walk(engine, seed, scale, kept[0]) for seed in seeds]
            # the last time colder: what is left to gain then is small
            temperature = hot * (QUENCHED if heat and heat == heatings else COOLEST) ** cooled
            now = [walks[(steps * search.threads + k) % len(walks)] for k in range(search.threads)]
            trials = CHUNK
            if search.effort is not None:
                trials = min(CHUNK, max(1, (search.effort - search.tried) // search.threads))
            best = search.best.figures
            window = None
            if windows is not None and done > COLD and search.share_done() - changed > STALE and can_window(search):
                window = pool.submit(window_of, search, windows)
                del now[search.threads - 1 :]
            running = [pool.submit(search.chunk, engine, *walk, trials, temperature) for walk in now]
            search.tried += sum(future.result() for future in running)
            for _, walk in now:
                found = float(walk.figures[FIRST_BEST]), float(walk.figures[SECOND_BEST])
                if search.worth(found) < search.worth(search.best.figures):
                    search.decoded(engine, walk.best_order, walk.best_modes)
            if window is not None:
                search.tried += WINDOW_TRIALS
                found, before = window.result(), search.best.figures
                if found is not None:
                    search.take(found)
                if search.best.figures != before:
                    worst = max(range(len(walks)), key=lambda k: search.worth(_stands_at(walks[k])))
                    walks[worst] = search.walk(engine, search.seed + 1000 * worst + steps, scale, search.best)
            if search.best.figures != best:
                changed = search.share_done()
            steps += 1
            search.tell("moves on the list" if window is None else "a window solved exactly")


def can_window(search: Any) -> bool:
    """Whether the limits have room for a window."""
    return search.effort is None or search.effort - search.tried >= WINDOW_TRIALS


def window_of(search: Any, windows: Windows) -> tuple[Placement, ...] | None:
    """What the exact solver proposes for a part of the best plan. None: nothing better."""
    assert search.best is not None
    left = math.inf if search.seconds is None else search.seconds - (time.monotonic() - search.began)
    return windows.improve(
        search.placements(search.best),
        work=WINDOW_WORK,
        seconds=None if search.seconds is None else min(WINDOW_SECONDS, max(0.1, left)),
        stop=search.over,
    )


def weighed(search: Any, scale: float, least: float, kept: Listed) -> float:
    """What a changeover minute counts from now on.

    More while the plan changes over more than the list by rule did, less again, down to the least, where it changes
    over clearly less: late minutes come first, but not for more changeover than anyone would plan by hand.
    """
    most = search.grid[0][1]
    if search.problem.aims.late is not None or most == math.inf or LITTLE * most <= kept.figures[1] <= most:
        return scale
    return scale * DEARER if kept.figures[1] > most else max(least, scale / DEARER)


def _stands_at(walk: tuple[Any, Any]) -> tuple[float, float]:
    """Figures of the plan a walk stands on."""
    return float(walk[1].figures[FIRST_NOW]), float(walk[1].figures[SECOND_NOW])


def _stands_on(walk: tuple[Any, Any]) -> Listed:
    """The list a walk stands on."""
    return Listed(walk[0].order.copy(), walk[0].modes.copy(), _stands_at(walk))


def heat_at(done: float, heatings: int) -> tuple[int, float]:
    """How often walks have been heated again when a share of the limits is used up, and how far they have cooled since.

    >>> heat_at(0.125, 0), heat_at(0.25, 3), heat_at(0.625, 3), heat_at(1.0, 3)
    ((0, 0.5), (1, 0.0), (2, 0.5), (3, 1.0))
    """
    if done < FIRST_COOLING:
        return 0, done / FIRST_COOLING
    turn = min((done - FIRST_COOLING) / (1.0 - FIRST_COOLING), 1.0) * heatings
    before = min(int(turn), heatings - 1)
    return 1 + before, turn - before
