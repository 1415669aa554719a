"""Drawings along the plant's calendar: a chain of work that ends in an order, and bars week by week."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from naptuft.drawing import Drawing
from naptuft.planning.chain import ChainLink
from naptuft.web.board_sheets.strips import Scale
from naptuft.web.marks import moment_words, span_words

WIDTH = 140.0
MARGIN = 9.0
PLOT = WIDTH - 2 * MARGIN
ROW = 11.0


def chain_drawing(
    title: str,
    links: Sequence[ChainLink],
    due: datetime.datetime | None,
    finish: datetime.datetime,
    due_words: str = "due",
    since: datetime.datetime | None = None,
) -> str:
    """The operations that end in an order, one a row, each after what it waited for, as SVG.

    due    drawn as a line where it is known, named by `due_words`
    since  when the plan starts: the first operation is drawn to wait for its material from then on
    """
    waits = since is not None and bool(links) and links[0].ready > since
    ends = [finish, *([due] if due else []), *([since] if since and waits else [])]
    scale = Scale.over([*(link.ready for link in links), *(link.operation.start for link in links), *ends])
    high = ROW * len(links) + 4
    drawing = Drawing(title, width=WIDTH, bar=False, margin=MARGIN)
    _ground(drawing, scale, high)
    if since is not None and waits:
        begin, there = _x(scale, since), _x(scale, links[0].ready)
        drawing.line((begin, 7.5), (there, 7.5), "hatch", f"material not there before {moment_words(links[0].ready)}")
        drawing.line((there, 5.5), (there, 9.5), "detail")
        drawing.text((begin, 4.4), "material", anchor="start")
    for row, link in enumerate(links):
        each, y = link.operation, row * ROW + 5.5
        ready, start, end = (_x(scale, moment) for moment in (link.ready, each.start, each.end))
        if link.waited:
            drawing.line((ready, y + 2), (start, y + 2), "dimension", f"waits {span_words(link.waited)}")
            drawing.line((ready, y + 0.8), (ready, y + 3.2), "dimension")
        told = (
            f"{each.work_order} {each.name} on {each.machine}, {moment_words(each.start)} to {moment_words(each.end)}"
        )
        drawing.rectangle(start, y, max(end - start, 0.3), 4, "outline", hatch="diagonal", hint=told)
        if each.wait_minutes:
            dry = _x(scale, each.end + datetime.timedelta(minutes=each.wait_minutes))
            drawing.line((end, y + 4), (dry, y + 4), "second", f"dries or cures {span_words(each.wait_minutes)}")
            drawing.line((dry, y + 2.6), (dry, y + 4), "second")
        words = f"{each.name}, {each.machine}"
        left = min(ready, start)
        if left < PLOT * 0.6:
            drawing.text((left, y - 1.1), words, anchor="start")
        else:
            drawing.text((max(end, left), y - 1.1), words, anchor="end")
    if due is not None:
        at = _x(scale, due)
        drawing.line((at, -1), (at, high), "accent", f"{due_words} {moment_words(due)}")
        drawing.text((at, high + 4), due_words)
    return drawing.svg()


def _x(scale: Scale, moment: datetime.datetime) -> float:
    return scale.at(moment) * PLOT / 100


def _ground(drawing: Drawing, scale: Scale, high: float) -> None:
    """Days as fine lines with their names above; nothing else sets the width."""
    drawing.line((0, 0), (PLOT, 0), "detail")
    drawing.line((0, high), (PLOT, high), "hatch")
    for place, words in scale.marks(7):
        at = place * PLOT / 100
        drawing.line((at, 0), (at, high), "hatch")
        drawing.text((at, -1.6), words)


def finish_drawing(
    name: str,
    planned: datetime.datetime | None,
    band: tuple[datetime.datetime, datetime.datetime, datetime.datetime],
    due: datetime.datetime,
    shares: tuple[str, str, str],
) -> str:
    """When an order is ready, its plan, its band and its due date on the calendar to scale, as SVG."""
    scale = Scale.over([*band, due, *([planned] if planned else [])], room=0.08)
    drawing = Drawing(f"finish of {name}", width=WIDTH, bar=False, margin=MARGIN)
    high = 33.0
    _ground(drawing, scale, high)
    early, middle, late = (_x(scale, moment) for moment in band)
    drawing.rectangle(early, 16, max(late - early, 0.4), 5, "outline", hatch="diagonal", hint="from early to late")
    drawing.line((middle, 14.5), (middle, 22.5), "outline")
    for at, words, y in ((early, shares[0], 25.5), (middle, shares[1], 13.2), (late, shares[2], 25.5)):
        drawing.text((at, y), words)
    if planned is not None:
        at = _x(scale, planned)
        drawing.line((at, 2), (at, 9), "second", f"planned {moment_words(planned)}")
        drawing.text(
            (at, 12.6) if abs(at - middle) > 20 else (at + 1.5, 6),
            "planned",
            anchor="middle" if abs(at - middle) > 20 else "start",
        )
    at = _x(scale, due)
    drawing.line((at, -1), (at, high), "accent", f"due {moment_words(due)}")
    drawing.text(
        (at, high + 4),
        f"due {moment_words(due)}",
        anchor="end" if at > PLOT * 0.7 else "start" if at < PLOT * 0.3 else "middle",
    )
    return drawing.svg()


def bars_drawing(title: str, bars: Sequence[tuple[str, float, str]], limit: float, limit_words: str, unit: str) -> str:
    """Upright bars with a limit across, to one scale, as SVG: (name below, value, words on hover)."""
    top = max([limit * 1.15, *(value for _, value, _ in bars)])
    wide, tall = PLOT / max(1, len(bars)), 52.0
    drawing = Drawing(title, width=WIDTH, bar=False, margin=MARGIN)
    for place, (name, value, words) in enumerate(bars):
        high = tall * value / top
        style = "accent" if value > limit else "outline"
        drawing.rectangle(
            place * wide + wide * 0.15, tall - high, wide * 0.7, high, style, hatch="diagonal", hint=words
        )
        drawing.text((place * wide + wide / 2, tall - high - 1.2), f"{value:.0f}")
        if len(bars) <= 8 or place % 2 == 0:
            drawing.text((place * wide + wide / 2, tall + 4.6), name)
    drawing.line((0, tall), (PLOT, tall), "detail")
    mark = tall - tall * limit / top
    drawing.line((0, mark), (PLOT, mark), "second", limit_words)
    drawing.text((PLOT, mark - 1.2), limit_words, anchor="end")
    drawing.text((0, -3), unit, anchor="start")
    return drawing.svg()
