"""The main job on the Quillbeck book: seconds to the first answer and to the end, and the start of the command line.

python benchmarks/main_job.py [seconds of search]
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path


def main(seconds: float) -> None:
    """Print the table."""
    rows: list[tuple[str, float | None, float]] = [("naptuft --help", 0.5, _command_line())]
    begun = time.perf_counter()
    from naptuft.planning import check, weeks  # noqa: F401
    from naptuft.services import demo_book, plan_book, write_plan

    rows.append(("imports", None, time.perf_counter() - begun))
    begun = time.perf_counter()
    book = demo_book()
    rows.append(("book read and checked", None, time.perf_counter() - begun))
    first: list[float] = []

    def tell(state: weeks.Progress) -> None:
        if state.best and not first:
            first.append(time.perf_counter() - begun)

    plan = plan_book(book, seed=1, seconds=seconds, progress=tell)
    rows.append(("first answer, from the book on disk", 2.0, first[0]))
    rows.append((f"plan, {seconds:g} s of search", None, time.perf_counter() - begun))
    with tempfile.TemporaryDirectory() as folder:
        write_plan(plan, book, Path(folder) / "out")
    rows.append(("all files written", 20.0, time.perf_counter() - begun))
    print(f"{'what':<40} {'seconds':>8} {'bar':>6}")
    for what, bar, taken in rows:
        print(f"{what:<40} {taken:>8.2f} {'' if bar is None else f'{bar:g}':>6}")
    states = [order.state for order in plan.orders]
    print(", ".join(f"{states.count(state)} {state}" for state in ("on time", "from stock", "late", "short")))
    print(f"weighted late minutes {plan.quality.weighted_late_minutes:,.0f}, bound {plan.quality.bound or 0:,.0f}")
    print(f"plans tried {plan.quality.effort:,}, findings of the checker {len(plan.checks)}")


def _command_line() -> float:
    command = [sys.executable, "-m", "naptuft", "--help"]
    subprocess.run(command, check=True, capture_output=True)
    begun = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 12.0)
