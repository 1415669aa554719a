"""The shape of a handle: how wide and thick it is along its length, and what follows from that.

Stations run from the end that enters the ferrule (x = 0) to the rounded butt (x = length). The section
is an ellipse (oval), a full round or a rectangle with rounded edges (flat).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, pi, sqrt
from typing import Literal

Section = Literal["oval", "round", "flat"]
STEPS = 240


@dataclass(frozen=True)
class HandleShape:
    """Outside shape of a handle. All lengths in metres.

    length       over all
    head_width   width where it enters the ferrule; head_depth the thickness there
    head_length  length inside the ferrule
    neck_width   narrowest width; grip_width the widest behind it
    grip_depth   greatest thickness
    section      oval, round (thickness = width) or flat
    """

    length: float
    head_width: float
    head_depth: float
    head_length: float
    neck_width: float
    grip_width: float
    grip_depth: float
    section: Section

    def width(self, x: float) -> float:
        """Width at a station x from the ferrule end. [m]

        >>> round(BEAVER_TAIL.width(0.0), 4), BEAVER_TAIL.width(BEAVER_TAIL.length)
        (0.048, 0.0)
        """
        return self._along(x, self.head_width, self.neck_width, self.grip_width)

    def depth(self, x: float) -> float:
        """Thickness at a station x from the ferrule end. [m]"""
        if self.section == "round":
            return self.width(x)
        return self._along(x, self.head_depth, (self.head_depth + self.grip_depth) / 2, self.grip_depth)

    def _along(self, x: float, head: float, neck: float, grip: float) -> float:
        neck_at = self.head_length + 0.45 * (self.length - self.head_length)
        grip_at = self.head_length + 0.78 * (self.length - self.head_length)
        if x <= self.head_length:
            return head
        if x <= neck_at:
            return _blend(head, neck, (x - self.head_length) / (neck_at - self.head_length))
        if x <= grip_at:
            return _blend(neck, grip, (x - neck_at) / (grip_at - neck_at))
        share = min(1.0, (x - grip_at) / (self.length - grip_at))
        return grip * sqrt(max(0.0, 1 - share * share))

    def section_area(self, x: float) -> float:
        """Area of the section at a station. [m**2]"""
        return section_area(self.width(x), self.depth(x), self.section)

    def perimeter(self, x: float) -> float:
        """Girth of the section at a station. [m]"""
        return section_perimeter(self.width(x), self.depth(x), self.section)

    def volume(self) -> float:
        """Volume of the solid handle. [m**3]

        Simpson's rule over the section areas.

        >>> 40e-6 < BEAVER_TAIL.volume() < 60e-6
        True
        """
        return _integral(self.section_area, 0.0, self.length)

    def surface(self, start: float = 0.0) -> float:
        """Outer surface from a station to the butt, the end face of the head left out. [m**2]

        Integral of the girth along the axis; the slope of the profile is left out (under 3 % for handles).
        """
        return _integral(self.perimeter, start, self.length)

    def projected_area(self) -> float:
        """Area seen in the direction the mould opens: length times width. [m**2]"""
        return _integral(self.width, 0.0, self.length)

    def thickest(self) -> tuple[float, float]:
        """Thickness and width of the section that cools last, where the thickness is greatest. [m]"""
        stations = [self.length * k / STEPS for k in range(STEPS + 1)]
        at = max(stations, key=lambda x: (min(self.depth(x), self.width(x)), self.width(x)))
        return min(self.depth(at), self.width(at)), max(self.depth(at), self.width(at))


BEAVER_TAIL = HandleShape(0.150, 0.048, 0.014, 0.018, 0.022, 0.034, 0.018, "oval")


def section_area(width: float, depth: float, section: Section) -> float:
    """Area of an oval, round or flat section. [m**2]

    pi w d / 4; flat: w d less the corners of a half-depth rounding on each edge, w d - (1 - pi/4) d**2.

    >>> round(section_area(0.02, 0.02, "round") * 1e6, 2)
    314.16
    """
    if section == "flat":
        edge = min(width, depth)
        return width * depth - (1 - pi / 4) * edge**2
    return pi * width * depth / 4


def section_perimeter(width: float, depth: float, section: Section) -> float:
    """Girth of an oval, round or flat section. [m]

    Ellipse after Ramanujan: pi (3 (a + b) - sqrt((3 a + b)(a + 3 b))), half axes a and b.
    Source: Ramanujan, Quarterly Journal of Mathematics 45 (1914) 350 (from memory).

    >>> round(section_perimeter(0.02, 0.02, "round") * 1e3, 3)
    62.832
    """
    if section == "flat":
        edge = min(width, depth)
        return 2 * (max(width, depth) - edge) + pi * edge
    a, b = width / 2, depth / 2
    return pi * (3 * (a + b) - sqrt((3 * a + b) * (a + 3 * b)))


def _blend(start: float, end: float, share: float) -> float:
    return start + (end - start) * (1 - cos(pi * share)) / 2


def _integral(of: Callable[[float], float], start: float, end: float) -> float:
    step = (end - start) / STEPS
    inner = sum((4 if k % 2 else 2) * of(start + k * step) for k in range(1, STEPS))
    return step / 3 * (of(start) + inner + of(end))
