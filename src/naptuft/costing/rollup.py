"""What a plan costs: each work order by kind of cost, rolled up into order lines and products.

    a work order's own cost -> shared among the order lines and batches that take its goods -> order lines

Everything is worked in exact fractions and rounded once, by largest remainder, so that the cents add up
both ways: kinds to totals, and order lines with what is made for stock to the work orders.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from graphlib import TopologicalSorter
from typing import Literal

from naptuft.book.model import PINT_UNITS, Book
from naptuft.costing.rounding import exact, rounded_together
from naptuft.costing.standard import KINDS, Kinds, standard_costs, total_of
from naptuft.planning.plan import (
    Allocation,
    CostLine,
    DesignOutcome,
    OrderOutcome,
    PlannedCutList,
    PlannedOperation,
    WorkOrder,
)
from naptuft.planning.timing import loads_filled
from naptuft.quantity import from_si, kind_of, to_si

FOR_STOCK = "for stock"
"""Name of the order-level cost line that carries what is made for no order."""

UNIT_PLACES = 4
"""Decimal places of the cost of one unit; a gram of filling costs less than a cent."""


def cost_plan(
    book: Book,
    work_orders: Sequence[WorkOrder],
    operations: Sequence[PlannedOperation],
    allocations: Sequence[Allocation],
    orders: Sequence[OrderOutcome],
    designs: Iterable[DesignOutcome] = (),
    cut_lists: Iterable[PlannedCutList] = (),
) -> tuple[CostLine, ...]:
    """Cost lines of every work order, order line and product, in that order.

    A work order carries its own cost: material taken from lots and purchases, machine time (run and
    changeover), labour, energy while running, overhead on machine and labour. The share of it spent on
    units expected to be lost stands under scrap; a credit for clean scrap (web, runners) is negative.
    An order line carries its share of every work order below it, and the price of lots it is served
    from; what is made for no order stands in one line named `FOR_STOCK` where there is any. A product's
    line is for one unit, everything below it included, to a hundredth of a cent; where nothing of it is
    made in the plan it is the standard cost.

    orders     their `cost` is not read
    designs    `web_mass` and `regrind_mass` in their figures earn the credit, where the material taken holds them
    cut_lists  share a cutting batch by the length each refill takes

    Work orders that feed each other in a circle raise graphlib.CycleError.
    Source: roll-up through the bill of material, common practice.
    """
    designs = tuple(designs)
    own = _own_costs(book, work_orders, operations, allocations, designs)
    flows = _flows(work_orders, allocations, orders, tuple(cut_lists))
    standard = standard_costs(book, {design.product: design for design in designs})
    work_lines = _work_order_lines(work_orders, own)
    order_lines = _order_lines(book, work_orders, allocations, orders, own, flows, standard)
    return (*work_lines, *order_lines, *_product_lines(book, work_orders, orders, own, flows, standard))


def _own_costs(
    book: Book,
    work_orders: Sequence[WorkOrder],
    operations: Sequence[PlannedOperation],
    allocations: Sequence[Allocation],
    designs: Sequence[DesignOutcome],
) -> dict[str, Kinds]:
    """Exact cost of each work order by kind, the share of lost units moved to scrap."""
    material: dict[str, Fraction] = defaultdict(Fraction)
    for allocation in allocations:
        if allocation.source != "made":
            material[allocation.work_order] += exact(allocation.cost)
    steps: dict[str, list[PlannedOperation]] = defaultdict(list)
    for operation in operations:
        steps[operation.work_order].append(operation)
    figures = {design.product: design for design in designs}
    shares = _batch_shares(book, work_orders, operations)
    costs = {}
    for order in work_orders:
        spent = conversion_cost(book, steps[order.number], shares) | {"material": material[order.number]}
        lost = 1 - exact(order.quantity) / exact(order.started) if order.started > order.quantity else Fraction(0)
        kinds = {kind: spent.get(kind, Fraction(0)) * (1 - lost) for kind in KINDS}
        kinds["scrap"] = sum(spent.values(), Fraction(0)) * lost
        kinds["regrind_credit"] = -_clean_scrap_value(book, order, figures.get(order.product))
        costs[order.number] = kinds
    return costs


def _batch_shares(
    book: Book, work_orders: Sequence[WorkOrder], operations: Sequence[PlannedOperation]
) -> dict[tuple[str, int], Fraction]:
    """What each operation bears of a run it shares with others in one machine (an oven, a vat), by loads.

    By work order and step; an operation that is not named bears its run alone.
    """
    takes = {machine.code: machine.takes for machine in book.machines if machine.takes is not None}
    order = {made.number: made for made in work_orders}
    runs: dict[tuple[str, datetime.datetime], list[PlannedOperation]] = defaultdict(list)
    for operation in operations:
        if operation.machine in takes:
            runs[operation.machine, operation.start].append(operation)
    shares = {}
    for (machine, _), together in runs.items():
        loads = {}
        for operation in together:
            made = order[operation.work_order]
            step = next(
                step for step in book.route_of[made.product] if (step.step, step.stage) == (operation.step, made.stage)
            )
            loads[operation.work_order, operation.step] = loads_filled(step, operation.quantity, takes[machine])
        total = sum(loads.values())
        shares |= {key: Fraction(load, total) for key, load in loads.items()}
    return shares


def conversion_cost(
    book: Book, operations: Iterable[PlannedOperation], shares: Mapping[tuple[str, int], Fraction]
) -> dict[str, Fraction]:
    """Exact money for machine, labour, energy and overhead of some operations.

    machine = (run + changeover) × rate; labour = the same hours × people × wage, hours of overtime as often as
    overtime pay says; energy = run × power × price; overhead = its share of machine and labour. Set-up is part of the run minutes. Of a run shared with
    other work orders an operation bears its share, and its own changeover.
    Source: machine-hour rate costing, common practice.
    """
    machines = {machine.code: machine for machine in book.machines}
    centres = {centre.code: centre for centre in book.work_centres}
    wages = {crew.code: exact(crew.wage_per_hour) for crew in book.crews}
    kinds = dict.fromkeys(KINDS, Fraction(0))
    for operation in operations:
        machine, centre = machines[operation.machine], centres[operation.work_centre]
        run = Fraction(operation.run_minutes, 60) * shares.get((operation.work_order, operation.step), 1)
        busy = run + Fraction(operation.changeover_minutes, 60)
        overtime = Fraction(operation.overtime_minutes, 60) * shares.get((operation.work_order, operation.step), 1)
        paid = busy + overtime * (exact(book.settings.overtime_pay) - 1)
        kinds["machine"] += busy * exact(machine.rate_per_hour)
        kinds["labour"] += paid * exact(centre.people) * wages[centre.crew]
        kinds["energy"] += run * exact(machine.power) / 1000 * exact(book.settings.energy_price_per_kwh)
    kinds["overhead"] = (kinds["machine"] + kinds["labour"]) * exact(book.settings.overhead)
    return kinds


def _clean_scrap_value(book: Book, order: WorkOrder, design: DesignOutcome | None) -> Fraction:
    """Worth of web and runners of everything started, where their material is counted by mass.

    Runners fed back are taken off the figure `resin_mass` already: a part that reads it earns nothing more.
    """
    if design is None or order.stage == "cut":
        return Fraction(0)
    for part in book.parts_of.get(order.product, ()):
        material = book.material.get(part.part)
        if material is not None and material.kind in ("resin", "sheet") and kind_of(material.pint_unit) == "a mass":
            names = ("web_mass",) if part.from_design == "resin_mass" else ("web_mass", "regrind_mass")
            mass = sum(design.result[name] for name in names if name in design.result)
            each = from_si(mass, material.pint_unit)
            return exact(each) * exact(order.started) * exact(material.scrap_price_per_unit)
    return Fraction(0)


@dataclass(frozen=True)
class _Flows:
    """Where the goods of each work order go, as shares that add up to 1.

    to_orders  work order -> order line (or FOR_STOCK) -> share of its own cost that ends there
    to_makers  work order -> work order that takes of it -> share taken
    """

    to_orders: Mapping[str, Mapping[str, Fraction]]
    to_makers: Mapping[str, Mapping[str, Fraction]]


def _flows(
    work_orders: Sequence[WorkOrder],
    allocations: Sequence[Allocation],
    orders: Sequence[OrderOutcome],
    cut_lists: tuple[PlannedCutList, ...],
) -> _Flows:
    made: dict[str, list[Allocation]] = defaultdict(list)
    for allocation in allocations:
        if allocation.source == "made":
            made[allocation.lot].append(allocation)
    directly: dict[str, set[str]] = defaultdict(set)
    for outcome in orders:
        for number in outcome.work_orders:
            directly[number].add(outcome.name)
    lengths = {found.work_order: found for found in cut_lists if found.kind == "tube"}
    takers, to_makers = {}, {}
    for order in work_orders:
        direct: dict[str, Fraction] = defaultdict(Fraction)
        for serving in order.serves:
            name = f"{serving.order}/{serving.line}"
            if name in directly[order.number]:
                direct[name] += exact(serving.quantity)
        if order.number in lengths:
            taken, whole = _lengths_taken(lengths[order.number]), Fraction(0)
        else:
            taken, whole = _quantities_taken(order, made[order.number])
        whole = max(whole, sum(direct.values()) + sum(taken.values()))
        to_makers[order.number] = {name: amount / whole for name, amount in taken.items() if amount} if whole else {}
        takers[order.number] = {name: amount / whole for name, amount in direct.items()} if whole else {}
    to_orders: dict[str, dict[str, Fraction]] = {}
    for number in TopologicalSorter(to_makers).static_order():
        shares: dict[str, Fraction] = defaultdict(Fraction, takers[number])
        for taker, share in to_makers[number].items():
            for name, above in to_orders[taker].items():
                shares[name] += share * above
        shares[FOR_STOCK] += 1 - sum(shares.values())
        to_orders[number] = {name: share for name, share in shares.items() if share}
    return _Flows(to_orders, to_makers)


def _lengths_taken(found: PlannedCutList) -> dict[str, Fraction]:
    """Length of tube that goes into each refill's work order; offcuts and kerfs follow in proportion."""
    taken: dict[str, Fraction] = defaultdict(Fraction)
    for pattern in found.patterns:
        for piece in pattern.pieces:
            if piece.work_order:
                taken[piece.work_order] += exact(piece.length_mm) * piece.count * pattern.count
    return taken


