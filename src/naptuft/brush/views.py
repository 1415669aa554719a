"""The brush drawn lying down, tips to the right: plan of its broad side, and a cut through its thickness."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import cos, degrees, hypot, pi, sin

from naptuft.brush.ferrule import FerruleDesign, bead_rows
from naptuft.brush.head import BrushDesign
from naptuft.brush.joining import JoinDesign
from naptuft.brush.working import CLOSING_SHARE
from naptuft.drawing import PAPER, Drawing
from naptuft.quantity import show

_MM = 1e3
_DASH, _GAP = 1.6, 1.1
_BETWEEN_HAIRS = 1.5
_STUB = 0.42
_PAGE, _MARGIN = 190.0, 16.0
_BEYOND = 4.0

Point = tuple[float, float]


def draw_plan(design: BrushDesign, ferrule: FerruleDesign | None = None, join: JoinDesign | None = None) -> str:
    """The broad side to scale, as SVG: filling and its trim, ferrule, glue behind it, start of the handle.

    ferrule  gives the beads and the gauge; join  gives the nails and the tenon; without them neither is drawn.
    """
    wide, clear, depth = design.cavity.width * _MM, design.clear_length * _MM, design.ferrule_depth * _MM
    drawing = Drawing(f"plan of a {design.shape} brush, {show(design.width, 'mm')} wide", width=_PAGE)
    gauge = _gauge(ferrule)
    tips = _tips_in_plan(design)
    _handle(drawing, wide, depth, _tenon(design, join), cut=False)
    _hairs(drawing, [(-wide / 2, wide / 2)], lambda share: _between(tips, share), design)
    drawing.path([(0, -wide / 2), *tips, (0, wide / 2)], "outline", hint="filling")
    _ferrule(drawing, wide + 2 * gauge, depth, ferrule)
    _dashed(
        drawing, (-design.setting_depth * _MM, -wide / 2), (-design.setting_depth * _MM, wide / 2), "ends of the butts"
    )
    if join is not None:
        for x in sorted({x for x, _ in join.places}):
            at = (_nail_row(design, join), x * _MM)
            drawing.circle(at, join.nail_diameter * _MM * 0.9, "detail", fill=PAPER, hint="nail")
    _centre_line(drawing, -depth * (1 + _STUB), clear)
    reach = wide / 2 + gauge
    drawing.dimension((0, reach), (clear, reach), show(design.clear_length, "mm"), offset=8, hint="clear length")
    drawing.dimension((-depth, reach), (0, reach), show(design.ferrule_depth, "mm"), offset=8, hint="ferrule")
    drawing.dimension((clear, wide / 2), (clear, -wide / 2), show(design.width, "mm"), offset=8, hint="width inside")
    if design.trim == "angular":
        drop = design.trim_drop * _MM
        words = f"angular {degrees(design.trim_angle):.3g}°, {show(design.trim_drop, 'mm', 3)}"
        _short_dimension(drawing, (clear - drop, -wide / 2), (clear, -wide / 2), words, -5, design, "trim drop")
    return drawing.svg()


def draw_side(design: BrushDesign, ferrule: FerruleDesign | None = None, join: JoinDesign | None = None) -> str:
    """The brush cut through its thickness to scale, as SVG: filling, centrepiece, well, glue, tenon, chisel.

    ferrule  gives the beads and the gauge; join  gives the nails and the tenon.
    """
    thick, clear, depth = design.cavity.thickness * _MM, design.clear_length * _MM, design.ferrule_depth * _MM
    setting, cap, gauge = design.setting_depth * _MM, design.epoxy_cap * _MM, _gauge(ferrule)
    drawing = Drawing(f"a {design.shape} brush cut through its thickness, {show(design.width, 'mm')} wide", width=_PAGE)
    tips = _tips_from_side(design)
    drawing.rectangle(-setting - cap, -thick / 2, setting + cap, thick, "hatch", hatch="cross", hint="epoxy")
    _handle(drawing, thick, depth, _tenon(design, join), cut=True)
    plug = design.centrepiece_thickness * _MM if design.plugs else 0.0
    edges = [(-thick / 2, -plug / 2), (plug / 2, thick / 2)] if plug else [(-thick / 2, thick / 2)]
    _hairs(drawing, edges, lambda share: _between(tips, share), design)
    drawing.path([(0, -thick / 2), *tips, (0, thick / 2)], "outline", hint="filling")
    if plug:
        drawing.rectangle(-setting, -plug / 2, setting, plug, "detail", fill=PAPER, hint="centrepiece, ground")
        drawing.rectangle(-setting, -plug / 2, setting, plug, "detail", hatch="diagonal", hint="centrepiece")
        well = (CLOSING_SHARE * clear, 0.0)
        drawing.path([(0, -plug / 2), well, (0, plug / 2)], "detail", fill=PAPER, hint="well")
    for side in (-1, 1):
        edge = side * (thick / 2 + gauge / 2)
        drawing.path([(x, edge + side * up) for x, up in _bead_profile(ferrule, depth)], "outline", hint="ferrule, cut")
    if join is not None:
        x = _nail_row(design, join)
        for side in (-1, 1):
            head = side * (thick / 2 + gauge)
            drawing.line((x, head), (x, head - side * join.penetration * _MM), "second", hint="nail")
    _centre_line(drawing, -depth * (1 + _STUB), clear)
    reach = thick / 2 + gauge
    drawing.dimension((0, reach), (clear, reach), show(design.clear_length, "mm"), offset=10, hint="clear length")
    _short_dimension(
        drawing, (-setting, reach), (0, reach), show(design.setting_depth, "mm", 3), 10, design, "setting depth"
    )
    drawing.dimension((0, -reach), (-depth, -reach), show(design.ferrule_depth, "mm"), offset=10, hint="ferrule")
    out = -depth * (1 + _STUB)
    words = show(design.cavity.thickness, "mm")
    drawing.dimension((out, -thick / 2), (out, thick / 2), words, offset=8, hint="thickness inside")
    if design.trim == "chisel":
        drop = design.trim_drop * _MM
        words = f"chisel {degrees(design.trim_angle):.3g}°, {show(design.trim_drop, 'mm', 3)}"
        _short_dimension(drawing, (clear - drop, -reach), (clear, -reach), words, -10, design, "trim drop")
    return drawing.svg()


def _gauge(ferrule: FerruleDesign | None) -> float:
    return (0.3e-3 if ferrule is None else ferrule.gauge) * _MM


def _nail_row(design: BrushDesign, join: JoinDesign) -> float:
    """Where the nails stand along the brush, the ferrule's mouth at 0. [mm]"""
    return (join.engaged - join.end_distance - design.ferrule_depth) * _MM


