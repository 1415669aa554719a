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
    bar     False leaves the scale bar out, where what is drawn has no size
    margin  left free around what is drawn, for words and dimension lines [mm]

    >>> drawing = Drawing("a square of 10 mm", width=40)
    >>> drawing.rectangle(0, 0, 10, 10)
    >>> drawing.dimension((0, 0), (10, 0), "10 mm", offset=-3)
    >>> drawing.svg().startswith("<svg")
    True
    """

    def __init__(
        self,
        title: str,
        width: float = 170.0,
        height: float | None = None,
        *,
        bar: bool = True,
        margin: float = 16.0,
    ):
        self.title = title
        self.margin = margin
        self.bar = bar
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
        """The finished drawing as SVG text, with a scale bar unless it has none."""
        left, top, right, bottom = self._box
        span_x, span_y = max(right - left, 1e-9), max(bottom - top, 1e-9)
        margin = self.margin
        scale = (self.width - 2 * margin) / span_x
        if self.height is not None:
            scale = min(scale, (self.height - 2 * margin - 6) / span_y)
        width, height = self.width, span_y * scale + 2 * margin + 6
        shift_x = (width - span_x * scale) / 2 - left * scale
        shift_y = margin - top * scale

        def at(point: tuple[float, float]) -> tuple[float, float]:
            return point[0] * scale + shift_x, point[1] * scale + shift_y

        body = [self._draw(kind, facts, at, scale) for kind, facts in self._parts]
        if self.bar:
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


class Graph:
    """Curves over two axes, with round figures along them.

    title     read out by screen readers and shown on hover
    across    what runs along the lower axis, with its unit; upward what runs up the left one
    width, height  of the finished picture on paper [mm]

    >>> graph = Graph("a part cooling", "time, s", "temperature, °C")
    >>> graph.curve([(0, 220), (60, 120), (120, 80)], "middle")
    >>> graph.level(90, "pushed out")
    >>> graph.svg().count("<path") > 3
    True
    """

    def __init__(self, title: str, across: str, upward: str, width: float = 170.0, height: float = 92.0):
        self.title, self.across, self.upward = title, across, upward
        self.width, self.height = width, height
        self._curves: list[tuple[list[tuple[float, float]], str, str]] = []
        self._levels: list[tuple[float, str, str]] = []
        self._uprights: list[tuple[float, str, str]] = []
        self._bands: list[tuple[float, float, str]] = []

    def curve(self, points: Iterable[tuple[float, float]], words: str = "", style: str = "outline") -> None:
        """A run of straight lines through points; words stand at its right end."""
        self._curves.append((list(points), words, style))

    def level(self, value: float, words: str = "", style: str = "accent") -> None:
        """A line across at a value of the upward axis."""
        self._levels.append((value, words, style))

    def upright(self, value: float, words: str = "", style: str = "second") -> None:
        """A line upward at a value of the lower axis."""
        self._uprights.append((value, words, style))

    def band(self, low: float, high: float, words: str = "") -> None:
        """A hatched band across between two values of the upward axis."""
        self._bands.append((low, high, words))

    def svg(self) -> str:
        """The finished graph as SVG text."""
        xs = [x for points, _, _ in self._curves for x, _ in points] + [x for x, _, _ in self._uprights]
        ys = [y for points, _, _ in self._curves for _, y in points] + [y for y, _, _ in self._levels]
        ys += [y for low, high, _ in self._bands for y in (low, high)]
        (x_low, x_high, x_ticks), (y_low, y_high, y_ticks) = _round_axis(xs), _round_axis(ys)
        left, right, top, bottom = 20.0, self.width - 38.0, 9.0, self.height - 14.0

        def at(x: float, y: float) -> tuple[float, float]:
            return (
                left + (x - x_low) / (x_high - x_low) * (right - left),
                bottom - (y - y_low) / (y_high - y_low) * (bottom - top),
            )

        body = []
        notes: list[tuple[float, str]] = []
        for low, high, words in self._bands:
            (_, upper), (_, lower) = at(x_low, high), at(x_low, low)
            body.append(
                f'<rect x="{left:.2f}" y="{upper:.2f}" width="{right - left:.2f}" height="{lower - upper:.2f}" '
                f'class="band" fill="url(#hatch-diagonal)" stroke="none"/>'
            )
            notes.append(((upper + lower) / 2, words))
        for x in x_ticks:
            spot = at(x, y_low)[0]
            body.append(_line((spot, top), (spot, bottom), "hatch", 0.5))
            body.append(_words(spot, bottom + 4, f"{x:g}", 2.8, "middle"))
        for y in y_ticks:
            spot = at(x_low, y)[1]
            body.append(_line((left, spot), (right, spot), "hatch", 0.5))
            body.append(_words(left - 1.5, spot + 1, f"{y:g}", 2.8, "end"))
        body.append(_line((left, bottom), (right, bottom), "detail") + _line((left, top), (left, bottom), "detail"))
        for y, words, style in self._levels:
            spot = at(x_low, y)[1]
            body.append(_line((left, spot), (right, spot), style))
            notes.append((spot, words))
        for x, words, style in self._uprights:
            spot = at(x, y_low)[0]
            body.append(_line((spot, top), (spot, bottom), style) + _words(spot, top - 1.5, words, 2.8, "middle"))
        for points, words, style in self._curves:
            run = [at(x, y) for x, y in points]
            shape = " L".join(f"{x:.3f} {y:.3f}" for x, y in run)
            body.append(
                f'<path d="M{shape}" class="{style}" fill="none" stroke="{_STROKES[style]}" '
                f'stroke-width="{WEIGHTS[style]}" stroke-linejoin="round"><title>{escape(words)}</title></path>'
            )
            notes.append((run[-1][1], words))
        body += [_words(right + 2, spot + 1, words, 2.8, "start") for spot, words in _apart(notes, top, bottom)]
        body.append(_words((left + right) / 2, self.height - 4, self.across, 3.2, "middle"))
        body.append(_words(5.0, (top + bottom) / 2, self.upward, 3.2, "middle", -90.0))
        hatch = _HATCHES["diagonal"] if self._bands else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing graph" '
            f'viewBox="0 0 {self.width:.2f} {self.height:.2f}" width="{self.width:.2f}mm" height="{self.height:.2f}mm" '
            f'role="img" aria-label="{escape(self.title)}" font-family="Barlow, sans-serif">'
            f"<title>{escape(self.title)}</title><defs>{hatch}</defs>{''.join(body)}</svg>"
        )


def _line(start: tuple[float, float], end: tuple[float, float], style: str, opacity: float = 1.0) -> str:
    faint = f' stroke-opacity="{opacity:g}"' if opacity < 1 else ""
    return (
        f'<path class="{style}" d="M{start[0]:.3f} {start[1]:.3f}L{end[0]:.3f} {end[1]:.3f}" fill="none" '
        f'stroke="{_STROKES[style]}" stroke-width="{WEIGHTS[style]}"{faint}/>'
    )


def _round_axis(values: list[float]) -> tuple[float, float, list[float]]:
    """Lower end, upper end and round ticks of an axis that holds all values."""
    low, high = min(values), max(values)
    if low > 0 and low < 0.4 * high:
        low = 0.0
    span = (high - low) or abs(high) or 1.0
    power = 10 ** floor(log10(span / 5))
    step = next(each for each in (1, 2, 5, 10) if each * power >= span / 6) * power
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    if first == last:
        last += 1
    return first * step, last * step, [round(k * step, 12) for k in range(first, last + 1)]


def _apart(notes: list[tuple[float, str]], top: float, bottom: float, gap: float = 4.2) -> list[tuple[float, str]]:
    """Words beside an axis, moved so that none covers another."""
    placed: list[tuple[float, str]] = []
    for spot, words in sorted(note for note in notes if note[1]):
        placed.append((max(spot, placed[-1][0] + gap) if placed else max(spot, top), words))
    over = placed[-1][0] - bottom if placed else 0.0
    if over > 0:
        moved, limit = [], bottom
        for spot, words in reversed(placed):
            limit = min(spot, limit)
            moved.append((limit, words))
            limit -= gap
        placed = moved[::-1]
    return placed


def stacked(title: str, *pictures: str, gap: float = 2.0) -> str:
    """Several drawings or graphs as one picture, one below the other.

    >>> one = Graph("a", "x", "y")
    >>> one.curve([(0, 0), (1, 1)])
    >>> stacked("both", one.svg(), one.svg()).count("<svg")
    3
    """
    sizes = [tuple(map(float, picture.split('viewBox="0 0 ', 1)[1].split('"', 1)[0].split())) for picture in pictures]
    width, height = max(w for w, _ in sizes), sum(h for _, h in sizes) + gap * (len(sizes) - 1)
    body, down = [], 0.0
    for picture, (w, h) in zip(pictures, sizes, strict=True):
        sized = picture.replace(f'width="{w:.2f}mm" height="{h:.2f}mm"', f'width="{w:.2f}" height="{h:.2f}"', 1)
        body.append(sized.replace("<svg ", f'<svg x="{(width - w) / 2:.2f}" y="{down:.2f}" ', 1))
        down += h + gap
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="0 0 {width:.2f} {height:.2f}" '
        f'width="{width:.2f}mm" height="{height:.2f}mm" role="img" aria-label="{escape(title)}" '
        f'font-family="Barlow, sans-serif"><title>{escape(title)}</title>{"".join(body)}</svg>'
    )


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
