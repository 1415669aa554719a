"""Orders into work orders: down through the parts, net of stock, batched by due date.

Products are taken from the top down. Demands of one product that fall due close together are made in one
batch, split where racks or the largest batch ask for it, and into as many parts as the caller says; each batch
then asks for its own parts. Refills ask their stock tube for pieces of a length: a joint cut list turns those
into tubes.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import ceil

from naptuft.book.model import Book, Lot, Part, Product
from naptuft.errors import DesignError, Fault
from naptuft.planning.batch_size import CUT_LIST, least_run, most_at_once
from naptuft.planning.cut_together import Piece, Together, cut_together, prices_of
from naptuft.planning.design import Designs, seconds_each, unit_need
from naptuft.plant.calendar import Shift, open_stretches
from naptuft.quantity import from_si
from naptuft.roller.cutting import CutDemand, CutList, cut_list

BLEND = "blend"
COIL = "strip"


@dataclass(frozen=True)
class Demand:
    """So much of a product wanted by an order line or by a batch, by a time. `weight` is the order's."""

    consumer: str
    by_order: bool
    quantity: float
    due: datetime.datetime
    weight: float = 1.0


@dataclass(frozen=True)
class Batch:
    """A work order in the making; quantities in the product's unit.

    begin   about when it must start to be ready when due, were it not split
    weight  what a minute late counts; each of several parts bears its share
    whole   name of the batch that it is, or is a part of; the same however others are split
    parts   in how many parts that is made
    note    why it is split, and what that saves
    """

    number: str
    product: str
    stage: str
    quantity: float
    started: float
    begin: datetime.datetime
    due: datetime.datetime
    weight: float
    demands: tuple[Demand, ...]
    whole: str = ""
    parts: int = 1
    note: str = ""


@dataclass(frozen=True)
class Requirement:
    """So much of a bought material for a batch, in the material's unit.

    each   what one unit takes, where it must come whole from one coil; 0 where any length will do
    blend  mixed from several lots
    """

    batch: str
    part: str
    quantity: float
    each: float = 0.0
    blend: bool = False


@dataclass(frozen=True)
class Taking:
    """So much of a product from a lot made before, for a batch or an order line."""

    consumer: str
    by_order: bool
    product: str
    lot: str
    quantity: float


@dataclass(frozen=True)
class Supply:
    """So much of a product that one batch hands to another."""

    consumer: str
    product: str
    batch: str
    quantity: float


@dataclass(frozen=True)
class Explosion:
    """Every batch, what it needs and whom it serves. `cut_lists` maps a cutting batch to its list, `together` to
    why it is one list."""

    batches: tuple[Batch, ...]
    requirements: tuple[Requirement, ...]
    takings: tuple[Taking, ...]
    supplies: tuple[Supply, ...]
    cut_lists: Mapping[str, CutList]
    together: Mapping[str, Together] = field(default_factory=dict)

    def serves(self) -> Mapping[str, Mapping[str, float]]:
        """For each batch, the order lines it ends up in and how much of its product goes to each."""
        by_number = {batch.number: batch for batch in self.batches}
        known: dict[str, dict[str, float]] = {}

        def of(number: str) -> dict[str, float]:
            if number not in known:
                shares: dict[str, float] = defaultdict(float)
                for demand in by_number[number].demands:
                    if demand.by_order:
                        shares[demand.consumer] += demand.quantity
                        continue
                    above = of(demand.consumer)
                    total = sum(above.values())
                    for name, quantity in above.items():
                        shares[name] += demand.quantity * quantity / total
                known[number] = dict(shares)
            return known[number]

        return {batch.number: of(batch.number) for batch in self.batches}


@dataclass
class _Draft:
    product: str
    stage: str
    quantity: float
    started: float
    begin: datetime.datetime
    due: datetime.datetime
    weight: float
    demands: list[Demand]
    whole: str
    parts: int
    key: str


@dataclass
class _Explosion:
    book: Book
    designs: Designs
    parts: Mapping[str, int]
    drafts: list[_Draft] = field(default_factory=list)
    requirements: list[Requirement] = field(default_factory=list)
    takings: list[Taking] = field(default_factory=list)
    supplies: list[Supply] = field(default_factory=list)
    cut_lists: dict[str, CutList] = field(default_factory=dict)
    together: dict[str, Together] = field(default_factory=dict)
    demands: dict[str, list[Demand]] = field(default_factory=lambda: defaultdict(list))
    pieces: dict[str, list[tuple[Demand, float]]] = field(default_factory=lambda: defaultdict(list))


