"""Many what-if books planned at once: on the cores of one machine, or across machines, the same plans either way."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from naptuft.book.model import Book
from naptuft.errors import DesignError, Fault
from naptuft.planning.plan import Plan
from naptuft.planning.risk.cluster import connected
from naptuft.planning.weeks import plan_weeks


def plan_books(
    books: Sequence[Book], effort: int, seed: int = 1, processes: int = 1, cluster: str | None = None
) -> tuple[Plan, ...]:
    """A plan of each checked book, each with the same seed and effort, so that they can be compared.

    effort     candidate plans tried for each; the plans do not depend on where they are made
    processes  of this machine; cluster: address of a dask.distributed scheduler, whose workers are used instead
    Raises DesignError when effort is below 1 or the cluster cannot be used, and whatever `plan_weeks` raises.
    """
    if effort < 1:
        raise DesignError(Fault("effort", effort, "at least 1", "ask for some thousands"))
    if cluster is not None:
        with connected(cluster) as client:
            waiting = [client.submit(planned, book, seed, effort, pure=False) for book in books]
            return tuple(client.gather(waiting))
    if processes <= 1:
        return tuple(planned(book, seed, effort) for book in books)
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        return tuple(pool.map(planned, books, [seed] * len(books), [effort] * len(books)))


def planned(book: Book, seed: int, effort: int) -> Plan:
    """One plan, in a process of its own."""
    return plan_weeks(book, seed=seed, effort=effort)
