"""Recalculating a brush while it is designed, and trying a hundred thousand of them.

Run: python benchmarks/brush_head.py [repeats]
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace

from naptuft.brush import BRUSH, FERRULE, FLEX, FORMING, JOINING, SETTING, SHEETS, SUITABILITY, TOLERANCE, WORKING
from naptuft.brush.head import draw_head
from naptuft.brush.tolerance import try_brushes
from naptuft.brush.views import draw_plan, draw_side
from naptuft.calculation import Calculation

HEAD = (BRUSH, WORKING, SETTING)
TOLD = 1e3


def milliseconds(work: Callable[[], object], repeats: int) -> tuple[float, float, float]:
    """Median and longest time by the clock, and median processor time, of so many runs after one to warm up. [ms]"""
    work()
    taken, worked = [], []
    for _ in range(repeats):
        begun, busy = time.perf_counter(), time.process_time()
        work()
        taken.append((time.perf_counter() - begun) * TOLD)
        worked.append((time.process_time() - busy) * TOLD)
    return statistics.median(taken), max(taken), statistics.median(worked)


def changed(calculation: Calculation) -> Callable[[], object]:
    """Work a calculation out again, each time with its clear length or width a little different, from text."""
    given = calculation.example()
    name = next((n for n in ("clear_length", "width", "length", "hottest") if n in given), "")
    turn = [0]

    def work() -> object:
        turn[0] += 1
        value = given[name].split()
        return calculation.answer({**given, name: f"{float(value[0]) + turn[0] * 1e-3:.4f} {value[1]}"})

    return work


def main(repeats: int) -> None:
    """Print the tables."""
    print(f"{'recalculated from text':<50} {'median ms':>9} {'longest':>9} {'processor':>9} {'bar':>7}")
    rows: list[tuple[str, Callable[[], object], str]] = []
    works = [changed(calculation) for calculation in HEAD]
    rows.append(("head whole: " + ", ".join(c.name for c in HEAD), lambda: [work() for work in works], "50"))
    rows += [(c.name, changed(c), "50") for c in (*HEAD, FLEX, SUITABILITY, FERRULE, FORMING, JOINING)]
    record, _ = BRUSH.read(BRUSH.example())
    rows.append(("end section drawn", lambda: draw_head(record, BRUSH.run(record)), "50"))
    rows.append(("plan and cut drawn", lambda: (draw_plan(record), draw_side(record)), "50"))
    study, _ = TOLERANCE.read(TOLERANCE.example())
    seeds = iter(range(10**9))
    rows.append((f"{study.brushes:,} brushes tried", lambda: try_brushes(replace(study, seed=next(seeds))), "1,000"))
    rows.append(("the same, with its study", lambda: TOLERANCE.run(replace(study, seed=next(seeds))), "1,000"))
    rows += [(f"sheet: {sheet.title}", lambda sheet=sheet: sheet.answer(sheet.example()), "") for sheet in SHEETS]
    for name, work, bar in rows:
        median, longest, busy = milliseconds(work, repeats)
        print(f"{name:<50} {median:9.2f} {longest:9.2f} {busy:9.2f} {bar:>7}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
