"""How much filling goes into a ferrule: cavity, centrepiece, packing, count and weight."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin, sqrt
from typing import Literal

from naptuft.brush.filament import section_area
from naptuft.errors import DesignError, Fault

Shape = Literal["flat", "oval", "round"]
SHAPES: tuple[Shape, ...] = ("flat", "oval", "round")

HEXAGONAL_PACKING = pi / (2 * sqrt(3))
"""Greatest packing of equal round filaments (Thue; Conway & Sloane, Sphere Packings, Lattices and Groups, ch. 1)."""

SQUARE_PACKING = pi / 4


@dataclass(frozen=True)
class Cavity:
    """Inside of a ferrule at the setting.

    shape      flat (two straight sides, round ends), oval (an ellipse) or round
    width      [m] greatest inside dimension; of a round ferrule, its diameter
    thickness  [m] least inside dimension; of a round ferrule, equal to the width

    Raises DesignError when the thickness exceeds the width, or differs from it in a round ferrule.

    >>> round(Cavity("flat", 0.050, 0.014).area * 1e6, 1)
    657.9
    """

    shape: Shape
    width: float
    thickness: float

    def __post_init__(self) -> None:
        if not 0 < self.thickness <= self.width:
            raise DesignError(
                Fault("thickness", self.thickness, f"above 0 and at most the width, {self.width:g} m", "swap the two")
            )
        if self.shape == "round" and self.thickness != self.width:
            raise DesignError(
                Fault("thickness", self.thickness, f"the width, {self.width:g} m", "leave it out for a round ferrule")
            )

    @property
    def area(self) -> float:
        """Area inside. [m**2] Flat: (w − t)t + πt²/4; oval and round: πwt/4."""
        if self.shape == "flat":
            return (self.width - self.thickness) * self.thickness + pi / 4 * self.thickness**2
        return pi / 4 * self.width * self.thickness

    @property
    def perimeter(self) -> float:
        """Length around the inside. [m] Flat: 2(w − t) + πt; oval by elliptic integral.

        >>> round(Cavity("oval", 0.020, 0.010).perimeter * 1e3, 4)
        48.4422
        """
        if self.shape == "flat":
            return 2 * (self.width - self.thickness) + pi * self.thickness
        return ellipse_perimeter(self.width / 2, self.thickness / 2)

    def outline(self, grow: float = 0.0, points: int = 96) -> list[tuple[float, float]]:
        """The edge, widened by `grow` [m] on every side, as points around the middle. [m]"""
        if self.shape == "flat":
            radius, half = self.thickness / 2 + grow, (self.width - self.thickness) / 2
            turn = [pi * i / (points // 2) for i in range(points // 2 + 1)]
            right = [(half + radius * sin(a), -radius * cos(a)) for a in turn]
            return right + [(-x, -y) for x, y in right]
        a, b = self.width / 2 + grow, self.thickness / 2 + grow
        return [(a * cos(2 * pi * i / points), b * sin(2 * pi * i / points)) for i in range(points)]


def ellipse_perimeter(a: float, b: float) -> float:
    """Length around an ellipse of half axes a >= b > 0. [m]

    4a·E(m), the complete elliptic integral by the arithmetic-geometric mean (full precision).
    Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 17.6.

    >>> round(ellipse_perimeter(1.0, 1.0) / pi, 12)
    2.0
    """
    mean, other, power, total = a, b, 0.5, a**2 - (a**2 - b**2) / 2
    while abs(mean - other) > 1e-15 * a:
        mean, other, gap = (mean + other) / 2, sqrt(mean * other), (mean - other) / 2
        power *= 2
        total -= power * gap**2
    return 2 * pi / mean * total


def open_area(cavity: Cavity, centrepiece_width: float, centrepiece_thickness: float, centrepieces: int) -> float:
    """Area left for the filling beside the centrepieces. [m**2]

    centrepieces stand side by side across the width, each centrepiece_width × centrepiece_thickness [m].
    Raises DesignError when they do not fit inside the cavity with filling all round.

    >>> round(open_area(Cavity("flat", 0.050, 0.014), 0.036, 0.004, 1) * 1e6, 1)
    513.9
    """
    if centrepieces == 0:
        return cavity.area
    faults = []
    if not 0 < centrepiece_thickness < cavity.thickness:
        faults.append(
            Fault(
                "centrepiece thickness",
                centrepiece_thickness,
                f"above 0 and below the cavity's {cavity.thickness:g} m",
                "choose a thinner centrepiece or a thicker ferrule",
            )
        )
    if not 0 < centrepiece_width * centrepieces < cavity.width:
        faults.append(
            Fault(
                "centrepiece width",
                centrepiece_width,
                f"above 0 and, times {centrepieces}, below the cavity's {cavity.width:g} m",
                "choose a narrower centrepiece or fewer of them",
            )
        )
    if faults:
        raise DesignError(*faults)
    left = cavity.area - centrepieces * centrepiece_width * centrepiece_thickness
    if left <= 0:
        raise DesignError(
            Fault(
                "centrepiece width",
                centrepiece_width,
                "centrepieces that leave room for filling",
                "choose smaller or fewer centrepieces",
            )
        )
    return left


def filament_count(area: float, packing: float, diameter: float) -> int:
    """Whole filaments in an open area at a packing. [1]

    packing × area over the circle around one butt, whatever the form of its section.
    area [m**2]; packing: filling area over open area, at most 0.9069; diameter [m].
    Raises DesignError when the packing is not above 0 or exceeds the hexagonal limit.

    >>> filament_count(514e-6, 0.62, 0.2e-3)
    10143
    """
    if not 0 < packing <= HEXAGONAL_PACKING:
        raise DesignError(
            Fault(
                "packing",
                packing,
                f"above 0 and at most {HEXAGONAL_PACKING:.4f}, the hexagonal limit",
                "round filaments cannot be packed tighter: lower it",
            )
        )
    return int(packing * area / section_area(diameter))


def fill_weight(count: int, filament_volume: float, density: float) -> float:
    """Mass of the filling of one brush. [kg]

    count filaments of filament_volume [m**3] and density [kg/m**3].

    >>> round(fill_weight(10000, 1.7e-9, 1310) * 1e3, 2)
    22.27
    """
    return count * filament_volume * density
