"""The material plan: what the weeks take of each material, day by day, what is bought for it, and what would cost less.

Net needs follow from the schedule: a material is needed on the day its work order starts. The plan's own
purchases serve each need as it is found; the orders proposed here meet the same needs at the least cost of
ordering, price and keeping (see `lot_sizing`).
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from naptuft.book.model import Book, Material
from naptuft.planning.lot_sizing import Terms, order_sizes
from naptuft.planning.plan import Plan
from naptuft.quantity import Measure, from_si

CENT = Decimal("0.01")
DAYS_A_YEAR = 365
SECONDS = 3.0


@dataclass(frozen=True)
class MaterialDay:
    """One day of one material, in its own unit.

    needed    taken by work orders that start on the day
    arrives   lots on their way and purchases of the plan
    stock     left at the end of the day; below 0 never, as the plan waits for what it buys
    """

    day: datetime.date
    needed: float
    arrives: float
    stock: float


@dataclass(frozen=True)
class ProposedOrder:
    """An order that would serve the needs at least cost.

    order_by   last day to place it
    arrives    the day it is there
    serves     order lines made of it, the first to need it first
    """

    order_by: datetime.date
    arrives: datetime.date
    quantity: float
    price_per_unit: Decimal
    cost: Decimal
    serves: tuple[str, ...]


@dataclass(frozen=True)
class MaterialNeed:
    """One material over the weeks planned.

    opening        free stock at the start
    days           days on which anything happens
    safety_stock   what is kept for surprises; `below_safety` the first day it is not there
    proposed       orders that meet the needs of the purchases of the plan at least cost
    planned_cost   of the plan's own purchases: price, orders and keeping
    proposed_cost  the same of the proposed orders; `proven` when no orders cost less
    """

    material: str
    name: str
    unit: str
    opening: float
    days: tuple[MaterialDay, ...]
    safety_stock: float
    below_safety: datetime.date | None
    proposed: tuple[ProposedOrder, ...]
    planned_cost: Decimal
    proposed_cost: Decimal
    proven: bool

    @property
    def needed(self) -> float:
        """Taken in all."""
        return sum(day.needed for day in self.days)

    @property
    def saving(self) -> Decimal:
        """What the proposed orders would save; 0 where the plan's own are as good."""
        return max(Decimal(0), self.planned_cost - self.proposed_cost)


@dataclass
class _Ledger:
    needed: dict[datetime.date, float]
    bought: dict[datetime.date, float]
    arrives: dict[datetime.date, float]
    serves: dict[datetime.date, dict[str, None]]


def material_plan(book: Book, plan: Plan) -> tuple[MaterialNeed, ...]:
    """Needs, stock and orders of every material the plan takes, buys or lets fall below its safety stock."""
    ledgers: dict[str, _Ledger] = defaultdict(
        lambda: _Ledger(defaultdict(float), defaultdict(float), defaultdict(float), defaultdict(dict))
    )
    starts = {order.number: order.start.date() for order in plan.work_orders}
    lines = {order.number: [f"{s.order}/{s.line}" for s in order.serves] for order in plan.work_orders}
    for taken in plan.allocations:
        if taken.source == "made" or taken.material not in book.material:
            continue
        ledger, day = ledgers[taken.material], starts[taken.work_order]
        ledger.needed[day] += taken.quantity
        if taken.source == "purchase":
            ledger.bought[day] += taken.quantity
            ledger.serves[day].update(dict.fromkeys(lines[taken.work_order]))
    for purchase in plan.purchases:
        ledgers[purchase.material].arrives[purchase.arrives.date()] += purchase.quantity
    for lot in book.lots:
        if lot.material in book.material and lot.state == "free" and lot.arrives is not None:
            ledgers[lot.material].arrives[lot.arrives.date()] += _in_unit(lot.quantity, book.material[lot.material])
    return tuple(
        _need(book, plan, material, ledgers[material.code])
        for material in book.materials
        if material.code in ledgers or _in_unit(material.safety_stock, material) > _opening(book, material)
    )


def _in_unit(measure: Measure | None, material: Material) -> float:
    return 0.0 if measure is None else from_si(measure.si(material.pint_unit), material.pint_unit)


def _opening(book: Book, material: Material) -> float:
    return sum(
        _in_unit(lot.quantity, material)
        for lot in book.lots
        if lot.material == material.code and lot.state == "free" and lot.arrives is None
    )


