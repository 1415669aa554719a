"""How papers write times, durations, quantities and money."""

from __future__ import annotations

import datetime
from decimal import Decimal

from naptuft.planning.plan import OrderOutcome
from naptuft.quantity import show_number, unit_sign

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
TITLE_LETTERS = 38
"""Letters that fit the title of a title block."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(when: datetime.date) -> str:
    """A day as the floor reads it.

    >>> day(datetime.date(2026, 11, 30))
    'Mon 30 Nov'
    """
    return f"{DAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]}"


def moment(when: datetime.datetime | None) -> str:
    """A time on the plant's clock; a dash for none.

    >>> moment(datetime.datetime(2026, 11, 30, 6, 5)), moment(None)
    ('Mon 30 Nov 06:05', '–')
    """
    return "–" if when is None else f"{day(when)} {when:%H:%M}"


def duration(minutes: float) -> str:
    """A length of time in its two largest parts.

    >>> duration(5), duration(90), duration(1680), duration(0)
    ('5 min', '1 h 30 min', '1 d 4 h', '0 min')
    """
    whole = round(minutes)
    if whole >= 1440:
        days, hours = divmod(round(whole / 60), 24)
        return f"{days} d {hours} h" if hours else f"{days} d"
    hours, left = divmod(whole, 60)
    if not hours:
        return f"{left} min"
    return f"{hours} h {left} min" if left else f"{hours} h"


def amount(quantity: float, unit: str = "") -> str:
    """A quantity as written on paper: pieces and grams whole where they are whole, else to the gram or millimetre.

    >>> amount(1200, "pcs"), amount(42.18, "kg"), amount(60544.0, "g"), amount(0.5, "l")
    ('1,200', '42.180', '60,544', '0.500')
    """
    if unit in ("kg", "m", "l", "m2"):
        return f"{quantity:,.3f}"
    if float(quantity).is_integer():
        return f"{int(quantity):,}"
    return show_number(quantity, 7) if abs(quantity) >= 1000 else f"{quantity:,.1f}"


def unit_word(unit: str) -> str:
    """A unit as papers write it.

    >>> unit_word("m2"), unit_word("hour"), unit_word("degC")
    ('m²', 'h', '°C')
    """
    return unit_sign({"hour": "h", "minute": "min", "second": "s"}.get(unit, unit))


def money(value: Decimal | None, currency: str = "") -> str:
    """An amount of money to the cent, grouped; a dash for none.

    >>> money(Decimal("1234.5"), "EUR"), money(None)
    ('1,234.50 EUR', '–')
    """
    return "–" if value is None else f"{value:,.2f} {currency}".rstrip()


def shortened(words: str, most: int) -> str:
    """A text cut to so many letters, with an ellipsis where something is left out.

    >>> shortened("wall brush", 20), shortened("wall brush of 100 mm", 10)
    ('wall brush', 'wall brus…')
    """
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def share(part: float) -> str:
    """A share as a percentage.

    >>> share(0.9212)
    '92.1 %'
    """
    return f"{100 * part:.1f} %"


def state(order: OrderOutcome) -> str:
    """What becomes of an order line, in a few words, with how late or how short."""
    if order.state == "late":
        return f"late {duration(order.late_minutes)}"
    if order.state == "short":
        late = f", late {duration(order.late_minutes)}" if order.late_minutes else ""
        return f"short {order.short_quantity:,}{late}"
    return order.state
