"""How fast plans are replayed and changed: replays a core-second, scaling with threads, replanning the demo.

    python benchmarks/risk.py INSTANCE.json [...] [--replays N] [--threads K] [--markdown FILE]

For each instance a plan is made by a dispatch list and replayed with every operation spread, in each form, with and
without stops of every machine. Replays a core-second are counted by the processor time of the thread that runs
them, which a busy machine distorts less than the clock; the best of some runs is shown, and the clock's beside it.
Threads are compared by the processor time each needs for its part. Then a plan on paper and a steady
plan are made in the same time and judged by fresh replays, and the demo book is planned and changed after a breakdown, a held lot and
a rush order.
"""

from __future__ import annotations

import argparse
import datetime
import json
import os
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.planning.answered import answered
from naptuft.planning.problem import Problem
from naptuft.planning.replan import Charge, Happening, replan
from naptuft.planning.risk.answer import assess
from naptuft.planning.risk.model import Breakdown, Model, Scatter, model_of
from naptuft.planning.risk.of_plan import model_of_plan, scatter_of, targets_of_orders
from naptuft.planning.risk.replays import run
from naptuft.planning.risk.steady import SteadyAnswer, steady
from naptuft.planning.schedule import read_instance, schedule
from naptuft.planning.weeks import plan_weeks
from naptuft.plant.spread import Spread, lognormal, triangular, weibull

RUNS = 4
DEAR = Charge(now=8000.0, least=4000.0)
FORMS: dict[str, Spread] = {
    "triangular 90, 100, 140 %": triangular(0.9, 1.0, 1.4),
    "lognormal 105 ± 21 %": lognormal(1.05, 0.2),
    "Weibull 105 %, shape 5": weibull(1.05, 5.0),
}


def scattered(problem: Problem, spread: Spread, stops: bool) -> Scatter:
    """Every operation spread; with stops, every machine breaks down about once in 40 running hours."""
    times = {(j, k): spread for j, job in enumerate(problem.jobs) for k in range(len(job.operations))}
    breakdown = Breakdown(weibull(2400.0, 1.3), lognormal(45.0, 0.8))
    return Scatter(times=times, breakdowns=dict.fromkeys(range(len(problem.machines)), breakdown) if stops else {})


def best_rates(count: int, work: Callable[[], object]) -> tuple[float, float]:
    """Replays a second of processor time and of the clock, the best of some runs."""
    cpu, clock = [], []
    for _ in range(RUNS):
        began, ticked = time.thread_time(), time.perf_counter()
        work()
        cpu.append(time.thread_time() - began)
        clock.append(time.perf_counter() - ticked)
    return count / min(cpu), count / min(clock)


def instance_rows(path: Path, count: int, threads: int) -> Iterable[tuple[str, ...]]:
    """One row a form of spread: replays a second, and the gain of more threads."""
    problem = read_instance(json.loads(path.read_text()))
    plan = schedule(problem, effort=1)
    operations = sum(len(job.operations) for job in problem.jobs)
    for name, spread in FORMS.items():
        for stops in (False, True):
            model = model_of(problem, plan.placements, scattered(problem, spread, stops))
            run(model.arrays, 1, 0, 2)
            cpu, clock = best_rates(count, lambda model=model: run(model.arrays, 1, 0, count))
            yield (
                path.stem,
                f"{operations:,}",
                name + (" and stops" if stops else ""),
                f"{cpu:,.0f}",
                f"{clock:,.0f}",
                f"{scaling(model, count, threads):.2f}",
            )


def scaling(model: Model, count: int, threads: int) -> float:
    """How many times the replays of one thread so many threads do, by the processor time each needs for its part."""

    def took(_: int) -> float:
        began = time.thread_time()
        run(model.arrays, 1, 0, count)
        return time.thread_time() - began

    alone = min(took(0) for _ in range(RUNS))
    with ThreadPoolExecutor(threads) as pool:
        together = min(max(pool.map(took, range(threads))) for _ in range(RUNS))
    return threads * alone / together


def steady_row(name: str, answer: SteadyAnswer, took: float) -> tuple[str, ...]:
    """Late minutes on paper and expected, of both plans."""
    paper, found = answer.of_paper, answer.of_schedule
    return (
        name,
        f"{paper.planned:,.0f}",
        f"{paper.expected:,.0f} ± {paper.error:,.0f}",
        f"{found.planned:,.0f}",
        f"{found.expected:,.0f} ± {found.error:,.0f}",
        f"{answer.saved / paper.expected:.0%}" if paper.expected else "-",
        answer.by,
        f"{took:.0f}",
    )


def steady_rows(paths: Iterable[Path], seconds: float) -> Iterable[tuple[str, ...]]:
    """The plan on paper against the steady plan: instances, and the demo book with the spreads of its book."""
    for path in paths:
        problem = read_instance(json.loads(path.read_text()))
        began = time.process_time()
        answer = steady(problem, scattered(problem, FORMS["triangular 90, 100, 140 %"], False), seconds=seconds)
        yield steady_row(path.stem, answer, time.process_time() - began)
    book = read_book(demo_folder())
    plan = plan_weeks(book, effort=1)
    posed = answered(book, plan)
    spreads = scatter_of(book, plan, posed)
    began = time.process_time()
    answer = steady(posed.timing.problem, spreads, targets=targets_of_orders(book, plan, spreads), seconds=seconds)
    yield steady_row("demo", answer, time.process_time() - began)


