"""Small drawings inside table rows, all along one scale, and the scale above them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

MIDDLE = 15


@dataclass(frozen=True)
class Scale:
    """A stretch of the calendar, its ends at 0 and 100 % of a strip."""

    begin: datetime.datetime
    end: datetime.datetime

    @staticmethod
    def over(moments: Iterable[datetime.datetime], room: float = 0.02) -> Scale:
        """The stretch that holds all moments, with a little room at its ends."""
        known = list(moments)
        low, high = min(known), max(known)
        more = max(datetime.timedelta(hours=6), (high - low) * room)
        return Scale(low - more, high + more)

    def at(self, moment: datetime.datetime) -> float:
        """Where a moment lies, in per cent."""
        return 100 * ((moment - self.begin) / (self.end - self.begin))

    def marks(self, most: int = 6) -> list[tuple[float, str]]:
        """Midnights to name, each with its place: days, or Mondays where days would crowd."""
        first = self.begin.replace(hour=0, minute=0, second=0, microsecond=0) + datetime.timedelta(days=1)
        days = [first + datetime.timedelta(days=k) for k in range((self.end - first).days + 1) if first < self.end]
        for step in (1, 2, 7, 14, 28, 56):
            chosen = days[::step] if step < 7 else [d for d in days if d.weekday() == 0][:: step // 7]
            if len(chosen) <= most:
                break
        else:
            chosen = []
        return [(self.at(day), f"{day.day} {day:%b}") for day in chosen]

    def head(self) -> str:
        """The scale's words, to stand above the strips."""
        return "".join(f'<i style="left: {place:.2f}%">{words}</i>' for place, words in self.marks())

    def ground(self) -> str:
        """The days named, as fine lines behind a strip."""
        return "".join(_line(place, place, 0, 30, "day") for place, _ in self.marks())


def _line(x1: float, x2: float, y1: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.2f}%" x2="{x2:.2f}%" y1="{y1}" y2="{y2}"/>'


def _framed(body: str) -> str:
    return f'<svg class="strip-drawn" width="100%" height="30" aria-hidden="true">{body}</svg>'


def band(
    scale: Scale,
    early: datetime.datetime,
    middle: datetime.datetime,
    late: datetime.datetime,
    due: datetime.datetime,
) -> str:
    """A finish band with its middle against when it is due; what lies after it is in the accent."""
    low, half, high, limit = (scale.at(each) for each in (early, middle, late, due))
    body = scale.ground()
    if low < limit:
        body += _line(low, min(high, limit), MIDDLE, MIDDLE, "in-time")
    if high > limit:
        body += _line(max(low, limit), high, MIDDLE, MIDDLE, "too-late")
    for place, tall in ((low, 4), (half, 7), (high, 4)):
        kind = "edge" if place <= limit else "edge late"
        body += _line(place, place, MIDDLE - tall, MIDDLE + tall, kind)
    return _framed(body + _line(limit, limit, 2, 28, "due"))


def before_after(
    scale: Scale,
    before: tuple[datetime.datetime, datetime.datetime] | None,
    after: tuple[datetime.datetime, datetime.datetime] | None,
) -> str:
    """Where something was, above, and where it is now, below."""
    body = scale.ground()
    for stretch, y, kind in ((before, 9, "was"), (after, 21, "now")):
        if stretch is not None:
            low, high = scale.at(stretch[0]), scale.at(stretch[1])
            body += f'<rect class="{kind}" x="{low:.2f}%" width="{max(high - low, 0.4):.2f}%" y="{y - 4}" height="8"/>'
    if before is not None and after is not None:
        body += _line(scale.at(before[0]), scale.at(after[0]), 13, 17, "join")
    return _framed(body)


def shares(parts: Sequence[tuple[str, str, float]]) -> str:
    """Shares of a whole side by side: (kind for its look, words on hover, share)."""
    body, at = "", 0.0
    for kind, words, share in parts:
        if share > 0:
            body += (
                f'<rect class="use {kind}" x="{100 * at:.2f}%" width="{100 * share:.2f}%" y="6" height="18">'
                f"<title>{escape(words)}</title></rect>"
            )
            at += share
    return _framed(body)


def levels(values: Sequence[float], limit: float, top: float, words: Sequence[str]) -> str:
    """A row of upright bars from the same foot, with a limit across; bars over it are in the accent."""
    wide = 100 / max(1, len(values))
    foot, tall = 28, 26
    body = ""
    for place, (value, told) in enumerate(zip(values, words, strict=True)):
        high = tall * min(1.0, value / top)
        kind = "bar over" if value > limit else "bar"
        body += (
            f'<rect class="{kind}" x="{place * wide + wide * 0.12:.2f}%" width="{wide * 0.76:.2f}%" '
            f'y="{foot - high:.1f}" height="{high:.1f}"><title>{escape(told)}</title></rect>'
        )
    mark = foot - tall * limit / top
    return _framed(body + _line(0, 100, foot, foot, "foot") + _line(0, 100, mark, mark, "limit"))
