"""The plant: settings, calendars, crews, work centres and machines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from zoneinfo import available_timezones

from naptuft.book.check.references import names_meant
from naptuft.book.entry import Reading
from naptuft.book.sheets import SETTINGS
from naptuft.calculation import nearest
from naptuft.errors import Fault


def check_plant(reading: Reading) -> Iterator[Fault]:
    """Everything wrong with the settings and the plant, beyond names that lead nowhere."""
    yield from _settings(reading)
    yield from _calendars(reading)
    yield from _work_centres(reading)


def _settings(reading: Reading) -> Iterator[Fault]:
    for row in reading[SETTINGS]:
        zone = row.values.get("zone")
        if zone and zone not in available_timezones():
            named = next((name for name in available_timezones() if name.casefold() == zone.casefold()), None)
            mend = f"did you mean {named}?" if named else nearest(zone, sorted(available_timezones()))
            allowed = "a time zone of the IANA list, such as Europe/London"
            yield Fault(
                row.place("zone"), zone, allowed, mend if mend.startswith("did") else f"write it as {allowed[-13:]}"
            )
        currency = row.values.get("currency")
        if currency and not re.fullmatch("[A-Z]{3}", currency):
            allowed = "three capital letters of ISO 4217"
            yield Fault(row.place("currency"), currency, allowed, "write it as EUR, GBP or USD")


def _calendars(reading: Reading) -> Iterator[Fault]:
    for row in reading["Shifts"]:
        opens, closes = row.values.get("opens"), row.values.get("closes")
        if opens is not None and closes is not None and closes <= opens:
            shown = f"{closes // 60:02d}:{closes % 60:02d}"
            allowed = f"later than {opens // 60:02d}:{opens % 60:02d}, up to 24:00"
            mend = "write a shift past midnight as two: up to 24:00, and from 00:00 of the next day"
            yield Fault(row.place("closes"), shown, allowed, mend)
    usual = {row.values.get("calendar") for row in reading["Shifts"] if not row.values.get("overtime")}
    told: set[str] = set()
    for row in reading["Shifts"]:
        calendar = row.values.get("calendar")
        if row.values.get("overtime") and calendar and calendar not in usual | told:
            told.add(calendar)
            mend = "write the usual shifts of the calendar as well, or no in the column overtime"
            yield Fault(row.place("overtime"), "yes", f"a calendar with usual shifts; {calendar} has none", mend)
    for row in reading["Closures"]:
        start, end = row.values.get("start"), row.values.get("end")
        if start and end and end <= start:
            yield Fault(
                row.place("end"),
                f"{end:%Y-%m-%d %H:%M}",
                f"later than {start:%Y-%m-%d %H:%M}",
                "correct one of the two",
            )


def _work_centres(reading: Reading) -> Iterator[Fault]:
    if "Machines" in reading.present:
        manned = names_meant(reading, "Machines", "work_centre")
        for row in reading["Work centres"]:
            code = row.values.get("code")
            if code and code not in manned:
                yield Fault(
                    row.place("code"),
                    code,
                    "a work centre with at least one machine",
                    "add its machines to the sheet Machines",
                )
    heads = {row.values.get("code"): row.values.get("heads") for row in reading["Crews"]}
    for row in reading["Work centres"]:
        people, crew = row.values.get("people"), row.values.get("crew")
        there = heads.get(crew)
        if people is not None and there is not None and people > there:
            allowed = f"at most the {there} people of the crew {crew}"
            yield Fault(row.place("people"), people, allowed, "correct it, or the heads of the crew")
