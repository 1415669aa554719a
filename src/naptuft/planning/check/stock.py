"""Lots, purchases and parts: nothing taken twice, too early or too late, and nothing left out."""

from __future__ import annotations

import datetime
from collections import defaultdict
from math import ceil

from naptuft.book.model import Book, Lot, Part
from naptuft.errors import UnitError
from naptuft.planning.check.reading import Reading, in_unit, listed, pint_unit, same, shown
from naptuft.planning.plan import Allocation, Finding, OrderOutcome, Plan, Purchase, WorkOrder
from naptuft.quantity import from_si

CUT_LIST, BLEND = "cut list", "blend"


def check_stock(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every rule about material the plan breaks."""
    reading = Reading(book, plan)
    findings: list[Finding] = []
    for allocation in plan.allocations:
        findings += _check_allocation(reading, allocation)
    findings += _check_lots(reading)
    findings += _check_purchases(reading)
    findings += _check_made(reading)
    for work_order in plan.work_orders:
        findings += _check_parts(reading, work_order)
    return tuple(findings)


def _place(allocation: Allocation) -> str:
    return f"work order {allocation.work_order}, {allocation.material} from {allocation.lot}"


def _check_allocation(reading: Reading, allocation: Allocation) -> list[Finding]:
    """One taking: its lot, its time, its material."""
    place = _place(allocation)
    if allocation.quantity <= 0:
        return [Finding("lot not over-drawn", place, f"takes {shown(allocation.quantity)}, not more than nothing")]
    if allocation.work_order in reading.outcome:
        return _check_goods_taken(reading, reading.outcome[allocation.work_order], allocation)
    taker = reading.work_order.get(allocation.work_order)
    if taker is None:
        return [Finding("known work order", place, "is taken for a work order the plan has not")]
    match allocation.source:
        case "stock":
            lot = reading.book.lot.get(allocation.lot)
            if lot is None:
                return [Finding("known lot", place, "is no lot of the book")]
            return _check_lot_use(reading, reading.first_start(taker), allocation, lot)
        case "purchase":
            bought = next((p for p in reading.plan.purchases if p.number == allocation.lot), None)
            if bought is None:
                return [Finding("known lot", place, "is no purchase of the plan")]
            findings = []
            if bought.material != allocation.material:
                findings.append(Finding("right material", place, f"the purchase brings {bought.material}"))
            if reading.first_start(taker) < reading.minute(bought.arrives):
                findings.append(
                    Finding(
                        "material is there", place, f"arrives {bought.arrives:%a %d %b %H:%M}, after the work starts"
                    )
                )
            return findings
        case "made":
            return _check_supplier(reading, taker, allocation)


def _check_goods_taken(reading: Reading, outcome: OrderOutcome, allocation: Allocation) -> list[Finding]:
    """Finished goods an order line takes from stock, used when the line is delivered."""
    place = f"order {outcome.name}, {allocation.material} from {allocation.lot}"
    lot = reading.book.lot.get(allocation.lot)
    if lot is None or allocation.source != "stock" or outcome.finish is None:
        return [Finding("known lot", place, "an order is served from lots in stock; this is none, or comes to nothing")]
    if allocation.material != outcome.product:
        return [Finding("right material", place, f"the order is for {outcome.product}")]
    return _check_lot_use(reading, reading.minute(outcome.finish), allocation, lot)


def _check_lot_use(reading: Reading, start: float, allocation: Allocation, lot: Lot) -> list[Finding]:
    place, findings = _place(allocation), []
    if lot.material != allocation.material:
        findings.append(Finding("right material", place, f"the lot is of {lot.material}"))
    if lot.state == "held":
        findings.append(Finding("no held lot", place, "the lot is held"))
    zone = reading.book.start.tzinfo
    if lot.arrives is not None and start < reading.minute(lot.arrives.replace(tzinfo=zone)):
        findings.append(
            Finding("material is there", place, f"the lot arrives {lot.arrives:%a %d %b %H:%M}, after the work starts")
        )
    if lot.expires is not None:
        after = datetime.datetime.combine(lot.expires + datetime.timedelta(days=1), datetime.time(), zone)
        if start >= reading.minute(after):
            findings.append(
                Finding("before its last day", place, f"the lot's last day is {lot.expires}, before the work starts")
            )
    return findings


def _check_supplier(reading: Reading, taker: WorkOrder, allocation: Allocation) -> list[Finding]:
    place, findings = _place(allocation), []
    maker = reading.work_order.get(allocation.lot)
    if maker is None:
        return [Finding("known lot", place, "is no work order of the plan")]
    if maker.product != allocation.material:
        findings.append(Finding("right material", place, f"the work order makes {maker.product}"))
    if maker.number not in taker.needs:
        findings.append(Finding("needed work orders", place, f"work order {maker.number} is not among its needs"))
    if reading.first_start(taker) < reading.finish(maker):
        findings.append(
            Finding("material is there", place, f"work order {maker.number} is finished after the work starts")
        )
    return findings


def _size(lot: Lot, unit: str) -> float | None:
    try:
        return from_si(lot.quantity.si(pint_unit(unit)), pint_unit(unit))
    except UnitError:
        return None


def _check_lots(reading: Reading) -> list[Finding]:
    """No lot gives more than it has, and an order's goods from stock come from lots."""
    findings = []
    taken: dict[str, float] = defaultdict(float)
    by_order: dict[str, float] = defaultdict(float)
    for allocation in reading.plan.allocations:
        if allocation.source == "stock" and allocation.lot in reading.book.lot:
            unit = reading.item_unit(allocation.material)
            amount = in_unit(allocation.quantity, allocation.unit, unit)
            taken[allocation.lot] += amount
            by_order[allocation.work_order] += amount
    for code, amount in taken.items():
        lot = reading.book.lot[code]
        unit = reading.item_unit(lot.material)
        size = _size(lot, unit)
        if size is None or amount > size + 1e-6 * max(1.0, size):
            findings.append(
                Finding("lot not over-drawn", f"lot {code}", f"gives {shown(amount)} {unit}; it holds {lot.quantity}")
            )
    findings += [
        Finding(
            "goods from stock",
            f"order {outcome.name}",
            f"is said to take {outcome.from_stock} from stock; its lots give {shown(by_order[outcome.name])}",
        )
        for outcome in reading.plan.orders
        if not same(outcome.from_stock, by_order[outcome.name])
    ]
    return findings


def _check_purchases(reading: Reading) -> list[Finding]:
    findings = []
    taken: dict[str, float] = defaultdict(float)
    for allocation in reading.plan.allocations:
        if allocation.source == "purchase":
            taken[allocation.lot] += in_unit(
                allocation.quantity, allocation.unit, reading.item_unit(allocation.material)
            )
    for purchase in reading.plan.purchases:
        findings += _check_purchase(reading, purchase, taken[purchase.number])
    return findings


def _check_purchase(reading: Reading, purchase: Purchase, taken: float) -> list[Finding]:
    place, findings = f"purchase {purchase.number} of {purchase.material}", []
    material = reading.book.material.get(purchase.material)
    if material is None:
        return [Finding("purchase can be had", place, "is of no material in the book")]
    if taken > purchase.quantity + 1e-6 * max(1.0, purchase.quantity):
        findings.append(
            Finding("lot not over-drawn", place, f"gives {shown(taken)}; {shown(purchase.quantity)} are bought")
        )
    if material.lead_days is None:
        findings.append(Finding("purchase can be had", place, "cannot be bought: the book gives no lead time"))
    else:
        there = purchase.order_by + datetime.timedelta(days=material.lead_days)
        if purchase.arrives.astimezone(reading.book.start.tzinfo).date() < there:
            findings.append(
                Finding(
                    "purchase can be had", place, f"arrives before its lead time of {material.lead_days} days is over"
                )
            )
        if purchase.order_by < reading.book.start.date():
            findings.append(Finding("purchase can be had", place, "would have to be ordered before the plan starts"))
    unit = material.pint_unit
    if material.least_order is not None:
        least = from_si(material.least_order.si(unit), unit)
        if purchase.quantity < least * (1 - 1e-9):
            findings.append(
                Finding("purchase can be had", place, f"is less than the least order, {material.least_order}")
            )
    if material.order_multiple is not None:
        multiples = purchase.quantity / from_si(material.order_multiple.si(unit), unit)
        if not same(multiples, round(multiples)):
            findings.append(Finding("purchase can be had", place, f"is sold in multiples of {material.order_multiple}"))
    return findings


def _check_made(reading: Reading) -> list[Finding]:
    """A work order hands on no more than it makes, what it delivers to orders counted."""
    handed: dict[str, float] = defaultdict(float)
    for allocation in reading.plan.allocations:
        if allocation.source == "made":
            maker = reading.work_order.get(allocation.lot)
            if maker is not None and maker.stage == "make":
                handed[maker.number] += in_unit(allocation.quantity, allocation.unit, maker.unit)
    for outcome in reading.plan.orders:
        for number in outcome.work_orders:
            maker = reading.work_order.get(number)
            if maker is not None:
                handed[number] += sum(
                    serving.quantity
                    for serving in maker.serves
                    if (serving.order, serving.line) == (outcome.order, outcome.line)
                    and maker.product == outcome.product
                )
    findings = []
    for number, amount in handed.items():
        maker = reading.work_order[number]
        if amount > maker.quantity + 1e-6 * max(1.0, maker.quantity):
            findings.append(
                Finding(
                    "made in full",
                    f"work order {number}",
                    f"hands on {shown(amount)} {maker.unit}; it makes {shown(maker.quantity)}",
                )
            )
    return findings


def _check_parts(reading: Reading, work_order: WorkOrder) -> list[Finding]:
    """Every part is there in full, and no more is taken than the work needs."""
    place = f"work order {work_order.number}"
    taken: dict[str, float] = defaultdict(float)
    for allocation in reading.allocations.get(work_order.number, ()):
        taken[allocation.material] += in_unit(
            allocation.quantity, allocation.unit, reading.item_unit(allocation.material)
        )
    if work_order.stage == "cut":
        return _covered(place, work_order.product, "pcs", work_order.started, taken[work_order.product])
    parts = reading.book.parts_of.get(work_order.product, ())
    coils = {
        cut.material for cut in reading.plan.cut_lists if cut.work_order == work_order.number and cut.kind == "coil"
    }
    findings = []
    plain: dict[str, float] = defaultdict(float)
    for part in parts:
        if part.from_design in (CUT_LIST, BLEND):
            continue
        each = reading.per_unit(part)
        if each is None:
            findings.append(Finding("part in full", place, _unknown(part)))
            continue
        plain[part.part] += each * work_order.started
    for code, needed in plain.items():
        unit = reading.item_unit(code)
        findings += _covered(place, code, unit, needed, taken[code], wasteful=code in coils)
    mixed = {part.part for part in parts if part.from_design in (CUT_LIST, BLEND)}
    strange = sorted(code for code in taken if code not in plain and code not in mixed)
    if strange:
        findings.append(
            Finding("part in full", place, f"takes {listed(strange)}, which {work_order.product} is not made of")
        )
    return findings


def _unknown(part: Part) -> str:
    return f"the design of {part.product} tells no {part.from_design} of {part.part}"


def _covered(place: str, code: str, unit: str, needed: float, taken: float, *, wasteful: bool = False) -> list[Finding]:
    slack = 1e-6 * max(1.0, needed)
    most = ceil(needed - slack) if unit == "pcs" else needed
    if taken < needed - slack:
        return [Finding("part in full", place, f"gets {shown(taken)} {unit} of {code}; {shown(needed)} are needed")]
    if not wasteful and taken > most + slack:
        return [
            Finding("no more than needed", place, f"takes {shown(taken)} {unit} of {code}; {shown(most)} are needed")
        ]
    return []
