"""Trays on the sheet: how many across and along a shot, what the web weighs."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from naptuft.errors import DesignError, Fault


@dataclass(frozen=True)
class Layout:
    """Trays of one shot on the sheet. Lengths in metres.

    across, along     trays side by side and in the direction of travel
    piece_across      one tray across the sheet; piece_along one tray along it
    sheet_width       used; index what the sheet moves each shot
    gap               between trays; edge held each side; end margin of the index
    """

    across: int
    along: int
    piece_across: float
    piece_along: float
    sheet_width: float
    index: float
    gap: float
    edge: float

    @property
    def trays(self) -> int:
        """Trays a shot."""
        return self.across * self.along

    @property
    def sheet_area(self) -> float:
        """Sheet used by one shot. [m**2]"""
        return self.sheet_width * self.index

    @property
    def tray_area(self) -> float:
        """Sheet in the trays of one shot. [m**2]"""
        return self.trays * self.piece_across * self.piece_along

    @property
    def web_share(self) -> float:
        """Share of the sheet left as web."""
        return 1 - self.tray_area / self.sheet_area


def lay_out(
    piece: tuple[float, float], sheet_width: float, longest_index: float, gap: float, edge: float, turned: bool
) -> Layout:
    """As many trays as fit a sheet width and a mould length.

    piece          length and width of a tray [m]; turned True: its length lies across the sheet
    sheet_width    [m]; longest_index the mould's length along the sheet [m]
    gap            between trays, and once more between shots [m]; edge held on each side [m]
    Raises DesignError when not one tray fits.

    >>> layout = lay_out((0.33, 0.27), 0.62, 0.80, 0.010, 0.020, turned=False)
    >>> layout.across, layout.along, round(layout.index, 3), round(layout.web_share, 3)
    (2, 2, 0.68, 0.155)
    """
    along_size, across_size = reversed(piece) if turned else piece
    across = floor((sheet_width - 2 * edge + gap) / (across_size + gap) + 1e-9)
    along = floor(longest_index / (along_size + gap) + 1e-9)
    faults = []
    if across < 1:
        faults.append(
            Fault(
                "sheet width",
                f"{sheet_width * 1e3:g} mm",
                f"at least {(across_size + 2 * edge) * 1e3:g} mm for one tray and both edges",
                "use a wider sheet, turn the tray or hold less of the edge",
            )
        )
    if along < 1:
        faults.append(
            Fault(
                "mould length",
                f"{longest_index * 1e3:g} mm",
                f"at least {(along_size + gap) * 1e3:g} mm for one tray and its gap",
                "use a longer mould or turn the tray",
            )
        )
    if faults:
        raise DesignError(*faults)
    return Layout(across, along, across_size, along_size, sheet_width, along * (along_size + gap), gap, edge)


def best_layout(
    piece: tuple[float, float], sheet_width: float, longest_index: float, gap: float, edge: float
) -> tuple[Layout, bool]:
    """The way round that leaves the least web, and whether the tray is turned. Raises DesignError when none fits."""
    found: list[tuple[Layout, bool]] = []
    last: DesignError | None = None
    for turned in (False, True):
        try:
            found.append((lay_out(piece, sheet_width, longest_index, gap, edge, turned), turned))
        except DesignError as error:
            last = last or error
    if not found:
        assert last is not None
        raise last
    return min(found, key=lambda layout: layout[0].web_share)
