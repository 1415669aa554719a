"""What is asked of a cut list and what it answers; lengths balance to the last digit.

A stock piece loses `end_trim` at each end. A saw cut of `kerf` parts neighbours, and one more parts the last
piece from an offcut. Inside, all lengths are whole numbers on a grid fine enough for inches in
128ths and for tenths of a micrometre.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from naptuft.errors import DesignError, Fault
from naptuft.roller.cutting.stock import in_metres, on_grid
from naptuft.roller.cutting.used import Used

if TYPE_CHECKING:
    from naptuft.roller.cutting.fewest import GridCut, GridPattern


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
class CutList(Used):
    """How to cut a demand from stock of one length.

    stock_length, kerf, end_trim, min_offcut   as asked [m]
    rolls           stock pieces used
    lower_bound     stock pieces proven to be needed
    proven_optimal  True only when the two are equal
    patterns        most used first
    status          "optimal", "stopped at the work limit", "stopped at the time limit" or
                    "few patterns at the price of more stock"
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
        return in_metres(sum(p.count * sum(on_grid(length) * n for _, length, n in p.pieces) for p in self.patterns))

    @property
    def stock_used(self) -> float:
        """Length of all stock pieces used. [m]"""
        return in_metres(on_grid(self.stock_length) * self.rolls)

    @property
    def offcuts(self) -> tuple[tuple[float, int], ...]:
        """Offcuts long enough to keep: (length [m], how many), longest first."""
        kept: dict[float, int] = {}
        for pattern in self.patterns:
            if pattern.offcut > 0 and pattern.offcut >= self.min_offcut:
                kept[pattern.offcut] = kept.get(pattern.offcut, 0) + pattern.count
        return tuple(sorted(kept.items(), reverse=True))