def _tenon(design: BrushDesign, join: JoinDesign | None) -> float:
    """Length of the tenon in the ferrule: as joined, or down to the glue. [mm]"""
    room = design.ferrule_depth - design.setting_depth - design.epoxy_cap
    return (room if join is None else min(room, join.engaged)) * _MM


def _tips_in_plan(design: BrushDesign) -> list[Point]:
    """The tip line on the broad side, from one edge to the other; it gathers unless the brush is flat. [mm]"""
    half, clear, drop = design.cavity.width * _MM / 2, design.clear_length * _MM, design.trim_drop * _MM
    if design.shape != "flat":
        half *= design.tip_ratio
    if design.trim == "angular":
        return [(clear - drop, -half), (clear, half)]
    return [(clear, -half), (clear, half)]


def _tips_from_side(design: BrushDesign) -> list[Point]:
    """The tip line across the thickness; tips gather as the filaments narrow. [mm]"""
    half = design.cavity.thickness * _MM / 2 * design.tip_ratio
    clear, drop = design.clear_length * _MM, design.trim_drop * _MM
    if design.trim == "chisel":
        return [(clear - drop, -half), (clear, 0.0), (clear - drop, half)]
    return [(clear, -half), (clear, half)]


def _between(points: Sequence[Point], share: float) -> Point:
    """The point that far along a run of straight lines, by its height. [mm]"""
    y = points[0][1] + share * (points[-1][1] - points[0][1])
    for (x1, y1), (x2, y2) in pairwise(points):
        if y1 <= y <= y2:
            return x1 + (x2 - x1) * (y - y1) / ((y2 - y1) or 1.0), y
    return points[-1]


def _scale(design: BrushDesign) -> float:
    """Millimetres of paper for one of the brush, as both views come out. [1]"""
    along = design.clear_length + design.ferrule_depth * (1 + _STUB)
    return (_PAGE - 2 * _MARGIN) / (along * _MM + 2 * _BEYOND)


