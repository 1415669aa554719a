"""Words and marks that recur on the sheets: states, moments, money, lateness."""

from __future__ import annotations

import datetime
from decimal import Decimal
from html import escape

from naptuft.quantity import show_number, unit_sign

THIN = "\u2009"

SHAPES = {
    "on time": '<circle cx="6" cy="6" r="4.6" fill="none" stroke="currentColor" stroke-width="1.6"/>',
    "late": '<path d="M6 1L11.4 11H.6Z" fill="currentColor"/>',
    "short": '<path d="M1 1h10v10H1z" fill="none" stroke="currentColor" stroke-width="1.6"/>'
    '<path d="M1 6h10v5H1z" fill="currentColor"/>',
    "from stock": '<path d="M6 .8L11.2 6 6 11.2.8 6z" fill="none" stroke="currentColor" stroke-width="1.6"/>',
    "held": '<path d="M2 1h3v10H2zM7 1h3v10H7z" fill="currentColor"/>',
    "right": '<path d="M1 6.5L4.6 10 11 2" fill="none" stroke="currentColor" stroke-width="1.8"/>',
    "wrong": '<path d="M1.5 1.5l9 9m0-9l-9 9" fill="none" stroke="currentColor" stroke-width="1.8"/>',
}


def mark(state: str) -> str:
    """The mark of a state as a small SVG; each state has a shape of its own, never colour alone.

    >>> mark("late") != mark("short")
    True
    """
    return f'<svg class="mark" viewBox="0 0 12 12" aria-hidden="true">{SHAPES[state]}</svg>'


def state_html(state: str, words: str) -> str:
    """A state as its mark and words."""
    return f'<span class="state {escape(state.replace(" ", "-"))}">{mark(state)}{escape(words)}</span>'


def span_words(minutes: float) -> str:
    """Minutes in the two largest of days, hours and minutes.

    >>> span_words(1690), span_words(75), span_words(12), span_words(2880)
    ('1 d 4 h', '1 h 15 min', '12 min', '2 d')
    """
    whole = round(minutes)
    parts = ((whole // 1440, "d"), (whole % 1440 // 60, "h"), (whole % 60, "min"))
    shown = [(count, unit) for count, unit in parts if count]
    if not shown:
        return "0 min"
    first = parts.index(shown[0])
    return " ".join(f"{count} {unit}" for count, unit in shown if parts.index((count, unit)) <= first + 1)


def moment_words(moment: datetime.datetime | None) -> str:
    """A moment as people on the floor say it: weekday, day, month, time.

    >>> moment_words(datetime.datetime(2026, 12, 4, 14, 0))
    'Fri 4 Dec 14:00'
    """
    return f"{moment:%a} {moment.day} {moment:%b %H:%M}" if moment else ""


def stretch_words(start: datetime.datetime, end: datetime.datetime) -> str:
    """From when to when; the day is not said twice.

    >>> early = datetime.datetime(2026, 12, 4, 6, 0)
    >>> stretch_words(early, early.replace(hour=14)), stretch_words(early, early.replace(day=5))
    ('Fri 4 Dec 06:00 to 14:00', 'Fri 4 Dec 06:00 to Sat 5 Dec 06:00')
    """
    until = f"{end:%H:%M}" if start.date() == end.date() else moment_words(end)
    return f"{moment_words(start)} to {until}"


def day_words(day: datetime.date | None) -> str:
    """A day as people on the floor say it.

    >>> day_words(datetime.date(2026, 12, 4))
    'Fri 4 Dec'
    """
    return f"{day:%a} {day.day} {day:%b}" if day else ""


def money_words(amount: Decimal | None) -> str:
    """An amount of money to the cent, with grouped thousands.

    >>> money_words(Decimal("12345.6"))
    '12,345.60'
    """
    return f"{amount:,.2f}" if amount is not None else ""


def count_words(number: float, unit: str = "") -> str:
    """A number with its unit after a thin space, as plain text.

    >>> count_words(1200, "pcs") == "1,200" + THIN + "pcs"
    True
    """
    shown = f"{number:,.0f}" if float(number).is_integer() else show_number(number, 5)
    return f"{shown}{THIN}{unit_sign(unit)}" if unit else shown


def number_html(number: float, unit: str = "", digits: int = 4) -> str:
    """A number with its unit in pale ink."""
    sign = unit_sign(unit)
    tail = f'<span class="unit">{THIN}{escape(sign)}</span>' if sign else ""
    return f"{show_number(number, digits)}{tail}"