def cut_list(
    stock_length: float,
    demands: Sequence[CutDemand],
    *,
    kerf: float = 0.0,
    end_trim: float = 0.0,
    min_offcut: float = 0.0,
    most_patterns: int | None = None,
    tidy: bool = True,
    nodes: int = 400,
    seconds: float = 10.0,
) -> CutList:
    """Cut the demand from as few stock pieces as can be; then few patterns, then most useful leftover.

    stock_length  [m]
    demands       pieces wanted; equal lengths are cut together
    kerf          width of the saw or knife cut [m]
    end_trim      lost at each end of every stock piece, its own cut included [m]
    min_offcut    shortest leftover worth keeping [m]
    most_patterns different patterns wanted at most, if need be at the price of more stock pieces; where no such
                  list is found, the one with the fewest found is given
    tidy          False: stop at the fewest stock pieces, without looking for few patterns and useful leftover
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
        wanted[on_grid(demand.length)] = wanted.get(on_grid(demand.length), 0) + demand.quantity
    lengths = sorted(wanted, reverse=True)
    cut = cut_on_grid(
        lengths=lengths,
        quantities=[wanted[length] for length in lengths],
        usable=on_grid(stock_length) - 2 * on_grid(end_trim),
        kerf=on_grid(kerf),
        kept=on_grid(min_offcut),
        nodes=nodes,
        seconds=seconds,
        tidy=tidy,
        most_patterns=most_patterns,
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
        status=_status(cut, most_patterns),
        fewest_patterns_proven=cut.fewest_proven,
    )


def _status(cut: GridCut, most_patterns: int | None) -> str:
    if cut.rolls == cut.bound:
        return "optimal"
    if cut.out_of_time:
        return "stopped at the time limit"
    return "stopped at the work limit" if most_patterns is None else "few patterns at the price of more stock"


def _refuse(stock_length: float, demands: Sequence[CutDemand], kerf: float, end_trim: float, min_offcut: float) -> None:
    faults = []
    if not isfinite(stock_length) or stock_length <= 0:
        raise DesignError(Fault("stock length", stock_length, "a length above 0 m", "give the length of a stock piece"))
    for label, value in (("kerf", kerf), ("end trim", end_trim), ("shortest offcut kept", min_offcut)):
        if not isfinite(value) or value < 0:
            faults.append(Fault(label, value, "a length of at least 0 m", f"give the {label} as a length"))
    if not faults and stock_length - 2 * end_trim <= 0:
        faults.append(
            Fault("end trim", end_trim, f"below {stock_length / 2:g} m", "nothing is left of the stock: trim less")
        )
    faults += demand_faults(demands, None if faults else on_grid(stock_length) - 2 * on_grid(end_trim))
    if faults:
        raise DesignError(*faults)


def demand_faults(demands: Sequence[CutDemand], longest: int | None) -> list[Fault]:
    """What is wrong with the pieces wanted; longest: the most a piece may measure, in grid steps, where known."""
    if not demands:
        return [Fault("pieces", 0, "at least one length", "give a length and a quantity")]
    faults = []
    for row, demand in enumerate(demands, start=1):
        place = f"pieces, row {row} ({demand.name})"
        if not isfinite(demand.length) or demand.length <= 0:
            faults.append(Fault(f"{place}, length", demand.length, "a length above 0 m", "correct the length"))
        elif longest is not None and on_grid(demand.length) > longest:
            most = f"at most {in_metres(longest):g} m"
            faults.append(Fault(f"{place}, length", demand.length, most, "use longer stock or trim less"))
        if demand.quantity < 1 or demand.quantity != int(demand.quantity):
            faults.append(
                Fault(f"{place}, quantity", demand.quantity, "a whole number of at least 1", "correct the quantity")
            )
    return faults


def names_waiting(demands: Sequence[CutDemand]) -> dict[int, list[list]]:
    """For each length in grid steps, [name, length, pieces still to name] in the order asked."""
    queues: dict[int, list[list]] = {}
    for demand in demands:
        queues.setdefault(on_grid(demand.length), []).append([demand.name, demand.length, demand.quantity])
    return queues


def handed_out(
    lengths: Sequence[int], numbers: Sequence[int], count: int, queues: dict[int, list[list]]
) -> Iterator[tuple[list[list[tuple[str, float, int]]], int]]:
    """Name the pieces of a pattern cut `count` times, taking names off the queues.

    Yields runs of stock pieces with the same names: for each length (name, length [m], how many in one), and how many
    stock pieces are named so.

    >>> waiting = names_waiting([CutDemand("blue", 0.3, 4), CutDemand("green", 0.3, 5)])
    >>> [(shares[0], run) for shares, run in handed_out([300_000_000], [3], 3, waiting)]
    [([('blue', 0.3, 3)], 1), ([('blue', 0.3, 1), ('green', 0.3, 2)], 1), ([('green', 0.3, 3)], 1)]
    """
    while count:
        shares: list[list[tuple[str, float, int]]] = []
        run, taken = count, []
        for length, number in zip(lengths, numbers, strict=True):
            share = []
            for entry in queues[length]:
                take = min(number, entry[2])
                if take:
                    share.append((entry[0], entry[1], take))
                    taken.append((entry, take))
                    number -= take
            shares.append(share)
        for entry, take in taken:
            run = min(run, entry[2] // take)
        for entry, take in taken:
            entry[2] -= run * take
        count -= run
        yield shares, run


def _named(
    patterns: Sequence[GridPattern], lengths: Sequence[int], demands: Sequence[CutDemand]
) -> tuple[CutPattern, ...]:
    """Patterns with the names of the pieces; equal lengths are handed to the names in the order asked."""
    queues = names_waiting(demands)
    made: dict[tuple[tuple[tuple[str, float, int], ...], int], int] = {}
    for pattern in patterns:
        for shares, run in handed_out(lengths, pattern.pieces, pattern.count, queues):
            key = (tuple(share for each in shares for share in each), pattern.offcut)
            made[key] = made.get(key, 0) + run
    named = [CutPattern(pieces, count, in_metres(offcut)) for (pieces, offcut), count in made.items()]
    return tuple(sorted(named, key=lambda pattern: -pattern.count))
