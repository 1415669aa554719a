"""What a sheet beside the week board asks before it works anything out: lines to write on, read with their faults."""

from __future__ import annotations

import datetime
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import Any

from nicegui import ui

from naptuft.errors import Fault
from naptuft.web.board_sheets.layout import RunStrip
from naptuft.web.desk import Desk
from naptuft.web.frame import markup


class AskedSheet(ABC):
    """A sheet whose answer is worked out when it is asked for.

    name    of the work on the desk
    words   on the press that starts it
    before  what stands in place of an answer while there is none, as markup
    look    class of the place the answer is drawn in
    """

    answer: ui.element | None = None

    def __init__(self, desk: Desk, name: str, words: str, before: str, look: str):
        self.strip = RunStrip(desk, name, words, self.begin, self._redraw, self.entries)
        self.answer = ui.element("div").classes(look)
        if desk.runs.get(name) is None:
            with self.answer:
                markup(before, "blank")
        self.strip.seen = -1
        self.strip.follow()

    @abstractmethod
    def entries(self) -> None:
        """Draw the lines on which is written what is asked."""

    @abstractmethod
    def begin(self) -> None:
        """Start the work, or say what is wrong with what was asked."""

    @abstractmethod
    def show(self, answer: Any) -> None:
        """Draw an answer."""

    def _redraw(self, answer: Any) -> None:
        if self.answer is not None:
            self.answer.clear()
            with self.answer:
                self.show(answer)


def keep(sheet: object, name: str) -> Callable[[str], None]:
    """What lays down on a sheet, by name, what was written on a line."""
    return lambda written: setattr(sheet, name, written)


def whole_number(place: str, written: str, low: int, high: int) -> tuple[int, tuple[Fault, ...]]:
    """A whole number as written, or what is wrong with it.

    >>> whole_number("seed", "12", 0, 99), len(whole_number("seed", "x", 0, 99)[1])
    ((12, ()), 1)
    """
    text = written.strip().replace(",", "")
    if text.isdecimal() and low <= int(text) <= high:
        return int(text), ()
    return low, (Fault(place, written, f"a whole number from {low:,} to {high:,}", f"write {low:,}, say"),)


def moment_from(place: str, written: str) -> tuple[datetime.datetime | None, tuple[Fault, ...]]:
    """A moment as written by the plant's clock, or what is wrong with it.

    >>> moment_from("at", "2026-12-01 10:30")[0]
    datetime.datetime(2026, 12, 1, 10, 30)
    """
    try:
        return datetime.datetime.fromisoformat(written.strip()).replace(tzinfo=None), ()
    except ValueError:
        return None, (Fault(place, written, "a date and time", "write it as 2026-12-01 10:30"),)


def seconds_from(place: str, written: str) -> tuple[float, tuple[Fault, ...]]:
    """Seconds as written, or what is wrong with them.

    >>> seconds_from("time", "5")[0], len(seconds_from("time", "0")[1])
    (5.0, 1)
    """
    try:
        seconds = float(written)
    except ValueError:
        seconds = -1.0
    if 0.1 <= seconds <= 3600:
        return seconds, ()
    return 0.0, (Fault(place, written, "0.1 to 3600 s", "write 5, say"),)


def share_from(place: str, written: str) -> tuple[float | None, tuple[Fault, ...]]:
    """Odds as a share, written in per cent, or what is wrong with them.

    >>> share_from("odds", "95 %")[0], share_from("odds", "95")[0], len(share_from("odds", "0.95")[1])
    (0.95, 0.95, 1)
    """
    try:
        share = float(written.strip().rstrip("%")) / 100
    except ValueError:
        share = -1.0
    if 0.5 <= share <= 0.999:
        return share, ()
    return None, (Fault(place, written, "50 to 99.9 %", "write 90, say"),)
