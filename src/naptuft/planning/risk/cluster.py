"""Replays on the workers of a dask.distributed cluster. Needs the optional part naptuft[cluster]."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from naptuft.errors import DesignError, Fault


def run_on_cluster(
    address: str,
    arrays: tuple[Any, ...],
    seed: int,
    ranges: Sequence[tuple[int, int]],
    tell: Callable[[int], None],
) -> list[tuple[Any, Any]]:
    """The replays of each range (first, count), in order; each worker must have naptuft installed.

    address  of the scheduler, such as tcp://plant-pc:8786
    Raises DesignError where the optional part is not installed or nothing answers at the address.
    """
    try:
        from distributed import Client, as_completed
    except ImportError:
        raise DesignError(
            Fault("cluster", address, "an installed dask.distributed", "install it with: pip install naptuft[cluster]")
        ) from None
    from naptuft.planning.risk.replays import run

    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        mend = "start one with: dask scheduler, and at least one: dask worker"
        raise DesignError(
            Fault("cluster", address, f"the address of a scheduler that answers ({error})", mend)
        ) from None
    with client:
        shared = client.scatter(list(arrays), broadcast=True, hash=False)
        waiting = [client.submit(_run, run, shared, seed, first, count, pure=False) for first, count in ranges]
        place = {future.key: number for number, future in enumerate(waiting)}
        parts: list[tuple[Any, Any] | None] = [None] * len(ranges)
        done = 0
        for future, part in as_completed(waiting, with_results=True):
            parts[place[future.key]] = part
            done += ranges[place[future.key]][1]
            tell(done)
    return [part for part in parts if part is not None]


def _run(run: Callable[..., Any], arrays: list[Any], seed: int, first: int, count: int) -> Any:
    """One range, on a worker."""
    return run(tuple(arrays), seed, first, count)