def _quantities_taken(order: WorkOrder, made: Sequence[Allocation]) -> tuple[dict[str, Fraction], Fraction]:
    """How much each work order takes of this one, and how much there is, in the same unit.

    Where takers count in another kind of unit than the batch, nothing is left over for stock.
    """
    unit = PINT_UNITS.get(order.unit, order.unit)
    alike = all(kind_of(PINT_UNITS.get(allocation.unit, allocation.unit)) == kind_of(unit) for allocation in made)
    taken: dict[str, Fraction] = defaultdict(Fraction)
    for allocation in made:
        quantity = exact(allocation.quantity)
        if alike and allocation.unit != order.unit:
            quantity = exact(
                from_si(to_si(allocation.quantity, PINT_UNITS.get(allocation.unit, allocation.unit)), unit)
            )
        taken[allocation.work_order] += quantity
    return taken, exact(order.quantity) if alike else Fraction(0)


def _work_order_lines(work_orders: Sequence[WorkOrder], own: Mapping[str, Kinds]) -> tuple[CostLine, ...]:
    money = _rounded([own[order.number] for order in work_orders])
    return tuple(
        _line("work order", order.number, order.quantity, order.unit, kinds)
        for order, kinds in zip(work_orders, money, strict=True)
    )


def _order_lines(
    book: Book,
    work_orders: Sequence[WorkOrder],
    allocations: Sequence[Allocation],
    orders: Sequence[OrderOutcome],
    own: Mapping[str, Kinds],
    flows: _Flows,
    standard: Mapping[str, Kinds],
) -> tuple[CostLine, ...]:
    costs = {outcome.name: dict.fromkeys(KINDS, Fraction(0)) for outcome in orders}
    costs[FOR_STOCK] = dict.fromkeys(KINDS, Fraction(0))
    for order in work_orders:
        for name, share in flows.to_orders[order.number].items():
            for kind in KINDS:
                costs[name][kind] += share * own[order.number][kind]
    money = dict(zip(costs, _rounded(list(costs.values())), strict=True))
    lines = []
    for outcome in orders:
        kinds = dict(money[outcome.name])
        kinds["material"] += _stock_value(book, outcome, allocations, standard)
        unit = book.product[outcome.product].unit
        delivered = float(outcome.quantity - outcome.short_quantity)
        lines.append(_line("order", outcome.name, delivered, unit, kinds))
    if any(costs[FOR_STOCK].values()):
        lines.append(_line("order", FOR_STOCK, 0.0, "", money[FOR_STOCK]))
    return tuple(lines)


