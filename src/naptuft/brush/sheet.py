"""Pictures of the brush to scale."""

from __future__ import annotations

from math import ceil, sqrt

from naptuft.brush.head import BrushDesign, butt_spacing
from naptuft.calculation import Result
from naptuft.drawing import PAPER, Drawing
from naptuft.quantity import show, show_number

_MM = 1e3


def draw_end_section(design: BrushDesign, result: Result) -> str:
    """The head cut across at the butts, to scale: ferrule, centrepieces, filling; and a patch enlarged, as SVG."""
    cavity = design.cavity
    wide, thick = cavity.width * _MM, cavity.thickness * _MM
    drawing = Drawing(f"end section of a {design.shape} brush head, {show(cavity.width, 'mm')} wide", width=180)
    gauge = 0.3e-3
    drawing.path(((x * _MM, y * _MM) for x, y in cavity.outline(gauge)), "outline", closed=True, hint="ferrule")
    drawing.path(
        ((x * _MM, y * _MM) for x, y in cavity.outline()),
        "detail",
        closed=True,
        hatch="dots",
        hint=f"filling: {show_number(result['filament_count'], 6)} filaments, packing {design.packing:g}",
    )
    plug_wide, plug_thick = design.centrepiece_width * _MM, design.centrepiece_thickness * _MM
    gap = (wide - design.plugs * plug_wide) / (design.plugs + 1)
    for plug in range(design.plugs):
        x = -wide / 2 + gap + plug * (plug_wide + gap)
        drawing.rectangle(x, -plug_thick / 2, plug_wide, plug_thick, "detail", fill=PAPER, hint="centrepiece, ground")
        drawing.rectangle(x, -plug_thick / 2, plug_wide, plug_thick, "detail", hatch="diagonal", hint="centrepiece")
    drawing.dimension((-wide / 2, thick / 2), (wide / 2, thick / 2), show(cavity.width, "mm"), offset=9)
    drawing.dimension((wide / 2, thick / 2), (wide / 2, -thick / 2), show(cavity.thickness, "mm"), offset=8)
    _patch(drawing, design, wide, thick / 2 + 0.22 * max(wide, thick))
    return drawing.svg()


def _patch(drawing: Drawing, design: BrushDesign, wide: float, top: float) -> None:
    """A patch of the filling, eight filaments across, drawn larger by a stated factor."""
    side = 8 * butt_spacing(design) * _MM
    enlarge = max(1, round(0.22 * wide / side))
    spacing, radius = butt_spacing(design) * _MM * enlarge, design.diameter * _MM / 2 * enlarge
    frame = 8 * spacing
    left = -wide / 2
    drawing.rectangle(left, top, frame, frame, "dimension", hint=f"{side:.2f} mm square of the filling")
    rows = ceil(frame / (spacing * sqrt(3) / 2))
    for row in range(rows):
        y = top + radius + row * spacing * sqrt(3) / 2
        for column in range(8):
            x = left + spacing / 2 + column * spacing + (spacing / 2 if row % 2 else 0)
            if x + radius <= left + frame and y + radius <= top + frame:
                drawing.circle((x, y), radius, "detail", hatch="diagonal")
                if design.form == "hollow":
                    drawing.circle((x, y), design.inner * _MM / 2 * enlarge, "detail", fill=PAPER)
    beside = left + frame + 0.03 * wide
    lines = (
        f"filling, drawn {enlarge} times larger",
        f"{design.filling}, {show(design.diameter, 'mm')} at the butt",
        f"packing {design.packing:g}, gap {show(butt_spacing(design) - design.diameter, 'mm', 2)}",
    )
    for number, words in enumerate(lines):
        drawing.text((beside, top + frame * (0.3 + 0.25 * number)), words, anchor="start")
