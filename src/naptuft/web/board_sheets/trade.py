"""Trade: the work of the plan scheduled again under other emphases, and what more of one aim costs in the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from html import escape
from math import ceil, floor, log10

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.drawing import Drawing
from naptuft.planning.plan import Plan
from naptuft.planning.trade import Measures, TradePoint
from naptuft.web.board_sheets.asked import AskedSheet, keep, seconds_from, whole_number
from naptuft.web.board_sheets.layout import Opened, board_sheet, short_entry
from naptuft.web.desk import Desk, Run
from naptuft.web.frame import not_planned
from naptuft.web.ledger import Cell, Column, Ledger

NOTES = (
    "<p>The same work orders, lots and cut lists, scheduled again with something else counting more. Of everything measured, "
    "less is better. Late: weighted. In work: work orders begun and not done. Age: of bought material when used. Uneven: spread of "
    "the daily load of machines.</p>"
)
HOUR = 60.0
SHOWN: Mapping[str, tuple[str, str, float, int]] = {
    "late_minutes": ("late", "h", HOUR, 1),
    "changeover_minutes": ("changeover", "h", HOUR, 1),
    "jobs_in_progress": ("in work", "", 1.0, 1),
    "waiting_minutes": ("waits", "h", HOUR, 0),
    "overtime_minutes": ("overtime", "h", HOUR, 1),
    "material_age_days": ("age", "d", 1.0, 1),
    "unevenness": ("uneven", "%", 0.01, 1),
}
"""Measure -> words, unit, what one unit is, digits."""


def register(desk: Desk) -> None:
    """Add the sheet of trade-offs."""

    @ui.page("/board/trade")
    def trade_page() -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 5)
            return
        with board_sheet(desk, "/board/trade", notes=NOTES, scale="on the drawing"):
            TradeSheet(desk, desk.book, desk.plan)


class TradeSheet(AskedSheet):
    """One visitor's view of the trade-offs."""

    def __init__(self, desk: Desk, book: Book, plan: Plan):
        self.desk, self.book, self.plan = desk, book, plan
        self.seconds, self.seed = "5", "1"
        before = (
            "<h2>Not tried yet</h2><p>Lateness comes first unless the book says otherwise. Here the same work is scheduled "
            "with changeovers, waiting, overtime or an even load counting more, and each plan is measured by all of it.</p>"
        )
        super().__init__(desk, "trade", "Try other emphases", before, "beside-answer")

    def entries(self) -> None:
        """How long, and from which seed."""
        short_entry("time for each", self.seconds, "seconds", keep(self, "seconds"), unit="s")
        short_entry("seed", self.seed, "seed", keep(self, "seed"))

    def begin(self) -> None:
        """Start the search under each emphasis, or say what is wrong with what was asked."""
        seconds, faults = seconds_from("time for each", self.seconds)
        seed, more = whole_number("seed", self.seed, 0, 2**31 - 1)
        if faults or more:
            self.strip.say((*faults, *more))
            return
        book, plan = self.book, self.plan

        def work(run: Run) -> tuple[TradePoint, ...]:
            return services.trade_offs(book, plan, seconds=seconds, seed=seed, progress=run.at, stop=run.halted)

        self.desk.begin("trade", f"{seconds:g} s for each emphasis, seed {seed}", work)

    def show(self, answer: Sequence[TradePoint]) -> None:
        """Draw the plans found."""
        by_name = {point.name: point for point in answer}
        opened = Opened(
            lambda on_open: _ledger(answer, on_open),
            lambda key: _detail(answer, by_name[key]) if key in by_name else "",
            "trade",
        )
        if answer:
            opened.open(answer[0].name)


def shown(of: Measures, name: str) -> float:
    """A measure in the unit it is shown in."""
    return getattr(of, name) / SHOWN[name][2]


