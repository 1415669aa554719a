"""Pins of the book found in the work orders: which operation each holds, and what is told when one cannot be kept."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from naptuft.book.model import Book, Pin
from naptuft.errors import Fault, Infeasible
from naptuft.planning.explode import Batch, Explosion

Held = Mapping[tuple[str, int], Pin]
"""The pin of each pinned operation, by work order and step of the route."""


def pins_of(book: Book, explosion: Explosion) -> Held:
    """The operations that pins hold: of the work orders behind an order line, the one that serves most of it.

    A pin that no work order is behind holds nothing; `ask_for_work` names it.
    """
    serves = explosion.serves() if book.pins else {}
    held = {}
    for pin in book.pins:
        batch = _behind(book, explosion, serves, pin)
        if batch is not None:
            held[batch.number, pin.step] = pin
    return held


def _behind(book: Book, explosion: Explosion, serves: Mapping[str, Mapping[str, float]], pin: Pin) -> Batch | None:
    stage = next((step.stage for step in book.route_of.get(pin.product, ()) if step.step == pin.step), None)
    line = f"{pin.order}/{pin.line}"
    able = [b for b in explosion.batches if (b.product, b.stage) == (pin.product, stage) and line in serves[b.number]]
    return max(able, key=lambda batch: serves[batch.number][line], default=None)


def ask_for_work(book: Book, explosion: Explosion) -> None:
    """Raise Infeasible with every pin that no work order is behind, and every two that hold one operation."""
    faults = []
    held: dict[tuple[str, int], Pin] = {}
    serves = explosion.serves() if book.pins else {}
    for pin in book.pins:
        batch = _behind(book, explosion, serves, pin)
        if batch is None:
            faults.append(
                Fault(
                    f"Pins, {pin.name}",
                    pin.product,
                    f"a product made for {pin.order}/{pin.line}; it comes from stock, or cannot be made",
                    "delete the pin",
                )
            )
            continue
        other = held.setdefault((batch.number, pin.step), pin)
        if other is not pin and (other.machine, other.start) != (pin.machine, pin.start):
            faults.append(
                Fault(
                    f"Pins, {pin.name}",
                    f"{pin.machine}, {pin.start:%Y-%m-%d %H:%M}",
                    f"{other.machine}, {other.start:%Y-%m-%d %H:%M}: one work order serves both, {other.name} is pinned there",
                    "delete one of the two",
                )
            )
    if faults:
        raise Infeasible(*faults)


@contextmanager
def in_words_of_book(book: Book, explosion: Explosion) -> Iterator[None]:
    """Names steps as the book does, and the pin, wherever something infeasible is a step of a work order."""
    try:
        yield
    except Infeasible as error:
        held = pins_of(book, explosion)
        routes = {
            batch.number: [step for step in book.route_of[batch.product] if step.stage == batch.stage]
            for batch in explosion.batches
        }

        def step(number: str, index: str) -> int | None:
            route = routes.get(number, ())
            return route[int(index) - 1].step if 0 < int(index) <= len(route) else None

        made = {batch.number: batch.product for batch in explosion.batches}

        def numbered(text: str) -> str:
            """Steps by their number in the route, and beside a work order's number what it makes."""
            text = re.sub(r"(\S+), step (\d+)\b", lambda m: f"{m[1]}, step {step(m[1], m[2]) or m[2]}", text)
            text = re.sub(r"\bstep (\d+) of (\S+)", lambda m: f"step {step(m[2], m[1]) or m[1]} of {m[2]}", text)
            return re.sub(r"W-\d+", lambda m: f"{m[0]} ({made[m[0]]})" if m[0] in made else m[0], text)

        def told(fault: Fault) -> Fault:
            pinned = re.match(r"(\S+), step (\d+), pinned$", fault.place)
            pin = held.get((pinned[1], step(pinned[1], pinned[2]) or 0)) if pinned else None
            place = numbered(fault.place) if pin is None else f"Pins, {pin.name}"
            return Fault(place, fault.value, numbered(fault.allowed), fault.mend)

        raise Infeasible(*(told(fault) for fault in error.faults)) from None
