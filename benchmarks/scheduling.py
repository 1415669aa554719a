"""How good and how fast the scheduler is: published shops and plant-like problems, lists and CP-SAT beside it.

    python benchmarks/scheduling.py FOLDER_OR_INSTANCE.json [...] --seconds 30 --plant-seconds 60 --threads 2

For each instance: the published value; the due-date list and the best list by apparent tardiness cost
(one pair of scales for the plant, from a grid); as long as ours, CP-SAT on the whole model, bare and, for
plants, started from the better list; our answer, its gap and bound, the time of our first plan, plans
tried a second, and how many trials and whole plans a second of processor time one core makes. With several
seeds, our answer is the median of theirs. Every answer of ours is held against the independent checker, and its figures are worked
out again. Best on a machine with nothing else to do.
"""

from __future__ import annotations

import argparse
import json
import math
import platform
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Placement, Problem, Schedule
from naptuft.planning.schedule import Progress, exact, read_instance, schedule
from naptuft.planning.schedule.decode import fresh_plan
from naptuft.planning.schedule.dispatch import EARLIEST_DUE, LONGEST_TAIL, TARDINESS
from naptuft.planning.schedule.engine import compiled
from naptuft.planning.schedule.search import CHANGE_SCALES, CHUNK, DUE_SCALES, Search

COLUMNS = (
    "instance",
    "published",
    "due-date list",
    "tardiness-cost list",
    "CP-SAT",
    "CP-SAT from list",
    "ours",
    "gap %",
    "bound",
    "first plan s",
    "plans/s",
    "trials a core-s",
    "whole plans a core-s",
    "checker",
)
MOST_ARCS = 1_000_000


def figures_of(problem: Problem, placements: Sequence[Placement]) -> tuple[float, ...]:
    """The figures of a plan, worked out from its times alone."""
    finish: dict[int, int] = {}
    on: dict[int, list[Placement]] = defaultdict(list)
    for placed in placements:
        job = problem.jobs[placed.job]
        on[placed.machine].append(placed)
        if placed.index == len(job.operations) - 1:
            finish[placed.job] = placed.end + job.operations[-1].min_wait
    if problem.objective == "makespan":
        return (float(max(finish.values())),)
    late = sum(
        job.weight * max(0, finish[number] - job.due) for number, job in enumerate(problem.jobs) if job.due is not None
    )
    changed = 0
    for machine, row in on.items():
        was = problem.machines[machine].set_for
        for placed in sorted(row, key=lambda placed: (placed.start, placed.end)):
            family = problem.jobs[placed.job].operations[placed.index].family
            if family is not None:
                if was is not None:
                    changed += problem.changeovers.get(machine, {}).get((was, family), 0)
                was = family
    return float(late), float(changed)


def words(figures: Sequence[float] | None) -> str:
    """Figures as printed."""
    return "no plan" if figures is None else " / ".join(f"{figure:,.0f}" for figure in figures)


def best_list(problem: Problem, rule: int, scales: Sequence[tuple[float, float]]) -> tuple[Placement, ...]:
    """The best plan of a dispatch rule over some scales."""
    search = Search(problem, 1, 1_000_000, None, None, None, 1)
    for due_scale, change_scale in scales:
        search.by_rule(compiled(), rule, due_scale, change_scale)
    assert search.best is not None
    return search.placements(search.best)


def arcs_of(problem: Problem) -> int:
    """Pairs of operations a whole model must decide between on machines that are changed over."""
    told: dict[int, int] = defaultdict(int)
    for job in problem.jobs:
        for operation in job.operations:
            for mode in operation.modes:
                if operation.family is not None and problem.changeovers.get(mode.machine):
                    told[mode.machine] += 1
    return sum(count * count for count in told.values())


def whole_model(
    problem: Problem, start: Sequence[Placement], seconds: float, threads: int, hinted: bool
) -> tuple[str, tuple[float, ...] | None]:
    """What CP-SAT alone makes of the whole problem, in words and figures."""
    if arcs_of(problem) > MOST_ARCS:
        return f"{arcs_of(problem):,} arcs, not built", None
    plan = Schedule(tuple(start), (), None, "feasible")
    figures = exact.plain_figures(problem, plan, seconds=seconds, threads=threads, hinted=hinted)
    return words(figures), figures


def a_second(of: Callable[[], int], least: float = 1.0) -> float:
    """How many of something one core makes in a second of its time."""
    of()
    made, began = 0, time.thread_time()
    while (took := time.thread_time() - began) < least:
        made += of()
    return made / took


def speeds(problem: Problem, plan: Schedule) -> tuple[float, float]:
    """Trials and whole plans a second of processor time, from a plan on, at half the first temperature."""
    search, engine = Search(problem, 1, 1_000_000, None, None, None, 1), compiled()
    search.take(tuple(plan.placements))
    assert search.best is not None
    best, folded = search.best, search.folded
    trials = math.nan
    if not search.plain:
        hot, scale = search.temperatures()
        walk = search.walk(engine, 1, scale, best)
        trials = a_second(lambda: search.chunk(engine, *walk, CHUNK, 0.5 * hot))
    placed = fresh_plan(folded.table)

    def whole() -> int:
        for _ in range(100):
            engine.decode(folded.table, best.order, best.modes, placed)
        return 100

    return trials, a_second(whole)


