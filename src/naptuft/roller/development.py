"""The surface of a core laid flat, with the strip that winds on it."""

from __future__ import annotations

from math import cos, pi, sin

from naptuft.drawing import Drawing


def draw_development(
    *,
    core_diameter: float,
    tube_length: float,
    strip_width: float,
    taped_lead: float,
    lead: float,
    angle: float,
    gap: float,
    spread: float,
) -> str:
    """The core laid flat, to scale, as SVG: turns of the strip, its lead and width, the gap, the taped start.

    lengths in m; angle [rad] between the strip and the plane across; spread is what the gap strays either way

    >>> flat = dict(core_diameter=0.044, tube_length=1.8, strip_width=0.073, taped_lead=0.015)
    >>> "lead 85.97 mm" in draw_development(**flat, lead=0.08597, angle=0.5564, gap=0.0, spread=0.0007)
    True
    """
    around = pi * core_diameter * 1e3
    lead = lead * 1e3
    width = strip_width * 1e3
    shown = min(tube_length * 1e3, max(4.2 * lead, 1.6 * around))
    drawing = Drawing(f"core laid flat: way round {around:.1f} mm, first {shown:.0f} mm of {tube_length * 1e3:.0f} mm")
    first = -int(around / lead) - 2
    for turn in range(first, int(shown / lead) + 2):
        edge = _clipped(turn * lead, lead, width / cos(angle), around, shown)
        if edge:
            drawing.path(edge, "detail", closed=True, hatch="diagonal" if turn == 0 else "", hint=f"turn {turn + 1}")
    drawing.rectangle(0, 0, shown, around, "outline")
    run = taped_lead * 1e3
    start = [(0.0, around), (width * cos(angle), around + width * sin(angle))]
    back = [(x - run * sin(angle), y + run * cos(angle)) for x, y in reversed(start)]
    wedge = [*start, (width / cos(angle), around)]
    drawing.path(wedge, "detail", closed=True, hatch="diagonal", hint="strip run past the end to cover it")
    drawing.path(start + back, "second", closed=True, hatch="dots", hint=f"{run:g} mm of strip under the tape")
    drawing.dimension((0, around), (0, 0), f"{around:.1f} mm around", offset=-6)
    if 2 * lead <= shown:
        drawing.dimension((lead, 0), (2 * lead, 0), f"lead {lead:.2f} mm", offset=-5)
        foot = (lead + lead / 2, around / 2)
        across = (foot[0] + width * cos(angle), foot[1] + width * sin(angle))
        drawing.dimension(foot, across, f"strip {width:g} mm", offset=0)
    gap = gap * 1e3
    seam = f"gap {gap:.2f} mm" if gap >= 0 else f"overlap {-gap:.2f} mm"
    words = f"winding angle {angle * 180 / pi:.2f}°, {seam} ± {spread * 1e3:.2f} mm"
    drawing.text((shown, around + 4 * shown / 138), words, anchor="end")
    return drawing.svg()


def _clipped(start: float, lead: float, width: float, around: float, shown: float) -> list[tuple[float, float]]:
    """The parallelogram of one turn, cut to the part of the tube that is drawn."""
    corners = [(start, around), (start + width, around), (start + width + lead, 0.0), (start + lead, 0.0)]
    for limit, keep in ((0.0, 1), (shown, -1)):
        kept: list[tuple[float, float]] = []
        for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
            inside_1, inside_2 = (x1 - limit) * keep >= 0, (x2 - limit) * keep >= 0
            if inside_1:
                kept.append((x1, y1))
            if inside_1 != inside_2:
                share = (limit - x1) / (x2 - x1)
                kept.append((limit, y1 + share * (y2 - y1)))
        corners = kept
        if not corners:
            return []
    return corners
