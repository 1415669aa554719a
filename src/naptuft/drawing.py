"""Drawings to scale as plain SVG: outlines, hatches, dimension lines and a scale bar.

Coordinates are millimetres of the thing drawn, y downwards. Line weights follow ISO 128 (0.7 outline,
0.35 detail, 0.18 dimension and hatch, in millimetres of paper). Colours stand in the attributes, so
that a drawing prints by itself; pages restyle the same classes.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from math import ceil, floor, hypot, log10

INK, PALE, ACCENT, SECOND, PAPER = "#1E2A2F", "#5C676B", "#B5412B", "#2F6F6A", "#FCFAF5"
WEIGHTS = {"outline": 0.7, "detail": 0.35, "hatch": 0.18, "dimension": 0.18, "accent": 0.7, "second": 0.35}
_STROKES = {"outline": INK, "detail": INK, "hatch": PALE, "dimension": PALE, "accent": ACCENT, "second": SECOND}


class Drawing:
    """A drawing that grows shape by shape and is closed by `svg()`.

    width   width of the finished picture on paper [mm]; the scale follows from what is drawn
    title   read out by screen readers and shown on hover

    >>> drawing = Drawing("a square of 10 mm", width=40)
    >>> drawing.rectangle(0, 0, 10, 10)
    >>> drawing.dimension((0, 0), (10, 0), "10 mm", offset=-3)
    >>> drawing.svg().startswith("<svg")
    True
    """

    def __init__(self, title: str, width: float = 170.0, height: float | None = None):
        self.title = title
        self.width = width
        self.height = height
        self._parts: list[tuple[str, dict[str, object]]] = []
        self._box = [float("inf"), float("inf"), float("-inf"), float("-inf")]
        self._hatches: dict[str, str] = {}

    def _reach(self, *points: tuple[float, float]) -> None:
        for x, y in points:
            self._box = [min(self._box[0], x), min(self._box[1], y), max(self._box[2], x), max(self._box[3], y)]

    def line(self, start: tuple[float, float], end: tuple[float, float], style: str = "detail", hint: str = "") -> None:
        """A straight line; style is a key of WEIGHTS; hint shows on hover."""
        self.path([start, end], style, hint=hint)

    def path(
        self,
        points: Iterable[tuple[float, float]],
        style: str = "outline",
        *,
        closed: bool = False,
        hatch: str = "",
        fill: str = "none",
        hint: str = "",
    ) -> None:
        """A run of straight lines through `points`, closed and hatched if asked.

        hatch  "", "diagonal", "cross" or "dots": section hatching by material
        """
        points = list(points)
        self._reach(*points)
        self._parts.append(
            ("path", {"points": points, "style": style, "closed": closed, "hatch": hatch, "fill": fill, "hint": hint})
        )

    def rectangle(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        style: str = "outline",
        *,
        hatch: str = "",
        fill: str = "none",
        hint: str = "",
    ) -> None:
        """A rectangle from its upper left corner."""
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        self.path(corners, style, closed=True, hatch=hatch, fill=fill, hint=hint)

    def circle(
        self,
        centre: tuple[float, float],
        radius: float,
        style: str = "outline",
        *,
        hatch: str = "",
        fill: str = "none",
        hint: str = "",
    ) -> None:
        """A circle."""
        (x, y) = centre
        self._reach((x - radius, y - radius), (x + radius, y + radius))
        self._parts.append(
            ("circle", {"centre": centre, "radius": radius, "style": style, "hatch": hatch, "fill": fill, "hint": hint})
        )

    def text(self, at: tuple[float, float], words: str, *, size: float = 3.2, anchor: str = "middle") -> None:
        """Words at a point; size in millimetres of paper, whatever the scale."""
        self._reach(at)
        self._parts.append(("text", {"at": at, "words": words, "size": size, "anchor": anchor}))

    def dimension(
        self, start: tuple[float, float], end: tuple[float, float], words: str, *, offset: float = 6.0, hint: str = ""
    ) -> None:
        """A dimension line with ticks beside the stretch from start to end.

        offset  how far beside it [mm of paper]; positive to the right of the direction of travel
        """
        self._reach(start, end)
        self._parts.append(("dimension", {"start": start, "end": end, "words": words, "offset": offset, "hint": hint}))

    def svg(self) -> str:
        """The finished drawing as SVG text, with a scale bar."""
        left, top, right, bottom = self._box
        span_x, span_y = max(right - left, 1e-9), max(bottom - top, 1e-9)
        margin = 16.0
        scale = (self.width - 2 * margin) / span_x
        if self.height is not None:
            scale = min(scale, (self.height - 2 * margin - 6) / span_y)
        width, height = self.width, span_y * scale + 2 * margin + 6
        shift_x = (width - span_x * scale) / 2 - left * scale
        shift_y = margin - top * scale

        def at(point: tuple[float, float]) -> tuple[float, float]:
            return point[0] * scale + shift_x, point[1] * scale + shift_y

        body = [self._draw(kind, facts, at, scale) for kind, facts in self._parts]
        body.append(_scale_bar(scale, margin, height))
        hatches = "".join(_HATCHES[name] for name in sorted(self._hatches))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="0 0 {width:.2f} {height:.2f}" '
            f'width="{width:.2f}mm" height="{height:.2f}mm" role="img" aria-label="{escape(self.title)}" '
            f'font-family="Barlow, sans-serif"><title>{escape(self.title)}</title>'
            f"<defs>{hatches}</defs>{''.join(body)}</svg>"
        )

    def _draw(self, kind: str, facts: dict, at, scale: float) -> str:
        if kind == "text":
            x, y = at(facts["at"])
            return _words(x, y, facts["words"], facts["size"], facts["anchor"])
        if kind == "dimension":
            return _dimension(at(facts["start"]), at(facts["end"]), facts["words"], facts["offset"], facts["hint"])
        style, hatch = facts["style"], facts["hatch"]
        if hatch:
            self._hatches[hatch] = hatch
        fill = f"url(#hatch-{hatch})" if hatch else facts["fill"]
        stroke = f'class="{style}" fill="{fill}" stroke="{_STROKES[style]}" stroke-width="{WEIGHTS[style]}"'
        hint = f"<title>{escape(facts['hint'])}</title>" if facts["hint"] else ""
        if kind == "circle":
            x, y = at(facts["centre"])
            return f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{facts["radius"] * scale:.3f}" {stroke}>{hint}</circle>'
        points = " L".join(f"{x:.3f} {y:.3f}" for x, y in map(at, facts["points"]))
        close = "Z" if facts["closed"] else ""
        return f'<path d="M{points}{close}" stroke-linejoin="round" {stroke}>{hint}</path>'


_HATCHES = {
    "diagonal": '<pattern id="hatch-diagonal" width="2" height="2" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><line class="hatch" x1="0" y1="0" x2="0" y2="2" stroke="{PALE}" '
    'stroke-width="0.36"/></pattern>',
    "cross": '<pattern id="hatch-cross" width="2" height="2" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><path class="hatch" d="M0 0V2M0 0H2" stroke="{PALE}" '
    'stroke-width="0.36" fill="none"/></pattern>',
    "dots": '<pattern id="hatch-dots" width="2" height="2" patternUnits="userSpaceOnUse">'
    f'<circle class="dot" cx="1" cy="1" r="0.3" fill="{PALE}"/></pattern>',
}


def _words(x: float, y: float, words: str, size: float, anchor: str, turn: float = 0.0) -> str:
    rotate = f' transform="rotate({turn:.2f} {x:.3f} {y:.3f})"' if turn else ""
    return (
        f'<text class="words" x="{x:.3f}" y="{y:.3f}" font-size="{size}" text-anchor="{anchor}" '
        f'fill="{INK}"{rotate}>{escape(words)}</text>'
    )


def _dimension(start: tuple[float, float], end: tuple[float, float], words: str, offset: float, hint: str) -> str:
    from math import atan2, degrees

    (x1, y1), (x2, y2) = start, end
    length = hypot(x2 - x1, y2 - y1) or 1e-9
    nx, ny = -(y2 - y1) / length, (x2 - x1) / length
    ax, ay, bx, by = x1 + nx * offset, y1 + ny * offset, x2 + nx * offset, y2 + ny * offset
    reach = offset + (1.5 if offset > 0 else -1.5)
    stroke = f'class="dimension" stroke="{PALE}" stroke-width="0.18" fill="none"'
    tick = 1.2
    tx, ty = (x2 - x1) / length * tick, (y2 - y1) / length * tick
    turn = degrees(atan2(y2 - y1, x2 - x1))
    turn = turn - 180 if turn > 90 else turn + 180 if turn <= -90 else turn
    mx, my = (ax + bx) / 2, (ay + by) / 2
    note = f"<title>{escape(hint)}</title>" if hint else ""
    return (
        f'<g class="dimension-line">{note}<path {stroke} d="M{x1:.3f} {y1:.3f}L{x1 + nx * reach:.3f} {y1 + ny * reach:.3f}'
        f"M{x2:.3f} {y2:.3f}L{x2 + nx * reach:.3f} {y2 + ny * reach:.3f}M{ax:.3f} {ay:.3f}L{bx:.3f} {by:.3f}"
        f"M{ax - tx - nx * tick:.3f} {ay - ty - ny * tick:.3f}L{ax + tx + nx * tick:.3f} {ay + ty + ny * tick:.3f}"
        f'M{bx - tx - nx * tick:.3f} {by - ty - ny * tick:.3f}L{bx + tx + nx * tick:.3f} {by + ty + ny * tick:.3f}"/>'
        f'<text class="words" x="{mx:.3f}" y="{my - 1.2:.3f}" font-size="3.2" text-anchor="middle" fill="{INK}" '
        f'transform="rotate({turn:.2f} {mx:.3f} {my:.3f})">{escape(words)}</text></g>'
    )


def _scale_bar(scale: float, margin: float, height: float) -> str:
    target = 30.0 / scale
    power = 10 ** floor(log10(target))
    length = max(step for step in (1, 2, 5) if step * power <= target) * power
    y = height - 4
    words = f"{length:g} mm" if length < 1000 else f"{length / 1000:g} m"
    ratio = f"scale {scale:.2g} : 1" if scale >= 1 else f"scale 1 : {ceil(1 / scale * 10) / 10:g}"
    return (
        f'<path class="detail" d="M{margin:.2f} {y - 1:.2f}v1h{length * scale:.3f}v-1" fill="none" stroke="{INK}" '
        f'stroke-width="0.35"/>' + _words(margin + length * scale + 2, y, f"{words}   {ratio}", 2.8, "start")
    )
