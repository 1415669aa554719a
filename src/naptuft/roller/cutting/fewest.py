"""The fewest stock pieces for a demand given in whole steps of a grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd
from time import monotonic

import numpy as np

from naptuft.roller.cutting.patterns import fewer_than, fewest_patterns
from naptuft.roller.cutting.pricing import compile_for
from naptuft.roller.cutting.search import Effort, Search, first_fit_decreasing, fullest_first, trimmed

MOST_STEPS = 2**31


@dataclass(frozen=True)
class GridPattern:
    """A pattern in grid steps: pieces of each length, how many stock pieces, and the offcut of each."""

    pieces: tuple[int, ...]
    count: int
    offcut: int


@dataclass(frozen=True)
class GridCut:
    """A cut list in grid steps, most used pattern first, with what is proven of it."""

    patterns: tuple[GridPattern, ...]
    bound: int
    fewest_proven: bool
    out_of_time: bool

    @property
    def rolls(self) -> int:
        """Stock pieces used."""
        return sum(pattern.count for pattern in self.patterns)


def cut_on_grid(
    *,
    lengths: Sequence[int],
    quantities: Sequence[int],
    usable: int,
    kerf: int,
    kept: int,
    nodes: int,
    seconds: float,
    tidy: bool = True,
    most_patterns: int | None = None,
) -> GridCut:
    """Cut the lengths wanted from stock pieces of `usable` length; few patterns, then most useful leftover.

    lengths     different, above 0 and at most `usable`; quantities at least 1
    kerf, kept  saw cut, and shortest leftover worth keeping
    nodes       relaxations the search may spend; seconds is the last limit,
                counted after any compiling
    tidy        after the fewest stock pieces, also look for few patterns and useful leftover
    most_patterns  different patterns allowed, if need be at the price of more stock pieces

    >>> cut_on_grid(lengths=[6, 4], quantities=[2, 2], usable=10, kerf=0, kept=1, nodes=9, seconds=9).patterns
    (GridPattern(pieces=(1, 1), count=2, offcut=0),)
    """
    compile_for(len(lengths))
    effort = Effort(nodes, monotonic() + seconds)
    weights, capacity = _whole_weights(lengths, usable, kerf)
    demand = np.array(quantities, dtype=np.int64)
    answer, bound = fewest_pieces(weights, capacity, demand, effort)
    exact = np.array([length + kerf for length in lengths], dtype=np.int64)
    leftover = Leftover(exact, usable + kerf, kerf, kept)
    fewest = False
    if tidy:
        answer, fewest = fewest_patterns(answer, weights, capacity, demand, leftover, effort)
    if most_patterns is not None and len({pattern.tobytes() for pattern in answer}) > most_patterns:
        fewer = fewer_than(most_patterns, answer, weights, capacity, demand, effort)
        if fewer is not None:
            answer, fewest = fewer, False
    alike: dict[tuple[int, ...], int] = {}
    for pattern in answer:
        key = tuple(pattern.tolist())
        alike[key] = alike.get(key, 0) + 1
    ordered = sorted(alike.items(), key=lambda item: (-item[1], [-n for n in item[0]]))
    return GridCut(
        tuple(GridPattern(key, count, leftover.offcut(np.array(key))) for key, count in ordered),
        bound,
        fewest and len(answer) == bound,
        effort.out_of_time,
    )


def fewest_pieces(
    weights: np.ndarray, capacity: int, demand: np.ndarray, effort: Effort
) -> tuple[list[np.ndarray], int]:
    """Patterns, one a stock piece, for the whole demand, and the number of stock pieces proven to be needed.

    weights, demand  int64, shape (m,); every weight at most `capacity`

    >>> from numpy import array
    >>> patterns, bound = fewest_pieces(array([5, 4, 3]), 10, array([2, 2, 4]), Effort(50, monotonic() + 10))
    >>> len(patterns), bound
    (3, 3)
    """
    best = min(
        (fill(weights, capacity, demand) for fill in (first_fit_decreasing, fullest_first)),
        key=len,
    )
    bound = -(-int(demand @ weights) // capacity)
    if len(best) == bound:
        return best, bound
    search = Search(weights, capacity, demand, effort)
    search.master.add(best)
    bound = max(bound, search.master.relax(len(best), effort.deadline).bound)
    target = bound
    while target < len(best) and not effort.spent():
        found, impossible = search.reach(target)
        if found is not None:
            best = trimmed(found, demand)
        elif impossible and target == bound:
            bound = target + 1
        target += 1
    return best, bound


def _whole_weights(lengths: Sequence[int], usable: int, kerf: int) -> tuple[np.ndarray, int]:
    """Weights and capacity in the coarsest steps that lose nothing; past 2**31 of them, steps rounded so that what
    fits by them fits in truth."""
    capacity = usable + kerf
    weights = [length + kerf for length in lengths]
    step = gcd(*weights)
    step = max(step, -(-capacity // MOST_STEPS))
    return np.array([-(-weight // step) for weight in weights], dtype=np.int64), capacity // step


@dataclass(frozen=True)
class Leftover:
    """How much of a pattern's leftover is worth keeping, in grid steps.

    weights  piece and saw cut, shape (m,); room what a stock piece has for them; kept the shortest worth keeping
    """

    weights: np.ndarray
    room: int
    kerf: int
    kept: int

    def offcut(self, pattern: np.ndarray) -> int:
        """What is left of a stock piece after its last saw cut."""
        rest = self.room - int(pattern @ self.weights)
        return max(0, rest - self.kerf if pattern.any() else rest) if rest > 0 else 0

    def useful(self, pattern: np.ndarray) -> int:
        """The same, or 0 where it is too short to keep."""
        offcut = self.offcut(pattern)
        return offcut if offcut >= self.kept else 0
