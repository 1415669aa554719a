"""A sheet drawn into a profile of any convex shape: it bulges as arcs, freezes where it touches, and thins on.

Every free stretch is an arc of one radius between the places where the sheet already lies on the mould, or is
clamped at the rim. As the radius shrinks the arc meets one place of the mould after another: the largest radius
that does is that of the circle which touches the mould there and, within the mould, one other place or the rim.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import asin, atan2, cos, hypot, pi, sin

from naptuft.errors import DesignError, Fault

Point = tuple[float, float]
TINY = 1e-12
SOURCE = "sheet that freezes where it touches, volume balance in plane strain, arcs of one radius; as Crawford's cone"


@dataclass(frozen=True)
class Laid:
    """One stretch of the mould's profile and what lies on it.

    reach, depth  middle of the stretch: distance from the first rim point, and below the rim [m]
    length        along the profile [m]
    share         of the sheet's thickness that is left there
    free          True where the sheet never touched: it spans the corner as a fillet
    """

    reach: float
    depth: float
    length: float
    share: float
    free: bool = False


@dataclass(frozen=True)
class _Spot:
    at: Point
    begin: Point
    end: Point
    length: float
    touch: float


def laid_sheet(profile: Sequence[Point], radius: float, stretches: int = 160) -> tuple[Laid, ...]:
    """Share of the thickness left along a profile, from the first rim point to the last.

    profile    (distance, depth) where it bends, convex, the first and the last point at the rim [m]
    radius     of the finished inner corners [m]
    stretches  how finely the profile is divided
    Raises DesignError when the profile is not convex or has no depth.
    Source: volume balance in plane strain.

    >>> walls = laid_sheet([(0.0, 0.0), (0.011, 0.06), (0.229, 0.06), (0.24, 0.0)], 0.006)
    >>> round(sum(w.length * w.share for w in walls if not w.free) / 0.24, 1), min(w.share for w in walls) < 0.5
    (1.0, True)
    """
    spots = _spots(profile, stretches)
    first, last = profile[0], profile[-1]
    shares: list[float | None] = [None] * len(spots)
    order = sorted(range(len(spots)), key=lambda k: -spots[k].touch)
    whole = hypot(last[0] - first[0], last[1] - first[1])
    regions: dict[int, tuple[int, int, float]] = {0: (0, len(spots) - 1, whole)}
    starts = [0]

    for k in order:
        if spots[k].touch < radius:
            break
        start = starts[bisect_right(starts, k) - 1]
        low, high, mass = regions.pop(start)
        starts.remove(start)
        spot, touch = spots[k], spots[k].touch
        share = min(1.0, mass / max(_arc(spots[low].begin, spots[high].end, touch), TINY))
        left = mass - share * spot.length
        shares[k] = share
        before = _arc(spots[low].begin, spot.begin, touch) if k > low else 0.0
        after = _arc(spot.end, spots[high].end, touch) if k < high else 0.0
        for span, (a, b) in ((before, (low, k - 1)), (after, (k + 1, high))):
            if a <= b:
                regions[a] = (a, b, max(0.0, left) * span / max(before + after, TINY))
                insort(starts, a)
    fillets = {}
    for low, high, mass in regions.values():
        span = _arc(spots[low].begin, spots[high].end, radius)
        for k in range(low, high + 1):
            fillets[k] = min(1.0, mass / max(span, TINY))
    return tuple(
        Laid(spot.at[0] - first[0], spot.at[1], spot.length, fillets[k] if share is None else share, share is None)
        for k, (spot, share) in enumerate(zip(spots, shares, strict=True))
    )


def _arc(start: Point, end: Point, radius: float) -> float:
    """Length of the arc of a radius between two points, at most a half circle. [m]"""
    chord = hypot(end[0] - start[0], end[1] - start[1])
    return 2 * radius * asin(min(1.0, chord / (2 * radius)))


def _spots(profile: Sequence[Point], stretches: int) -> list[_Spot]:
    faces = [(a, b) for a, b in pairwise(profile) if hypot(b[0] - a[0], b[1] - a[1]) > TINY]
    turns = [atan2(b[1] - a[1], b[0] - a[0]) for a, b in faces]
    if max(depth for _, depth in profile) <= 0 or any(after > before + 1e-9 for before, after in pairwise(turns)):
        raise DesignError(
            Fault(
                "profile",
                tuple(profile),
                "a convex hollow below the rim",
                "let the walls lean out and the ramp rise towards the rim",
            )
        )
    whole = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in faces)
    spots = []
    for (a, b), turn in zip(faces, turns, strict=True):
        length = hypot(b[0] - a[0], b[1] - a[1])
        count = max(6, round(stretches * length / whole))
        inward = (sin(turn), -cos(turn))
        edges = [(1 - cos(pi * k / count)) / 2 for k in range(count + 1)]
        for low, high in pairwise(edges):
            begin, at, end = (
                (a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])) for part in (low, (low + high) / 2, high)
            )
            touch = _touch(at, inward, faces, profile[0], profile[-1])
            spots.append(_Spot(at, begin, end, length * (high - low), touch))
    return spots


def _touch(at: Point, inward: Point, faces: Sequence[tuple[Point, Point]], first: Point, last: Point) -> float:
    """Radius of the largest circle that touches the profile at a point and stays clear of it and of the rim."""
    largest = float("inf")
    for rim in (first, last):
        away = (at[0] - rim[0], at[1] - rim[1])
        toward = inward[0] * away[0] + inward[1] * away[1]
        if toward < -TINY:
            largest = min(largest, (away[0] ** 2 + away[1] ** 2) / (-2 * toward))
    for a, b in faces:
        length = hypot(b[0] - a[0], b[1] - a[1])
        along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
        normal = (along[1], -along[0])
        gap = (at[0] - a[0]) * normal[0] + (at[1] - a[1]) * normal[1]
        lean = inward[0] * normal[0] + inward[1] * normal[1]
        if gap <= TINY or lean > 1 - TINY:
            continue
        radius = gap / (1 - lean)
        foot = (
            at[0] + radius * (inward[0] - normal[0]),
            at[1] + radius * (inward[1] - normal[1]),
        )
        place = (foot[0] - a[0]) * along[0] + (foot[1] - a[1]) * along[1]
        if -TINY <= place <= length + TINY:
            largest = min(largest, radius)
    return largest