def explode(
    book: Book, designs: Designs, wanted: Mapping[str, float], parts: Mapping[str, int] | None = None
) -> Explosion:
    """Work orders for what is wanted: order line name -> quantity to deliver.

    parts  `Batch.whole` -> in how many equal parts it is made; those not named in one
    """
    work = _Explosion(book, designs, parts or {})
    for order in sorted(book.orders, key=lambda order: (order.due, order.name)):
        if wanted[order.name] > 0:
            due = order.due.replace(tzinfo=book.start.tzinfo)
            work.demands[order.product].append(Demand(order.name, True, wanted[order.name], due, order.weight))
    for product in _top_down(book):
        if work.pieces[product.code]:
            _cut(work, product)
        if work.demands[product.code]:
            _make(work, product)
    return _numbered(work)


def _top_down(book: Book) -> list[Product]:
    """Products so that each stands before its parts."""
    placed: dict[str, None] = {}

    def place(code: str) -> None:
        if code in placed:
            return
        for part in book.parts:
            if part.part == code and part.product in book.product:
                place(part.product)
        placed[code] = None

    for product in book.products:
        place(product.code)
    return [book.product[code] for code in placed]


def _make(work: _Explosion, product: Product) -> None:
    demands = _from_stock(work, product, sorted(work.demands[product.code], key=lambda d: (d.due, d.consumer)))
    most = most_at_once(work.book, product, work.designs)
    groups = _large_enough(work, product, _groups(demands, work.book.settings.group_days))
    if product.use_within is not None:
        # what must be used in time is made for one work order alone, and all at once
        used = [demand for demand in demands if not demand.by_order]
        groups = [[demand] for demand in used]
        groups += _groups([demand for demand in demands if demand.by_order], work.book.settings.group_days)
        _all_at_once(product, used, most)
    for group in groups:
        for chunk in _chunks(group, most):
            _batch(work, product, chunk)


def _all_at_once(product: Product, demands: list[Demand], most: float) -> None:
    """Raise DesignError where a work order asks for more than can be made at once of what must be used in time."""
    faults = [
        Fault(
            f"{product.name} ({product.code})",
            f"{demand.quantity:g} {product.unit}",
            f"at most {most:g} at once, since it must be used in time",
            "lower the least batch of what it goes into, or raise the largest batch or the racks of this",
        )
        for demand in demands
        if demand.quantity > most * (1 + 1e-9)
    ]
    if faults:
        raise DesignError(*faults)


def lots_of(book: Book, code: str) -> list[Lot]:
    """Free lots of a material or product, oldest expiry first, then the oldest, then those on their way."""
    free = [lot for lot in book.lots if lot.material == code and lot.state == "free"]
    far = datetime.date.max
    return sorted(free, key=lambda lot: (lot.arrives is not None, lot.expires or far, lot.received, lot.code))


def _from_stock(work: _Explosion, product: Product, demands: list[Demand]) -> list[Demand]:
    book = work.book
    left = {
        lot.code: from_si(lot.quantity.si(product.pint_unit), product.pint_unit) for lot in lots_of(book, product.code)
    }
    wanting = []
    for demand in demands:
        short = demand.quantity
        for lot in lots_of(book, product.code):
            keeps = lot.expires is None or lot.expires >= demand.due.date()
            there = lot.arrives is None or lot.arrives.replace(tzinfo=book.start.tzinfo) <= demand.due
            take = min(short, left[lot.code]) if keeps and there else 0.0
            if product.unit == "pcs":
                take = float(int(take + 1e-9))
            if take > 0:
                left[lot.code] -= take
                short -= take
                work.takings.append(Taking(demand.consumer, demand.by_order, product.code, lot.code, take))
        if short > 1e-9:
            wanting.append(replace(demand, quantity=short))
    return wanting


def _groups(demands: list[Demand], days: int) -> list[list[Demand]]:
    groups: list[list[Demand]] = []
    for demand in demands:
        if groups and demand.due - groups[-1][0].due < datetime.timedelta(days=days):
            groups[-1].append(demand)
        else:
            groups.append([demand])
    return groups