def _stock_value(
    book: Book, outcome: OrderOutcome, allocations: Sequence[Allocation], standard: Mapping[str, Kinds]
) -> Decimal:
    """Money for what an order line takes from lots made before: by its allocations, else at the mean lot price."""
    found = [allocation.cost for allocation in allocations if allocation.work_order == outcome.name]
    if found:
        return sum(found, Decimal(0)).quantize(Decimal("0.01"))
    each = lot_price(book, outcome.product)
    if each is None:
        each = total_of(standard[outcome.product])
    return rounded_together({0: each * outcome.from_stock})[0]


def lot_price(book: Book, product: str) -> Fraction | None:
    """Mean price of one unit over the free lots of a product that have a price, by quantity; None without any."""
    item = book.product[product]
    lots = [
        lot for lot in book.lots if lot.material == product and lot.state == "free" and lot.price_per_unit is not None
    ]
    weights = [exact(lot.quantity.si(item.pint_unit)) for lot in lots]
    if not sum(weights):
        return None
    paid = sum(
        (exact(lot.price_per_unit or Decimal(0)) * weight for lot, weight in zip(lots, weights, strict=True)),
        Fraction(0),
    )
    return paid / sum(weights)


def _product_lines(
    book: Book,
    work_orders: Sequence[WorkOrder],
    orders: Sequence[OrderOutcome],
    own: Mapping[str, Kinds],
    flows: _Flows,
    standard: Mapping[str, Kinds],
) -> tuple[CostLine, ...]:
    """Cost of one unit of each product made or ordered, everything below it included."""
    below = {number: dict(kinds) for number, kinds in own.items()}
    for number in reversed(tuple(TopologicalSorter(flows.to_makers).static_order())):
        for taker, share in flows.to_makers[number].items():
            for kind in KINDS:
                below[taker][kind] += share * below[number][kind]
    made = [order for order in work_orders if order.stage == "make" and order.quantity > 0]
    wanted = {outcome.product for outcome in orders}
    lines = []
    for product in book.products:
        batches = [order for order in made if order.product == product.code]
        if batches:
            quantity = sum((exact(order.quantity) for order in batches), Fraction(0))
            each = {
                kind: sum((below[order.number][kind] for order in batches), Fraction(0)) / quantity for kind in KINDS
            }
        elif product.code in wanted:
            priced = lot_price(book, product.code)
            each = dict(standard[product.code])
            if priced is not None and _all_from_stock(orders, product.code):
                each = dict.fromkeys(KINDS, Fraction(0)) | {"material": priced}
        else:
            continue
        lines.append(_line("product", product.code, 1.0, product.unit, rounded_together(each, UNIT_PLACES)))
    return tuple(lines)


def _all_from_stock(orders: Sequence[OrderOutcome], product: str) -> bool:
    return all(outcome.from_stock == outcome.quantity for outcome in orders if outcome.product == product)


def _rounded(rows: Sequence[Kinds]) -> list[dict[str, Decimal]]:
    """Rows of exact kinds to cents: each kind adds up over the rows to its sum rounded once."""
    columns = {kind: rounded_together(dict(enumerate(row[kind] for row in rows))) for kind in KINDS}
    return [{kind: columns[kind][place] for kind in KINDS} for place in range(len(rows))]


def _line(
    of: Literal["product", "work order", "order"], name: str, quantity: float, unit: str, kinds: Mapping[str, Decimal]
) -> CostLine:
    return CostLine(of=of, name=name, quantity=quantity, unit=unit, **kinds, total=sum(kinds.values(), Decimal(0)))
