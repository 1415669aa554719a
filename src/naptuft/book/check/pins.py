"""Pins: each on a step there is, of what its order line is made of, on a machine that can do it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from naptuft.book.entry import Reading, Row
from naptuft.errors import Fault


def check_pins(reading: Reading) -> Iterator[Fault]:
    """Everything wrong with pins, beyond names that lead nowhere."""
    if not reading["Pins"]:
        return
    lines: dict[str, dict[int, str]] = {}
    for row in reading["Orders"]:
        lines.setdefault(row.values.get("order", ""), {})[row.values.get("line", 0)] = row.values.get("product", "")
    steps: dict[str, dict[int, str]] = {}
    for row in reading["Routes"]:
        steps.setdefault(row.values.get("product", ""), {})[row.values.get("step", 0)] = row.values.get(
            "work_centre", ""
        )
    centres = {row.values.get("code"): row.values.get("work_centre") for row in reading["Machines"]}
    parts: dict[str, list[str]] = {}
    for row in reading["Parts"]:
        parts.setdefault(row.values.get("product", ""), []).append(row.values.get("part", ""))
    start = next((row.values.get("start") for row in reading["Settings"]), None)
    for row in reading["Pins"]:
        yield from _pin(row, lines, steps, centres, parts, start)


def _pin(
    row: Row,
    lines: dict[str, dict[int, str]],
    steps: dict[str, dict[int, str]],
    centres: dict[str | None, str | None],
    parts: dict[str, list[str]],
    start: datetime.datetime | None,
) -> Iterator[Fault]:
    values = row.values
    order, line, product, step = (values.get(name) for name in ("order", "line", "product", "step"))
    own = lines.get(order or "", {})
    if own and line is not None and line not in own:
        listed = ", ".join(map(str, sorted(own)))
        yield Fault(row.place("line"), line, f"a line of {order}: {listed}", "write one of these")
    elif product in steps and line in own and product not in (within := _goes_into(own[line], parts)):
        made = ", ".join(sorted(within & steps.keys()))
        allowed = f"what goes into {own[line]}, ordered there: {made}"
        yield Fault(row.place("product"), product, allowed, "write one of these")
    route = steps.get(product or "", {})
    if route and step is not None and step not in route:
        listed = ", ".join(map(str, sorted(route)))
        yield Fault(row.place("step"), step, f"a step of {product}: {listed}", "write one of these")
    machine = values.get("machine")
    centre = route.get(step or 0)
    if centre and machine in centres and centres[machine] != centre:
        able = ", ".join(sorted(str(code) for code, at in centres.items() if at == centre))
        yield Fault(row.place("machine"), machine, f"a machine of {centre}: {able}", "write one of these")
    when = values.get("start")
    if when is not None and start is not None and when < start:
        allowed = f"not before the plan starts, {start:%Y-%m-%d %H:%M}"
        yield Fault(row.place("start"), f"{when:%Y-%m-%d %H:%M}", allowed, "pin it later")


def _goes_into(product: str, parts: dict[str, list[str]]) -> set[str]:
    """A product and everything it is made of."""
    found, stack = set(), [product]
    while stack:
        code = stack.pop()
        if code not in found:
            found.add(code)
            stack += parts.get(code, ())
    return found
