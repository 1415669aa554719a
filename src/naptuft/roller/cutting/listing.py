"""What is asked of a cut list and what it answers; lengths balance to the last digit.

A stock piece loses `end_trim` at each end. A saw cut of `kerf` parts neighbours, and one more parts the last
piece from an offcut. Inside, all lengths are whole numbers on a grid fine enough for inches in
128ths and for tenths of a micrometre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from naptuft.errors import DesignError, Fault

if TYPE_CHECKING:
    from naptuft.roller.cutting.fewest import GridPattern

GRID_PER_METRE = 10**9


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
    from naptuft.roller.cutting.fewest import cut_on_grid

    wanted: dict[int, int] = {}
    for demand in demands:
        wanted[_grid(demand.length)] = wanted.get(_grid(demand.length), 0) + demand.quantity
    lengths = sorted(wanted, reverse=True)
    cut = cut_on_grid(
        lengths=lengths,
        quantities=[wanted[length] for length in lengths],
        usable=_grid(stock_length) - 2 * _grid(end_trim),
        kerf=_grid(kerf),
        kept=_grid(min_offcut),
        nodes=nodes,
        seconds=seconds,
    )
    proven = cut.rolls == cut.bound
    return CutList(
        stock_length=stock_length,
        kerf=kerf,
        end_trim=end_trim,
        min_offcut=min_offcut,
        rolls=cut.rolls,
        lower_bound=cut.bound,
        proven_optimal=proven,
        patterns=_named(cut.patterns, lengths, demands),
        status="optimal" if proven else f"stopped at the {'time' if cut.out_of_time else 'work'} limit",
        fewest_patterns_proven=cut.fewest_proven,
    )


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


def _named(
    patterns: Sequence[GridPattern], lengths: Sequence[int], demands: Sequence[CutDemand]
) -> tuple[CutPattern, ...]:
    """Patterns with the names of the pieces; equal lengths are handed to the names in the order asked."""
    queues: dict[int, list[list]] = {length: [] for length in lengths}
    for demand in demands:
        queues[_grid(demand.length)].append([demand.name, demand.length, demand.quantity])
    made: dict[tuple[tuple[tuple[str, float, int], ...], int], int] = {}
    for pattern in patterns:
        left = pattern.count
        while left:
            pieces: list[tuple[str, float, int]] = []
            run = left
            taken: list[tuple[list, int]] = []
            for length, number in zip(lengths, pattern.pieces, strict=True):
                for entry in queues[length]:
                    if not number:
                        break
                    take = min(number, entry[2])
                    if take:
                        pieces.append((entry[0], entry[1], take))
                        taken.append((entry, take))
                        number -= take
            for entry, take in taken:
                run = min(run, entry[2] // take)
            for entry, take in taken:
                entry[2] -= run * take
            key = (tuple(pieces), pattern.offcut)
            made[key] = made.get(key, 0) + run
            left -= run
    named = [CutPattern(pieces, count, _metres(offcut)) for (pieces, offcut), count in made.items()]
    return tuple(sorted(named, key=lambda pattern: -pattern.count))
