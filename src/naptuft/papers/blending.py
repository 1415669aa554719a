"""What a blend sheet says: grams of each lot in the order to weigh them, and the length profile."""

from __future__ import annotations

from itertools import accumulate
from typing import Any

from naptuft.book.model import Book
from naptuft.papers.traveller import block, warning
from naptuft.papers.wording import TITLE_LETTERS, money, share, shortened
from naptuft.planning.plan import Plan, PlannedBlend, ProfileBar
from naptuft.plant.hazard import cautions_of

SLACK = 1e-6
"""A share this much outside its tolerance still counts as kept: a tenth of a milligram in a hundred grams."""


def blends(book: Book, plan: Plan) -> dict[str, Any]:
    """Data of the blend template, one part for each blend of the plan."""
    return {"block": block(plan, "blend sheet"), "parts": [blend_part(book, plan, blend) for blend in plan.blends]}


def blend_part(book: Book, plan: Plan, blend: PlannedBlend) -> dict[str, Any]:
    """One blend as papers and pages show it: lots in the order to weigh them, the profile, the balance."""
    taken = sum(line.grams for line in blend.lots)
    name = book.product[blend.product].name if blend.product in book.product else blend.product
    hazards = dict.fromkeys(step.hazard for step in plan.operations if step.work_order == blend.work_order)
    ordered = sorted(blend.lots, key=lambda line: (-line.grams, line.lot))
    return {
        "number": blend.work_order,
        "title": shortened(name, TITLE_LETTERS),
        "name": name,
        "remark-name": "units",
        "remark": "g, weighed moist",
        "facts": [
            {"name": "weigh out in all", "value": _grams(taken), "unit": "g"},
            {"name": "filling wanted", "value": _grams(blend.wanted_grams), "unit": "g"},
            {"name": "combings", "value": _grams(blend.combings_grams), "unit": "g"},
            {"name": "lots", "value": str(len(blend.lots)), "unit": ""},
            {"name": "money", "value": money(blend.cost), "unit": plan.currency},
        ],
        "lots": [
            {
                "lot": line.lot,
                "name": book.item[line.material].name if line.material in book.item else line.material,
                "from": _whence(book, line.lot, line.material),
                "grams": _grams(line.grams),
                "share": share(line.grams / taken) if taken else "–",
                "running": _grams(running),
            }
            for line, running in zip(ordered, accumulate(line.grams for line in ordered), strict=True)
        ],
        "balance": f"{_grams(taken)} g weighed = {_grams(blend.wanted_grams)} g wanted + "
        f"{_grams(blend.combings_grams)} g combings",
        "proof": (
            "No cheaper blend of these lots keeps the profile: proven."
            if blend.proven_optimal
            else f"A blend cannot cost less than {money(blend.bound, plan.currency)}; cheaper ones than this are not ruled out."
        ),
        "bars": [_bar(bar) for bar in sorted(blend.profile, key=lambda bar: bar.length_mm)],
        "top": _top(blend.profile),
        "caution": warning(caution for hazard in hazards for caution in cautions_of(hazard)),
    }


def _grams(grams: float) -> str:
    return f"{grams:,.1f}".removesuffix(".0")


def _whence(book: Book, lot: str, material: str) -> str:
    found = book.lot.get(lot)
    if found is None:
        return f"{material} · to be bought"
    return f"{material} · {found.supplier}" if found.supplier else material


def _top(bars: tuple[ProfileBar, ...]) -> float:
    """Upper end of the chart's scale: the next tenth above everything drawn."""
    most = max((max(bar.asked + bar.tolerance, bar.got) for bar in bars), default=0.1)
    return min(1.0, int(most * 10 + 0.999999) / 10) or 0.1


def _bar(bar: ProfileBar) -> dict[str, Any]:
    low, high = max(0.0, bar.asked - bar.tolerance), min(1.0, bar.asked + bar.tolerance)
    return {
        "length": f"{bar.length_mm:g}",
        "asked": bar.asked,
        "low": low,
        "high": high,
        "got": bar.got,
        "kept": low - SLACK <= bar.got <= high + SLACK,
        "asked-words": f"{100 * bar.asked:.1f}",
        "got-words": f"{100 * bar.got:.1f}",
    }