def _large_enough(work: _Explosion, product: Product, groups: list[list[Demand]]) -> list[list[Demand]]:
    """Groups joined with those due after them until getting ready takes no more of their time than the book allows."""
    least = least_run(work.book, product, work.designs)
    joined: list[list[Demand]] = []
    for group in groups:
        if joined and sum(demand.quantity for demand in joined[-1]) < least * (1 - 1e-9):
            joined[-1].extend(group)
        else:
            joined.append(list(group))
    return joined


def _chunks(demands: list[Demand], most: float) -> list[list[Demand]]:
    """Demands dealt out, in order, to the fewest batches of nearly equal size."""
    total = sum(demand.quantity for demand in demands)
    return _dealt(demands, ceil(total / most - 1e-9) if most < float("inf") else 1)


def _dealt(demands: list[Demand], count: int) -> list[list[Demand]]:
    """Demands dealt out, in order, to so many batches of nearly equal size."""
    size = sum(demand.quantity for demand in demands) / count
    if all(float(d.quantity).is_integer() for d in demands) and size > 1:
        size = float(ceil(size - 1e-9))
    chunks: list[list[Demand]] = [[]]
    room = size
    for demand in demands:
        left = demand.quantity
        while left > 1e-9:
            if room <= 1e-9:
                chunks.append([])
                room = size
            take = min(left, room)
            chunks[-1].append(replace(demand, quantity=take))
            left -= take
            room -= take
    return chunks


def _batch(work: _Explosion, product: Product, demands: list[Demand]) -> None:
    """A batch of a product, or its parts: parts ask for what goes into them when the whole would."""
    book = work.book
    wholes = {draft.whole for draft in work.drafts if draft.product == product.code and draft.stage == "make"}
    whole = f"{product.code}#make#{len(wholes)}"
    if product.use_within is not None and len(demands) == 1 and not demands[0].by_order:
        user = next(draft for draft in work.drafts if draft.key == demands[0].consumer)
        whole = f"{product.code}#make#for {user.whole}"
    dealt = _dealt(demands, work.parts.get(whole, 1))
    begin: datetime.datetime | None = None
    for some in dealt:
        wanted = sum(demand.quantity for demand in some)
        if product.least_batch is not None:
            wanted = max(wanted, from_si(product.least_batch.si(product.pint_unit), product.pint_unit))
        started = _whole(product, wanted / (1.0 - product.scrap))
        draft = _draft(work, product, "make", _whole(product, wanted), started, some, whole, len(dealt))
        begin = draft.begin = begin or draft.begin
        for part in book.parts_of.get(product.code, ()):
            _ask(work, draft, part)


def _draft(
    work: _Explosion,
    product: Product,
    stage: str,
    quantity: float,
    started: float,
    demands: list[Demand],
    whole: str,
    parts: int = 1,
) -> _Draft:
    due = min(demand.due for demand in demands)
    minutes = rough_minutes(work.book, work.designs, product, started * parts, stage)
    draft = _Draft(
        product.code,
        stage,
        quantity,
        started,
        due - datetime.timedelta(minutes=minutes),
        due,
        max((demand.weight for demand in demands if demand.by_order), default=0.0) / parts,
        demands,
        whole,
        parts,
        f"{whole}/{sum(d.whole == whole for d in work.drafts)}",
    )
    work.drafts.append(draft)
    return draft


def _whole(product: Product, quantity: float) -> float:
    return float(ceil(quantity - 1e-9)) if product.unit == "pcs" else quantity


def _ask(work: _Explosion, draft: _Draft, part: Part) -> None:
    book = work.book
    if part.from_design == BLEND:
        if not any(r.batch == draft.key and r.blend for r in work.requirements):
            work.requirements.append(Requirement(draft.key, draft.product, draft.started, blend=True))
        return
    if part.from_design == CUT_LIST:
        length = work.designs[draft.product].result["length"]
        work.pieces[part.part].append((Demand(draft.key, False, draft.started, draft.begin), length))
        return
    need = draft.started * unit_need(book, work.designs, part)
    if part.part in book.product:
        need = _whole(book.product[part.part], need)
        work.demands[part.part].append(Demand(draft.key, False, need, draft.begin))
    else:
        item = book.material[part.part]
        need = float(ceil(need - 1e-9)) if item.unit == "pcs" else need
        each = need / draft.started if item.kind == COIL else 0.0
        work.requirements.append(Requirement(draft.key, part.part, need, each))


