"""Calendars: when machines are open, as stretches of minutes from the start of a plan."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from naptuft.calculation import choice, clock, moment, text, yes

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True)
class Shift:
    """One open stretch of one weekday; a shift past midnight is written as two."""

    calendar: str = text("name of the calendar", example="two shifts")
    weekday: str = choice(WEEKDAYS, "day of the week")
    opens: int = clock("when work starts", example="06:00")
    closes: int = clock("when work stops, up to 24:00", example="14:00")
    overtime: bool = yes("overtime: open like any shift, at overtime pay", default=False, example="no")


@dataclass(frozen=True)
class Closure:
    """A stretch when a calendar or one machine is closed: a holiday, maintenance."""

    calendar: str = text("name of the calendar or code of the machine", example="two shifts")
    start: datetime.datetime = moment("closed from", example="2026-12-24 00:00")
    end: datetime.datetime = moment("closed until", example="2026-12-27 00:00")
    why: str = text("the reason, printed on the week board", default="", example="winter holiday")


def minutes_after(start: datetime.datetime, when: datetime.datetime) -> int:
    """Whole minutes from `start` to `when` on the clock on the wall of the world (zones respected)."""
    return int((when.astimezone(datetime.UTC) - start.astimezone(datetime.UTC)).total_seconds() // 60)


def moment_at(start: datetime.datetime, minutes: float) -> datetime.datetime:
    """The moment so many minutes after `start`, in the zone of `start`."""
    moved = start.astimezone(datetime.UTC) + datetime.timedelta(minutes=minutes)
    return moved.astimezone(start.tzinfo)


def open_stretches(
    shifts: tuple[Shift, ...],
    closures: tuple[Closure, ...],
    names: tuple[str, ...],
    start: datetime.datetime,
    days: int,
) -> tuple[tuple[int, int], ...]:
    """Open stretches [from, to) in minutes after `start`, in order and apart, for so many days.

    names  the calendar's name, and any machine code whose closures count too; `start` has a ZoneInfo

    >>> zone = ZoneInfo("Europe/London")
    >>> monday = datetime.datetime(2026, 11, 30, 6, tzinfo=zone)
    >>> early = Shift(calendar="day", weekday="Monday", opens=360, closes=840)
    >>> open_stretches((early,), (), ("day",), monday, 8)
    ((0, 480), (10080, 10560))
    """
    zone = start.tzinfo
    assert isinstance(zone, ZoneInfo)
    first = start.date()
    stretches: list[tuple[int, int]] = []
    for offset in range(days + 1):
        day = first + datetime.timedelta(days=offset)
        for shift in shifts:
            if shift.calendar == names[0] and WEEKDAYS.index(shift.weekday) == day.weekday():
                begin = minutes_after(start, _on(day, shift.opens, zone))
                end = minutes_after(start, _on(day, shift.closes, zone))
                stretches.append((begin, end))
    closed = [
        (minutes_after(start, c.start.replace(tzinfo=zone)), minutes_after(start, c.end.replace(tzinfo=zone)))
        for c in closures
        if c.calendar in names
    ]
    return _less(_joined(stretches), closed, days * 1440)


def overtime_stretches(
    shifts: tuple[Shift, ...],
    closures: tuple[Closure, ...],
    names: tuple[str, ...],
    start: datetime.datetime,
    days: int,
) -> tuple[tuple[int, int], ...]:
    """Those open stretches, as `open_stretches` tells them, in which only overtime shifts run. [minutes after start]

    >>> zone = ZoneInfo("Europe/London")
    >>> monday = datetime.datetime(2026, 11, 30, 6, tzinfo=zone)
    >>> early = Shift(calendar="day", weekday="Monday", opens=360, closes=840)
    >>> late = Shift(calendar="day", weekday="Monday", opens=780, closes=960, overtime=True)
    >>> overtime_stretches((early, late), (), ("day",), monday, 2)
    ((480, 600),)
    """
    usual = open_stretches(tuple(s for s in shifts if not s.overtime), closures, names, start, days)
    over = open_stretches(tuple(s for s in shifts if s.overtime), closures, names, start, days)
    return _less(list(over), list(usual), days * 1440)


def _on(day: datetime.date, minute: int, zone: ZoneInfo) -> datetime.datetime:
    moved = day + datetime.timedelta(days=minute // 1440)
    return datetime.datetime.combine(moved, datetime.time(minute % 1440 // 60, minute % 60), zone)


def _joined(stretches: list[tuple[int, int]]) -> list[tuple[int, int]]:
    joined: list[tuple[int, int]] = []
    for begin, end in sorted(stretches):
        if joined and begin <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        elif end > begin:
            joined.append((begin, end))
    return joined


def _less(stretches: list[tuple[int, int]], closed: list[tuple[int, int]], horizon: int) -> tuple[tuple[int, int], ...]:
    kept = [(max(begin, 0), min(end, horizon)) for begin, end in stretches]
    for shut, opened in closed:
        pieces = [piece for begin, end in kept for piece in ((begin, min(end, shut)), (max(begin, opened), end))]
        kept = [(begin, end) for begin, end in pieces if end > begin]
    return tuple((begin, end) for begin, end in sorted(kept) if end > begin)