def demo_rows() -> Iterable[tuple[str, ...]]:
    """Changes of the demo plan on its second day: time, share moved, late minutes before and after."""
    book = read_book(demo_folder())
    plan = plan_weeks(book, effort=20_000)
    at = book.settings.start.replace(hour=10) + datetime.timedelta(days=1)
    up = at + datetime.timedelta(hours=4)
    lot = next(b.lots[0].lot for b in plan.blends if b.lots[0].lot in book.lot)
    rush = Happening(
        kind="order added", order="S-9001", line=1, customer="Harrow Lane Stores", product="B-WALL100", quantity=300,
        due=at + datetime.timedelta(days=8), weight=5.0,
    )  # fmt: skip
    tries: dict[str, tuple[Happening, ...]] = {
        f"{machine} down 4 h": (Happening(kind="machine down", machine=machine, until=up),)
        for machine in ("LINE-2", "PRINT-1", "JOIN-2", "WIND-1", "PRESS-B")
    }
    tries[f"lot {lot} held"] = (Happening(kind="lot held", lot=lot),)
    tries["rush order"] = (rush,)
    tries["press down, lot held, rush order"] = (*tries["PRESS-B down 4 h"], Happening(kind="lot held", lot=lot), rush)
    for name, happenings in tries.items():
        row = [name]
        for effort, seconds, charge in ((1, 0.0, None), (None, 1.0, None), (1, 0.0, DEAR)):
            began, clock = time.process_time(), time.perf_counter()
            done = replan(book, plan, at, happenings, seconds=seconds, effort=effort, charge=charge)
            took, walled = time.process_time() - began, time.perf_counter() - clock
            quality = done.plan.quality
            row += [
                f"{took:.2f} / {walled:.2f}",
                f"{done.moved} ({done.told} told, {done.stuck} must) of {done.ahead}",
                f"{quality.weighted_late_minutes:,.0f} / {quality.changeover_minutes:,}",
            ]
        yield (row[0], f"{plan.quality.weighted_late_minutes:,.0f} / {plan.quality.changeover_minutes:,}", *row[1:])


def risk_rows(threads: int) -> Iterable[tuple[str, ...]]:
    """The whole risk answer of the demo plan against the spreads of its book."""
    book = read_book(demo_folder())
    plan = plan_weeks(book, effort=20_000)
    began = time.perf_counter()
    model = model_of_plan(book, plan)
    read = time.perf_counter() - began
    for count in (1000, 10_000):
        began = time.perf_counter()
        answer = assess(model, count, threads=threads)
        yield (
            f"{count:,}",
            f"{read:.2f}",
            f"{time.perf_counter() - began:.2f}",
            f"{answer.planned_late_minutes:,.0f}",
            f"{answer.weighted_late_minutes:,.0f}",
            f"{answer.shares[0].machine} {answer.shares[0].share:.0%}",
            answer.buffers[0].what,
        )


def table(headings: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Rows as a Markdown table."""
    lines = ["| " + " | ".join(headings) + " |", "|" + "---|" * len(headings)]
    return lines + ["| " + " | ".join(row) + " |" for row in rows]


def main() -> None:
    """Print the tables, and write them where asked."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("instances", nargs="+", type=Path)
    parser.add_argument("--replays", type=int, default=2000)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=60.0, help="for each steady plan")
    parser.add_argument("--markdown", type=Path)
    given = parser.parse_args()
    named = " ".join(path.name for path in given.instances)
    lines = [
        f"`python benchmarks/risk.py {named} --replays {given.replays} --threads {given.threads}`;"
        f" {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} when it began.",
        "",
    ]
    rows = [row for path in given.instances for row in instance_rows(path, given.replays, given.threads)]
    headings = (
        "plan", "operations", "spread of every operation", "replays a core-second", "replays a second, one thread",
        f"times faster on {given.threads} threads",
    )  # fmt: skip
    lines += table(headings, rows)
    lines += ["", f"Weighted late minutes on paper and expected, {given.seconds:g} s each, 4,000 fresh replays.", ""]
    headings = (
        "plan", "paper plan: on paper", "expected", "steady plan: on paper", "expected", "less", "found by", "s cpu"
    )  # fmt: skip
    lines += table(headings, steady_rows(given.instances, given.seconds))
    lines += [
        "",
        "The demo plan changed at 10:00 on its second day: first only repaired, then one second's search more, then"
        f" repaired where a move counts {DEAR.now:g} (halving every day, at least {DEAR.least:g}) weighted late minutes.",
        "",
    ]
    headings = (
        "what happened", "planned: late / changeover min", "repair, s cpu / clock", "moved", "late / changeover min",
        "with search, s cpu / clock", "moved", "late / changeover min",
        "moves dear, s cpu / clock", "moved", "late / changeover min",
    )  # fmt: skip
    lines += table(headings, demo_rows())
    lines += ["", "The demo plan against the spreads of its book, every buffer tried as well.", ""]
    headings = ("replays", "read, s", "answer, s", "late min planned", "expected", "largest share", "best buffer")
    lines += table(headings, risk_rows(given.threads))
    text = "\n".join(lines) + "\n"
    print(text)
    if given.markdown:
        given.markdown.write_text(text)


if __name__ == "__main__":
    main()
