"""The wall of a whole tray: tapered well, ramp and end walls, place by place, and its thinnest corner."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import tan

from naptuft.tray.profile import Laid, laid_sheet
from naptuft.tray.shape import TrayShape

DEPTHS = 6
SHALLOW = 0.02
MAP_SOURCE = "drawn lengthways and across in turn, each as a sheet that freezes where it touches; scaled to its volume"


@dataclass(frozen=True)
class Across:
    """The section across the tray where it is a given depth: what lies on half of it, rim to middle.

    depth   [m]
    laid    stretches from the rim to the middle line
    bottom, sides  share summed over the length of the whole section, bottom and both sides [m]
    """

    depth: float
    laid: tuple[Laid, ...]
    bottom: float
    sides: float

    @property
    def corner(self) -> float:
        """Least share left anywhere on the section, in the corner between side and bottom."""
        return min((piece.share for piece in self.laid), default=1.0)

    @property
    def middle(self) -> float:
        """Share left on the middle line."""
        return self.laid[-1].share if self.laid else 1.0

    @property
    def side(self) -> float:
        """Share left half way down the side."""
        walls = [piece for piece in self.laid if piece.depth < self.depth * (1 - 1e-9)]
        return min(walls, key=lambda piece: abs(piece.depth - self.depth / 2)).share if walls else 1.0


@dataclass(frozen=True)
class Place:
    """One place of the map: along and across from the rim's inner corner [m], its wall as a share of the sheet."""

    name: str
    along: float
    across: float
    share: float


@dataclass(frozen=True)
class WallMap:
    """Share of the sheet's thickness left all over a tray.

    lengthways  what lies along the middle line, from the rim at the deep end to the rim at the ramp's end
    crossways   sections across, from shallow to deep
    scale       factor that makes the sheet's volume come out; near 1
    """

    shape: TrayShape
    lengthways: tuple[Laid, ...]
    crossways: tuple[Across, ...]
    scale: float

    def at(self, along: float) -> tuple[Laid, Across]:
        """What lies lengthways at a distance along the tray, and the section across of the depth there."""
        piece = min(self.lengthways, key=lambda laid: abs(laid.reach - along))
        return piece, min(self.crossways, key=lambda across: abs(across.depth - piece.depth))

    @property
    def corner(self) -> Place:
        """The thinnest place: where the end wall, the side and the bottom of the well meet."""
        piece = min(self.lengthways, key=lambda laid: laid.share * self._least(laid.depth))
        inset = piece.depth * tan(self.shape.draft)
        return Place("corner", piece.reach, inset, self.scale * piece.share * self._least(piece.depth))

    def between(self, depth: float, values: list[float]) -> float:
        """A value of the sections across, given for each of them, at a depth."""
        return _between(self.crossways, depth, values)

    def _least(self, depth: float) -> float:
        return self.between(depth, [across.corner for across in self.crossways])

    def places(self) -> tuple[Place, ...]:
        """Places worth a figure: middle line, bottom corner and side at stations along the tray."""
        points = self.shape.profile()
        (_, _), (start, _), (end, _), (ramp, _), (along, _) = points
        stations = [("end wall", start / 2), ("well", (start + end) / 2)]
        stations += [(f"ramp, {words}", end + part * (ramp - end)) for words, part in RAMP_PARTS]
        if points[3][1] > SHALLOW * self.shape.well_depth:
            stations.append(("far wall", (ramp + along) / 2))
        half, slope = self.shape.opening[1] / 2, tan(self.shape.draft)
        found = []
        for words, x in stations:
            piece, _ = self.at(x)
            base = self.scale * piece.share
            shares = (
                ("middle", half, [across.middle for across in self.crossways]),
                ("bottom corner", piece.depth * slope, [across.corner for across in self.crossways]),
                ("side", piece.depth * slope / 2, [across.side for across in self.crossways]),
            )
            found += [
                Place(f"{words}, {name}", x, across, min(1.0, base * self.between(piece.depth, values)))
                for name, across, values in shares
            ]
        return tuple(found)


RAMP_PARTS = (("a quarter up", 0.25), ("half way up", 0.5), ("three quarters up", 0.75))


@lru_cache(maxsize=64)
def wall_map(shape: TrayShape, radius: float, stretches: int = 72) -> WallMap:
    """Walls of a tray drawn into a female mould, as shares of the sheet's thickness.

    radius  of the inner corners [m]; stretches how finely each profile is divided
    Raises DesignError when the walls meet above the bottom or the profile is not convex.
    Source: volume balance in plane strain, lengthways times across, scaled so that the sheet's volume stays.

    >>> from naptuft.tray.shape import ROLLER_TRAY
    >>> walls = wall_map(ROLLER_TRAY, 0.006)
    >>> 0.1 < walls.corner.share < 0.3, 0.8 < walls.scale < 1.2
    (True, True)
    """
    along, across = shape.opening
    profile = [point for point in shape.profile() if point[1] > 0 or point[0] in (0.0, along)]
    lengthways = laid_sheet(profile, radius, stretches)
    deepest = shape.well_depth
    crossways = tuple(
        _section(across, deepest * (SHALLOW + (1 - SHALLOW) * k / (DEPTHS - 1)), shape.draft, radius, stretches)
        for k in range(DEPTHS)
    )
    bottom, sides = [each.bottom for each in crossways], [each.sides for each in crossways]
    total = 0.0
    for piece, step in zip(lengthways, _steps(lengthways, profile), strict=True):
        flat = _between(crossways, piece.depth, bottom)
        walls = _between(crossways, piece.depth, sides)
        total += piece.share * (piece.length * flat + step * walls)
    return WallMap(shape, lengthways, crossways, along * across / total)


def _steps(lengthways: tuple[Laid, ...], profile: list[tuple[float, float]]) -> list[float]:
    """How far each stretch goes along, level."""
    steps = []
    for piece in lengthways:
        (x0, y0), (x1, y1) = next((a, b) for a, b in pairwise(profile) if a[0] <= piece.reach <= b[0])
        slant = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        steps.append(piece.length * (x1 - x0) / slant)
    return steps


def _section(width: float, depth: float, draft: float, radius: float, stretches: int) -> Across:
    inset = depth * tan(draft)
    laid = laid_sheet([(0.0, 0.0), (inset, depth), (width - inset, depth), (width, 0.0)], radius, stretches)
    half = tuple(piece for piece in laid if piece.reach <= width / 2 * (1 + 1e-9))
    bottom = sum(piece.length * piece.share for piece in laid if piece.depth > depth * (1 - 1e-9))
    sides = sum(piece.length * piece.share for piece in laid if piece.depth <= depth * (1 - 1e-9))
    return Across(depth, half, bottom, sides)


def _between(crossways: tuple[Across, ...], depth: float, values: list[float]) -> float:
    """A value of the sections at a depth, straight between those next to it."""
    depths = [across.depth for across in crossways]
    if depth <= depths[0]:
        return values[0]
    for k in range(1, len(depths)):
        if depth <= depths[k]:
            part = (depth - depths[k - 1]) / (depths[k] - depths[k - 1])
            return values[k - 1] + part * (values[k] - values[k - 1])
    return values[-1]
