"""Odds: the plan replayed against the spreads of its book, each order's finish band against its due date."""

from __future__ import annotations

import datetime
from html import escape

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.planning.plan import Plan
from naptuft.planning.risk.answer import Odds, RiskAnswer
from naptuft.plant.calendar import moment_at
from naptuft.web.board_sheets.asked import AskedSheet, keep, share_from, whole_number
from naptuft.web.board_sheets.calendar import finish_drawing
from naptuft.web.board_sheets.layout import Opened, board_sheet, short_entry
from naptuft.web.board_sheets.strips import Scale, band
from naptuft.web.desk import Desk, Run
from naptuft.web.frame import markup, named, not_planned
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import THIN, count_words, moment_words, span_words
from naptuft.web.order_book import share_bar

MOST_REPLAYS = 1_000_000
NOTES = (
    "<p>Band: the share of the replays that is asked for is ready before its right end, and as many after its left; the "
    "middle mark halves them. The upright line is the due date.</p>"
)


def register(desk: Desk) -> None:
    """Add the sheet of odds."""

    @ui.page("/board/odds")
    def odds_page(order: str = "") -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 5)
            return
        with board_sheet(desk, "/board/odds", notes=NOTES, scale="on the calendar"):
            OddsSheet(desk, desk.book, desk.plan, order)


class OddsSheet(AskedSheet):
    """One visitor's view of the odds."""

    def __init__(self, desk: Desk, book: Book, plan: Plan, first: str):
        self.desk, self.book, self.plan, self.first = desk, book, plan, first
        self.replays, self.seed, self.odds = "2000", "1", "90"
        begun = desk.runs.get("odds")
        if begun is not None and isinstance(begun.answer, RiskAnswer):
            self.replays, self.odds = str(begun.answer.replays), f"{100 * begun.answer.band:g}"
        spreads = len(book.work_spreads) + len(book.stops) + len(book.delivery_spreads)
        before = (
            "<h2>Not replayed yet</h2><p>Times, yields, breakdowns and deliveries scatter. The plan is played through "
            f"again and again with {spreads} spreads of the book, and the odds of each order counted.</p>"
            + ("" if spreads else "<p>The book tells of no spread, so that every replay is the plan itself.</p>")
        )
        super().__init__(desk, "odds", "Replay the plan", before, "odds-answer")

    def entries(self) -> None:
        """How often, from which seed, and which odds the bands are for."""
        short_entry("replays", self.replays, "replays", keep(self, "replays"))
        short_entry("bands for odds of", self.odds, "odds", keep(self, "odds"), unit="%")
        short_entry("seed", self.seed, "seed", keep(self, "seed"))

    def begin(self) -> None:
        """Start the replays, or say what is wrong with what was asked."""
        replays, faults = whole_number("replays", self.replays, 10, MOST_REPLAYS)
        odds, wrong = share_from("odds", self.odds)
        seed, more = whole_number("seed", self.seed, 0, 2**31 - 1)
        if faults or more or odds is None:
            self.strip.say((*faults, *wrong, *more))
            return
        book, plan = self.book, self.plan

        def work(run: Run) -> RiskAnswer:
            def offer(answer: RiskAnswer) -> None:
                run.offer(answer, f"every order on time in {answer.all_on_time:.1%} of {answer.replays:,} replays")

            return services.odds_by_steps(
                book, plan, replays=replays, seed=seed, odds=odds, progress=run.at, offer=offer, stop=run.halted
            )

        self.desk.begin("odds", f"{replays:,} replays, seed {seed}", work)

    def show(self, answer: RiskAnswer) -> None:
        """Draw an answer."""
        by_name = {odds.name: odds for odds in answer.odds}
        opened = Opened(
            lambda on_open: _ledger(self.plan, answer, on_open),
            lambda key: _detail(self.plan, by_name[key], answer) if key in by_name else "",
            "odds",
        )
        with ui.element("aside").classes("odds-aside"):
            named(markup(_figures(answer)), "odds-figures")
            named(markup(_shares(answer)), "odds-shares")
            named(markup(_buffers(answer)), "odds-buffers")
        if self.first in by_name:
            opened.open(self.first)


def moments(plan: Plan, odds: Odds) -> tuple[datetime.datetime, datetime.datetime, datetime.datetime]:
    """The finish band of an order as moments."""
    return moment_at(plan.start, odds.early), moment_at(plan.start, odds.middle), moment_at(plan.start, odds.late)


