"""The cut list as a calculation: what is asked, the answer with its proof, and the drawing to scale."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity, rows, text, whole
from naptuft.drawing import Drawing
from naptuft.roller.cutting.listing import CutDemand, CutList, cut_list

_GILMORE = "Gilmore and Gomory, Operations Research 9 (1961) 849-859; bound after Farley 1990 (from memory)"
MOST_DRAWN = 24
CAUTION = Caution(
    "Rotating knife or saw",
    "guard the blade outside the cut, clamp the tube before it is cut, extract dust and lint, lock out to change blades",
    "29 CFR 1910.212, 1910.147 and 1910.95",
)


@dataclass(frozen=True)
class CutRow:
    """So many pieces of one length."""

    length: float = quantity("mm", "finished length", low=1, high=1e6, example="190 mm")
    quantity: int = whole("pieces wanted", low=1, high=1_000_000, example="300")
    name: str = text("what the piece is for", default="", example="refill 190")


@dataclass(frozen=True)
class CutRequest:
    """Stock of one length and the pieces wanted from it."""

    stock_length: float = quantity("mm", "length of a stock piece", low=10, high=1e7, example="1800 mm")
    kerf: float = quantity("mm", "width lost at each cut", low=0, high=100, default=0, example="2 mm")
    end_trim: float = quantity("mm", "cut off each end of a stock piece", low=0, high=1e6, default=0, example="5 mm")
    min_offcut: float = quantity(
        "mm", "shortest leftover worth keeping", low=0, high=1e6, default=150, example="150 mm"
    )
    pieces: tuple[CutRow, ...] = rows(
        CutRow, "lengths wanted", example="190 mm | 300 | refill 190; 240 mm | 120 | refill 240"
    )

    @property
    def demands(self) -> tuple[CutDemand, ...]:
        """The rows as the cutting engine reads them."""
        return tuple(CutDemand(row.name or f"{row.length * 1e3:g} mm", row.length, row.quantity) for row in self.pieces)


def _cut(request: CutRequest) -> CutList:
    return cut_list(
        request.stock_length,
        request.demands,
        kerf=request.kerf,
        end_trim=request.end_trim,
        min_offcut=request.min_offcut,
    )


def _work_out(request: CutRequest) -> Result:
    made = _cut(request)
    remarks = [
        f"{pattern.count} × ({' + '.join(f'{n} × {length * 1e3:g} mm' for _, length, n in pattern.pieces)}), "
        f"offcut {pattern.offcut * 1e3:g} mm"
        for pattern in made.patterns
    ]
    if not made.proven_optimal:
        remarks.insert(
            0, f"{made.rolls} stock pieces, at least {made.lower_bound} needed: {made.status}, not proven the fewest."
        )
    return Result(
        values=(
            Value("rolls", "stock pieces", made.rolls),
            Value("lower_bound", "stock pieces proven to be needed", made.lower_bound),
            Value("patterns", "different patterns", len(made.patterns)),
            Value("pieces_length", "length of all pieces", made.pieces_length, "m"),
            Value("offcut_length", "leftover worth keeping", made.offcut_length, "m"),
            Value("waste", "trim, saw cuts and short ends", made.waste, "m"),
            Value("yield_share", "pieces over stock used up", made.yield_share, "%"),
        ),
        checks=(
            Check(
                "stock pieces against the bound",
                made.rolls,
                made.lower_bound,
                "at most",
                "",
                _GILMORE,
                "allow the search more work",
            ),
        ),
        steps=(
            Step("least by length", "Σ nᵢ(lᵢ + kerf) / (L − 2·trim + kerf)", _by_length(request), "", "arithmetic"),
            Step("least by relaxed patterns, rounded up", "⌈Σ nᵢ πᵢ / max Σ aᵢ πᵢ⌉", made.lower_bound, "", _GILMORE),
        ),
        cautions=(CAUTION,),
        remarks=tuple(remarks),
    )


def _by_length(request: CutRequest) -> float:
    each = sum(row.quantity * (row.length + request.kerf) for row in request.pieces)
    return each / (request.stock_length - 2 * request.end_trim + request.kerf)


def draw_cut_list(request: CutRequest, result: Result) -> str:
    """Every pattern of the cut list as a bar to scale."""
    return draw_patterns(_cut(request), f"{result['rolls']:g} stock pieces, {result['patterns']:g} patterns")


def draw_patterns(made: CutList, title: str) -> str:
    """Bars to scale, one a pattern: trim, pieces, saw cuts, offcut. Past 24 patterns the rest is left out."""
    drawing = Drawing(title)
    total = made.stock_length * 1e3
    height, step = total / 30, total / 30 + total / 22
    for row, pattern in enumerate(made.patterns[:MOST_DRAWN]):
        y, x = row * step, made.end_trim * 1e3
        drawing.rectangle(0, y, total, height, "outline", fill="none")
        if x > 0:
            drawing.rectangle(0, y, x, height, "hatch", hatch="cross", hint="end trim")
            drawing.rectangle(total - x, y, x, height, "hatch", hatch="cross", hint="end trim")
        for name, length, number in pattern.pieces:
            for _ in range(number):
                drawing.rectangle(
                    x, y, length * 1e3, height, "detail", hatch="diagonal", hint=f"{name}, {length * 1e3:g} mm"
                )
                drawing.text((x + length * 5e2, y - total / 220), f"{length * 1e3:g}", size=2.6)
                x += (length + made.kerf) * 1e3
        if pattern.offcut > 0:
            kept = pattern.offcut >= made.min_offcut
            drawing.rectangle(
                x,
                y,
                pattern.offcut * 1e3,
                height,
                "second" if kept else "hatch",
                hatch="" if kept else "dots",
                hint=f"offcut {pattern.offcut * 1e3:g} mm, {'kept' if kept else 'waste'}",
            )
        drawing.text((total * 1.01, y + height * 0.8), f"× {pattern.count}", anchor="start")
    if len(made.patterns) > MOST_DRAWN:
        drawing.text((0, MOST_DRAWN * step), f"and {len(made.patterns) - MOST_DRAWN} more patterns", anchor="start")
    return drawing.svg()


CUT_LIST = Calculation(
    name="cut-list",
    title="Cut list",
    line="roller",
    about="Cut tubes, coils or rolls into the lengths wanted from the fewest stock pieces, with the proof.",
    inputs=CutRequest,
    run=_work_out,
    draw=draw_cut_list,
)