def timed(problem: Problem, seconds: float, threads: int, seed: int) -> tuple[Schedule, float, float]:
    """A plan, the seconds to the first plan, and the seconds in all."""
    first: list[float] = []

    def note(_: Progress) -> None:
        if not first:
            first.append(time.perf_counter() - began)

    began = time.perf_counter()
    plan = schedule(problem, seconds=seconds, threads=threads, seed=seed, progress=note)
    return plan, first[0] if first else 0.0, time.perf_counter() - began


def row_of(path: Path, arguments: argparse.Namespace) -> tuple[list[str], float | None, bool]:
    """One line of the table, the gap to the published value, and whether the checker found nothing."""
    instance = json.loads(path.read_text())
    problem = read_instance(instance)
    by_makespan = problem.objective == "makespan"
    seconds = arguments.seconds if by_makespan else arguments.plant_seconds
    runs = [timed(problem, seconds, arguments.threads, arguments.seed + k) for k in range(arguments.seeds)]
    runs.sort(key=lambda run: run[0].objective)
    plan, first, took = runs[len(runs) // 2]
    trials, whole = speeds(problem, plan)
    findings = check_schedule(problem, plan.placements)
    clean = not findings and figures_of(problem, plan.placements) == plan.objective
    verdict = "clean" if clean else f"{len(findings)} findings" if findings else "figures differ"
    published = instance.get("published")
    gap = 100 * (plan.objective[0] / published["best"] - 1) if published else None

    due = best_list(problem, LONGEST_TAIL if by_makespan else EARLIEST_DUE, [(1.0, 1.0)])
    cost = due
    if not by_makespan:
        cost = best_list(problem, TARDINESS, [(d, c) for d in DUE_SCALES for c in CHANGE_SCALES])
    bare = from_list = "-"
    if not arguments.no_peer:
        bare, _ = whole_model(problem, due, seconds, arguments.threads, False)
        if not by_makespan:
            better = min((due, cost), key=lambda plan: figures_of(problem, plan))
            from_list, _ = whole_model(problem, better, seconds, arguments.threads, True)
    cells = [
        path.stem,
        f"{published['best']:,}" if published else "-",
        "-" if by_makespan else words(figures_of(problem, due)),
        "-" if by_makespan else words(figures_of(problem, cost)),
        bare,
        from_list,
        words(plan.objective)
        + (" proven" if plan.status == "optimal" else "")
        + (f" ({words(runs[0][0].objective)} to {words(runs[-1][0].objective)})" if len(runs) > 1 else ""),
        "-" if gap is None else f"{gap:.2f}",
        f"{plan.bound:,.0f}" if plan.bound is not None else "-",
        f"{first:.2f}",
        f"{plan.effort / took:,.0f}",
        "-" if math.isnan(trials) else f"{trials:,.0f}",
        f"{whole:,.0f}",
        verdict,
    ]
    return cells, gap, clean


def main() -> None:
    """Print one line an instance, then the mean gap."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("instances", nargs="+", type=Path, help="instances, or folders of them")
    parser.add_argument("--seconds", type=float, default=30.0, help="for shops, each of us and CP-SAT")
    parser.add_argument("--plant-seconds", type=float, default=60.0, help="for plants")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seeds", type=int, default=1, help="so many, from --seed on; our answer is their median")
    parser.add_argument("--no-peer", action="store_true", help="leave CP-SAT out")
    parser.add_argument("--markdown", type=Path, help="write the table here too, after every instance")
    arguments = parser.parse_args()
    paths = [p for given in arguments.instances for p in (sorted(given.glob("*.json")) if given.is_dir() else [given])]
    compiled()
    schedule(read_instance(TINY), seconds=60.0, effort=2000)
    seeds = f"seed {arguments.seed}"
    if arguments.seeds > 1:
        seeds = f"median of the seeds {arguments.seed} to {arguments.seed + arguments.seeds - 1} (best to worst)"
    head = [
        f"`{platform.processor() or platform.machine()}`, {arguments.threads} threads, {arguments.seconds:g} s a shop, "
        f"{arguments.plant_seconds:g} s a plant, {seeds}, Python {platform.python_version()}; "
        "figures: makespan, or weighted late minutes / changeover minutes.",
        "",
        "| " + " | ".join(COLUMNS) + " |",
        "|" + "---|" * len(COLUMNS),
    ]
    print("\n".join(head), flush=True)
    lines: list[str] = []
    gaps: list[float] = []
    foot = ""
    for path in paths:
        cells, gap, _ = row_of(path, arguments)
        lines.append("| " + " | ".join(cells) + " |")
        print(lines[-1], flush=True)
        if gap is not None:
            gaps.append(gap)
        foot = f"mean gap {sum(gaps) / len(gaps):.2f} %, worst {max(gaps):.2f} %" if gaps else ""
        if arguments.markdown:
            arguments.markdown.write_text("\n".join([*head, *lines, "", foot, ""]))
    print(foot)


TINY: dict[str, Any] = {
    "machines": [{"name": "dip", "open": [[0, 480], [600, 1000]]}],
    "jobs": [
        {
            "name": f"W{k}",
            "due": 60,
            "operations": [{"modes": [{"machine": "dip", "duration": 6}], "family": f"f{k % 2}"}],
        }
        for k in range(30)
    ],
    "changeovers": [
        {"machine": "dip", "from": "f0", "to": "f1", "duration": 5},
        {"machine": "dip", "from": "f1", "to": "f0", "duration": 7},
    ],
    "objective": "weighted_tardiness_then_changeover",
}


if __name__ == "__main__":
    main()
