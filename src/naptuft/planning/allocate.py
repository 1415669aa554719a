"""Which lots each work order takes: oldest expiry first, in order of due date; the rest is bought.

A requirement that no lot and no purchase can meet inside the horizon is a `Gap`; the caller plans for
less and asks again, so that nothing is promised that cannot be made.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

from naptuft.book.designs import filling_target
from naptuft.book.model import Book, Lot, Material
from naptuft.brush.blend import Blend, BlendLot, FillingTarget
from naptuft.planning.explode import BLEND, Batch, Explosion, Requirement, lots_of
from naptuft.planning.mixing import BlendAsked, mix_week, mixed_together
from naptuft.planning.plan import Allocation, Purchase
from naptuft.quantity import Measure, from_si, to_si

CENT = Decimal("0.01")
LEAST_WEIGHT = 0.01
SOONER = 0.5


@dataclass(frozen=True)
class Gap:
    """What a batch cannot get: of its requirement only `share` can be met."""

    batch: str
    material: str
    missing: float
    unit: str
    share: float
    reason: str


@dataclass(frozen=True)
class Coil:
    """Whole blanks cut from one coil; `whole` is how many blanks long the coil was before (not rounded)."""

    batch: str
    material: str
    lot: str
    blanks: int
    whole: float


@dataclass(frozen=True)
class Allocated:
    """Lots and purchases for every batch, blends made of them, when material is there, and the gaps."""

    allocations: tuple[Allocation, ...]
    purchases: tuple[Purchase, ...]
    blends: Mapping[str, Blend]
    release: Mapping[str, datetime.datetime]
    waits_for: Mapping[str, str]
    gaps: tuple[Gap, ...]
    coils: tuple[Coil, ...]


@dataclass
class _Shortage:
    requirement: Requirement
    need: datetime.datetime
    quantity: float
    serves: tuple[str, ...]


class _Stock:
    """What is left of each lot, in its material's unit."""

    def __init__(self, book: Book):
        self.book = book
        self.left = {
            lot.code: from_si(lot.quantity.si(book.item[lot.material].pint_unit), book.item[lot.material].pint_unit)
            for lot in book.lots
        }

    def usable(self, code: str, keep: datetime.datetime) -> list[Lot]:
        """Free lots with something left that may be used until `keep`, the first to use first."""
        return [
            lot
            for lot in lots_of(self.book, code)
            if self.left[lot.code] > 1e-9 and (lot.expires is None or lot.expires >= keep.date())
        ]


def allocate(book: Book, explosion: Explosion, starts: Mapping[str, datetime.datetime]) -> Allocated:
    """Allocate lots to every requirement of an explosion.

    starts  number of a batch -> when it starts, where a schedule is known already: lots must keep until
            then; before that, until the batch is due
    """
    batches = {batch.number: batch for batch in explosion.batches}
    serves = {number: tuple(sorted(shares)) for number, shares in explosion.serves().items()}
    stock = _Stock(book)
    work = _Allocation(book, stock, serves)
    ordered = sorted(
        explosion.requirements, key=lambda r: (batches[r.batch].due, -batches[r.batch].weight, r.batch, r.part)
    )
    week = datetime.timedelta(days=book.settings.group_days)

    def until(batch: Batch) -> datetime.datetime:
        return max(starts.get(batch.number, batch.due), batch.due)

    fillings = {r.batch: r for r in ordered if r.blend}
    due = {number: batches[number].due for number in fillings}
    may_use = {number: work.lots_for(r.part, until(batches[number])) for number, r in fillings.items()}
    first_of = {group[0]: group for group in mixed_together(due, may_use, week)}
    for requirement in ordered:
        batch = batches[requirement.batch]
        if not requirement.blend:
            work.take(requirement, batch, until(batch))
        elif batch.number in first_of:
            work.mix([(fillings[n], batches[n], until(batches[n])) for n in first_of[batch.number]])
    return work.bought()


