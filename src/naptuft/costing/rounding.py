"""Rounding shares of an amount so that they add up to it exactly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import TypeVar

Key = TypeVar("Key")


def exact(value: Decimal | float) -> Fraction:
    """A number as the fraction it is written as: 0.15 is 3/20, not the nearest binary fraction.

    >>> exact(0.15), exact(Decimal("2.50"))
    (Fraction(3, 20), Fraction(5, 2))
    """
    return Fraction(value if isinstance(value, Decimal) else Decimal(repr(value)))


def largest_remainder(amounts: Sequence[Fraction], whole: int) -> tuple[int, ...]:
    """Whole numbers near `amounts` that add up to `whole`.

    Each is its amount rounded down; the units left over go, one each, to the largest remainders, the
    earlier first among equals. `whole` is within len(amounts) of the sum of the amounts.
    Source: the method of largest remainders (A. Hamilton 1792), common practice in accounts.

    >>> largest_remainder([Fraction(1, 3)] * 3, 1)
    (1, 0, 0)
    >>> largest_remainder([Fraction(13, 5), Fraction(-3, 5)], 2)
    (3, -1)
    """
    floors = [floor(amount) for amount in amounts]
    left = whole - sum(floors)
    assert 0 <= left <= len(amounts), "the whole must be the sum of the amounts, rounded"
    order = sorted(range(len(amounts)), key=lambda i: floors[i] - amounts[i])
    for i in order[:left]:
        floors[i] += 1
    return tuple(floors)


def rounded_together(amounts: Mapping[Key, Fraction], places: int = 2) -> dict[Key, Decimal]:
    """Amounts to so many places, adding up to their exact sum rounded once (half to even).

    >>> rounded_together({"a": Fraction(1, 3), "b": Fraction(1, 3), "c": Fraction(1, 3)})
    {'a': Decimal('0.34'), 'b': Decimal('0.33'), 'c': Decimal('0.33')}
    """
    scale = 10**places
    scaled = [amount * scale for amount in amounts.values()]
    whole = largest_remainder(scaled, round(sum(scaled, Fraction(0))))
    return {key: Decimal(units).scaleb(-places) for key, units in zip(amounts, whole, strict=True)}
