"""When each machine is open, worked out again from shifts and closures, day by day."""

from __future__ import annotations

import datetime
from itertools import groupby

from naptuft.planning.check.reading import Reading
from naptuft.plant.work_centre import Machine

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
Stretches = list[tuple[float, float]]


def open_time(reading: Reading, machine: Machine) -> Stretches:
    """Open stretches of a machine, in minutes from the book's start, over the days the plan touches."""
    return open_by(reading, (machine.calendar, machine.code))


def open_by(reading: Reading, names: tuple[str, ...]) -> Stretches:
    """Open stretches of a calendar, less the closures of it and of the other names, in minutes from the start.

    Counted at each change of the clock: open where a shift runs and no closure does.
    """
    if names not in reading.open_time:
        reading.open_time[names] = _counted(_changes(reading, names))
    return reading.open_time[names]


def usual_time(reading: Reading, machine: Machine) -> Stretches:
    """Open stretches of a machine without those in which only overtime shifts run, in minutes from the start."""
    key = machine.calendar, machine.code, "usual"
    if key not in reading.open_time:
        reading.open_time[key] = _counted(_changes(reading, (machine.calendar, machine.code), usual=True))
    return reading.open_time[key]


def minutes_in(stretches: Stretches, since: float, until: float) -> float:
    """Minutes of the stretches between two moments."""
    return sum(max(0.0, min(until, closes) - max(since, opens)) for opens, closes in stretches)


def both(first: Stretches, second: Stretches) -> Stretches:
    """When both are open."""
    pieces = [(max(a, c), min(b, d)) for a, b in first for c, d in second]
    return [(since, until) for since, until in pieces if since < until]


def _changes(reading: Reading, names: tuple[str, ...], usual: bool = False) -> list[tuple[float, int, int]]:
    """(minute, shifts that begin or end, closures that begin or end), in order of time; usual: overtime left out."""
    book, zone = reading.book, reading.book.start.tzinfo
    first, last = reading.days
    changes: list[tuple[float, int, int]] = []
    for number in range(first - 1, last + 2):
        day = book.start.date() + datetime.timedelta(days=number)
        midnight = datetime.datetime.combine(day, datetime.time())
        for shift in book.shifts:
            if usual and shift.overtime:
                continue
            if shift.calendar == names[0] and shift.weekday == DAYS[day.weekday()]:
                for clock, step in ((shift.opens, 1), (shift.closes, -1)):
                    wall = midnight + datetime.timedelta(minutes=clock)
                    changes.append((reading.minute(wall.replace(tzinfo=zone)), step, 0))
    for closure in book.closures:
        if closure.calendar in names:
            changes.append((reading.minute(closure.start.replace(tzinfo=zone)), 0, 1))
            changes.append((reading.minute(closure.end.replace(tzinfo=zone)), 0, -1))
    return sorted(changes)


def _counted(changes: list[tuple[float, int, int]]) -> Stretches:
    stretches: Stretches = []
    running = closed = 0
    since: float | None = None
    for minute, together in groupby(changes, key=lambda change: change[0]):
        for _, shifts, closures in together:
            running += shifts
            closed += closures
        if running > 0 and closed == 0:
            since = minute if since is None else since
        elif since is not None:
            stretches.append((since, minute))
            since = None
    return stretches