def _cut(work: _Explosion, tube: Product) -> None:
    """Joint cut lists over the refills best cut together: each becomes one cutting batch that asks for tubes."""
    settings = work.book.settings
    pieces = sorted(work.pieces[tube.code], key=lambda piece: (piece[0].due, piece[0].consumer))
    lengths = {demand.consumer: length for demand, length in pieces}
    stock_length = work.designs[tube.code].result["core_length"]
    in_tube = stock_length * len(pieces) / sum(length for _, length in pieces)
    for together in cut_together(
        stock_length,
        [Piece(demand.consumer, length, round(demand.quantity), demand.due) for demand, length in pieces],
        prices_of(work.book, work.designs, tube, in_tube),
        longest_wait=settings.group_days,
        kerf=settings.kerf,
        end_trim=settings.end_trim,
    ):
        group = [demand for demand, _ in pieces if demand.consumer in together.consumers]
        answer = _listed(
            stock_length,
            tuple(CutDemand(d.consumer, lengths[d.consumer], round(d.quantity)) for d in group),
            settings.kerf,
            settings.end_trim,
            settings.least_offcut,
        )
        number = sum(d.product == tube.code and d.stage == "cut" for d in work.drafts)
        rolls = float(answer.rolls)
        draft = _draft(work, tube, "cut", rolls, rolls, group, f"{tube.code}#cut#{number}")
        work.cut_lists[draft.key] = answer
        work.together[draft.key] = together
        work.demands[tube.code].append(Demand(draft.key, False, draft.started, draft.begin))


@lru_cache(maxsize=256)
def _listed(
    stock_length: float, demands: tuple[CutDemand, ...], kerf: float, end_trim: float, min_offcut: float
) -> CutList:
    """The cut list; kept, because most stay the same when the last lines due are cut back."""
    return cut_list(stock_length, demands, kerf=kerf, end_trim=end_trim, min_offcut=min_offcut)


@lru_cache(maxsize=64)
def _open_share(shifts: tuple[Shift, ...], calendar: str, start: datetime.datetime) -> float:
    week = open_stretches(shifts, (), (calendar,), start, 7)
    return sum(end - begin for begin, end in week) / 10080 or 1.0


def rough_minutes(book: Book, designs: Designs, product: Product, started: float, stage: str) -> float:
    """Clock minutes a batch is likely to take: waits as they are, work stretched by closed hours."""
    minutes = 0.0
    for step in book.route_of[product.code]:
        if step.stage != stage:
            continue
        machine = book.machines_of[step.work_centre][0]
        share = _open_share(book.shifts, machine.calendar, book.start)
        minutes += (step.setup + started * seconds_each(designs, step) / machine.speed) / 60 / share + step.wait / 60
    return minutes


def _numbered(work: _Explosion) -> Explosion:
    """Final numbers in order of due date, everything renamed from the keys used while exploding."""
    ordered = sorted(work.drafts, key=lambda d: (d.due, d.product, d.stage, d.key))
    number = {draft.key: f"W-{place:04d}" for place, draft in enumerate(ordered, start=1)}

    def named(demand: Demand) -> Demand:
        return demand if demand.by_order else replace(demand, consumer=number[demand.consumer])

    batches = tuple(
        Batch(
            number[d.key],
            d.product,
            d.stage,
            d.quantity,
            d.started,
            d.begin,
            d.due,
            d.weight,
            tuple(map(named, d.demands)),
            d.whole,
            d.parts,
        )
        for d in ordered
    )
    supplies = tuple(
        Supply(demand.consumer, batch.product, batch.number, demand.quantity)
        for batch in batches
        for demand in batch.demands
        if not demand.by_order
    )
    return Explosion(
        batches,
        tuple(replace(r, batch=number[r.batch]) for r in work.requirements),
        tuple(t if t.by_order else replace(t, consumer=number[t.consumer]) for t in work.takings),
        supplies,
        {number[key]: _renamed(answer, number) for key, answer in work.cut_lists.items()},
        {number[key]: together for key, together in work.together.items()},
    )


def _renamed(answer: CutList, number: Mapping[str, str]) -> CutList:
    patterns = tuple(
        replace(pattern, pieces=tuple((number[name], length, count) for name, length, count in pattern.pieces))
        for pattern in answer.patterns
    )
    return replace(answer, patterns=patterns)