class _Allocation:
    def __init__(self, book: Book, stock: _Stock, serves: Mapping[str, tuple[str, ...]]):
        self.book = book
        self.stock = stock
        self.serves = serves
        self.allocations: list[Allocation] = []
        self.purchases: list[Purchase] = []
        self.blends: dict[str, Blend] = {}
        self.order_weight = {order.name: order.weight for order in book.orders}
        self.release: dict[str, datetime.datetime] = {}
        self.waits_for: dict[str, str] = {}
        self.gaps: list[Gap] = []
        self.coils: list[Coil] = []
        self.shortages: dict[str, list[_Shortage]] = defaultdict(list)
        self.horizon = book.start + datetime.timedelta(days=book.settings.horizon_days)

    def take(self, requirement: Requirement, batch: Batch, keep: datetime.datetime) -> None:
        """Lots for one plain requirement; what is missing is noted as a shortage."""
        material = self.book.material[requirement.part]
        missing = requirement.quantity
        for lot in self.stock.usable(material.code, keep):
            taken = min(missing, self.stock.left[lot.code])
            if requirement.each:
                blanks = int(taken / requirement.each + 1e-9)
                self._lay_out(requirement, lot, blanks)
                taken = blanks * requirement.each
            if taken <= 0:
                continue
            self._use(requirement.batch, lot, taken)
            missing -= taken
            if missing <= 1e-9:
                return
        self.shortages[material.code].append(
            _Shortage(requirement, batch.begin, missing, self.serves[requirement.batch])
        )

    def _lay_out(self, requirement: Requirement, lot: Lot, blanks: int) -> None:
        if blanks:
            whole = self.stock.left[lot.code] / requirement.each
            self.coils.append(Coil(requirement.batch, requirement.part, lot.code, blanks, whole))

    def _use(self, batch: str, lot: Lot, quantity: float) -> None:
        material = self.book.material[lot.material]
        self.stock.left[lot.code] -= quantity
        price = material.price_per_unit if lot.price_per_unit is None else lot.price_per_unit
        cost = (price * Decimal(repr(quantity))).quantize(CENT)
        self.allocations.append(
            Allocation(batch, material.code, material.name, lot.code, "stock", quantity, material.unit, cost)
        )
        if lot.arrives is not None:
            self._hold(batch, lot.arrives.replace(tzinfo=self.book.start.tzinfo), f"lot {lot.code} of {material.name}")

    def _hold(self, batch: str, until: datetime.datetime, what: str) -> None:
        if until > self.release.get(batch, self.book.start):
            self.release[batch] = until
            self.waits_for[batch] = what

    def lots_for(self, filling: str, keep: datetime.datetime) -> frozenset[str]:
        """Codes of the lots a filling may be mixed from."""
        sources = (part.part for part in self.book.parts_of[filling] if part.from_design == BLEND)
        return frozenset(lot.code for code in sources for lot in self.stock.usable(code, keep))

    def mix(self, week: Sequence[tuple[Requirement, Batch, datetime.datetime]]) -> None:
        """Mix the fillings of a week from shared stock; from lots yet to be bought where stock does not do."""
        latest = max(batch.due for _, batch, _ in week)
        asked = [self._asked(requirement, batch, keep, latest) for requirement, batch, keep in week]
        for (requirement, batch, _), mixed in zip(week, mix_week(asked).values(), strict=True):
            if mixed.share < 1:
                product = self.book.product[requirement.part]
                missing = requirement.quantity * (1 - mixed.share)
                reason = f"no blend for {product.name} ({product.code}) from the lots left: {mixed.why}"
                self.gaps.append(Gap(batch.number, product.code, missing, product.pint_unit, mixed.share, reason))
            if mixed.blend is None:
                continue
            self.blends[batch.number] = mixed.blend
            for code, taken in mixed.blend.lots:
                self._take_for_blend(requirement, batch, code, taken)

    def _asked(
        self, requirement: Requirement, batch: Batch, keep: datetime.datetime, latest: datetime.datetime
    ) -> BlendAsked:
        target = filling_target(self.book, requirement.part)
        sources = [part.part for part in self.book.parts_of[requirement.part] if part.from_design == BLEND]
        typical = [
            self._typical(code, target) for code in sources if self._arrival(self.book.material[code]) <= self.horizon
        ]
        weights = [self.order_weight[name] for name in self.serves[batch.number]]
        sooner = (latest - batch.due) / datetime.timedelta(days=self.book.settings.group_days)
        return BlendAsked(
            batch.number,
            target,
            to_si(requirement.quantity, self.book.product[requirement.part].pint_unit),
            tuple(self._blend_lot(lot, target) for code in sources for lot in self.stock.usable(code, keep)),
            tuple(lot for lot in typical if lot is not None),
            max((*weights, LEAST_WEIGHT)) * (1 + SOONER * sooner),
        )

    def _take_for_blend(self, requirement: Requirement, batch: Batch, code: str, taken: float) -> None:
        if code in self.book.lot:
            lot = self.book.lot[code]
            self._use(requirement.batch, lot, from_si(taken, self.book.material[lot.material].pint_unit))
            return
        material = self.book.material[code]
        bought = replace(requirement, part=code)
        quantity = from_si(taken, material.pint_unit)
        self.shortages[code].append(_Shortage(bought, batch.begin, quantity, self.serves[requirement.batch]))

    def _blend_lot(self, lot: Lot, target: FillingTarget) -> BlendLot:
        material = self.book.material[lot.material]
        price = material.price_per_unit if lot.price_per_unit is None else lot.price_per_unit
        return BlendLot(
            code=lot.code,
            available=max(0.0, to_si(self.stock.left[lot.code], material.pint_unit)),
            price_per_kg=price / Decimal(repr(to_si(1.0, material.pint_unit))),
            lengths=tuple((bar.length, bar.share) for bar in self.book.lengths_of[lot.code]),
            diameter=lot.diameter or 0.0,
            moisture=(target.moisture or 0.0) if lot.moisture is None else lot.moisture,
            curl=lot.curl or 0.0,
            flag=lot.flags or 0.0,
        )

    def _typical(self, code: str, target: FillingTarget) -> BlendLot | None:
        """A lot yet to be bought, taken to be like the weighted mean of the lots of its material in the book."""
        known = [lot for lot in self.book.lots if lot.material == code and lot.code in self.book.lengths_of]
        if not known:
            return None
        material = self.book.material[code]
        weights = [lot.quantity.si(material.pint_unit) for lot in known]
        total = sum(weights)
        lots = [self._blend_lot(lot, target) for lot in known]
        shares: dict[float, float] = defaultdict(float)
        for lot, weight in zip(lots, weights, strict=True):
            for length, share in lot.lengths:
                shares[length] += share * weight / total

        def mean(figures: Iterable[float]) -> float:
            return sum(figure * weight for figure, weight in zip(figures, weights, strict=True)) / total

        return BlendLot(
            code=code,
            available=1e6,
            price_per_kg=material.price_per_unit / Decimal(repr(to_si(1.0, material.pint_unit))),
            lengths=tuple(sorted(shares.items())),
            diameter=mean(lot.diameter for lot in lots),
            moisture=mean(lot.moisture for lot in lots),
            curl=mean(lot.curl for lot in lots),
            flag=mean(lot.flag for lot in lots),
        )

    def _arrival(self, material: Material) -> datetime.datetime:
        """Earliest arrival of a purchase made today; never for what cannot be bought."""
        if material.lead_days is None:
            return datetime.datetime.max.replace(tzinfo=datetime.UTC)
        return self.book.start + datetime.timedelta(days=material.lead_days)

    def bought(self) -> Allocated:
        """Turn shortages into purchases or gaps, add what restores safety stock, and close."""
        for code in sorted(self.shortages):
            self._buy(
                self.book.material[code], sorted(self.shortages[code], key=lambda s: (s.need, s.requirement.batch))
            )
        for material in self.book.materials:
            self._restore(material)
        return Allocated(
            tuple(sorted(self.allocations, key=lambda a: (a.work_order, a.material, a.lot))),
            tuple(self.purchases),
            self.blends,
            self.release,
            self.waits_for,
            tuple(self.gaps),
            tuple(self.coils),
        )

    def _buy(self, material: Material, shortages: list[_Shortage]) -> None:
        earliest = self._arrival(material)
        if earliest > self.horizon:
            why = (
                "cannot be bought (no lead time in the book)"
                if material.lead_days is None
                else f"ordered today it arrives on {earliest:%Y-%m-%d}, after the {self.book.settings.horizon_days} days planned"
            )
            for shortage in shortages:
                asked = shortage.requirement.quantity
                share = max(0.0, 1 - shortage.quantity / asked)
                reason = f"{material.name} ({material.code}) is short: {why}"
                self.gaps.append(
                    Gap(shortage.requirement.batch, material.code, shortage.quantity, material.unit, share, reason)
                )
            return
        window = datetime.timedelta(days=self.book.settings.group_days)
        group: list[_Shortage] = []
        open_purchases: list[int] = []
        for shortage in [*shortages, None]:
            if shortage is not None and (not group or shortage.need - group[0].need < window):
                group.append(shortage)
                continue
            self._serve(material, group, earliest, open_purchases)
            group = [shortage] if shortage is not None else []

    def _serve(
        self, material: Material, group: list[_Shortage], earliest: datetime.datetime, places: list[int]
    ) -> None:
        """Meet shortages from what earlier purchases leave over, then from one new purchase."""
        spare = sum(self.purchases[place].quantity - self.purchases[place].needed for place in places)
        missing = sum(shortage.quantity for shortage in group) - spare
        if missing > 1e-9:
            places.append(len(self.purchases))
            self.purchases.append(self._purchase(material, missing, group[0].need, earliest))
        for shortage in group:
            left = shortage.quantity
            for place in places:
                purchase = self.purchases[place]
                taken = min(left, purchase.quantity - purchase.needed)
                if taken <= 1e-9:
                    continue
                left -= taken
                self.purchases[place] = replace(
                    purchase,
                    needed=purchase.needed + taken,
                    serves=tuple(sorted({*purchase.serves, *shortage.serves})),
                )
                self._take_bought(material, shortage.requirement.batch, purchase, taken)

    def _take_bought(self, material: Material, batch: str, purchase: Purchase, quantity: float) -> None:
        price = price_bought_at(self.book, material, purchase.quantity)
        cost = (price * Decimal(repr(quantity))).quantize(CENT)
        self.allocations.append(
            Allocation(batch, material.code, material.name, purchase.number, "purchase", quantity, material.unit, cost)
        )
        self._hold(batch, purchase.arrives, f"purchase {purchase.number} of {material.name}")

    def _purchase(
        self, material: Material, missing: float, need: datetime.datetime | None, earliest: datetime.datetime
    ) -> Purchase:
        """A purchase of at least what is missing; ordered in time for `need`, at once where there is none."""
        quantity = cheapest_quantity(self.book, material, missing)
        lead = datetime.timedelta(days=material.lead_days or 0)
        today = self.book.start.date()
        order_by = today if need is None else max(today, (need - lead - datetime.timedelta(days=1)).date())
        arrives = datetime.datetime.combine(order_by + lead, self.book.start.timetz())
        return Purchase(
            f"P-{len(self.purchases) + 1:04d}",
            material.code,
            material.name,
            quantity,
            material.unit,
            order_by,
            max(earliest, arrives),
            (price_bought_at(self.book, material, quantity) * Decimal(repr(quantity))).quantize(CENT),
            0.0,
            (),
        )

    def _restore(self, material: Material) -> None:
        """A purchase that brings what is left of a material back to its safety stock."""
        if material.safety_stock is None or material.lead_days is None:
            return
        wanted = _number(material.safety_stock, material)
        left = sum(self.stock.left[lot.code] for lot in lots_of(self.book, material.code))
        bought = sum(p.quantity - p.needed for p in self.purchases if p.material == material.code)
        missing = wanted - left - bought
        if missing <= 1e-9:
            return
        self.purchases.append(self._purchase(material, missing, None, self._arrival(material)))


