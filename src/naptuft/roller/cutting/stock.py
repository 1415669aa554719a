"""Stock pieces as they lie in the rack: lengths, numbers, prices and spoiled spans, and what can be cut from them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import isfinite

from naptuft.errors import Fault

GRID_PER_METRE = 10**9


def on_grid(metres: float) -> int:
    """A length in whole steps of the grid, fine enough for inches in 128ths and tenths of a micrometre.

    >>> on_grid(0.0254), on_grid(0.19)
    (25400000, 190000000)
    """
    return round(metres * GRID_PER_METRE)


def in_metres(steps: int) -> float:
    """Grid steps as a length. [m]

    >>> in_metres(25400000)
    0.0254
    """
    return steps / GRID_PER_METRE


@dataclass(frozen=True)
class StockPiece:
    """Stock pieces of one sort: whole, or all spoiled in the same places.

    name       what it is called
    length     [m]
    available  how many there are; None: as many as wanted
    price      of one, in any money; None: not known
    spoiled    (from, to) along the piece [m]: nothing may be cut there
    """

    name: str
    length: float
    available: int | None = None
    price: Decimal | None = None
    spoiled: tuple[tuple[float, float], ...] = ()

    def stretches(self, end_trim: float, kerf: float) -> tuple[tuple[int, int], ...]:
        """The sound stretches between trims and spoiled spans, (from, to) in grid steps.

        The saw cut at the edge of a spoiled span is made in the span; one narrower than the saw cut is widened to it.

        >>> StockPiece("tube", 1.0, spoiled=((0.4, 0.45),)).stretches(0.01, 0.002)
        ((10000000, 400000000), (450000000, 990000000))
        """
        start, end, saw = on_grid(end_trim), on_grid(self.length) - on_grid(end_trim), on_grid(kerf)
        found = []
        for low, high in sorted((on_grid(low), on_grid(high)) for low, high in self.spoiled):
            wider = max(0, saw - (high - low))
            edge, after = low - wider // 2, high + wider - wider // 2
            if min(edge, end) > start:
                found.append((start, min(edge, end)))
            start = max(start, after)
        if end > start:
            found.append((start, end))
        return tuple(found)


def stock_faults(piece: StockPiece, place: str) -> list[Fault]:
    """What is wrong with a sort of stock piece."""
    faults = []
    if not isfinite(piece.length) or piece.length <= 0:
        faults.append(Fault(f"{place}, length", piece.length, "a length above 0 m", "give the length of a stock piece"))
    if piece.available is not None and (piece.available < 0 or piece.available != int(piece.available)):
        faults.append(
            Fault(f"{place}, available", piece.available, "a whole number of at least 0", "correct the number in stock")
        )
    if piece.price is not None and not (piece.price.is_finite() and 0 <= piece.price <= 10**6):
        faults.append(Fault(f"{place}, price", piece.price, "a price from 0 to 1,000,000", "correct the price"))
    faults += [
        Fault(
            f"{place}, spoiled",
            f"{low * 1e3:g} to {high * 1e3:g} mm",
            f"from 0 to {piece.length * 1e3:g} mm, the lesser first",
            "measure it from the left end of the piece",
        )
        for low, high in piece.spoiled
        if not (isfinite(low) and isfinite(high) and 0 <= low < high <= piece.length)
    ]
    return faults
