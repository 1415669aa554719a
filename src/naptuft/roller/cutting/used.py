"""What becomes of the stock a cut list uses: pieces, leftovers that go back to stock, and waste."""

from __future__ import annotations

from abc import ABC, abstractmethod

from naptuft.roller.cutting.stock import in_metres, on_grid


class Used(ABC):
    """Totals of a list that tells its pieces, its stock and its offcuts.

    >>> from naptuft.roller.cutting import CutDemand, cut_list
    >>> made = cut_list(3.0, [CutDemand("refill", 1.0, 2)], kerf=0.01, min_offcut=0.5)
    >>> round(made.offcut_length, 6), round(made.waste, 6), round(made.yield_share, 4)
    (0.98, 0.02, 0.9901)
    """

    @property
    @abstractmethod
    def pieces_length(self) -> float:
        """Length of all pieces cut. [m]"""

    @property
    @abstractmethod
    def stock_used(self) -> float:
        """Length of all stock pieces used. [m]"""

    @property
    @abstractmethod
    def offcuts(self) -> tuple[tuple[float, int], ...]:
        """Leftovers long enough to keep: (length [m], how many), longest first."""

    @property
    def offcut_length(self) -> float:
        """Length of all leftovers that go back to stock. [m]"""
        return in_metres(sum(on_grid(length) * number for length, number in self.offcuts))

    @property
    def waste(self) -> float:
        """Length that is neither piece nor kept leftover: trim, saw cuts, spoiled spans and short ends. [m]"""
        return in_metres(on_grid(self.stock_used) - on_grid(self.pieces_length) - on_grid(self.offcut_length))

    @property
    def yield_share(self) -> float:
        """Length of pieces over length of stock used, kept leftovers taken back."""
        used = self.stock_used - self.offcut_length
        return self.pieces_length / used if used else 0.0
