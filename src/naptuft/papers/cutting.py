"""What a cut list says: each pattern to scale, how often it is cut, and what the pieces are for."""

from __future__ import annotations

from math import ceil, floor, log10
from typing import Any

from naptuft.book.model import Book
from naptuft.papers.traveller import block, warning
from naptuft.papers.wording import TITLE_LETTERS, amount, share, shortened
from naptuft.planning.plan import CutPattern, CutPiece, Plan, PlannedCutList
from naptuft.plant.hazard import cautions_of

PAPER_WIDTH = 170.0
"""Width a stock piece is drawn in, at most. [mm of paper]"""

NARROWEST = 7.0
"""A piece drawn narrower than this holds no words: pieces alike are then drawn as one run. [mm of paper]"""


def scale_down(length_mm: float) -> float:
    """How many millimetres of stock one millimetre of paper stands for: two digits, rounded up so that it fits.

    >>> scale_down(1780.0), scale_down(152000.0)
    (11.0, 900.0)
    """
    wanted = length_mm / PAPER_WIDTH
    step = 10.0 ** (floor(log10(wanted)) - 1)
    return round(ceil(wanted / step - 1e-9) * step, 9)


def cut_lists(book: Book, plan: Plan) -> dict[str, Any]:
    """Data of the cut list template, one part for each cut list of the plan."""
    return {"block": block(plan, "cut list"), "parts": [cut_part(book, plan, found) for found in plan.cut_lists]}


def cut_part(book: Book, plan: Plan, found: PlannedCutList) -> dict[str, Any]:
    """One cut list as papers and pages show it: facts, pieces, and where each piece lies in its stock."""
    marks = _marks(found)
    scale = scale_down(found.stock_length_mm)
    name = book.item[found.material].name if found.material in book.item else found.material
    stock = "tubes" if found.kind == "tube" else "coils"
    hazards = dict.fromkeys(
        operation.hazard for operation in plan.operations if operation.work_order == found.work_order
    )
    cut_hazards = [hazard for hazard in hazards if hazard in ("cutting", "press")]
    return {
        "number": found.work_order,
        "title": shortened(name, TITLE_LETTERS),
        "name": name,
        "remark-name": "units · scale",
        "remark": f"mm · 1 : {scale:g}",
        "scale-down": scale,
        "length": found.stock_length_mm,
        "facts": [
            {"name": f"{stock} to cut", "value": f"{found.rolls:,}", "unit": ""},
            {"name": "stock length", "value": _length(found.stock_length_mm), "unit": "mm"},
            {"name": "cut width", "value": _length(found.kerf_mm), "unit": "mm"},
            {"name": "trim each end", "value": _length(found.end_trim_mm), "unit": "mm"},
            {"name": "in pieces", "value": share(found.yield_share), "unit": ""},
            *([{"name": "lot", "value": found.lot, "unit": ""}] if found.lot else []),
        ],
        "proof": _proof(found, stock),
        "balance": f"Offcuts {_length(found.offcut_mm)} mm in all.{_together(found)}",
        "pieces": [
            {
                "mark": mark,
                "work-order": piece.work_order or "spare",
                "name": book.product[piece.name].name if piece.name in book.product else piece.name,
                "length": _length(piece.length_mm),
                "count": amount(_count(found, piece)),
            }
            for piece, mark in marks.items()
        ],
        "patterns": [_pattern(found, pattern, marks, scale) for pattern in found.patterns],
        "legend": " · ".join(
            ["hatched: offcut"]
            + ["gap between pieces: cut width"] * (found.kerf_mm > 0)
            + ["white at the ends: trim"] * (found.end_trim_mm > 0)
        ),
        "caution": warning(caution for hazard in cut_hazards for caution in cautions_of(hazard)),
    }


def _length(length_mm: float) -> str:
    return f"{length_mm:,.1f}".removesuffix(".0")


def _proof(found: PlannedCutList, stock: str) -> str:
    if found.proven_optimal:
        return f"No cut list does with fewer {stock}: proven."
    return f"At least {found.lower_bound:,} {stock} are needed; this list takes {found.rolls:,}."


def _together(found: PlannedCutList) -> str:
    if found.piece_days == 0:
        return ""
    return (
        f" Several due days are cut together: {found.rolls_apart - found.rolls:,} tubes fewer than day by day, "
        f"for {found.piece_days:,} piece-days of waiting."
    )


def _alike(piece: CutPiece) -> CutPiece:
    return CutPiece(piece.work_order, piece.name, piece.length_mm, 0)


def _marks(found: PlannedCutList) -> dict[CutPiece, str]:
    """A letter for each kind of piece, the longest first."""
    kinds = dict.fromkeys(_alike(piece) for pattern in found.patterns for piece in pattern.pieces)
    ordered = sorted(kinds, key=lambda piece: (-piece.length_mm, piece.work_order))
    return {piece: _letters(place) for place, piece in enumerate(ordered)}


def _letters(place: int) -> str:
    """A, B, … Z, AA, AB, …"""
    letters = ""
    place += 1
    while place:
        place, last = divmod(place - 1, 26)
        letters = chr(ord("A") + last) + letters
    return letters


def _count(found: PlannedCutList, wanted: CutPiece) -> int:
    return sum(
        piece.count * pattern.count for pattern in found.patterns for piece in pattern.pieces if _alike(piece) == wanted
    )


def _pattern(found: PlannedCutList, pattern: CutPattern, marks: dict[CutPiece, str], scale: float) -> dict[str, Any]:
    at = found.end_trim_mm
    drawn = []
    for piece in pattern.pieces:
        mark = marks[_alike(piece)]
        pitch = piece.length_mm + found.kerf_mm
        if piece.length_mm / scale < NARROWEST:
            run = piece.count * pitch - found.kerf_mm
            words = f"{piece.count:,} × {_length(piece.length_mm)}"
            drawn.append({"from": at, "to": at + run, "mark": mark, "size": words, "group": _group(mark)})
        else:
            drawn += [
                {
                    "from": at + i * pitch,
                    "to": at + i * pitch + piece.length_mm,
                    "mark": mark,
                    "size": _length(piece.length_mm),
                    "group": _group(mark),
                }
                for i in range(piece.count)
            ]
        at += piece.count * pitch
    return {
        "count": f"{pattern.count:,}",
        "words": ", ".join(
            f"{piece.count:,} × {_length(piece.length_mm)} mm ({marks[_alike(piece)]})" for piece in pattern.pieces
        ),
        "offcut": _length(pattern.offcut_mm),
        "pieces": drawn,
        "offcut-from": at,
        "offcut-to": max(at, found.stock_length_mm - found.end_trim_mm),
    }


def _group(mark: str) -> int:
    return sum(map(ord, mark))