def _ledger(points: Sequence[TradePoint], on_open: Callable[[str], None]) -> Ledger:
    rows = []
    for point in points:
        cells = []
        for name, (_, unit, _, digits) in SHOWN.items():
            value = shown(point.measures, name)
            cells.append(Cell(f"{value:,.{digits}f}", round(value, 6), unit))
        beaten = ", ".join(point.beaten_by)
        state = Cell(f"beaten by {beaten}", 1, state="late") if beaten else Cell("nothing beats it", 0, state="right")
        rows.append((point.name, [Cell(point.name, below=point.how), *cells, state]))
    return Ledger(
        "plans",
        [
            Column("plan", "plan", width=160),
            *(Column(name, words, "number", width=76) for name, (words, *_) in SHOWN.items()),
            Column("state", "beside the others", "state", width=150),
        ],
        rows,
        file_name="trade",
        on_open=on_open,
    )


def _detail(points: Sequence[TradePoint], chosen: TradePoint) -> str:
    base = points[0]
    rows = "".join(
        f'<tr><th scope="row">{words}</th><td class="number">{shown(base.measures, name):,.{digits}f} {unit}</td>'
        f'<td class="number">{shown(chosen.measures, name):,.{digits}f} {unit}</td>'
        f'<td class="number">{shown(chosen.measures, name) - shown(base.measures, name):+,.{digits}f} {unit}</td></tr>'
        for name, (words, unit, _, digits) in SHOWN.items()
    )
    return (
        f"<h2>{escape(chosen.name)}</h2><p>{escape(chosen.how)}</p>"
        f'<figure class="drawn tall">{trade_drawing(points, chosen)}<figcaption>late work across, changeover upward; the plan '
        "opened is hatched</figcaption></figure>"
        '<table class="figures parts"><thead><tr><th></th><th class="number">at hand</th><th class="number">here</th>'
        f'<th class="number">difference</th></tr></thead><tbody>{rows}</tbody></table>'
    )


def round_ticks(most: float) -> tuple[float, list[float]]:
    """The upper end of an axis that holds a figure, and its round ticks above 0.

    >>> round_ticks(378.6)
    (400.0, [100.0, 200.0, 300.0, 400.0])
    """
    power = 10.0 ** floor(log10(max(most, 1.0)))
    step = next(each * power for each in (0.2, 0.5, 1.0, 2.0, 5.0) if most <= 5 * each * power)
    count = max(1, ceil(most / step - 1e-9))
    return count * step, [step * k for k in range(1, count + 1)]


def trade_drawing(points: Sequence[TradePoint], chosen: TradePoint) -> str:
    """Late work against changeover, a circle for each plan, as SVG."""
    late = [shown(point.measures, "late_minutes") for point in points]
    change = [shown(point.measures, "changeover_minutes") for point in points]
    wide, tall = 110.0, 62.0
    (across, across_ticks), (upward, upward_ticks) = round_ticks(max(late)), round_ticks(max(change))
    drawing = Drawing("late work against changeover", width=140.0, bar=False, margin=12.0)
    drawing.line((0, tall), (wide, tall), "detail")
    drawing.line((0, 0), (0, tall), "detail")
    for tick in across_ticks:
        at = wide * tick / across
        drawing.line((at, 0), (at, tall), "hatch")
        drawing.text((at, tall + 5), f"{tick:,.0f} h")
    for tick in upward_ticks:
        at = tall * (1 - tick / upward)
        drawing.line((0, at), (wide, at), "hatch")
        drawing.text((-1.5, at + 1.4), f"{tick:,.0f} h", anchor="end")
    taken: list[tuple[float, float]] = []
    for point, x, y in sorted(zip(points, late, change, strict=True), key=lambda each: each[2]):
        spot = wide * x / across, tall * (1 - y / upward)
        hint = f"{point.name}: late {x:,.1f} h, changeover {y:,.1f} h"
        style = "accent" if point.beaten_by else "outline"
        drawing.circle(spot, 1.8, style, hatch="diagonal" if point is chosen else "", hint=hint)
        words = spot[1] + 1.4
        while any(abs(words - other) < 4.4 and abs(spot[0] - left) < 46 for left, other in taken):
            words -= 4.4
        taken.append((spot[0], words))
        right = spot[0] < wide * 0.6
        drawing.text((spot[0] + (3 if right else -3), words), point.name, anchor="start" if right else "end")
    return drawing.svg()
