"""The cut list as a calculation: what is asked, the answer with its proof, and the drawing to scale."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from naptuft.calculation import (
    Calculation,
    Caution,
    Check,
    Result,
    Step,
    Value,
    choice,
    money,
    quantity,
    rows,
    text,
    whole,
)
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault, UnitError
from naptuft.quantity import parse
from naptuft.roller.cutting.from_stock import AIMS, StockCut, StockList, cut_from_stock
from naptuft.roller.cutting.listing import CutDemand
from naptuft.roller.cutting.stock import StockPiece

_GILMORE = "Gilmore and Gomory, Operations Research 9 (1961) 849-859; bound by Lagrange and Farley (1990, from memory)"
MOST_DRAWN = 24
_BLADE = Caution(
    "Rotating knife or saw",
    "guard the blade outside the cut, clamp the work before it is cut, extract dust and lint, lock out to change blades",
    "29 CFR 1910.212, 1910.147 and 1910.95",
)
CAUTIONS: dict[str, tuple[Caution, ...]] = {
    "tube": (_BLADE,),
    "steel strip": (
        Caution(
            "Sharp strip that springs when its band is cut",
            "wear cut-proof gloves and eye protection, cut the band from the side, hold the loose end down",
            "29 CFR 1910.138 and 1910.212",
        ),
        Caution("Shear or slitter", "guard the point of operation, lock out before clearing", "29 CFR 1910.212"),
    ),
    "cardboard": (_BLADE,),
    "fabric": (
        Caution(
            "Round or straight cloth knife",
            "wear a chain-mail glove on the guiding hand, lower the guard to the cloth, extract lint",
            "29 CFR 1910.212 and 1910.138",
        ),
    ),
}
GOODS = tuple(CAUTIONS)


def spoiled_spans(written: str, place: str = "spoiled") -> tuple[tuple[float, float], ...]:
    """Spans written as "410 mm to 455 mm, 900 mm to 905 mm", from the left end. [m]

    Raises DesignError for anything else.

    >>> spoiled_spans("410 to 455 mm, 0.9 m to 0.905 m")
    ((0.41, 0.455), (0.9, 0.905))
    """
    spans = []
    for part in written.split(","):
        if not part.strip():
            continue
        ends = part.split(" to ")
        try:
            low, high = (parse(end, "mm", place) for end in ends)
        except (UnitError, ValueError):
            wanted = "spans such as 410 mm to 455 mm, parted by commas"
            raise DesignError(Fault(place, part.strip(), wanted, "write where it begins and ends")) from None
        spans.append((low, high))
    return tuple(spans)


@dataclass(frozen=True)
class StockRow:
    """Stock pieces of one length, all alike."""

    length: float = quantity("mm", "length of a stock piece", low=10, high=1e7, example="1800 mm")
    available: int | None = whole(
        "how many there are; empty: as many as wanted", low=0, high=10_000_000, default=None, example="40"
    )
    price: Decimal | None = money("price of one; may be empty", default=None, example="3.20")
    spoiled: str = text(
        "spans nothing may be cut from, measured from the left end; empty: sound throughout",
        default="",
        example="410 mm to 455 mm",
    )
    name: str = text("what it is called", default="", example="tube")

    def __post_init__(self) -> None:
        for low, high in spoiled_spans(self.spoiled):
            if not 0 <= low < high <= self.length * (1 + 1e-12):
                span = f"{low * 1e3:g} to {high * 1e3:g} mm"
                inside = f"from 0 to {self.length * 1e3:g} mm, the lesser first"
                raise DesignError(Fault("spoiled", span, inside, "measure it from the left end of the piece"))

    @property
    def piece(self) -> StockPiece:
        """The row as the cutting engine reads it."""
        name = self.name or f"{self.length * 1e3:g} mm"
        return StockPiece(name, self.length, self.available, self.price, spoiled_spans(self.spoiled))


@dataclass(frozen=True)
class CutRow:
    """So many pieces of one length."""

    length: float = quantity("mm", "finished length", low=1, high=1e6, example="190 mm")
    quantity: int = whole("pieces wanted", low=1, high=1_000_000, example="300")
    name: str = text("what the piece is for", default="", example="refill 190")


@dataclass(frozen=True)
class CutRequest:
    """The stock there is and the pieces wanted from it."""

    stock: tuple[StockRow, ...] = rows(
        StockRow,
        "lengths in stock, leftovers among them",
        example="1800 mm | 40 | 3.20 | | tube; 1200 mm | 6 | 2.05 | | short tube; "
        "910 mm | 1 | 0.40 | 410 mm to 455 mm | leftover",
    )
    pieces: tuple[CutRow, ...] = rows(
        CutRow, "lengths wanted", example="190 mm | 100 | refill 190; 240 mm | 60 | refill 240"
    )
    kerf: float = quantity("mm", "width lost at each cut", low=0, high=100, default=0, example="2 mm")
    end_trim: float = quantity("mm", "cut off each end of a stock piece", low=0, high=1e6, default=0, example="5 mm")
    min_offcut: float = quantity(
        "mm",
        "shortest leftover that goes back to stock",
        low=0,
        high=1e6,
        default=150,
        example="150 mm",
        label="shortest leftover kept",
    )
    aim: str = choice(AIMS, "what to use least of", default="stock pieces")
    most_patterns: int | None = whole(
        "most different patterns, each a new setting of the stops; empty: as few as cost nothing",
        low=1,
        high=1000,
        default=None,
    )
    goods: str = choice(GOODS, "what is cut", default="tube")

    @property
    def demands(self) -> tuple[CutDemand, ...]:
        """The rows as the cutting engine reads them."""
        return tuple(CutDemand(row.name or f"{row.length * 1e3:g} mm", row.length, row.quantity) for row in self.pieces)


@lru_cache(maxsize=16)
def _cut(request: CutRequest) -> StockList:
    """The list; kept, because the drawing asks for it after the figures."""
    return cut_from_stock(
        tuple(row.piece for row in request.stock),
        request.demands,
        kerf=request.kerf,
        end_trim=request.end_trim,
        min_offcut=request.min_offcut,
        aim=request.aim,  # pyright: ignore[reportArgumentType]
        most_patterns=request.most_patterns,
    )


def _work_out(request: CutRequest) -> Result:
    made = _cut(request)
    unit = "m" if request.aim == "length" else ""
    least = {"stock pieces": "stock pieces", "price": "price of the stock", "length": "length of the stock"}[
        request.aim
    ]
    remarks = [_words(cut, made) for cut in made.cuts]
    if not made.proven_optimal:
        remarks.insert(
            0,
            f"{least} {made.cost:g}, at least {made.bound:g} needed: {made.status}, not proven the least "
            f"(at most {made.gap:.2%} above it).",
        )
    if made.offcuts:
        back = ", ".join(f"{number} × {length * 1e3:g} mm" for length, number in made.offcuts)
        remarks.append(f"Back to stock: {back}.")
    checks = [
        Check(
            f"{least} against the bound", made.cost, made.bound, "at most", unit, _GILMORE, "allow the search more work"
        )
    ]
    if request.most_patterns is not None:
        mend = "allow more patterns, or lengths that go together"
        checks.append(
            Check("different patterns", made.patterns, request.most_patterns, "at most", "", "limit given", mend)
        )
    priced = [row.price for row in request.stock]
    bill = []
    if None not in priced:
        total = sum((cut.stock.price or Decimal(0)) * cut.count for cut in made.cuts)
        bill.append(Value("stock_price", "price of the stock used", float(total)))
    return Result(
        values=(
            Value("rolls", "stock pieces", made.rolls),
            Value("lower_bound", f"{least} proven to be needed", made.bound, unit),
            Value("cost", f"{least} used", made.cost, unit),
            Value("gap", "most this may be above the least", made.gap, "%"),
            Value("patterns", "different patterns", made.patterns),
            Value("stop_moves", "moves of a single length stop", made.stop_moves),
            Value("stock_used", "length of the stock used", made.stock_used, "m"),
            Value("pieces_length", "length of all pieces", made.pieces_length, "m"),
            Value("offcuts", "leftovers back to stock", sum(number for _, number in made.offcuts)),
            Value("offcut_length", "length back to stock", made.offcut_length, "m"),
            Value("waste", "trim, saw cuts, spoiled spans and short ends", made.waste, "m"),
            Value("yield_share", "pieces over stock used up", made.yield_share, "%"),
            *bill,
        ),
        checks=tuple(checks),
        steps=(
            Step("length wanted with its saw cuts", "Σ nᵢ(lᵢ + kerf)", _with_cuts(request), "m", "arithmetic"),
            Step(
                "least by relaxed patterns, rounded up",
                "⌈Σ nᵢ πᵢ + Σ Sₖ min(0, cₖ − Σ vₖ)⌉, vₖ the best pattern of each stretch at prices π",
                made.bound,
                unit,
                _GILMORE,
            ),
        ),
        cautions=CAUTIONS[request.goods],
        remarks=tuple(remarks),
    )


def _words(cut: StockCut, made: StockList) -> str:
    pieces = " + ".join(f"{n} × {length * 1e3:g} mm" for _, length, n in cut.pieces)
    left = [(end - start, end - start >= made.min_offcut > 0) for start, end in cut.leftover]
    rest = ", ".join(f"{length * 1e3:g} mm {'kept' if kept else 'waste'}" for length, kept in left)
    return f"{cut.count} × {cut.stock.name} ({pieces})" + (f", leftover {rest}" if rest else "")


def _with_cuts(request: CutRequest) -> float:
    return sum(row.quantity * (row.length + request.kerf) for row in request.pieces)


def draw_cut_list(request: CutRequest, result: Result) -> str:
    """Every pattern of the cut list as a bar to scale."""
    return draw_stock_list(_cut(request), f"{result['rolls']:g} stock pieces, {result['patterns']:g} patterns")


def draw_stock_list(made: StockList, title: str) -> str:
    """Bars to scale, one a pattern: trim, pieces, saw cuts, spoiled spans, leftovers. Past 24 the rest is left out."""
    drawing = Drawing(title)
    longest = max(cut.stock.length for cut in made.cuts) * 1e3
    draw_bars(drawing, made, longest, 0.0)
    return drawing.svg()


def draw_bars(drawing: Drawing, made: StockList, longest: float, top: float) -> float:
    """Add the bars of one list below `top`, the longest stock piece in the picture being so long [mm]; where they end."""
    height, step = longest / 30, longest / 30 + longest / 22
    for row, cut in enumerate(made.cuts[:MOST_DRAWN]):
        y, total, trim = top + row * step, cut.stock.length * 1e3, made.end_trim * 1e3
        drawing.rectangle(0, y, total, height, "outline", fill="none", hint=cut.stock.name)
        for low, high in ((0.0, trim), (total - trim, total)):
            if high > low:
                drawing.rectangle(low, y, high - low, height, "hatch", hatch="cross", hint="end trim")
        for low, high in cut.stock.spoiled:
            span = f"spoiled from {low * 1e3:g} to {high * 1e3:g} mm"
            drawing.rectangle(low * 1e3, y, (high - low) * 1e3, height, "accent", hatch="cross", hint=span)
        for piece in cut.placed:
            x, length = piece.start * 1e3, (piece.end - piece.start) * 1e3
            hint = f"{piece.name}, {length:g} mm"
            drawing.rectangle(x, y, length, height, "detail", hatch="diagonal", hint=hint)
            drawing.text((x + length / 2, y - longest / 220), f"{length:g}", size=2.6)
        for start, end in cut.leftover:
            kept = end - start >= made.min_offcut
            drawing.rectangle(
                start * 1e3,
                y,
                (end - start) * 1e3,
                height,
                "second" if kept else "hatch",
                hatch="" if kept else "dots",
                hint=f"leftover {(end - start) * 1e3:g} mm, {'kept' if kept else 'waste'}",
            )
        drawing.text((longest * 1.01, y + height * 0.8), f"× {cut.count}", anchor="start")
    end = top + min(len(made.cuts), MOST_DRAWN) * step
    if len(made.cuts) > MOST_DRAWN:
        drawing.text((0, end), f"and {len(made.cuts) - MOST_DRAWN} more patterns", anchor="start")
        end += step
    return end


CUT_LIST = Calculation(
    name="cut-list",
    title="Cut list",
    line="roller",
    about="Cut tubes, steel strip, cardboard or fabric into the lengths wanted from the least stock of one or several "
    "lengths, around spoiled spans, with the proof.",
    inputs=CutRequest,
    run=_work_out,
    draw=draw_cut_list,
)
