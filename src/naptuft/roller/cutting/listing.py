"""What is asked of a cut list and what it answers; lengths balance to the last digit.

A stock piece loses `end_trim` at each end. A saw cut of `kerf` parts neighbours, and one more parts the last
piece from an offcut. Inside, all lengths are whole numbers on a grid fine enough for inches in
128ths and for tenths of a micrometre.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import gcd, isfinite
from time import monotonic

import numpy as np

from naptuft.errors import DesignError, Fault
from naptuft.roller.cutting.patterns import fewest_patterns
from naptuft.roller.cutting.search import Effort, Search, first_fit_decreasing, fullest_first, trimmed

GRID_PER_METRE = 10**9
COARSE_GRID_PER_METRE = 10**6


@dataclass(frozen=True)
class CutDemand:
    """So many pieces of one length.

    name      what the piece is for
    length    finished length of the piece [m]
    quantity  pieces wanted
    """

    name: str
    length: float
    quantity: int


@dataclass(frozen=True)
class CutPattern:
    """One way to cut a stock piece, and how often.

    pieces  (name, length [m], pieces of it in one stock piece), in cutting order, longest first
    count   stock pieces cut this way
    offcut  length left over from each, after the last saw cut [m]
    """

    pieces: tuple[tuple[str, float, int], ...]
    count: int
    offcut: float

    @property
    def number(self) -> int:
        """Pieces from one stock piece."""
        return sum(count for _, _, count in self.pieces)


@dataclass(frozen=True)
class CutList:
    """How to cut a demand from stock of one length.

    stock_length, kerf, end_trim, min_offcut   as asked [m]
    rolls           stock pieces used
    lower_bound     stock pieces proven to be needed
    proven_optimal  True only when the two are equal
    patterns        most used first
    status          "optimal", "stopped at the work limit" or "stopped at the time limit"
    fewest_patterns_proven  True when no list of as many stock pieces has fewer patterns
    """

    stock_length: float
    kerf: float
    end_trim: float
    min_offcut: float
    rolls: int
    lower_bound: int
    proven_optimal: bool
    patterns: tuple[CutPattern, ...]
    status: str = "optimal"
    fewest_patterns_proven: bool = False

    @property
    def pieces_length(self) -> float:
        """Length of all pieces cut. [m]"""
        return _metres(sum(p.count * sum(_grid(length) * n for _, length, n in p.pieces) for p in self.patterns))

    @property
    def stock_used(self) -> float:
        """Length of all stock pieces used. [m]"""
        return _metres(_grid(self.stock_length) * self.rolls)

    @property
    def offcuts(self) -> tuple[tuple[float, int], ...]:
        """Offcuts long enough to keep: (length [m], how many), longest first."""
        kept: dict[float, int] = {}
        for pattern in self.patterns:
            if pattern.offcut > 0 and pattern.offcut >= self.min_offcut:
                kept[pattern.offcut] = kept.get(pattern.offcut, 0) + pattern.count
        return tuple(sorted(kept.items(), reverse=True))

    @property
    def offcut_length(self) -> float:
        """Length of all offcuts long enough to keep. [m]"""
        return _metres(sum(_grid(length) * count for length, count in self.offcuts))

    @property
    def waste(self) -> float:
        """Length that becomes neither piece nor kept offcut: trim, saw cuts and short ends. [m]"""
        return _metres(_grid(self.stock_used) - _grid(self.pieces_length) - _grid(self.offcut_length))

    @property
    def yield_share(self) -> float:
        """Length of pieces over length of stock used, kept offcuts taken back."""
        used = self.stock_used - self.offcut_length
        return self.pieces_length / used if used else 0.0


def cut_list(
    stock_length: float,
    demands: Sequence[CutDemand],
    *,
    kerf: float = 0.0,
    end_trim: float = 0.0,
    min_offcut: float = 0.0,
    nodes: int = 400,
    seconds: float = 10.0,
) -> CutList:
    """Cut the demand from as few stock pieces as can be; then few patterns, then most useful leftover.

    stock_length  [m]
    demands       pieces wanted; equal lengths are cut together
    kerf          width of the saw or knife cut [m]
    end_trim      lost at each end of every stock piece, its own cut included [m]
    min_offcut    shortest leftover worth keeping [m]
    nodes         relaxations the search may spend: the same input gives the same list
    seconds       last limit; when it stops the search, the status says so and the list may not repeat

    Raises DesignError naming every length that cannot be cut.
    Method: column generation, P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859.

    >>> made = cut_list(1.8, [CutDemand("roller 190", 0.190, 27), CutDemand("roller 240", 0.240, 14)])
    >>> made.rolls, made.proven_optimal
    (5, True)
    """
    _refuse(stock_length, demands, kerf, end_trim, min_offcut)
    lengths = sorted({_grid(demand.length) for demand in demands}, reverse=True)
    usable = _grid(stock_length) - 2 * _grid(end_trim)
    weights, capacity = _whole_weights(lengths, usable, _grid(kerf))
    wanted = dict.fromkeys(lengths, 0)
    for demand in demands:
        wanted[_grid(demand.length)] += demand.quantity
    asked = np.array([wanted[length] for length in lengths], dtype=np.int64)
    effort = Effort(nodes, monotonic() + seconds)
    answer, bound = fewest_pieces(weights, capacity, asked, effort)
    proven = len(answer) == bound
    exact = np.array([length + _grid(kerf) for length in lengths], dtype=np.int64)
    leftover = Leftover(exact, usable + _grid(kerf), _grid(kerf), _grid(min_offcut))
    answer, fewest = fewest_patterns(answer, weights, capacity, asked, leftover, effort)
    return CutList(
        stock_length=stock_length,
        kerf=kerf,
        end_trim=end_trim,
        min_offcut=min_offcut,
        rolls=len(answer),
        lower_bound=bound,
        proven_optimal=proven,
        patterns=_named(answer, lengths, demands, leftover),
        status="optimal" if proven else f"stopped at the {'time' if effort.out_of_time else 'work'} limit",
        fewest_patterns_proven=fewest,
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
    bound = max(bound, search.master.relax(len(best)).bound)
    target = bound
    while target < len(best):
        found, impossible = search.reach(target)
        if found is not None:
            best = trimmed(found, demand)
        elif impossible and target == bound:
            bound = target + 1
        target += 1
    return best, bound


def _refuse(stock_length: float, demands: Sequence[CutDemand], kerf: float, end_trim: float, min_offcut: float) -> None:
    faults = []
    if not isfinite(stock_length) or stock_length <= 0:
        raise DesignError(Fault("stock length", stock_length, "a length above 0 m", "give the length of a stock piece"))
    for label, value in (("kerf", kerf), ("end trim", end_trim), ("shortest offcut kept", min_offcut)):
        if not isfinite(value) or value < 0:
            faults.append(Fault(label, value, "a length of at least 0 m", f"give the {label} as a length"))
    if not demands:
        faults.append(Fault("pieces", 0, "at least one length", "give a length and a quantity"))
    if not faults and stock_length - 2 * end_trim <= 0:
        faults.append(
            Fault("end trim", end_trim, f"below {stock_length / 2:g} m", "nothing is left of the stock: trim less")
        )
    usable = stock_length - 2 * end_trim
    for row, demand in enumerate(demands, start=1):
        place = f"pieces, row {row} ({demand.name})"
        if not isfinite(demand.length) or demand.length <= 0:
            faults.append(Fault(f"{place}, length", demand.length, "a length above 0 m", "correct the length"))
        elif not faults and _grid(demand.length) > _grid(stock_length) - 2 * _grid(end_trim):
            faults.append(
                Fault(f"{place}, length", demand.length, f"at most {usable:g} m", "use longer stock or trim less")
            )
        if demand.quantity < 1 or demand.quantity != int(demand.quantity):
            faults.append(
                Fault(f"{place}, quantity", demand.quantity, "a whole number of at least 1", "correct the quantity")
            )
    if faults:
        raise DesignError(*faults)


def _grid(metres: float) -> int:
    return round(metres * GRID_PER_METRE)


def _metres(grid: int) -> float:
    return grid / GRID_PER_METRE


def _whole_weights(lengths: Sequence[int], usable: int, kerf: int) -> tuple[np.ndarray, int]:
    """Weights and capacity in the coarsest whole numbers that lose nothing (or, past 2 m of odd figures,
    in micrometres rounded against the cutter)."""
    capacity = usable + kerf
    weights = [length + kerf for length in lengths]
    step = gcd(*weights)
    if capacity // step > 2**31:
        step = max(step, GRID_PER_METRE // COARSE_GRID_PER_METRE)
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


def _named(
    answer: Iterable[np.ndarray], lengths: Sequence[int], demands: Sequence[CutDemand], leftover: Leftover
) -> tuple[CutPattern, ...]:
    """Patterns with the names of the pieces; equal lengths are handed to the names in the order asked."""
    queues: dict[int, list[list]] = {length: [] for length in lengths}
    for demand in demands:
        queues[_grid(demand.length)].append([demand.name, demand.length, demand.quantity])
    alike: dict[tuple[int, ...], int] = {}
    for pattern in answer:
        key = tuple(pattern.tolist())
        alike[key] = alike.get(key, 0) + 1
    counted: dict[tuple[tuple[str, float, int], ...], list[int]] = {}
    for key, times in sorted(alike.items(), key=lambda item: (-item[1], [-n for n in item[0]])):
        offcut = leftover.offcut(np.array(key))
        for _ in range(times):
            pieces: list[tuple[str, float, int]] = []
            for length, number in zip(lengths, key, strict=True):
                while number:
                    queue = queues[length][0]
                    take = min(number, queue[2])
                    pieces.append((queue[0], queue[1], take))
                    queue[2] -= take
                    number -= take
                    if not queue[2]:
                        queues[length].pop(0)
            entry = counted.setdefault(tuple(pieces), [0, offcut])
            entry[0] += 1
    made = [CutPattern(pieces, count, _metres(offcut)) for pieces, (count, offcut) in counted.items()]
    return tuple(sorted(made, key=lambda pattern: -pattern.count))
