"""How thick a formed tray is from place to place: the map, its thinnest corner, the closed form beside it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot, pi, tan

from naptuft.calculation import Calculation, Check, Result, Step, Value
from naptuft.drawing import Drawing, stacked
from naptuft.errors import DesignError
from naptuft.tray.design import CAUTIONS
from naptuft.tray.forming import CORNER_SOURCE, TROUGH_SOURCE
from naptuft.tray.profile import SOURCE as LAID_SOURCE
from naptuft.tray.setting import TrayForm, shape_faults
from naptuft.tray.wall_map import MAP_SOURCE, Place, WallMap, wall_map
from naptuft.tray.walls import section_walls

SCALE_RANGE = (0.9, 1.15)


@dataclass(frozen=True)
class TrayThickness(TrayForm):
    """A tray whose wall is wanted place by place."""

    def __post_init__(self) -> None:
        faults = shape_faults(self)
        if faults:
            raise DesignError(*faults)


def run_thickness(tray: TrayThickness) -> Result:
    """Work out the wall of a tray place by place."""
    walls = wall_map(tray.shape, tray.corner_radius)
    sheet = tray.sheet_thickness
    corner = walls.corner.share * sheet
    across = section_walls(tray.shape.opening[1] / 2, tray.well_depth, pi / 2 - tray.draft, tray.corner_radius)
    trough = next(point.share for point in across if point.place == "floor corner") * sheet
    places = walls.places()
    values = (
        Value("thinnest_corner", "thinnest corner: end wall, side and floor", corner, "mm"),
        Value("corner_share", "of the sheet", corner / sheet, "%"),
        *(Value(_name(place), place.name, place.share * sheet, "mm") for place in places),
        Value("trough_corner", "floor corner of a long trough, closed form", trough, "mm"),
        Value("scale", "scaled to the sheet's volume by", walls.scale, ""),
    )
    steps = (
        Step("lengthways", "arcs between touching places; what they lay down leaves them", sheet, "mm", LAID_SOURCE),
        Step("thinnest corner", "sheet × lengthways × across × scale", corner, "mm", MAP_SOURCE),
        Step(
            "long trough", "h0 (sin a/a)(…)^(tan a/a − 1), then (r/r1)^(2 tan(b/2)/b − 1)", trough, "mm", TROUGH_SOURCE
        ),
        Step("square corner", "exponent 4/π − 1", 4 / pi - 1, "", CORNER_SOURCE),
    )
    checks = (
        Check(
            "thinnest corner",
            corner,
            tray.least_wall,
            "at least",
            "mm",
            MAP_SOURCE,
            "use a thicker sheet, a larger corner radius, more draft, or a plug",
        ),
    )
    remarks = []
    if not SCALE_RANGE[0] < walls.scale < SCALE_RANGE[1]:
        remarks.append(
            f"Lengthways and across together miss the sheet's volume by {abs(walls.scale - 1) * 100:.0f} %: "
            "take the map as a first estimate and measure a tray."
        )
    remarks.append("Without a plug, sheet of one temperature: a hotter place thins further.")
    return Result(values, checks, steps, CAUTIONS, tuple(remarks))


def _name(place: Place) -> str:
    return place.name.replace(", ", "_").replace(" ", "_") + "_wall"


def draw_thickness(tray: TrayThickness, result: Result) -> str:
    """Plan of the tray with the wall at its places, and the section along it with its wall drawn five times as thick."""
    walls = wall_map(tray.shape, tray.corner_radius)
    words = f"thinnest {result['thinnest_corner'] * 1e3:.2f} mm"
    return stacked(words, _draw_plan(tray, walls, words), _draw_section(tray, walls))


def _draw_plan(tray: TrayThickness, walls: WallMap, words: str) -> str:
    length, width, rim = tray.length * 1e3, tray.width * 1e3, tray.rim * 1e3
    drawing = Drawing(f"wall map, {words}", width=170)
    drawing.rectangle(0, 0, length, width, hint=f"rim {tray.sheet_thickness * 1e3:g} mm")
    drawing.rectangle(rim, rim, length - 2 * rim, width - 2 * rim, "detail")
    slope = tan(tray.draft)
    points = [(x * 1e3 + rim, depth * slope * 1e3 + rim) for x, depth in tray.shape.profile()]
    for x, inset in points[1:4]:
        drawing.line((x, inset), (x, width - inset), "hatch")
    for side in (0.0, width):
        drawing.path([(x, abs(side - y)) for x, y in points], "hatch")
    for place in walls.places():
        station, _, spot = place.name.rpartition(", ")
        if station == "far wall" and spot != "middle":
            continue
        at = (rim + place.along * 1e3, rim + place.across * 1e3)
        text = f"{place.share * tray.sheet_thickness * 1e3:.2f}"
        drawing.circle(at, 0.004 * length, "second", hint=f"{place.name}: {text} mm")
        words_at = {
            "side": (at[0], 0.7 * rim),
            "bottom corner": (at[0] + 0.006 * length, at[1] + 0.032 * length),
            "middle": (at[0] + (0.03 if station == "end wall" else -0.01) * length, at[1] - 0.012 * length),
        }[spot]
        drawing.text(words_at, text, size=2.6, anchor="end" if station == "far wall" else "middle")
    corner = walls.corner
    at = (rim + corner.along * 1e3, width - rim - corner.across * 1e3)
    drawing.circle(at, 0.012 * length, "accent", hint=words)
    drawing.text((at[0] + 0.02 * length, at[1] - 0.015 * length), words, anchor="start")
    drawing.dimension((0, 0), (length, 0), f"{length:g} mm", offset=-6)
    drawing.dimension((0, width), (0, 0), f"{width:g} mm", offset=-6)
    return drawing.svg()


SWELL = 5.0


def _draw_section(tray: TrayThickness, walls: WallMap) -> str:
    drawing = Drawing("section along the middle, wall five times as thick", width=170)
    outer = [(laid.reach * 1e3, laid.depth * 1e3) for laid in walls.lengthways]
    middles = [each.middle for each in walls.crossways]
    bends = [(x * 1e3, y * 1e3) for x, y in tray.shape.profile()]
    faces = [
        (a, ((b[1] - a[1]) / span, -(b[0] - a[0]) / span))
        for a, b in pairwise(bends)
        if (span := hypot(b[0] - a[0], b[1] - a[1])) > 1e-9
    ]
    inner = []
    for spot, laid in zip(outer, walls.lengthways, strict=True):
        gaps = [(spot[0] - a[0]) * n[0] + (spot[1] - a[1]) * n[1] for a, n in faces]
        normal = faces[min(range(len(faces)), key=lambda k: abs(gaps[k]))][1]
        wall = (
            SWELL * min(1.0, walls.scale * laid.share * walls.between(laid.depth, middles)) * tray.sheet_thickness * 1e3
        )
        lifted = (spot[0] + normal[0] * wall, spot[1] + normal[1] * wall)
        if min((lifted[0] - a[0]) * n[0] + (lifted[1] - a[1]) * n[1] for a, n in faces) > 0.9 * wall:
            inner.append(lifted)
    drawing.path([*bends, *reversed(inner)], closed=True, hatch="diagonal", hint="wall, five times as thick")
    drawing.dimension((0, 0), (tray.shape.opening[0] * 1e3, 0), f"{tray.shape.opening[0] * 1e3:g} mm inside", offset=-7)
    drawing.text(
        (tray.shape.opening[0] * 500, tray.well_depth * 1.25e3), "along the middle, wall drawn five times as thick"
    )
    return drawing.svg()


TRAY_WALLS = Calculation(
    name="tray-walls",
    title="Wall of a tray, place by place",
    line="tray",
    about="Where a formed tray thins: end walls, tapered well, ramp and sides, with the thinnest corner and the drawing.",
    inputs=TrayThickness,
    run=run_thickness,
    draw=draw_thickness,
)
