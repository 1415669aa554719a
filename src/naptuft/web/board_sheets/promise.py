"""Promise: the earliest date a new order can be promised for, on paper and with odds, and why not sooner."""

from __future__ import annotations

import datetime
from html import escape

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.planning.plan import Plan
from naptuft.planning.promise import Promise
from naptuft.web.board_sheets.asked import AskedSheet, keep, moment_from, share_from, whole_number
from naptuft.web.board_sheets.calendar import chain_drawing
from naptuft.web.board_sheets.layout import board_sheet, short_entry
from naptuft.web.desk import Desk, Run
from naptuft.web.frame import markup, named, not_planned
from naptuft.web.marks import THIN, count_words, moment_words, span_words

NOTES = (
    "<p>The order is put where there is room; nothing that is planned moves. Firm: every time as planned. With odds: the date "
    "by which it is ready in that share of the replays.</p>"
)
MOST_UNITS = 10_000_000


def register(desk: Desk) -> None:
    """Add the sheet of promises."""

    @ui.page("/board/promise")
    def promise_page(product: str = "", quantity: str = "") -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 5)
            return
        with board_sheet(desk, "/board/promise", notes=NOTES, scale="on the calendar"):
            PromiseSheet(desk, desk.book, desk.plan, product, quantity)


class PromiseSheet(AskedSheet):
    """One visitor's question and its answer."""

    def __init__(self, desk: Desk, book: Book, plan: Plan, product: str, quantity: str):
        self.desk, self.book, self.plan = desk, book, plan
        ordered = {order.product for order in book.orders}
        self.products = sorted(each.code for each in book.products if each.code in ordered)
        self.product = product if product in book.product else self.products[0]
        self.quantity, self.odds, self.seed = quantity or "200", "90", "1"
        self.at = f"{plan.start:%Y-%m-%d %H:%M}"
        before = (
            "<h2>Nothing asked yet</h2><p>Choose a product and how many. The answer is the date it is ready on paper, the "
            "date it is ready by with the odds you ask for, and what stands in the way of an earlier one.</p>"
        )
        super().__init__(desk, "promise", "Ask", before, "promise")

    def entries(self) -> None:
        """What may be asked."""
        choices = self.products if self.product in self.products else [self.product, *self.products]
        with ui.element("div").classes("short-entry wide"):
            short_entry("product", self.product, "product", keep(self, "product"), choices=choices)
        short_entry("quantity", self.quantity, "quantity", keep(self, "quantity"), unit="pcs")
        short_entry("odds", self.odds, "odds", keep(self, "odds"), unit="%")
        with ui.element("div").classes("short-entry wide"):
            short_entry("asked", self.at, "at", keep(self, "at"))

    def begin(self) -> None:
        """Look for the date, or say what is wrong with what was asked."""
        quantity, faults = whole_number("quantity", self.quantity, 1, MOST_UNITS)
        at, wrong = moment_from("asked", self.at)
        odds, more = share_from("odds", self.odds) if self.odds.strip() else (None, ())
        if faults or wrong or more or at is None:
            self.strip.say((*faults, *wrong, *more))
            return
        book, plan, product, seed = self.book, self.plan, self.product, int(self.seed)

        def work(run: Run) -> Promise:
            run.at("looking for room", 0.1)
            first = services.promise(book, plan, product, quantity, at, seed=seed)
            if odds is None or run.halted():
                return first
            run.offer(first, f"ready {moment_words(first.finish)} on paper")
            run.at("replaying", 0.5)
            return services.promise(book, plan, product, quantity, at, odds=odds, seed=seed)

        self.desk.begin("promise", f"{quantity:,} of {product}", work)

    def show(self, answer: Promise) -> None:
        """Draw an answer."""
        named(markup(promise_html(answer)), "promised")


def promise_html(answer: Promise) -> str:
    """When the order is ready, drawn with the chain that ends in it, and why not sooner."""
    line, plan = answer.outcome, answer.plan
    with_odds = (
        f"<div><dt>with odds of {100 * answer.odds:g}{THIN}%</dt><dd>{moment_words(answer.with_odds)}</dd></div>"
        if answer.odds is not None and answer.with_odds is not None
        else ""
    )
    links = services.chain(plan, line)
    drawn = ""
    if links:
        title = f"the chain that ends in {line.quantity} of {line.product}"
        drawing = chain_drawing(title, links, answer.with_odds, answer.finish, "with odds")
        drawn = f'<figure class="drawn tall">{drawing}<figcaption>what is made for it, along the calendar</figcaption></figure>'
    waits = "".join(
        f'<tr><td>{escape(link.operation.work_order)} {escape(link.operation.name)}<br><span class="aside">'
        f"{escape(link.operation.machine)}: {escape(link.operation.earliest_start_reason)}</span></td>"
        f'<td class="number">{span_words(link.waited)}</td></tr>'
        for link in sorted(links, key=lambda link: -link.waited)[:8]
        if link.waited
    )
    new = [p for p in plan.purchases if any(s.startswith(f"{line.order}/") for s in p.serves)]
    buys = "".join(
        f"<li>{count_words(p.quantity, p.unit)} {escape(p.material_name)}, there {moment_words(p.arrives)}</li>"
        for p in new
    )
    return (
        '<div class="promise-said"><dl class="promise-dates">'
        f"<div><dt>{count_words(line.quantity)} of {escape(line.product)}, firm</dt><dd>{moment_words(answer.finish)}</dd></div>"
        f"{with_odds}</dl>"
        f"<h3>Not sooner because</h3><p>{escape(line.reason or 'it is taken from stock')}</p>"
        + (f'<h3>What it waits for</h3><table class="figures parts"><tbody>{waits}</tbody></table>' if waits else "")
        + (f"<h3>To buy for it</h3><ul>{buys}</ul>" if buys else "")
        + f"</div>{drawn}"
    )


def promise_as_json(answer: Promise) -> dict[str, object]:
    """A promise as plain JSON values."""

    def told(moment: datetime.datetime | None) -> str | None:
        return moment.isoformat(timespec="minutes") if moment else None

    return {
        "product": answer.outcome.product,
        "quantity": answer.outcome.quantity,
        "finish": told(answer.finish),
        "odds": answer.odds,
        "with_odds": told(answer.with_odds),
        "reason": answer.outcome.reason,
        "work_orders": list(answer.work_orders),
    }
