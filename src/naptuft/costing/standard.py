"""Standard cost of one unit of each product, from the book and the designs alone, without a plan.

It stands in where a plan makes none of a product. Set-up is spread over the least batch, where the
book names one; changeovers are left out, since they depend on the sequence.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from naptuft.book.model import Book, Material, Part
from naptuft.costing.rounding import exact
from naptuft.planning.plan import DesignOutcome
from naptuft.quantity import Measure, from_si

KINDS: tuple[str, ...] = ("material", "machine", "labour", "energy", "overhead", "scrap", "regrind_credit")
"""Kinds of cost, in the order they are shown."""

Kinds = Mapping[str, Fraction]
Designs = Mapping[str, DesignOutcome]


def total_of(kinds: Kinds) -> Fraction:
    """All kinds together."""
    return sum(kinds.values(), Fraction(0))


def standard_costs(book: Book, designs: Designs) -> dict[str, Kinds]:
    """Exact standard cost of one unit of every product, by kind.

    designs  by product code; figures named in parts and routes are read there
    """
    known: dict[str, Kinds] = {}
    for product in book.products:
        _standard(book, designs, product.code, known)
    return known


def _standard(book: Book, designs: Designs, code: str, known: dict[str, Kinds]) -> Kinds:
    if code in known:
        return known[code]
    product = book.product[code]
    spent = dict.fromkeys(KINDS, Fraction(0))
    blends = [part for part in book.parts_of.get(code, ()) if part.from_design == "blend"]
    for part in book.parts_of.get(code, ()):
        share = Fraction(1, len(blends)) if part in blends else Fraction(1)
        item = book.item[part.part]
        need = share * _need(book, designs, part)
        if isinstance(item, Material):
            spent["material"] += need * exact(item.price_per_unit)
        else:
            for kind, amount in _standard(book, designs, part.part, known).items():
                spent[kind] += need * amount
    for kind, amount in _route_cost(book, designs, code).items():
        spent[kind] += amount
    started = 1 / (1 - exact(product.scrap))
    lost = total_of(spent) * (started - 1)
    known[code] = spent | {"scrap": spent["scrap"] + lost}
    return known[code]


def _need(book: Book, designs: Designs, part: Part) -> Fraction:
    """How much of a part one unit of its product takes, in the part's unit, loss included."""
    item = book.item[part.part]
    if part.quantity is not None:
        need = from_si(part.quantity.si(item.pint_unit), item.pint_unit)
    elif part.from_design == "blend":
        unit = book.product[part.product].pint_unit
        need = Measure(1.0, unit).si(unit) / Measure(1.0, item.pint_unit).si(item.pint_unit)
    elif part.from_design == "cut list":
        settings = book.settings
        usable = designs[part.part].result["core_length"] - 2 * settings.end_trim
        need = (designs[part.product].result["length"] + settings.kerf) / usable
    else:
        need = from_si(designs[part.product].result[part.from_design], item.pint_unit)
    return exact(need) / (1 - exact(part.loss))


def _route_cost(book: Book, designs: Designs, code: str) -> dict[str, Fraction]:
    """Machine, labour, energy and overhead of one unit, on the mean machine of each work centre."""
    product = book.product[code]
    batch = product.least_batch
    centres = {centre.code: centre for centre in book.work_centres}
    wages = {crew.code: exact(crew.wage_per_hour) for crew in book.crews}
    cost: dict[str, Fraction] = dict.fromkeys(("machine", "labour", "energy", "overhead"), Fraction(0))
    for step in book.route_of.get(code, ()):
        centre, machines = centres[step.work_centre], book.machines_of[step.work_centre]
        each = step.time_each if step.time_each is not None else designs[code].result[step.from_design]
        setup = exact(step.setup) / exact(from_si(batch.si(product.pint_unit), product.pint_unit)) if batch else 0
        for machine in machines:
            hours = (exact(each) / exact(machine.speed) + setup) / 3600 / len(machines)
            cost["machine"] += hours * exact(machine.rate_per_hour)
            cost["labour"] += hours * exact(centre.people) * wages[centre.crew]
            cost["energy"] += hours * exact(machine.power) / 1000 * exact(book.settings.energy_price_per_kwh)
    cost["overhead"] = (cost["machine"] + cost["labour"]) * exact(book.settings.overhead)
    return cost
