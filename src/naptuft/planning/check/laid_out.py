"""Blends weighed again to the gram, cut lists measured again to the last millimetre."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from naptuft.book.model import Book
from naptuft.planning.check.reading import Reading, in_unit, shown
from naptuft.planning.check.stock import BLEND, CUT_LIST
from naptuft.planning.plan import CutPattern, Finding, Plan, PlannedBlend, PlannedCutList, ProfileBar

GRAM = 0.5
HAIR_MM = 1e-3
SHARE = 1e-6


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
        findings += _check_blend(reading, blend)
    return tuple(findings)


def _check_blend(reading: Reading, blend: PlannedBlend) -> list[Finding]:
    place = f"blend for work order {blend.work_order}"
    work_order = reading.work_order.get(blend.work_order)
    if work_order is None:
        return [Finding("known work order", place, "is for a work order the plan has not")]
    findings = []
    taken = sum(line.grams for line in blend.lots)
    if abs(taken - blend.wanted_grams - blend.combings_grams) > GRAM:
        findings.append(
            Finding(
                "grams balance",
                place,
                f"takes {shown(taken)} g; {shown(blend.wanted_grams)} g are wanted and "
                f"{shown(blend.combings_grams)} g combed out",
            )
        )
    wanted = in_unit(work_order.started, work_order.unit, "g")
    if abs(blend.wanted_grams - wanted) > GRAM:
        findings.append(
            Finding(
                "grams balance", place, f"mixes {shown(blend.wanted_grams)} g; the work order starts {shown(wanted)} g"
            )
        )
    if blend.combings_grams < 0:
        findings.append(Finding("grams balance", place, "combs out less than nothing"))
    findings += _check_profile(blend, place)
    allowed = {part.part for part in reading.book.parts_of.get(work_order.product, ()) if part.from_design == BLEND}
    given: dict[str, float] = defaultdict(float)
    for allocation in reading.allocations.get(work_order.number, ()):
        if allocation.material in allowed:
            given[allocation.material] += in_unit(allocation.quantity, allocation.unit, "g")
    mixed: dict[str, float] = defaultdict(float)
    for line in blend.lots:
        mixed[line.material] += line.grams
        if line.material not in allowed:
            findings.append(Finding("right material", place, f"mixes in {line.material}, which the filling has not"))
    findings += [
        Finding(
            "blend and takings agree",
            place,
            f"mixes {shown(mixed[code])} g of {code}; {shown(given[code])} g are taken for it",
        )
        for code in sorted({*given, *(code for code in mixed if code in allowed)})
        if abs(given[code] - mixed[code]) > GRAM
    ]
    return findings


def _check_profile(blend: PlannedBlend, place: str) -> list[Finding]:
    findings = [
        Finding(
            "length profile",
            place,
            f"{shown(bar.length_mm)} mm gets {bar.got:.2%}; {bar.asked:.2%} ± {bar.tolerance:.2%} is asked",
        )
        for bar in blend.profile
        if abs(bar.got - bar.asked) > bar.tolerance + SHARE
    ]
    total = _total(blend.profile)
    if blend.profile and abs(total - 1) > 1e-3:
        findings.append(Finding("length profile", place, f"the shares got add up to {total:.2%}"))
    return findings


def _total(profile: Sequence[ProfileBar]) -> float:
    return sum(bar.got for bar in profile)


def check_cut_lists(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every rule of cutting the plan breaks."""
    reading = Reading(book, plan)
    findings: list[Finding] = []
    made: dict[str, int] = defaultdict(int)
    for cut in plan.cut_lists:
        findings += _check_cut_list(reading, cut)
        for pattern in cut.patterns:
            for piece in pattern.pieces:
                if cut.kind == "tube":
                    made[piece.work_order] += piece.count * pattern.count
    listed = {cut.work_order for cut in plan.cut_lists if cut.kind == "tube"}
    for work_order in plan.work_orders:
        place = f"work order {work_order.number}"
        if work_order.stage == "cut" and work_order.number not in listed:
            findings.append(Finding("cut list for each cutting", place, "has no cut list"))
        parts = book.parts_of.get(work_order.product, ())
        from_list = any(part.from_design == CUT_LIST for part in parts)
        if from_list and work_order.stage == "make" and made[work_order.number] < work_order.started:
            findings.append(
                Finding(
                    "pieces in full",
                    place,
                    f"gets {made[work_order.number]} pieces from the cut lists; {shown(work_order.started)} are needed",
                )
            )
    return tuple(findings)


