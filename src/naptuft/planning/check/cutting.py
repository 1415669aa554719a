"""Cut lists measured again to the last millimetre."""

from __future__ import annotations

from collections import defaultdict

from naptuft.book.model import Book
from naptuft.planning.check.reading import Reading, shown
from naptuft.planning.check.stock import CUT_LIST
from naptuft.planning.plan import CutPattern, Finding, Plan, PlannedCutList

HAIR_MM = 1e-3


def check_cut_lists(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every rule of cutting the plan breaks."""
    reading = Reading(book, plan)
    findings: list[Finding] = []
    made: dict[tuple[str, str], int] = defaultdict(int)
    for cut in plan.cut_lists:
        findings += _check_cut_list(reading, cut)
        for pattern in cut.patterns:
            for piece in pattern.pieces:
                made[cut.kind, piece.work_order] += piece.count * pattern.count
    listed = {cut.work_order for cut in plan.cut_lists if cut.kind == "tube"}
    for work_order in plan.work_orders:
        place = f"work order {work_order.number}"
        if work_order.stage == "cut" and work_order.number not in listed:
            findings.append(Finding("cut list for each cutting", place, "has no cut list"))
        parts = book.parts_of.get(work_order.product, ())
        from_list = any(part.from_design == CUT_LIST for part in parts)
        if from_list and work_order.stage == "make" and made["tube", work_order.number] < work_order.started:
            findings.append(
                Finding(
                    "pieces in full",
                    place,
                    f"gets {made['tube', work_order.number]} pieces from the cut lists; {shown(work_order.started)} are needed",
                )
            )
        coils = made.get(("coil", work_order.number))
        bought = any(taken.source == "purchase" for taken in reading.allocations.get(work_order.number, ()))
        if coils is not None and not bought and coils < work_order.started:
            findings.append(
                Finding(
                    "pieces in full", place, f"gets {coils} blanks from coils; {shown(work_order.started)} are needed"
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
    left = sum(pattern.count * pattern.offcut_mm for pattern in cut.patterns)
    if abs(left - cut.offcut_mm) > HAIR_MM * max(1, rolls):
        findings.append(
            Finding(
                "lengths balance",
                place,
                f"says {shown(cut.offcut_mm)} mm are left over; its patterns leave {shown(left)}",
            )
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
