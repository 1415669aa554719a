"""Replays run: in one go, on the cores of one machine, or across machines, the same numbers every way.

A replay is fixed by the seed and its number. Runs are split by number and put together in order.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from naptuft.errors import DesignError, Fault
from naptuft.planning.risk.model import Model

CHUNK = 500
TARGETS = 19


@dataclass(frozen=True)
class Finishes:
    """What replays gave.

    finish        finish of each target, shape (replays, targets) [minute]
    waits_broken  for each operation in sequence, how often its longest wait was outrun, shape (operations,)
    """

    finish: Any
    waits_broken: Any


@dataclass(frozen=True)
class Traced:
    """Replays with all they went through, shape (replays, operations) each; operations in sequence.

    causes  what each operation waited for last: an operation, or below 0 a word of `floor`
    """

    starts: Any
    ends: Any
    causes: Any
    finish: Any


def run(arrays: tuple[Any, ...], seed: int, first: int, count: int) -> tuple[Any, Any]:
    """Replays `first` to `first + count - 1`: (finish of each target, longest waits broken)."""
    finish, broken, *_ = _replayed(arrays, seed, first, count, 0)
    return finish, broken


def traced(model: Model, seed: int, count: int, first: int = 0) -> Traced:
    """A few replays with every start, end and cause."""
    finish, _, starts, ends, causes = _replayed(model.arrays, seed, first, count, count)
    return Traced(starts, ends, causes, finish)


def held_to_plan(arrays: tuple[Any, ...], planned: Any) -> Any:
    """The start of each operation where nothing scatters and none starts before its planned start. [minute]

    Operations that could start earlier are from now on held until then (the arrays are changed).
    """
    return _replayed(arrays, 0, 0, 1, 1, planned)[2][0]


def placed_as_listed(arrays: tuple[Any, ...]) -> tuple[Any, Any, Any]:
    """Starts, ends and causes of the operations where nothing scatters, each as soon as its list lets it."""
    _, _, starts, ends, causes = _replayed(arrays, 0, 0, 1, 1)
    return starts[0], ends[0], causes[0]


def _replayed(
    arrays: tuple[Any, ...], seed: int, first: int, count: int, kept: int, planned: Any = None
) -> tuple[Any, ...]:
    """Finishes, longest waits broken, and starts, ends and causes of all replays or none (kept: count or 0)."""
    import numpy as np

    from naptuft.planning.risk import floor

    replay: Any = floor.replay
    operations, targets = arrays[0].shape[0], arrays[TARGETS].shape[0]
    finish = np.empty((count, targets), np.float64)
    broken = np.zeros(operations, np.int64)
    starts = ends = causes = None
    if kept:
        starts, ends = np.empty((kept, operations), np.float64), np.empty((kept, operations), np.float64)
        causes = np.empty((kept, operations), np.int64)
        planned = np.empty(0) if planned is None else planned
    replay(*arrays, seed, first, finish, broken, starts, ends, causes, planned)
    return finish, broken, starts, ends, causes


def replays(
    model: Model,
    count: int,
    seed: int = 1,
    threads: int = 1,
    cluster: str | None = None,
    progress: Callable[[int], None] | None = None,
) -> Finishes:
    """Run so many replays.

    threads   cores to use on this machine
    cluster   address of a dask.distributed scheduler: its workers do the replays instead
    progress  called with how many are done
    The numbers depend on the model, the seed and the count alone.
    Raises DesignError when count is below 1, or no cluster can be used.
    """
    import numpy as np

    if count < 1:
        raise DesignError(Fault("replays", count, "at least 1", "ask for some thousands"))
    starts = range(0, count, CHUNK)
    sizes = [min(CHUNK, count - first) for first in starts]
    tell = progress or (lambda _: None)
    parts: list[tuple[Any, Any]] = []
    if cluster is None:
        run(model.arrays, seed, 0, 1)
        with ThreadPoolExecutor(max(1, threads)) as pool:
            for part in pool.map(lambda first, size: run(model.arrays, seed, first, size), starts, sizes):
                parts.append(part)
                tell(sum(len(finish) for finish, _ in parts))
    else:
        from naptuft.planning.risk.cluster import run_on_cluster

        parts = run_on_cluster(cluster, model.arrays, seed, list(zip(starts, sizes, strict=True)), tell)
    return Finishes(
        np.concatenate([finish for finish, _ in parts]), np.sum([broken for _, broken in parts], axis=0, dtype=np.int64)
    )
