"""The order of colours through one vat that washes out least."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from naptuft.calculation import Calculation, Result, Step, Value, quantity, rows, text
from naptuft.errors import DesignError, Fault
from naptuft.handle.coats import VAPOUR_CAUTION, WET_CAUTION
from naptuft.materials.property import COMMON_PRACTICE

SOURCE = "no order climbs less than from the first colour to the lightest; this one climbs just that"


@dataclass(frozen=True)
class Colour:
    """One colour that is due."""

    colour: str = text("its name", example="river blue")
    lightness: float = quantity("", "L* of ISO/CIE 11664-4, 0 black to 100 white", low=0, high=100, example="45")


@dataclass(frozen=True)
class ColourOrder:
    """The colours due, and what a wash-out takes."""

    colours: tuple[Colour, ...] = rows(
        Colour,
        "the colours due, the one in the vat first",
        example="river blue | 45; black | 12; cream | 88; signal red | 48",
    )
    wash: float = quantity("min", "to change to a darker colour", low=0, high=600, default=15)
    wash_per_step: float = quantity(
        "min", "more for each ten steps of lightness a colour is lighter than the last", low=0, high=600, default=8
    )

    def __post_init__(self) -> None:
        faults = []
        names = [colour.colour.casefold() for colour in self.colours]
        for number, name in enumerate(names, start=1):
            if name in names[: number - 1]:
                faults.append(Fault(f"colours, row {number}", name, "each colour once", "leave the second one out"))
        if faults:
            raise DesignError(*faults)


def wash_time(before: float, after: float, wash: float, per_step: float) -> float:
    """Time to wash out one colour for another. [s]

    wash + per_step x (lightness gained)/10; nothing more towards a darker colour
    before, after  lightness L*; wash and per_step [s]
    Source: common practice, light colours before dark ones.

    >>> wash_time(12.0, 88.0, 900.0, 480.0), wash_time(88.0, 12.0, 900.0, 480.0)
    (4548.0, 900.0)
    """
    return wash + per_step * max(0.0, after - before) / 10


def least_order(lightness: tuple[float, ...]) -> tuple[int, ...]:
    """The order that starts with the first colour and gains least lightness on the way; proven least.

    Lighter ones first, step by step up to the lightest, then down through the rest. Every order must
    climb at least from the first to the lightest; this one climbs no more.
    lightness  L* of each colour; the first is in the vat

    >>> least_order((45.0, 12.0, 88.0, 48.0))
    (0, 3, 2, 1)
    """
    rest = range(1, len(lightness))
    up = sorted((k for k in rest if lightness[k] > lightness[0]), key=lambda k: lightness[k])
    down = sorted((k for k in rest if lightness[k] <= lightness[0]), key=lambda k: -lightness[k])
    return (0, *up, *down)


def run_order(order: ColourOrder) -> Result:
    """Work out the order of colours."""
    lightness = [colour.lightness for colour in order.colours]
    path = least_order(tuple(lightness))
    total, given = (
        sum(wash_time(lightness[a], lightness[b], order.wash, order.wash_per_step) for a, b in pairwise(way))
        for way in (path, range(len(lightness)))
    )
    names = " – ".join(order.colours[k].colour for k in path)
    values = (
        Value("wash_out", "wash-outs, in the best order", total, "min"),
        Value("wash_out_given", "in the order given", given, "min"),
        Value("saved", "saved", given - total, "min"),
    )
    steps = (
        Step("one wash-out", "wash + step × lightness gained / 10", order.wash, "min", COMMON_PRACTICE),
        Step("best order", "lighter ones upwards, then the rest downwards", total, "min", SOURCE),
    )
    return Result(values, (), steps, (VAPOUR_CAUTION, WET_CAUTION), (f"Best order: {names}.",))


COLOUR_ORDER = Calculation(
    name="colour-order",
    title="Order of colours",
    line="handle",
    about="The order of the colours due that washes the vat out least, proven, from the one in the vat now.",
    inputs=ColourOrder,
    run=run_order,
)
