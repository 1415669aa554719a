"""Blends weighed and measured again, from the lots' own length profiles, to the gram."""

from __future__ import annotations

from collections import defaultdict

from naptuft.book.designs import filling_target
from naptuft.book.model import Book, Lot, LotLength
from naptuft.brush.blend import FillingTarget
from naptuft.planning.check.reading import Reading, in_unit, shown
from naptuft.planning.check.stock import BLEND
from naptuft.planning.plan import Finding, Plan, PlannedBlend, WorkOrder

HALF_GRAM = 0.5
GRAM = 1.0
NEAR = 1e-6
SHARE = 1e-6
WEIGHING = 2e-3
"""How far a share may stray because lots are weighed out in whole grams."""


def check_blends(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every rule of mixing the plan breaks."""
    reading = Reading(book, plan)
    findings: list[Finding] = []
    mixed = {blend.work_order for blend in plan.blends}
    for work_order in plan.work_orders:
        parts = book.parts_of.get(work_order.product, ())
        if any(part.from_design == BLEND for part in parts) and work_order.number not in mixed:
            findings.append(Finding("blend for each filling", f"work order {work_order.number}", "has no blend"))
    for blend in plan.blends:
        work_order = reading.work_order.get(blend.work_order)
        if work_order is None:
            findings.append(Finding("known work order", _place(blend), "is for a work order the plan has not"))
            continue
        findings += _check_balance(blend)
        findings += _check_takings(reading, blend, work_order)
        if isinstance(book.designs.get(work_order.product), FillingTarget):
            target = filling_target(book, work_order.product)
            findings += _check_profile(blend, target)
            findings += _check_made_of(reading, blend, target, in_unit(work_order.started, work_order.unit, "g"))
    return tuple(findings)


def _place(blend: PlannedBlend) -> str:
    return f"blend for work order {blend.work_order}"


def _check_balance(blend: PlannedBlend) -> list[Finding]:
    taken = sum(line.grams for line in blend.lots)
    findings = []
    if abs(taken - blend.wanted_grams - blend.combings_grams) > HALF_GRAM:
        findings.append(
            Finding(
                "grams balance",
                _place(blend),
                f"takes {shown(taken)} g; {shown(blend.wanted_grams)} g are wanted and "
                f"{shown(blend.combings_grams)} g combed out",
            )
        )
    if blend.combings_grams < 0:
        findings.append(Finding("grams balance", _place(blend), "combs out less than nothing"))
    return findings


def _check_takings(reading: Reading, blend: PlannedBlend, work_order: WorkOrder) -> list[Finding]:
    """What is weighed out is what is taken from stock, and of the filling's own materials."""
    allowed = {part.part for part in reading.book.parts_of.get(work_order.product, ()) if part.from_design == BLEND}
    given: dict[str, float] = defaultdict(float)
    for allocation in reading.allocations.get(work_order.number, ()):
        if allocation.material in allowed:
            name = allocation.lot if allocation.source == "stock" else allocation.material
            given[name] += in_unit(allocation.quantity, allocation.unit, "g")
    mixed: dict[str, float] = defaultdict(float)
    findings = []
    for line in blend.lots:
        mixed[line.lot] += line.grams
        if line.material not in allowed:
            findings.append(
                Finding("right material", _place(blend), f"mixes in {line.material}, which the filling has not")
            )
    return findings + [
        Finding(
            "blend and takings agree",
            _place(blend),
            f"mixes {shown(mixed[name])} g of {name}; {shown(given[name])} g are taken for it",
        )
        for name in sorted({*given, *mixed})
        if abs(given[name] - mixed[name]) > HALF_GRAM
    ]


def _check_profile(blend: PlannedBlend, target: FillingTarget) -> list[Finding]:
    """The shares got against those asked, and those asked against the design."""
    place, findings = _place(blend), []
    asked = {round(row.length * 1e3, 6): (row.share, row.tolerance) for row in target.profile}
    said = {round(bar.length_mm, 6): (bar.asked, bar.tolerance) for bar in blend.profile}
    if asked.keys() != said.keys() or any(
        abs(a - b) > SHARE for length in asked for a, b in zip(asked[length], said[length], strict=True)
    ):
        findings.append(Finding("length profile", place, "is held against another profile than its design's"))
    findings += [
        Finding(
            "length profile",
            place,
            f"{shown(bar.length_mm)} mm gets {bar.got:.2%}; {bar.asked:.2%} ± {bar.tolerance:.2%} is asked",
        )
        for bar in blend.profile
        if abs(bar.got - bar.asked) > bar.tolerance + WEIGHING
    ]
    total = sum(bar.got for bar in blend.profile)
    if not 1 - target.stray - WEIGHING <= total <= 1 + WEIGHING:
        findings.append(
            Finding(
                "length profile",
                place,
                f"the shares got add up to {total:.2%}; at most {target.stray:.2%} may be of other lengths",
            )
        )
    if len(blend.lots) > target.max_lots:
        findings.append(
            Finding("lots in a blend", place, f"mixes {len(blend.lots)} lots; at most {target.max_lots} may be mixed")
        )
    return findings


def _check_made_of(reading: Reading, blend: PlannedBlend, target: FillingTarget, asked_grams: float) -> list[Finding]:
    """Mix the lots again: what the comber leaves of each, its water and its lengths.

    The mass alone is held against the work order where some of it is still to be bought and unmeasured.
    """
    place, findings = _place(blend), []
    lots = [(reading.book.lot.get(line.lot), line.grams) for line in blend.lots]
    most = asked_grams * (1 + target.surplus) if target.bundles == "whole" else asked_grams
    if target.moisture is None and not asked_grams - GRAM <= blend.wanted_grams <= most + GRAM:
        findings.append(
            Finding(
                "grams balance",
                place,
                f"mixes {shown(blend.wanted_grams)} g; the work order starts {shown(asked_grams)} g",
            )
        )
    left = dry = thick = 0.0
    bars: dict[float, float] = defaultdict(float)
    for lot, grams in lots:
        if lot is None:
            return findings
        kept, shares = _combed(target, lot, reading.book.lengths_of.get(lot.code, ()))
        dried = grams * kept * (1 - (lot.moisture if lot.moisture is not None else target.moisture or 0.0))
        left, dry, thick = left + grams * kept, dry + dried, thick + dried * (lot.diameter or 0.0)
        for length, share in shares.items():
            bars[length] += share * dried
    if abs(left - blend.wanted_grams) > GRAM * (1 + len(lots)):
        findings.append(
            Finding(
                "grams balance", place, f"the comber leaves {shown(left)} g of it, not {shown(blend.wanted_grams)} g"
            )
        )
    water = 1 - (target.moisture or 0.0)
    slack = GRAM * (1 + len(lots))
    if target.moisture is not None and not asked_grams * water - slack <= dry <= most * water + slack:
        findings.append(
            Finding(
                "grams balance",
                place,
                f"holds {shown(dry)} g dry; {shown(asked_grams * water)} g are wanted",
            )
        )
    findings += [
        Finding(
            "length profile",
            place,
            f"mixing the lots again gives {bars[bar.length_mm] / dry:.2%} of {shown(bar.length_mm)} mm, not {bar.got:.2%}",
        )
        for bar in blend.profile
        if dry and abs(bars[round(bar.length_mm, 6)] / dry - bar.got) > WEIGHING
    ]
    least, most = target.least_mean_diameter, target.most_mean_diameter
    mean = thick / dry if dry else 0.0
    if (least is not None and mean < least * (1 - WEIGHING)) or (most is not None and mean > most * (1 + WEIGHING)):
        findings.append(Finding("mean diameter", place, f"comes to {mean * 1e6:.1f} µm, outside what the design asks"))
    return findings


def _combed(target: FillingTarget, lot: Lot, lengths: tuple[LotLength, ...]) -> tuple[float, dict[float, float]]:
    """What the comber leaves of a lot, as a share of what is taken, and its shares by length class [mm].

    Out come hair shorter than the profile, curled hair and the comber's own loss. A hair counts as the
    class nearest to it, within the target's reach.
    """
    classes = [row.length for row in target.profile]
    reach = target.reach + NEAR
    whole = sum(bar.share for bar in lengths) or 1.0
    short = sum(bar.share for bar in lengths if bar.length < min(classes) - reach) / whole
    shares: dict[float, float] = defaultdict(float)
    for bar in lengths:
        nearest = min(classes, key=lambda length, hair=bar.length: abs(length - hair))
        if abs(nearest - bar.length) <= reach and short < 1:
            shares[round(nearest * 1e3, 6)] += bar.share / whole / (1 - short)
    return (1 - short) * (1 - (lot.curl or 0.0)) * (1 - target.combing_loss), shares
