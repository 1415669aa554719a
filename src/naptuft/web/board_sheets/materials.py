"""Materials: net needs day by day, the orders that would meet them at least cost, and the stock of one of them drawn."""

from __future__ import annotations

from decimal import Decimal
from html import escape

from nicegui import ui

from naptuft.book.model import Book
from naptuft.planning.material_plan import MaterialNeed, ProposedOrder
from naptuft.planning.plan import Plan
from naptuft.quantity import show_number
from naptuft.web.board_sheets.layout import Opened, Views, board_sheet
from naptuft.web.desk import Desk
from naptuft.web.frame import not_planned
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import count_words, day_words, money_words
from naptuft.web.stock_room import detail_html, needs_of

NOTES = (
    "<p>A need is net: what stock on hand does not cover on its day. Orders proposed here meet the needs at the least cost "
    "of price, ordering and keeping.</p>"
)


def register(desk: Desk) -> None:
    """Add the sheet of materials."""

    @ui.page("/board/materials")
    def materials_page(material: str = "") -> None:
        book, plan = desk.book, desk.plan
        if plan is None or book is None:
            not_planned(desk, 5)
            return
        needs = {need.material: need for need in needs_of(desk, book, plan)}
        with board_sheet(desk, "/board/materials", notes=NOTES, scale="on the drawing"):
            _draw(book, plan, needs, material)


def net_needs(need: MaterialNeed) -> list[tuple[float, float]]:
    """For each day of a material: what stock on hand does not cover of it, and of all days until then.

    >>> import datetime
    >>> from naptuft.planning.material_plan import MaterialDay
    >>> first = datetime.date(2026, 11, 30)
    >>> days = tuple(MaterialDay(first, needed, 0.0, 0.0) for needed in (4.0, 5.0, 2.0))
    >>> net_needs(MaterialNeed("M", "m", "kg", 6.0, days, 0.0, None, (), Decimal(0), Decimal(0), True))
    [(0.0, 0.0), (3.0, 3.0), (2.0, 5.0)]
    """
    on_hand, covered, found = need.opening, 0.0, []
    for day in need.days:
        short = max(0.0, day.needed - on_hand)
        on_hand = max(0.0, on_hand - day.needed)
        covered += short
        found.append((short, covered))
    return found


def _draw(book: Book, plan: Plan, needs: dict[str, MaterialNeed], first: str) -> None:
    orders = [(need, order) for need in needs.values() for order in need.proposed]
    orders.sort(key=lambda each: (each[1].order_by, each[0].material))
    days = sum(len(need.days) for need in needs.values())
    places: list[Opened] = []

    def detail(key: str) -> str:
        code = key.split(" ")[0]
        if code not in needs:
            return ""
        return detail_html(book, plan, needs[code]) + cost_parts_html(book, plan, needs[code])

    def draw_orders() -> None:
        places.append(Opened(lambda on_open: _orders(plan, orders, on_open), detail, "proposed-orders"))

    def draw_days() -> None:
        places.append(Opened(lambda on_open: _days(needs, on_open), detail, "needs-by-day"))

    with ui.element("div").classes("views-beside"):
        Views(
            (
                ("orders", f"Orders to place {len(orders)}", draw_orders),
                ("days", f"Needs by day {days}", draw_days),
            ),
            "days" if first in needs and not needs[first].proposed else "orders",
        )
    chosen = first or (orders[0][0].material if orders else "")
    if chosen in needs:
        places[0].open(chosen)


def _orders(plan: Plan, orders: list[tuple[MaterialNeed, ProposedOrder]], on_open) -> Ledger:
    rows = []
    for place, (need, order) in enumerate(orders):
        rows.append(
            (
                f"{need.material} {place}",
                [
                    Cell(day_words(order.order_by), order.order_by.isoformat()),
                    Cell(need.material, below=need.name),
                    Cell(count_words(round(order.quantity, 3)), order.quantity, need.unit),
                    Cell(day_words(order.arrives), order.arrives.isoformat()),
                    Cell(f"{order.price_per_unit:,.4f}".rstrip("0").rstrip("."), float(order.price_per_unit)),
                    Cell(money_words(order.cost), float(order.cost)),
                    ", ".join(order.serves),
                ],
            )
        )
    return Ledger(
        "orders proposed",
        [
            Column("order_by", "order by", width=106),
            Column("material", "material", width=170),
            Column("quantity", "quantity", "number", 100),
            Column("arrives", "there", width=98),
            Column("price", f"each, {plan.currency}", "number", 80),
            Column("cost", f"price, {plan.currency}", "number", 90),
            Column("serves", "serves", width=180, small=True),
        ],
        rows,
        file_name="orders-to-place",
        empty="nothing has to be ordered",
        on_open=on_open,
    )


def _days(needs: dict[str, MaterialNeed], on_open) -> Ledger:
    rows = []
    for need in needs.values():
        for place, (day, (short, _)) in enumerate(zip(need.days, net_needs(need), strict=True)):

            def amount(number: float, unit: str = need.unit) -> Cell:
                return Cell(show_number(number, 5), round(number, 6), unit) if number else Cell("", 0.0)

            rows.append(
                (
                    f"{need.material} {place}",
                    [
                        Cell(day_words(day.day), day.day.isoformat()),
                        Cell(need.material, below=need.name),
                        amount(day.needed),
                        amount(short),
                        amount(day.arrives),
                        Cell(show_number(day.stock, 5), day.stock, need.unit),
                    ],
                )
            )
    rows.sort(key=lambda row: (row[1][0].value, row[0]))
    return Ledger(
        "days",
        [
            Column("day", "day", width=106),
            Column("material", "material", width=200),
            Column("needed", "taken", "number", 100),
            Column("net", "net need", "number", 100),
            Column("arrives", "arrives", "number", 100),
            Column("stock", "left", "number", 100),
        ],
        rows,
        file_name="needs-by-day",
        empty="the plan takes no material",
        on_open=on_open,
    )


def cost_parts(book: Book, need: MaterialNeed) -> tuple[Decimal, Decimal, Decimal]:
    """Price, ordering and keeping of the orders proposed; together their cost."""
    price = sum((order.cost for order in need.proposed), Decimal(0))
    ordering = book.settings.order_cost * len(need.proposed)
    return price, ordering, need.proposed_cost - price - ordering


def cost_parts_html(book: Book, plan: Plan, need: MaterialNeed) -> str:
    """The cost of the orders proposed in its parts, beside that of the plan's own purchases."""
    if not need.proposed:
        return ""
    rows = "".join(
        f'<tr><th scope="row">{words}</th><td class="number">{money_words(amount)}</td></tr>'
        for words, amount in zip(("price", "ordering", "keeping"), cost_parts(book, need), strict=True)
    )
    return (
        f'<h3>What the proposed orders cost, {escape(plan.currency)}</h3><table class="figures" data-mark="cost-parts">'
        f'<tbody>{rows}<tr><th scope="row">together</th><td class="number"><b>{money_words(need.proposed_cost)}</b></td></tr>'
        f'<tr><th scope="row">the plan\'s own purchases</th><td class="number">{money_words(need.planned_cost)}</td></tr>'
        "</tbody></table>"
    )