def _need(book: Book, plan: Plan, material: Material, ledger: _Ledger) -> MaterialNeed:
    opening = stock = _opening(book, material)
    safety = _in_unit(material.safety_stock, material)
    days, below = [], None
    for day in sorted({*ledger.needed, *ledger.arrives}):
        stock += ledger.arrives[day] - ledger.needed[day]
        days.append(MaterialDay(day, ledger.needed[day], ledger.arrives[day], round(stock, 6)))
        if below is None and stock < safety - 1e-9:
            below = day
    if below is None and opening < safety - 1e-9:
        below = plan.start.date()
    proposed, cost, proven = _proposed(book, plan, material, ledger)
    return MaterialNeed(
        material.code,
        material.name,
        material.unit,
        opening,
        tuple(days),
        safety,
        below,
        proposed,
        _planned_cost(book, plan, material, ledger),
        cost,
        proven,
    )


def terms_of(book: Book, material: Material) -> Terms:
    """The terms a material is bought on, a period being a day."""
    per_day = float(material.price_per_unit) * book.settings.keeping / DAYS_A_YEAR
    breaks = {0.0: float(material.price_per_unit)}
    for step in book.breaks_of.get(material.code, ()):
        breaks[_in_unit(step.from_quantity, material)] = float(step.price_per_unit)
    return Terms(
        breaks=tuple(sorted(breaks.items())),
        order_cost=float(book.settings.order_cost),
        keeping_cost=per_day,
        least=_in_unit(material.least_order, material),
        multiple=_in_unit(material.order_multiple, material) or (1.0 if material.unit == "pcs" else 0.0),
        keeps=material.keeps_days,
    )


def _proposed(
    book: Book, plan: Plan, material: Material, ledger: _Ledger
) -> tuple[tuple[ProposedOrder, ...], Decimal, bool]:
    """Orders for what the plan buys, each arriving the day before it is needed, or as soon as it can come."""
    if not any(ledger.bought.values()) or material.lead_days is None:
        return (), Decimal(0), True
    first = plan.start.date() + datetime.timedelta(days=material.lead_days)
    by_day: Mapping[datetime.date, float] = ledger.bought
    arrivals = {day: max(first, day - datetime.timedelta(days=1)) for day in by_day}
    start, last = min(arrivals.values()), max(arrivals.values())
    needs = [0.0] * ((last - start).days + 1)
    serves: list[dict[str, None]] = [{} for _ in needs]
    for day in sorted(by_day):
        place = (arrivals[day] - start).days
        needs[place] += by_day[day]
        serves[place].update(ledger.serves[day])
    terms = terms_of(book, material)
    sizes = order_sizes(needs, terms, seconds=SECONDS)
    orders = []
    places = [place for place, quantity in enumerate(sizes.quantities) if quantity > 0]
    for place, following in zip(places, [*places[1:], len(needs)], strict=True):
        quantity = sizes.quantities[place]
        served = dict.fromkeys(line for each in range(place, following) for line in serves[each])
        price = Decimal(repr(terms.price(quantity)))
        arrives = start + datetime.timedelta(days=place)
        orders.append(
            ProposedOrder(
                arrives - datetime.timedelta(days=material.lead_days),
                arrives,
                quantity,
                price,
                (price * Decimal(repr(quantity))).quantize(CENT),
                tuple(served),
            )
        )
    return tuple(orders), Decimal(repr(sizes.cost)).quantize(CENT), sizes.proven


def _planned_cost(book: Book, plan: Plan, material: Material, ledger: _Ledger) -> Decimal:
    """Price, order and keeping cost of the purchases the plan makes for its work orders."""
    terms = terms_of(book, material)
    bought = [purchase for purchase in plan.purchases if purchase.material == material.code and purchase.needed > 0]
    if not bought:
        return Decimal(0)
    cost = sum(terms.price(each.quantity) * each.quantity + terms.cost_of_order(0) for each in bought)
    stock, before = 0.0, None
    arrived: dict[datetime.date, float] = defaultdict(float)
    for purchase in bought:
        arrived[purchase.arrives.date()] += purchase.quantity
    for day in sorted({*arrived, *ledger.bought}):
        if before is not None:
            cost += max(0.0, stock) * terms.keeping_cost * (day - before).days
        stock += arrived[day] - ledger.bought[day]
        before = day
    return Decimal(repr(cost)).quantize(CENT)