def _number(measure: Measure | None, material: Material) -> float:
    return 0.0 if measure is None else from_si(measure.si(material.pint_unit), material.pint_unit)


def price_bought_at(book: Book, material: Material, quantity: float) -> Decimal:
    """Price of one unit in a purchase of so much, the book's price breaks counted."""
    reached = [
        (_number(step.from_quantity, material), step.price_per_unit) for step in book.breaks_of.get(material.code, ())
    ]
    return max(
        ((start, price) for start, price in reached if quantity >= start - 1e-9),
        default=(0.0, material.price_per_unit),
    )[1]


def cheapest_quantity(book: Book, material: Material, needed: float) -> float:
    """How much to order: what is needed, or more where a price break makes the whole purchase cheaper.

    Source: all-units discount, textbook rule: of the break quantities above the need, the least total.
    """
    tried = [order_quantity(material, needed)]
    tried += [
        order_quantity(material, start)
        for step in book.breaks_of.get(material.code, ())
        if (start := _number(step.from_quantity, material)) > needed
    ]
    return min(tried, key=lambda quantity: price_bought_at(book, material, quantity) * Decimal(repr(quantity)))


def order_quantity(material: Material, needed: float) -> float:
    """How much to order: at least the least order, in whole multiples.

    >>> steel = Material(code="S", name="strip", kind="strip", unit="kg", price_per_unit=Decimal(2),
    ...                  least_order=Measure(100, "kg"), order_multiple=Measure(25, ""))
    >>> order_quantity(steel, 12.0), order_quantity(steel, 101.0)
    (100.0, 125.0)
    """
    quantity = max(needed, _number(material.least_order, material))
    multiple = _number(material.order_multiple, material)
    if multiple > 0:
        return ceil(quantity / multiple - 1e-9) * multiple
    return float(ceil(quantity - 1e-9)) if material.unit == "pcs" else round(quantity, 3)