def _hairs(
    drawing: Drawing,
    edges: Sequence[tuple[float, float]],
    tip_at: Callable[[float], Point],
    design: BrushDesign,
) -> None:
    """Filaments from their butts to the trim, one in many, spread evenly over each stretch between edges."""
    whole = sum(high - low for low, high in edges)
    passed = 0.0
    for low, high in edges:
        count = max(3, round((high - low) * _scale(design) / _BETWEEN_HAIRS))
        for number in range(1, count):
            y = low + (high - low) * number / count
            tip = tip_at((passed + y - low) / whole)
            drawing.line((-design.setting_depth * _MM, y), tip, "hatch", hint="filaments, one in many")
        passed += high - low


def _ferrule(drawing: Drawing, wide: float, depth: float, ferrule: FerruleDesign | None) -> None:
    drawing.rectangle(-depth, -wide / 2, depth, wide, "outline", hint="ferrule")
    for at, across in _beads(ferrule, depth):
        for x in (at - across / 2, at + across / 2):
            drawing.line((x, -wide / 2), (x, wide / 2), "detail", hint="bead")


def _beads(ferrule: FerruleDesign | None, depth: float) -> list[tuple[float, float]]:
    """Middle and width of each bead along the ferrule, its mouth at 0. [mm]"""
    if ferrule is None:
        return []
    across = 4 * ferrule.bead_depth * _MM
    return [(depth * (row - 1), across) for row in bead_rows(ferrule.beads)]


def _bead_profile(ferrule: FerruleDesign | None, depth: float) -> list[Point]:
    """Distance along the ferrule and how far its wall stands out there. [mm]"""
    points = [(-depth, 0.0)]
    height = 0.0 if ferrule is None else ferrule.bead_depth * _MM
    for at, across in sorted(_beads(ferrule, depth)):
        points += [(at + across * (i / 12 - 0.5), height * (1 - cos(2 * pi * i / 12)) / 2) for i in range(13)]
    return [*points, (0.0, 0.0)]


def _handle(drawing: Drawing, across: float, depth: float, tenon: float, *, cut: bool) -> None:
    """Start of the handle beyond the ferrule, broken off, and its tenon inside: hidden, or cut and hatched. [mm]"""
    neck, out = 0.62 * across, -depth * (1 + _STUB)
    shoulder = -depth * (1 + 0.35 * _STUB)
    wave = [(out + 0.9 * sin(2 * pi * i / 24), -neck / 2 + neck * i / 24) for i in range(25)]
    beyond = [(-depth, -across / 2), (shoulder, -across / 2), *wave, (shoulder, across / 2), (-depth, across / 2)]
    inner, end = across / 2 - 0.35, -depth + tenon
    if cut:
        edge = [*beyond, (-depth, inner), (end, inner), (end, -inner), (-depth, -inner)]
        drawing.path(edge, "detail", closed=True, hatch="diagonal", hint="handle and its tenon, cut")
        return
    drawing.path(beyond, "detail", fill=PAPER, hint="handle, broken off")
    corners = [(-depth, -inner), (end, -inner), (end, inner), (-depth, inner)]
    for start, stop in pairwise(corners):
        _dashed(drawing, start, stop, "tenon of the handle")


def _dashed(drawing: Drawing, start: Point, end: Point, hint: str) -> None:
    """A hidden edge."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    count = max(1, round(length / (_DASH + _GAP)))
    for number in range(count):
        a, b = number / count, (number + _DASH / (_DASH + _GAP)) / count
        drawing.line(_along(start, end, a), _along(start, end, b), "detail", hint=hint)


def _short_dimension(
    drawing: Drawing, start: Point, end: Point, words: str, offset: float, design: BrushDesign, hint: str
) -> None:
    """A dimension with its words to the left of it, for a stretch shorter than they are; offset [mm of paper]."""
    drawing.dimension(start, end, "", offset=offset, hint=hint)
    scale = _scale(design)
    drawing.text((start[0] - 2.5 / scale, start[1] + (offset + 1.0) / scale), words, anchor="end")


def _centre_line(drawing: Drawing, start: float, end: float) -> None:
    """A chain line along the middle, a little beyond both ends."""
    x, beyond = start - _BEYOND, end + _BEYOND
    while x < beyond:
        drawing.line((x, 0), (min(beyond, x + 5.0), 0), "dimension")
        drawing.line((min(beyond, x + 6.0), 0), (min(beyond, x + 6.8), 0), "dimension")
        x += 7.8


def _along(start: Point, end: Point, share: float) -> Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