def _check_cut_list(reading: Reading, cut: PlannedCutList) -> list[Finding]:
    place = f"cut list for work order {cut.work_order}"
    work_order = reading.work_order.get(cut.work_order)
    if work_order is None:
        return [Finding("known work order", place, "is for a work order the plan has not")]
    findings = []
    rolls = sum(pattern.count for pattern in cut.patterns)
    if rolls != cut.rolls:
        findings.append(
            Finding("stock pieces counted", place, f"says {cut.rolls} stock pieces; its patterns cut {rolls}")
        )
    if cut.lower_bound > cut.rolls or (cut.proven_optimal and cut.lower_bound != cut.rolls):
        findings.append(
            Finding("optimal means proven", place, f"{cut.rolls} stock pieces against a bound of {cut.lower_bound}")
        )
    for number, pattern in enumerate(cut.patterns, start=1):
        findings += _check_pattern(cut, pattern, f"{place}, pattern {number}")
    if cut.kind == "tube":
        if rolls > work_order.started:
            findings.append(
                Finding(
                    "stock pieces counted", place, f"cuts {rolls} tubes; the work order has {shown(work_order.started)}"
                )
            )
        settings = reading.book.settings
        for name, said, asked in (
            ("kerf", cut.kerf_mm, settings.kerf * 1e3),
            ("end trim", cut.end_trim_mm, settings.end_trim * 1e3),
        ):
            if abs(said - asked) > HAIR_MM:
                findings.append(
                    Finding("lengths balance", place, f"its {name} is {shown(said)} mm; the book says {shown(asked)}")
                )
        findings += _check_lengths(reading, cut, place)
    return findings


def _check_pattern(cut: PlannedCutList, pattern: CutPattern, place: str) -> list[Finding]:
    """Pieces, saw cuts, trims and offcut make up the stock length."""
    pieces = sum(piece.count for piece in pattern.pieces)
    length = sum(piece.length_mm * piece.count for piece in pattern.pieces)
    rest = cut.stock_length_mm - 2 * cut.end_trim_mm - length - max(0, pieces - 1) * cut.kerf_mm
    if rest < -HAIR_MM:
        return [
            Finding(
                "lengths balance",
                place,
                f"pieces, saw cuts and trims take {shown(cut.stock_length_mm - rest)} mm of {shown(cut.stock_length_mm)}",
            )
        ]
    offcut = max(0.0, rest - cut.kerf_mm)
    if abs(offcut - pattern.offcut_mm) > HAIR_MM:
        return [
            Finding("lengths balance", place, f"leaves {shown(offcut)} mm; the list says {shown(pattern.offcut_mm)}")
        ]
    return []


def _check_lengths(reading: Reading, cut: PlannedCutList, place: str) -> list[Finding]:
    """The tube is as long as its design says, and each piece as long as its refill's."""
    findings = []
    tube = reading.figure(cut.material, "core_length")
    if tube is not None and abs(tube * 1e3 - cut.stock_length_mm) > HAIR_MM:
        findings.append(
            Finding(
                "lengths balance", place, f"cuts tubes of {shown(cut.stock_length_mm)} mm; they are {shown(tube * 1e3)}"
            )
        )
    for piece in {piece.work_order: piece for pattern in cut.patterns for piece in pattern.pieces}.values():
        user = reading.work_order.get(piece.work_order)
        if user is None:
            findings.append(Finding("known work order", place, f"cuts for {piece.work_order}, not in the plan"))
            continue
        length = reading.figure(user.product, "length")
        if length is not None and abs(length * 1e3 - piece.length_mm) > HAIR_MM:
            findings.append(
                Finding(
                    "lengths balance",
                    place,
                    f"cuts {shown(piece.length_mm)} mm for {piece.work_order}; {user.product} is {shown(length * 1e3)} mm",
                )
            )
    return findings
