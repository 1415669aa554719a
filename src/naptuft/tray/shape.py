"""The shape of a paint tray: a deep well, a ramp up to the far end, drafted walls and a flat rim.

Depth is the least of a profile along the length and the planes of the two side walls, so areas and
volume are exact sums over straight pieces.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, tan


@dataclass(frozen=True)
class TrayShape:
    """A tray seen as a cavity below its rim. Lengths in metres, draft in radians from the vertical.

    length, width   over the rim; rim the flat edge all round
    well_depth      deepest; floor_length the flat floor there
    ramp_end_depth  depth where the ramp ends at the far wall
    draft           of every wall
    """

    length: float
    width: float
    rim: float
    well_depth: float
    floor_length: float
    ramp_end_depth: float
    draft: float

    @property
    def opening(self) -> tuple[float, float]:
        """Length and width inside the rim. [m]"""
        return self.length - 2 * self.rim, self.width - 2 * self.rim

    @property
    def footprint(self) -> float:
        """Area over the rim, as cut out. [m**2]"""
        return self.length * self.width

    def profile(self) -> tuple[tuple[float, float], ...]:
        """Depth along the length inside the rim: (distance, depth) where it bends. [m]

        >>> [(round(x, 3), y) for x, y in ROLLER_TRAY.profile()]
        [(0.0, 0.0), (0.011, 0.06), (0.101, 0.06), (0.308, 0.01), (0.31, 0.0)]
        """
        along = self.opening[0]
        slope = tan(self.draft)
        start = self.well_depth * slope
        return (
            (0.0, 0.0),
            (start, self.well_depth),
            (start + self.floor_length, self.well_depth),
            (along - self.ramp_end_depth * slope, self.ramp_end_depth),
            (along, 0.0),
        )

    def surface(self) -> float:
        """Area of the formed tray, rim included. [m**2]

        Sum over pieces of the profile: (w - (p0 + p1) tan(draft)) hypot(dx, dp) + (p0 + p1) dx / cos(draft).
        """
        across = self.opening[1]
        total = self.footprint - self.opening[0] * across
        for (x0, p0), (x1, p1) in _pieces(self.profile()):
            total += (across - (p0 + p1) * tan(self.draft)) * hypot(x1 - x0, p1 - p0)
            total += (p0 + p1) * (x1 - x0) / cos(self.draft)
        return total

    def volume(self) -> float:
        """What the tray holds to its rim. [m**3]

        Integral of p (w - p tan(draft)) along the length, exact for straight pieces.
        """
        across, slope = self.opening[1], tan(self.draft)
        return sum(
            (x1 - x0) * (across * (p0 + p1) / 2 - slope * (p0 * p0 + p0 * p1 + p1 * p1) / 3)
            for (x0, p0), (x1, p1) in _pieces(self.profile())
        )


def _pieces(points: tuple[tuple[float, float], ...]):
    return pairwise(points)


ROLLER_TRAY = TrayShape(0.33, 0.27, 0.010, 0.06, 0.09, 0.010, 0.1745)
