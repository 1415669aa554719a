"""A plan as a list: items in the order they are placed, and the mode of each operation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from naptuft.planning.problem import Placement, Problem
from naptuft.planning.schedule.decode import CHANGEOVER, END, START, fresh_plan
from naptuft.planning.schedule.engine import PLAIN
from naptuft.planning.schedule.fold import Table
from naptuft.planning.schedule.open_time import open_between
from naptuft.planning.schedule.rules import ways_of


@dataclass
class Listed:
    """A list of items in the order they are placed, the mode of each operation, and the figures of its plan."""

    order: Table
    modes: Table
    figures: tuple[float, float]

    def comes_to(self, scale: float) -> float:
        """Both figures in one."""
        return self.figures[0] + scale * self.figures[1]


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


def placements_of(problem: Problem, table: Table, listed: Listed) -> tuple[Placement, ...]:
    """The plan of a list, without reasons."""
    plan = fresh_plan(table)
    PLAIN.decode(table, listed.order, listed.modes, plan)
    placed = []
    number = first_mode = 0
    for job, work in enumerate(problem.jobs):
        for index, operation in enumerate(work.operations):
            ways = ways_of(problem, operation)
            mode = ways[int(listed.modes[number]) - first_mode].mode
            row = plan[number]
            placed.append(Placement(job, index, mode.machine, int(row[START]), int(row[END]), int(row[CHANGEOVER])))
            number += 1
            first_mode += len(ways)
    return tuple(placed)
