"""Which roll or sheet to cut trays from: every one in stock laid out both ways, the least web first."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity, rows, text
from naptuft.drawing import Drawing
from naptuft.errors import DesignError
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.tray.design import CAUTIONS
from naptuft.tray.layout import Layout, best_layout, lay_out

WEB_LIMIT = 0.35


@dataclass(frozen=True)
class SheetStock:
    """One roll or cut sheet there is."""

    name: str = text("of the roll or sheet", example="roll 560")
    width: float = quantity("mm", "across the travel", low=80, high=3000, example="560 mm")
    length: float = quantity("mm", "of a cut sheet; 0 for a roll", low=0, high=6000, example="0 mm")


@dataclass(frozen=True)
class TrayStock:
    """A tray and the stock it may be cut from."""

    length: float = quantity("mm", "of the tray, over the rim", low=60, high=1500, example="330 mm")
    width: float = quantity("mm", "of the tray, over the rim", low=60, high=1500, example="250 mm")
    gap: float = quantity("mm", "between trays", low=0, high=100, default=10)
    edge: float = quantity("mm", "sheet held on each side, and at the ends of a cut sheet", low=0, high=150, default=20)
    mould_length: float = quantity("mm", "longest index the mould allows", low=80, high=3000, example="720 mm")
    mould_width: float = quantity("mm", "widest sheet the clamp frame takes", low=80, high=3000, default=1200)
    stock: tuple[SheetStock, ...] = rows(
        SheetStock,
        "rolls and sheets there are",
        example="roll 560 | 560 mm | 0 mm; roll 700 | 700 mm | 0 mm; sheet 620 | 620 mm | 1040 mm",
    )


@dataclass(frozen=True)
class LaidOut:
    """Trays on one piece of stock.

    shots    shots from one cut sheet; 1 for a roll, which goes on
    area     sheet used for `trays` trays [m**2]
    """

    stock: SheetStock
    layout: Layout
    turned: bool
    shots: int
    trays: int
    area: float
    tray_area: float

    @property
    def web_share(self) -> float:
        """Share of the sheet that is not tray."""
        return 1 - self.trays * self.tray_area / self.area


def on_stock(tray: TrayStock, stock: SheetStock) -> LaidOut:
    """Trays on one roll or cut sheet, the way round that leaves the least web. Raises DesignError when none fits.

    >>> tray = TrayStock(length=0.33, width=0.25, mould_length=0.72, stock=())
    >>> on_stock(tray, SheetStock(name="roll", width=0.56, length=0.0)).trays
    4
    """
    piece = (tray.length, tray.width)
    width = min(stock.width, tray.mould_width)
    if not stock.length:
        layout, turned = best_layout(piece, width, tray.mould_length, tray.gap, tray.edge)
        area = stock.width * layout.index
        return LaidOut(stock, layout, turned, 1, layout.trays, area, tray.length * tray.width)
    usable = stock.length - 2 * tray.edge
    found: list[LaidOut] = []
    last: DesignError | None = None
    for turned in (False, True):
        try:
            layout = lay_out(piece, width, min(tray.mould_length, usable), tray.gap, tray.edge, turned)
        except DesignError as error:
            last = last or error
            continue
        rows_fitting = floor(usable / (layout.piece_along + tray.gap) + 1e-9)
        shots = max(1, rows_fitting // layout.along)
        trays = layout.across * layout.along * shots
        found.append(LaidOut(stock, layout, turned, shots, trays, stock.width * stock.length, tray.length * tray.width))
    if not found:
        assert last is not None
        raise last
    return min(found, key=lambda each: each.web_share)


def every_stock(tray: TrayStock) -> tuple[tuple[LaidOut, ...], tuple[tuple[SheetStock, str], ...]]:
    """All stock that fits, the least web first, and what does not fit with the reason. Raises DesignError when none."""
    fitting, refused = [], []
    faults = []
    for stock in tray.stock:
        try:
            fitting.append(on_stock(tray, stock))
        except DesignError as error:
            refused.append((stock, error.faults[0].allowed))
            faults += error.faults
    if not fitting:
        raise DesignError(*faults)
    return tuple(sorted(fitting, key=lambda each: (each.web_share, each.stock.width))), tuple(refused)


def run_stock(tray: TrayStock) -> Result:
    """Choose the roll or sheet that leaves the least web."""
    fitting, refused = every_stock(tray)
    best = fitting[0]
    each = best.area / best.trays
    values = (
        Value("sheet_width", "width of the stock chosen", best.stock.width, "mm"),
        Value("sheet_length", "length of a cut sheet; 0: a roll", best.stock.length, "mm"),
        Value("trays_per_shot", "trays a shot", float(best.layout.trays), ""),
        Value("across", "of which across", float(best.layout.across), ""),
        Value("trays_per_piece", "trays a cut sheet, or an index of the roll", float(best.trays), ""),
        Value("index", "index", best.layout.index, "mm"),
        Value("web_share", "web share of the sheet", best.web_share, "%"),
        Value("sheet_area", "sheet, each", each, "cm**2"),
        Value("roll_length", "length of roll, each", each / best.stock.width, "mm"),
    )
    steps = (
        Step("across", "(width − 2 edge + gap)/(tray + gap)", float(best.layout.across), "", "geometry"),
        Step("web share", "1 − trays × tray / sheet", best.web_share, "%", "mass balance"),
    )
    checks = (
        Check(
            "web share of the sheet",
            best.web_share,
            WEB_LIMIT,
            "at most",
            "%",
            COMMON_PRACTICE,
            "ask for a roll of the width that fits, or lay trays of two sizes together",
        ),
    )
    remarks = [
        f"{best.stock.name} leaves the least web, {best.web_share * 100:.1f} %"
        + ("; trays lie with their length across." if best.turned else ".")
    ]
    remarks += [f"{other.stock.name}: web {other.web_share * 100:.1f} %." for other in fitting[1:]]
    remarks += [f"{stock.name} does not fit: {reason}." for stock, reason in refused]
    widest = best.layout.across * (best.layout.piece_across + tray.gap) - tray.gap + 2 * tray.edge
    if widest < best.stock.width - 1e-6:
        remarks.append(f"A roll of {widest * 1e3:.0f} mm would do as well and leave less at the edges.")
    return Result(values, checks, steps, CAUTIONS, tuple(remarks))


def draw_stock(tray: TrayStock, result: Result) -> str:
    """Trays on the stock chosen, web hatched, to scale."""
    best = every_stock(tray)[0][0]
    layout = best.layout
    long = (best.stock.length or layout.index) * 1e3
    wide = best.stock.width * 1e3
    drawing = Drawing(f"{best.stock.name}, web {best.web_share * 100:.1f} %", width=170, height=130)
    drawing.rectangle(0, 0, long, wide, hatch="cross", hint=f"web {best.web_share * 100:.1f} %")
    used = layout.across * (layout.piece_across + tray.gap) - tray.gap
    start_y = (best.stock.width - used) / 2
    start_x = (tray.edge if best.stock.length else tray.gap / 2) * 1e3
    for shot in range(best.shots):
        for column in range(layout.along):
            x = start_x + (shot * layout.along + column) * (layout.piece_along + tray.gap) * 1e3
            for row in range(layout.across):
                y = (start_y + row * (layout.piece_across + tray.gap)) * 1e3
                drawing.rectangle(
                    x, y, layout.piece_along * 1e3, layout.piece_across * 1e3, fill="#FCFAF5", hint=f"shot {shot + 1}"
                )
                drawing.rectangle(x + 8, y + 8, layout.piece_along * 1e3 - 16, layout.piece_across * 1e3 - 16, "hatch")
    words = f"sheet {long:.4g} mm" if best.stock.length else f"index {long:.4g} mm"
    drawing.dimension((0, 0), (long, 0), words, offset=-6)
    drawing.dimension((0, wide), (0, 0), f"{wide:.4g} mm", offset=-6)
    drawing.text((long / 2, wide * 1.06), f"{best.trays} trays, {result['sheet_area'] * 1e4:.0f} cm² each")
    return drawing.svg()


TRAY_STOCK = Calculation(
    name="tray-layout",
    title="Trays on roll or sheet",
    line="tray",
    about="Which roll or cut sheet leaves the least web, how many trays a shot, and the layout to scale.",
    inputs=TrayStock,
    run=run_stock,
    draw=draw_stock,
)
