"""Among answers of one cost from several sorts of stock: few different patterns first, then the most useful leftover.

Stock pieces with spoiled spans are each cut their own way and stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from naptuft.roller.cutting.many_stocks import GridStock, StockAnswer
from naptuft.roller.cutting.patterns import MOST_MODELLED, branch_on_patterns, cheapest_of_few
from naptuft.roller.cutting.pricing import patterns_within
from naptuft.roller.cutting.search import Effort

MOST_CANDIDATES = 40
Used = tuple[tuple[int, tuple[tuple[int, ...], ...]], ...]


@dataclass(frozen=True)
class Shape:
    """Exact lengths in grid steps, for leftovers and places.

    rooms    sound stretches (from, to) of each sort; lengths of the pieces; kept the shortest leftover worth keeping
    """

    rooms: Sequence[Sequence[tuple[int, int]]]
    lengths: list[int]
    kerf: int
    kept: int

    def useful(self, kind: int, pattern: Sequence[int]) -> int:
        """Leftover of a sort of one stretch cut so, 0 where it is too short to keep."""
        start, end = self.rooms[kind][0]
        taken = sum(number * (length + self.kerf) for number, length in zip(pattern, self.lengths, strict=True))
        left = max(0, end - start - taken)
        return left if left >= self.kept else 0


@dataclass(frozen=True)
class Tidied:
    """Stock pieces and how each is cut, their cost, and whether fewer patterns are proven impossible at that cost."""

    used: Used
    cost: int
    fewest_proven: bool


def tidied(
    answer: StockAnswer,
    weights: np.ndarray,
    kinds: Sequence[GridStock],
    most_patterns: int | None,
    shape: Shape,
    effort: Effort,
) -> Tidied:
    """The answer with few patterns and useful leftover; past `most_patterns`, with fewer at a higher cost."""
    whole = {index for index, kind in enumerate(kinds) if len(kind.stretches) == 1}
    parted = tuple(entry for entry in answer.used if entry[0] not in whole)
    plain = [(kind, patterns[0]) for kind, patterns in answer.used if kind in whole]
    parted_cost = sum(kinds[kind].cost for kind, _ in parted)
    if not plain:
        return Tidied(answer.used, answer.cost, len(set(parted)) <= 1)
    left = np.sum([np.array(pattern) for _, pattern in plain], axis=0)
    candidates, complete = _candidates(answer, plain, left, weights, kinds, whole)
    start = [candidates.index(entry) for entry in plain]
    vectors, shares, greatest = _limits(candidates, kinds)
    costs = np.array([kinds[kind].cost for kind, _ in candidates])
    gain = np.array([shape.useful(kind, pattern) for kind, pattern in candidates], dtype=float)
    limits = (
        np.hstack((shares, costs.reshape(-1, 1))),
        np.full(len(greatest) + 1, -np.inf),
        np.append(greatest, float(answer.cost - parted_cost)),
    )
    chosen, proven = branch_on_patterns(vectors, left, limits, start, gain, effort)
    found = [candidates[index] for index in chosen]
    proven = proven and complete and not parted
    room = None if most_patterns is None else most_patterns - len(set(parted))
    if room is not None and len(set(found)) > room > 0:
        few = _few(left, weights, kinds, whole, room, effort)
        if few is not None:
            found, proven = few, False
    cost = parted_cost + sum(kinds[kind].cost for kind, _ in found)
    return Tidied(parted + tuple((kind, (pattern,)) for kind, pattern in found), cost, proven)


def _candidates(
    answer: StockAnswer,
    plain: list[tuple[int, tuple[int, ...]]],
    left: np.ndarray,
    weights: np.ndarray,
    kinds: Sequence[GridStock],
    whole: set[int],
) -> tuple[list[tuple[int, tuple[int, ...]]], bool]:
    """Patterns by sort to choose from, those in use first; and whether none is left out."""
    chosen = dict.fromkeys(plain)
    listed = [
        (index, pattern)
        for room, pattern in answer.candidates or ()
        for index in sorted(whole)
        if kinds[index].stretches[0] == room and kinds[index].available != 0 and (np.array(pattern) <= left).all()
    ]

    def worth(entry: tuple[int, tuple[int, ...]]) -> float:
        pattern = np.array(entry[1])
        times = int((left[pattern > 0] // pattern[pattern > 0]).min())
        return times * float(pattern @ weights)

    complete = answer.candidates is not None and len(set(listed) | set(plain)) <= MOST_CANDIDATES
    for entry in sorted(listed, key=worth, reverse=True):
        if len(chosen) >= MOST_CANDIDATES:
            break
        chosen[entry] = None
    return list(chosen), complete


def _limits(
    candidates: list[tuple[int, tuple[int, ...]]], kinds: Sequence[GridStock]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Pieces of each candidate, what a use takes of each sort that is limited, and how much there is."""
    scarce = sorted({kind for kind, _ in candidates if kinds[kind].available is not None})
    shares = np.array([[float(kind == each) for each in scarce] for kind, _ in candidates]).reshape(
        len(candidates), len(scarce)
    )
    greatest = np.array([float(kinds[each].available or 0) for each in scarce])
    return np.array([pattern for _, pattern in candidates], dtype=np.int64), shares, greatest


def _few(
    left: np.ndarray, weights: np.ndarray, kinds: Sequence[GridStock], whole: set[int], most: int, effort: Effort
) -> list[tuple[int, tuple[int, ...]]] | None:
    """Cheapest found with at most so many patterns, from every pattern where these are few enough to list."""
    every: list[tuple[int, tuple[int, ...]]] = []
    for index in sorted(whole):
        limit = MOST_MODELLED - len(every)
        listed = patterns_within(weights, weights, left, kinds[index].stretches[0], 0, limit, only_full=False)
        if listed is None:
            return None
        every += [(index, tuple(pattern)) for pattern in listed.tolist()]
    vectors, shares, greatest = _limits(every, kinds)
    costs = np.array([float(kinds[kind].cost) for kind, _ in every])
    chosen = cheapest_of_few(vectors, left, costs, shares, greatest, most, effort)
    return None if chosen is None else [every[index] for index in chosen]
