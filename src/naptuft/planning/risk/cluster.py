"""Replays on the workers of a dask.distributed cluster. Needs the optional part naptuft[cluster]."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from naptuft.errors import DesignError, Fault


def connected(address: str) -> Any:
    """A client of the scheduler at an address such as tcp://plant-pc:8786; close it, or use it in a with block.

    Raises DesignError where the optional part is not installed or nothing answers at the address.
    """
    try:
        from distributed import Client
    except ImportError:
        raise DesignError(
            Fault("cluster", address, "an installed dask.distributed", "install it with: pip install naptuft[cluster]")
        ) from None
    try:
        return Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        allowed = f"the address of a scheduler that answers ({error})"
        mend = "start one with: dask scheduler, and at least one: dask worker"
        raise DesignError(Fault("cluster", address, allowed, mend)) from None


def run_on_cluster(
    address: str,
    arrays: tuple[Any, ...],
    seed: int,
    ranges: Sequence[tuple[int, int]],
    tell: Callable[[int], None],
) -> list[tuple[Any, Any]]:
    """The replays of each range (first, count), in order; each worker must have naptuft installed.

    tell  called with how many replays are done. Raises DesignError as `connected`.
    """
    from naptuft.planning.risk.replays import run

    with connected(address) as client:
        from distributed import as_completed

        shared = client.scatter(list(arrays), broadcast=True, hash=False)
        waiting = [client.submit(_run, run, shared, seed, first, count, pure=False) for first, count in ranges]
        place = {future.key: number for number, future in enumerate(waiting)}
        parts: dict[int, tuple[Any, Any]] = {}
        for future, part in as_completed(waiting, loop=client.loop, with_results=True):
            parts[place[future.key]] = part
            tell(sum(ranges[number][1] for number in parts))
    return [parts[number] for number in range(len(ranges))]


def _run(run: Callable[..., Any], arrays: list[Any], seed: int, first: int, count: int) -> Any:
    """One range, on a worker. What came over the wire may not be written to; the replayer's code is for arrays that may."""
    return run(tuple(array.copy() for array in arrays), seed, first, count)
