"""Spreads: each stands where there is something for it to spread."""

from __future__ import annotations

from collections.abc import Iterator

from naptuft.book.check.references import names_in
from naptuft.book.entry import Reading
from naptuft.calculation import nearest
from naptuft.errors import Fault


def check_spreads(reading: Reading) -> Iterator[Fault]:
    """Spreads of a step that is not there, of a product not made at its work centre, of an unknown material."""
    yield from _operations(reading)
    materials = names_in(reading["Materials"], "code")
    for row in reading["Delivery spreads"]:
        material = row.values.get("material")
        if material and material != "*" and "Materials" in reading.present and material not in materials:
            mend = nearest(material, sorted(materials)[:500])
            yield Fault(row.place("material"), material, "a code on the sheet Materials, or * for all others", mend)


def _operations(reading: Reading) -> Iterator[Fault]:
    made: dict[str, dict[int, str]] = {}
    for row in reading["Routes"]:
        if row.record is not None:
            made.setdefault(row.record.product, {})[row.record.step] = row.record.work_centre
    for row in reading["Spreads"]:
        if row.record is None or not row.record.product or row.record.product not in made:
            continue
        steps = {step for step, centre in made[row.record.product].items() if centre == row.record.work_centre}
        product, centre = row.record.product, row.record.work_centre
        if not steps:
            allowed = f"a product with a step at {centre}; {product} has none there"
            yield Fault(row.place("product"), product, allowed, "correct the work centre or the product")
        elif row.record.step is not None and row.record.step not in steps:
            allowed = f"a step of {product} at {centre}: {', '.join(map(str, sorted(steps)))}"
            yield Fault(row.place("step"), row.record.step, allowed, "write one of these, or leave it empty")
