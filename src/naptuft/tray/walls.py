"""Wall of a formed tray from place to place: across the well and along the end wall."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, exp, log, sin, tan

from naptuft.tray.forming import corner_wall, floor_corner_factor, spread_rate, trough_wall


@dataclass(frozen=True)
class WallPoint:
    """One place on the section, from the rim to the middle of the floor.

    place      in words; reach the distance from the rim's inner edge towards the middle [m]
    depth      below the rim [m]; share of the sheet's thickness that is left
    """

    place: str
    reach: float
    depth: float
    share: float


def section_walls(half_width: float, depth: float, wall_angle: float, radius: float) -> tuple[WallPoint, ...]:
    """Share of the thickness left at places on half a trough's section, from the rim to the middle.

    half_width of the opening [m]; depth [m]; wall_angle from the plane of the sheet [rad]; corner radius [m]
    Raises DesignError when the walls meet above the floor.
    Source: volume balance in plane strain, as floor_corner_factor.

    >>> [(p.place, round(p.share, 2)) for p in section_walls(0.12, 0.06, 1.396, 0.006)][::4]
    [('wall at the rim', 0.79), ('floor, middle', 0.86)]
    """
    corner = floor_corner_factor(half_width, depth, wall_angle, radius)
    corner_at = depth / tan(wall_angle)
    if half_width * tan(wall_angle / 2) >= depth:
        start = 2 * atan2(depth, half_width)
        middle = sin(start) / start
        last = depth / tan(wall_angle / 2)
        edge = _spread_share(half_width, last, depth, middle)
        wall, halfway = edge, corner_wall(edge, 1.0, 0.5, wall_angle)
        quarter = _spread_share(half_width, (half_width + last) / 2, depth, middle)
        floor = (
            WallPoint("floor, a quarter in", corner_at + (half_width - corner_at) / 2, depth, quarter),
            WallPoint("floor, middle", half_width, depth, middle),
        )
    else:
        wall = trough_wall(1.0, wall_angle, 0.0)
        contact = half_width * tan(wall_angle / 2)
        touched = (depth - contact) / (1 - tan(wall_angle / 2) / tan(wall_angle))
        low = trough_wall(1.0, wall_angle, touched / (half_width * tan(wall_angle)))
        halfway = trough_wall(1.0, wall_angle, 0.5 * touched / (half_width * tan(wall_angle)))
        floor = (WallPoint("floor, middle", half_width, depth, low),)
    return (
        WallPoint("wall at the rim", 0.0, 0.0, wall),
        WallPoint("wall, half way down", corner_at / 2, depth / 2, halfway),
        WallPoint("floor corner", corner_at, depth, corner),
        *floor,
    )


def _spread_share(start: float, reach: float, depth: float, middle: float, steps: int = 200) -> float:
    """Share left at the edge of the floor contact when it has spread until `reach` stays free."""
    step = (start - reach) / steps
    total = log(middle) - sum(spread_rate(start - (k + 0.5) * step, depth) * step for k in range(steps))
    return exp(total)


def nested_pitch(wall: float, draft: float, rim: float) -> float:
    """How much each further tray adds to a nested stack. [m]

    t / sin(draft), the drift of a parallel wall, or the rim's thickness where that is more
    wall  of the tray's sides [m]; draft from the vertical [rad]; rim its thickness [m]
    Source: geometry of equal cones.

    >>> round(nested_pitch(0.0008, 0.1745, 0.0012) * 1e3, 2)
    4.61
    """
    return max(rim, wall / sin(draft))


def stack_height(depth: float, pitch: float, count: int) -> float:
    """Height of a number of nested trays. [m]

    >>> round(stack_height(0.06, 0.0046, 50), 4)
    0.2854
    """
    return depth + (count - 1) * pitch
