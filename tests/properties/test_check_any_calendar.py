"""The checker's calendar and the plant's, written apart, agree on any shifts and closures, clock changes included."""

import datetime
from dataclasses import replace
from decimal import Decimal
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from naptuft.book.model import Book, Settings
from naptuft.planning.check.hours import open_time
from naptuft.planning.check.reading import Reading
from naptuft.planning.plan import Plan, Quality
from naptuft.plant.calendar import WEEKDAYS, Closure, Shift, open_stretches
from naptuft.plant.work_centre import Machine

EMPTY = Plan("", "", "EUR", datetime.datetime.min, 1, Quality(0, 0, None, "feasible", 0, 1, True), *[()] * 11)
STARTS = (
    datetime.datetime(2026, 11, 30, 6),
    datetime.datetime(2026, 10, 23, 22),
    datetime.datetime(2027, 3, 26, 0),
)


@st.composite
def calendars(draw):
    """Shifts of one week and a few closures of the calendar or the machine."""
    shifts = []
    for weekday in draw(st.lists(st.sampled_from(WEEKDAYS), max_size=7)):
        opens = draw(st.integers(0, 1430))
        shifts.append(Shift(calendar="day", weekday=weekday, opens=opens, closes=draw(st.integers(opens + 1, 1440))))
    start = draw(st.sampled_from(STARTS))
    closures = []
    for _ in range(draw(st.integers(0, 3))):
        begin = start + datetime.timedelta(minutes=draw(st.integers(-2000, 9000)))
        end = begin + datetime.timedelta(minutes=draw(st.integers(1, 5000)))
        closures.append(Closure(calendar=draw(st.sampled_from(("day", "M-1", "other"))), start=begin, end=end))
    return start, tuple(shifts), tuple(closures)


@given(calendars(), st.sampled_from(("Europe/London", "America/Chicago", "UTC")), st.integers(1, 10))
def test_two_calendars_written_apart_agree(case, zone, days):
    start, shifts, closures = case
    settings = Settings(plant="", zone=zone, start=start, horizon_days=days)
    machine = Machine(code="M-1", work_centre="W", name="", calendar="day", rate_per_hour=Decimal(0))
    book = Book(settings, shifts=shifts, closures=closures, machines=(machine,))
    moment = start.replace(tzinfo=ZoneInfo(zone))
    theirs = open_stretches(shifts, closures, ("day", "M-1"), moment, days)
    reading = Reading(book, replace(EMPTY, start=moment, horizon_days=days))
    ours = [(max(0.0, opens), min(days * 1440.0, closes)) for opens, closes in open_time(reading, machine)]
    assert _minutes(ours) == _minutes(list(theirs))


def _minutes(stretches: list) -> set[int]:
    return {minute for opens, closes in stretches for minute in range(int(opens), int(closes))}