def _ledger(plan: Plan, answer: RiskAnswer, on_open) -> Ledger:
    lines = {order.name: order for order in plan.orders}
    found = sorted(answer.odds, key=lambda odds: (odds.on_time, -odds.late_minutes))
    ends = [moment for odds in found for moment in (*moments(plan, odds), moment_at(plan.start, odds.due))]
    scale = Scale.over(ends or [plan.start])
    rows = []
    for odds in found:
        early, middle, late = moments(plan, odds)
        due, line = moment_at(plan.start, odds.due), lines[odds.name]
        rows.append(
            (
                odds.name,
                [
                    Cell(odds.name, href=f"/board/reasons?order={odds.name}", below=line.product_name),
                    Cell(f"{100 * odds.on_time:.1f}", round(odds.on_time, 5), "%", below=f"± {100 * odds.error:.1f}"),
                    Cell(moment_words(due), due.isoformat(timespec="minutes")),
                    Cell(
                        f"{moment_words(early)}, {moment_words(middle)}, {moment_words(late)}",
                        late.isoformat(timespec="minutes"),
                        drawn=band(scale, early, middle, late, due),
                    ),
                    Cell(moment_words(late), late.isoformat(timespec="minutes")),
                    Cell(
                        span_words(odds.late_minutes) if odds.late_minutes >= 0.5 else "", round(odds.late_minutes, 1)
                    ),
                ],
            )
        )
    return Ledger(
        "order lines",
        [
            Column("order", "order", width=122),
            Column("odds", "on time", "number", 66),
            Column("due", "due", width=134),
            Column("band", "ready", "strip", 226, head=scale.head()),
            Column("late", f"{100 * answer.band:g}{THIN}% by", width=134),
            Column("mean", "mean late", "number", 96),
        ],
        rows,
        file_name="odds",
        on_open=on_open,
    )


def _figures(answer: RiskAnswer) -> str:
    rows = (
        ("every order on time", f"{100 * answer.all_on_time:.1f}{THIN}%"),
        ("late work expected, weighted", span_words(answer.weighted_late_minutes)),
        ("on paper", span_words(answer.planned_late_minutes)),
        ("replays", f"{answer.replays:,}"),
        ("seed", f"{answer.seed}"),
    )
    return (
        '<table class="figures"><tbody>'
        + "".join(f'<tr><th scope="row">{words}</th><td class="number">{value}</td></tr>' for words, value in rows)
        + "</tbody></table>"
    )


def _shares(answer: RiskAnswer) -> str:
    if not answer.shares:
        return "<h3>What makes late</h3><p>No order is late in any replay.</p>"
    rows = "".join(
        f'<tr><th scope="row">{escape(share.machine)}</th><td class="bar-cell">{share_bar(share.share)}</td>'
        f'<td class="number">{100 * share.share:.0f}{THIN}%</td></tr>'
        for share in answer.shares[:8]
    )
    return f'<h3>What makes late</h3><table class="figures"><tbody>{rows}</tbody></table>'


def _buffers(answer: RiskAnswer) -> str:
    if not answer.buffers:
        return "<h3>What a buffer buys</h3><p class='aside'>not tried yet</p>"
    rows = "".join(
        f'<tr><th scope="row">{escape(buffer.what)}</th>'
        f'<td class="number">{span_words(buffer.saved) if buffer.saved >= 1 else "nothing"}<br><span class="aside">±{THIN}'
        f"{span_words(buffer.error)}</span></td>"
        f'<td class="number">{100 * buffer.on_time:+.2f}{THIN}%</td></tr>'
        for buffer in answer.buffers[:12]
    )
    return (
        '<h3>What a buffer buys</h3><table class="figures parts"><thead><tr><th>buffer</th>'
        f'<th class="number">late work saved</th><th class="number">on time</th></tr></thead><tbody>{rows}</tbody></table>'
    )


def _detail(plan: Plan, odds: Odds, answer: RiskAnswer) -> str:
    line = next(order for order in plan.orders if order.name == odds.name)
    due = moment_at(plan.start, odds.due)
    ends = f"{100 * (1 - answer.band):.3g}{THIN}%", "half", f"{100 * answer.band:g}{THIN}%"
    drawing = finish_drawing(odds.name, line.finish, moments(plan, odds), due, ends)
    facts = (
        ("on time", f"{100 * odds.on_time:.1f}{THIN}%, give or take {100 * odds.error:.1f}"),
        ("planned", moment_words(line.finish)),
        ("half by", moment_words(moments(plan, odds)[1])),
        (f"{100 * answer.band:g}{THIN}% by", moment_words(moments(plan, odds)[2])),
        ("late on average", span_words(odds.late_minutes)),
        ("quantity", count_words(line.quantity)),
        ("being late counts", f"{odds.weight:g}"),
    )
    rows = "".join(f"<dt>{words}</dt><dd>{escape(value)}</dd>" for words, value in facts)
    return (
        f"<h2>{escape(odds.name)}</h2><p>{escape(line.product_name)}, {escape(line.customer)}</p>"
        f'<figure class="drawn">{drawing}<figcaption>{answer.replays:,} replays, seed {answer.seed}</figcaption></figure>'
        f'<dl class="facts">{rows}</dl><p><a href="/board/reasons?order={escape(odds.name)}">what it waits for</a></p>'
    )
