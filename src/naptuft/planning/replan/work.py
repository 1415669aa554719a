"""The work of a plan as it changes: work orders added or dropped, lots taken back, orders wanted more or less."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from naptuft.book.model import Book, Lot, Order
from naptuft.planning.allocate import Allocated, allocate
from naptuft.planning.answered import Answered
from naptuft.planning.design import Designs
from naptuft.planning.explode import Batch, Demand, Explosion, Requirement, Supply, Taking, explode
from naptuft.planning.plan import Allocation, Plan, PlannedBlend, PlannedCutList, Purchase
from naptuft.planning.weeks import CENT, allocations_of, blends_of, cut_lists_of
from naptuft.quantity import Measure, from_si

PATIENCE = 6


@dataclass
class Work:
    """The work orders of a plan and what they take, changed in place by what happened.

    started   work orders on the floor already: they keep what they took
    wanted    order line -> how many can be delivered
    reasons   order line -> why not all
    release   work order -> when its bought material is there
    """

    book: Book
    designs: Designs
    at: datetime.datetime
    started: set[str]
    batches: list[Batch]
    allocations: list[Allocation]
    purchases: list[Purchase]
    blends: list[PlannedBlend]
    cut_lists: list[PlannedCutList]
    wanted: dict[str, float]
    reasons: dict[str, str]
    release: dict[str, datetime.datetime]
    waits_for: dict[str, str] = field(default_factory=dict)
    notes: list[tuple[str, str]] = field(default_factory=list)

    @classmethod
    def of(cls, book: Book, plan: Plan, posed: Answered, at: datetime.datetime, started: set[str]) -> Work:
        """The work of a plan as it stands."""
        return cls(
            book,
            posed.designs,
            at,
            started,
            list(posed.explosion.batches),
            list(plan.allocations),
            list(plan.purchases),
            list(plan.blends),
            list(plan.cut_lists),
            {line.name: float(line.quantity - line.short_quantity) for line in plan.orders},
            {line.name: line.reason for line in plan.orders if line.short_quantity},
            dict(posed.allocated.release),
            dict(posed.allocated.waits_for),
        )

    def explosion(self) -> Explosion:
        """The work as an explosion: batches, and who supplies whom."""
        there = {batch.number for batch in self.batches}
        supplies = tuple(
            Supply(a.work_order, a.material, a.lot, a.quantity)
            for a in self.allocations
            if a.source == "made" and a.lot in there
        )
        orders = {order.name for order in self.book.orders}
        takings = tuple(
            Taking(a.work_order, a.work_order in orders, a.material, a.lot, a.quantity)
            for a in self.allocations
            if a.source == "stock" and a.material in self.book.product
        )
        return Explosion(tuple(self.batches), (), takings, supplies, {})

    def allocated(self) -> Allocated:
        """What the work takes, and when its material is there."""
        ordered = tuple(sorted(self.allocations, key=lambda a: (a.work_order, a.material, a.lot)))
        return Allocated(ordered, tuple(self.purchases), {}, dict(self.release), dict(self.waits_for), (), ())

    def order_more(self, order: Order) -> None:
        """Make a quantity for an order line besides what is made for it already; less where material lacks."""
        made, lacking = self._make(order)
        self.wanted[order.name] = self.wanted.get(order.name, 0.0) + made
        if lacking:
            self.reasons[order.name] = lacking

    def _make(self, order: Order) -> tuple[float, str]:
        """Work orders for a quantity: (how much can be made, why not all)."""
        wanted, why = float(order.quantity), ""
        for attempt in range(PATIENCE):
            stock = self._stock((order,))
            explosion = explode(stock, self.designs, {order.name: wanted})
            allocated = allocate(stock, explosion, {})
            if not allocated.gaps:
                self._take_in(stock, explosion, allocated)
                return wanted, why
            worst = min(allocated.gaps, key=lambda gap: gap.share)
            why = worst.reason
            wanted = float(math.floor(wanted * worst.share)) if attempt + 2 < PATIENCE else 0.0
            if wanted <= 0:
                break
        return 0.0, why

    def _stock(self, orders: tuple[Order, ...]) -> Book:
        """The book as it is now: its lots less what the work takes of them, from the time of replanning on."""
        taken: dict[str, float] = {}
        for allocation in self.allocations:
            if allocation.source == "stock":
                taken[allocation.lot] = taken.get(allocation.lot, 0.0) + allocation.quantity
        lots = tuple(left for lot in self.book.lots if (left := self._left(lot, taken.get(lot.code, 0.0))) is not None)
        days = (self.at - self.book.start).days
        settings = replace(
            self.book.settings,
            start=self.at.replace(tzinfo=None),
            horizon_days=max(1, self.book.settings.horizon_days - days),
        )
        return replace(self.book, settings=settings, lots=lots, orders=orders)

    def _left(self, lot: Lot, taken: float) -> Lot | None:
        unit = self.book.item[lot.material].pint_unit
        left = from_si(lot.quantity.si(unit), unit) - taken
        if left <= 1e-9:
            return None
        return replace(lot, quantity=Measure(left)) if taken else lot

    def _take_in(self, stock: Book, explosion: Explosion, allocated: Allocated, keep_numbers: bool = False) -> None:
        """Add new work orders, or new takings of work orders there are, under numbers not used yet."""
        highest = max((int(b.number.split("-")[-1]) for b in self.batches), default=0)
        bought = max((int(p.number.split("-")[-1]) for p in self.purchases), default=0)
        new = {b.number: b.number for b in explosion.batches}
        if not keep_numbers:
            new = {b.number: f"W-{highest + place:04d}" for place, b in enumerate(explosion.batches, 1)}
        new |= {p.number: f"P-{bought + place:04d}" for place, p in enumerate(allocated.purchases, 1)}

        def named(name: str) -> str:
            return new.get(name, name)

        if not keep_numbers:
            self.batches += [
                replace(
                    batch,
                    number=new[batch.number],
                    demands=tuple(replace(demand, consumer=named(demand.consumer)) for demand in batch.demands),
                )
                for batch in explosion.batches
            ]
        self.allocations += [
            replace(a, work_order=named(a.work_order), lot=named(a.lot))
            for a in allocations_of(stock, explosion, allocated)
        ]
        self.purchases += [replace(p, number=new[p.number]) for p in allocated.purchases]
        self.blends += [replace(b, work_order=named(b.work_order)) for b in blends_of(stock, explosion, allocated)]
        for cut in cut_lists_of(stock, self.designs, explosion, allocated):
            patterns = tuple(
                replace(
                    pattern,
                    pieces=tuple(replace(piece, work_order=named(piece.work_order)) for piece in pattern.pieces),
                )
                for pattern in cut.patterns
            )
            self.cut_lists.append(replace(cut, work_order=named(cut.work_order), patterns=patterns))
        for number, when in allocated.release.items():
            if when > self.release.get(named(number), self.book.start):
                self.release[named(number)] = when
                self.waits_for[named(number)] = allocated.waits_for.get(number, "its material")

    def hold(self, code: str) -> None:
        """Take a held lot back from all work not started, and give that work others, bought or made where need be."""
        lots = tuple(replace(lot, state="held") if lot.code == code else lot for lot in self.book.lots)
        self.book = replace(self.book, lots=lots)
        material = self.book.lot[code].material
        users = sorted({a.work_order for a in self.allocations if a.lot == code and a.source == "stock"})
        for number in users:
            if number in self.started:
                self.notes.append(
                    (f"work order {number}", f"has taken of lot {code}, which is held: set its goods aside")
                )
        free = [number for number in users if number not in self.started]
        if material in self.book.product:
            for number in free:
                self._make_instead(number, code)
            return
        self._take_instead([self._given_back(number, code, material) for number in free], {})

    def take_fresh(self, starts: Mapping[str, datetime.datetime]) -> None:
        """Give work that cannot start before the last day of lots it takes of others that keep until it starts."""
        requirements = []
        for number, start in sorted(starts.items()):
            stale = [
                a
                for a in self.allocations
                if a.work_order == number and a.source == "stock" and a.material not in self.book.product
            ]
            for a in stale:
                last = self.book.lot[a.lot].expires
                if last is not None and last < start.date() and a in self.allocations:
                    requirements.append(self._given_back(number, a.lot, a.material))
                    self.notes.append((f"work order {number}", f"cannot start before lot {a.lot} expires on {last}"))
        self._take_instead(requirements, starts)

    def _take_instead(self, requirements: list[Requirement], starts: Mapping[str, datetime.datetime]) -> None:
        """Take what was given back of other lots, or buy it; work that cannot have it is dropped."""
        if not requirements:
            return
        stock = self._stock(self.book.orders)
        explosion = Explosion(tuple(self.batches), tuple(requirements), (), (), {})
        allocated = allocate(stock, explosion, starts)
        stuck = {gap.batch: gap.reason for gap in allocated.gaps}
        if stuck:
            kept = tuple(requirement for requirement in requirements if requirement.batch not in stuck)
            explosion = Explosion(tuple(self.batches), kept, (), (), {})
            allocated = allocate(stock, explosion, starts)
        self._take_in(stock, explosion, allocated, keep_numbers=True)
        for number, reason in stuck.items():
            self.drop(number, reason)

    def _given_back(self, number: str, code: str, material: str) -> Requirement:
        """Undo what a work order takes of a lot (of all its lots, where they are mixed): what it then requires."""
        batch = next(batch for batch in self.batches if batch.number == number)
        blend = next((b for b in self.blends if b.work_order == number and code in {line.lot for line in b.lots}), None)
        if blend is not None:
            mixed = {line.lot for line in blend.lots}
            parts = {line.material for line in blend.lots}
            self.blends.remove(blend)
            self.allocations = [
                a
                for a in self.allocations
                if a.work_order != number or (a.lot not in mixed and a.material not in parts)
            ]
            return Requirement(number, batch.product, batch.started, blend=True)
        mine = [a for a in self.allocations if a.work_order == number and a.material == material]
        given = [a for a in mine if a.lot == code]
        whole = any(c.work_order == number and c.kind == "coil" and c.lot == code for c in self.cut_lists)
        each = sum(a.quantity for a in mine) / batch.started if whole else 0.0
        self.allocations = [a for a in self.allocations if a not in given]
        self.cut_lists = [
            c for c in self.cut_lists if not (c.work_order == number and c.kind == "coil" and c.lot == code)
        ]
        return Requirement(number, material, sum(a.quantity for a in given), each)

    def _make_instead(self, number: str, code: str) -> None:
        """Make what a work order or an order line was to take from a lot of finished goods that is held."""
        given = [a for a in self.allocations if a.work_order == number and a.lot == code and a.source == "stock"]
        self.allocations = [a for a in self.allocations if a not in given]
        product, quantity = given[0].material, sum(a.quantity for a in given)
        line = next((order for order in self.book.orders if order.name == number), None)
        if line is not None:
            self.wanted[number] -= quantity
            self.order_more(replace(line, quantity=math.ceil(quantity - 1e-9)))
            return
        batch = next(batch for batch in self.batches if batch.number == number)
        due = batch.begin.replace(tzinfo=None)
        asked = Order(order=number, line=1, customer="", product=product, quantity=math.ceil(quantity - 1e-9), due=due)
        before = {b.number for b in self.batches}
        made, why = self._make(asked)
        if made + 1e-9 < quantity:
            self.drop(number, why)
            return
        self._hand_over(asked.name, batch, quantity, {b.number for b in self.batches} - before)

    def _hand_over(self, asked: str, consumer: Batch, quantity: float, new: set[str]) -> None:
        """What was made under a name of its own goes to the work order it is for."""
        left = quantity
        for place, batch in enumerate(self.batches):
            if batch.number not in new:
                continue
            demands = []
            for demand in batch.demands:
                if demand.consumer != asked:
                    demands.append(demand)
                    continue
                part = min(left, demand.quantity)
                left -= part
                demands.append(Demand(consumer.number, False, part, demand.due))
                item = self.book.product[batch.product]
                self.allocations.append(
                    Allocation(
                        consumer.number, batch.product, item.name, batch.number, "made", part, item.unit, Decimal(0)
                    )
                )
            weight = max((d.weight for d in demands if d.by_order), default=0.0) / batch.parts
            self.batches[place] = replace(batch, demands=tuple(demands), weight=weight)
        self.allocations = [
            replace(a, work_order=consumer.number) if a.work_order == asked else a for a in self.allocations
        ]

    def drop(self, number: str, reason: str) -> None:
        """Take a work order out, and all that cannot be made without it; the order lines it was for fall short."""
        batch = next((batch for batch in self.batches if batch.number == number), None)
        if batch is None:
            return
        self.batches.remove(batch)
        for demand in batch.demands:
            if demand.by_order:
                self.wanted[demand.consumer] = max(0.0, self.wanted.get(demand.consumer, 0.0) - demand.quantity)
                self.reasons[demand.consumer] = reason
        consumers = {a.work_order for a in self.allocations if a.source == "made" and a.lot == number}
        self._forget(number)
        self.notes.append((f"work order {number}", f"dropped: {reason}"))
        for consumer in sorted(consumers):
            self.drop(consumer, reason)

    def _forget(self, number: str) -> None:
        """No trace of a work order in takings, blends, cut lists and what others were to hand it."""
        self.allocations = [a for a in self.allocations if number not in (a.work_order, a.lot)]
        self.blends = [b for b in self.blends if b.work_order != number]
        self.cut_lists = [c for c in self.cut_lists if c.work_order != number]
        self.release.pop(number, None)
        for place, batch in enumerate(self.batches):
            if any(demand.consumer == number for demand in batch.demands):
                kept = tuple(demand for demand in batch.demands if demand.consumer != number)
                self.batches[place] = replace(batch, demands=kept)

    def change_quantity(self, name: str, quantity: int) -> None:
        """An order line is wanted in another quantity: the rest is made besides, or work not started is dropped.

        Work that is on the floor, or serves others too, goes on; what it makes too much goes to stock.
        """
        line = next(order for order in self.book.orders if order.name == name)
        changed = replace(line, quantity=quantity)
        self.book = replace(
            self.book,
            orders=tuple(
                changed if order.name == name else order
                for order in self.book.orders
                if order.name != name or quantity > 0
            ),
        )
        more = quantity - self.wanted.get(name, 0.0) if quantity > line.quantity else 0.0
        if more > 0:
            self.order_more(replace(line, quantity=round(quantity - line.quantity)))
            return
        excess = self.wanted.get(name, 0.0) - quantity
        for batch in sorted(self.batches, key=lambda batch: batch.begin, reverse=True):
            own = sum(demand.quantity for demand in batch.demands if demand.consumer == name)
            if own <= 0 or excess <= 1e-9:
                continue
            cut = min(own, excess)
            excess -= cut
            self.wanted[name] -= cut
            self._serve_less(batch, name, cut)
        if excess > 1e-9:
            self._take_less(name, excess)
        if quantity == 0:
            self.wanted.pop(name, None)
            self.reasons.pop(name, None)

    def _serve_less(self, batch: Batch, name: str, less: float) -> None:
        """A batch serves an order line with less; it is dropped where it then serves nothing and is not started."""
        demands = tuple(
            replace(demand, quantity=demand.quantity - less) if demand.consumer == name else demand
            for demand in batch.demands
        )
        kept = tuple(demand for demand in demands if demand.quantity > 1e-9)
        place = self.batches.index(batch)
        if kept or batch.number in self.started:
            weight = max((demand.weight for demand in kept if demand.by_order), default=0.0) / batch.parts
            self.batches[place] = replace(batch, demands=kept, weight=weight)
            self.notes.append((f"work order {batch.number}", f"makes {less:g} for stock: {name} wants fewer"))
            return
        self._drop_unwanted(batch.number, name)

    def _drop_unwanted(self, number: str, name: str) -> None:
        """Drop a work order nobody wants any more, and those that were made for it alone and are not started."""
        makers = sorted(a.lot for a in self.allocations if a.work_order == number and a.source == "made")
        self.batches = [batch for batch in self.batches if batch.number != number]
        self._forget(number)
        self.notes.append((f"work order {number}", f"dropped: {name} wants fewer"))
        for maker in makers:
            batch = next((batch for batch in self.batches if batch.number == maker), None)
            if batch is not None and not batch.demands and maker not in self.started:
                self._drop_unwanted(maker, name)

    def _take_less(self, name: str, excess: float) -> None:
        """Give goods from stock back that an order line no longer wants."""
        kept = []
        for allocation in self.allocations:
            if allocation.work_order == name and excess > 1e-9:
                back = min(excess, allocation.quantity)
                excess -= back
                self.wanted[name] -= back
                if allocation.quantity - back <= 1e-9:
                    continue
                share = (allocation.quantity - back) / allocation.quantity
                cost = (allocation.cost * Decimal(repr(share))).quantize(CENT)
                allocation = replace(allocation, quantity=allocation.quantity - back, cost=cost)
            kept.append(allocation)
        self.allocations = kept
