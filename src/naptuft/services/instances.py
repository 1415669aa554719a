"""Problems from outside in the open formats of the benchmarks, solved by the plan's own engines."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from naptuft.errors import Fault, FileError
from naptuft.planning.plan import Finding


def solve_cutting(path: Path, seconds: float) -> Iterator[dict[str, Any]]:
    """Each cutting problem of a JSON-lines file as it is solved: name, rolls, lower_bound, proven_optimal,
    seconds, patterns. Raises FileError for a line that is no JSON, DesignError for one that is no problem.
    """
    from naptuft.roller.cutting.instance import solve_instance

    lines = [line for line in _text(path).splitlines() if line.strip()]
    problems = [_json(f"{path.name}, line {number}", line) for number, line in enumerate(lines, start=1)]
    for problem in problems:
        begun = time.monotonic()
        answer = solve_instance(problem, seconds)
        yield {**answer, "seconds": round(time.monotonic() - begun, 3)}


def solve_schedule(
    path: Path, *, seconds: float, seed: int, threads: int
) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    """The solution of a scheduling problem in a JSON file, and the independent checker's findings."""
    from naptuft.planning.check import check_schedule
    from naptuft.planning.schedule import read_instance, schedule, solution_json

    given = _json(path.name, _text(path))
    try:
        problem = read_instance(given)
    except (KeyError, TypeError, IndexError) as error:
        raise FileError(
            Fault(path.name, str(error), "machines, jobs with operations and modes", "correct the file")
        ) from None
    plan = schedule(problem, seed=seed, seconds=seconds, threads=threads)
    answer = solution_json(problem, plan, str(given.get("name", path.stem)))
    return {**answer, "bound": plan.bound, "status": plan.status}, check_schedule(problem, plan.placements)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileError(Fault(str(path), str(error), "a readable text file", "check the name and the file")) from None


def _json(place: str, text: str) -> dict[str, Any]:
    try:
        value = json.loads(text)
    except json.JSONDecodeError as error:
        raise FileError(Fault(place, str(error), "a JSON object", "correct the JSON")) from None
    if not isinstance(value, dict):
        raise FileError(Fault(place, type(value).__name__, "a JSON object", "write it as {...}"))
    return value
