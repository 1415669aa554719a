"""Sheet 3, the stock room: each material day by day, what is bought for it and what would cost less."""

from __future__ import annotations

from html import escape

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.drawing import Graph
from naptuft.planning.material_plan import MaterialNeed
from naptuft.planning.plan import Plan
from naptuft.quantity import show_number, unit_sign
from naptuft.web.desk import Desk
from naptuft.web.frame import Keys, markup, named, not_planned, press, sheet
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import THIN, count_words, day_words, money_words, state_html

KEYS: Keys = (("/", "find in the table"), ("Enter", "open the material"))
COLUMNS = (
    Column("material", "material", width=110),
    Column("name", "name", width=190),
    Column("opening", "in stock", "number", 100),
    Column("needed", "taken in all", "number", 100),
    Column("lowest", "least left", "number", 100),
    Column("state", "state", "state", 150),
    Column("order", "order by", width=100),
    Column("buy", "then buy", "number", 100),
    Column("saving", "could save", "number", 90),
)


def register(desk: Desk) -> None:
    """Add the page of the stock room."""

    @ui.page("/stock")
    def stock_page(material: str = "") -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 3)
            return
        _draw(desk, desk.book, desk.plan, material)


def needs_of(desk: Desk, book: Book, plan: Plan) -> tuple[MaterialNeed, ...]:
    """The material plan of what lies on the desk, worked out once."""
    if "needs" not in desk.kept:
        desk.kept["needs"] = services.material_plan(book, plan)
    return desk.kept["needs"]


def _state(need: MaterialNeed) -> tuple[str, str]:
    if need.proposed:
        return "short", "to be bought"
    if need.below_safety:
        return "late", f"below safety {day_words(need.below_safety)}"
    return "right", "enough"


def _draw(desk: Desk, book: Book, plan: Plan, first: str) -> None:
    needs = {need.material: need for need in needs_of(desk, book, plan)}
    notes = (
        "<p>What the plan takes of each material and when. Orders proposed here cost least in price, ordering and "
        f"keeping ({money_words(book.settings.order_cost)} {escape(plan.currency)} an order, "
        f"{show_number(100 * book.settings.keeping)}{THIN}% of its price a year).</p>"
    )
    with sheet(desk, 3, keys=KEYS, notes=notes, whole=True), ui.element("div").classes("ledger-sheet") as frame:

        def pick(code: str) -> None:
            detail.clear()
            frame.classes(add="open" if code in needs else "", remove="" if code in needs else "open")
            if code in needs:
                with detail:
                    press("close", "close-detail", lambda _: pick(""), kind="word-press close")
                    named(markup(detail_html(book, plan, needs[code])), "detail")

        with ui.element("div").classes("ledger-side"):
            named(
                Ledger(
                    "Materials",
                    COLUMNS,
                    [(need.material, _cells(need)) for need in needs.values()],
                    file_name="materials",
                    on_open=pick,
                    wrong=frozenset(code for code, need in needs.items() if _state(need)[0] != "right"),
                ),
                "materials",
            )
        detail = ui.element("aside").classes("ledger-detail")
        detail.props["aria-label"] = "material"
        if first:
            pick(first)


def _cells(need: MaterialNeed) -> tuple[Cell | str, ...]:
    lowest = min((day.stock for day in need.days), default=need.opening)
    state, words = _state(need)
    order = need.proposed[0] if need.proposed else None

    def amount(number: float) -> Cell:
        return Cell(show_number(number, 5), round(number, 6), need.unit)

    return (
        need.material,
        need.name,
        amount(need.opening),
        amount(need.needed),
        amount(lowest),
        Cell(words, state=state),
        Cell(day_words(order.order_by), order.order_by.isoformat()) if order else "",
        amount(order.quantity) if order else "",
        Cell(money_words(need.saving), float(need.saving)) if need.saving else "",
    )


def stock_graph(plan: Plan, need: MaterialNeed) -> str:
    """Stock of a material over the days planned, with its safety stock, as SVG."""
    graph = Graph(f"stock of {need.name}", "days from the start of the plan", f"stock, {unit_sign(need.unit)}")
    points, stock = [(0.0, need.opening)], need.opening
    for day in need.days:
        at = float((day.day - plan.start.date()).days)
        points += [(at, stock), (at, day.stock)]
        stock = day.stock
    points.append((float(plan.horizon_days), stock))
    graph.curve(points, "stock")
    if need.safety_stock:
        graph.level(need.safety_stock, "safety stock")
    for order in need.proposed:
        graph.upright(float((order.arrives - plan.start.date()).days), f"+{show_number(order.quantity)}")
    return graph.svg()


def detail_html(book: Book, plan: Plan, need: MaterialNeed) -> str:
    """One material: its stock drawn, the orders proposed for it, its lots, and each day."""
    state, words = _state(need)
    days = "".join(
        f"<tr><td>{day_words(day.day)}</td>"
        f'<td class="number">{show_number(day.needed, 5) if day.needed else ""}</td>'
        f'<td class="number">{show_number(day.arrives, 5) if day.arrives else ""}</td>'
        f'<td class="number">{show_number(day.stock, 5)}</td></tr>'
        for day in need.days
    )
    lots = "".join(
        f'<tr><td>{escape(lot.code)}<br><span class="aside">{escape(lot.supplier)}'
        f"{', keeps until ' + day_words(lot.expires) if lot.expires else ''}"
        f"{', arrives ' + day_words(lot.arrives) if lot.arrives else ''}</span></td>"
        f'<td class="number">{count_words(lot.quantity.number, lot.quantity.unit or need.unit)}</td><td>{escape(lot.state)}</td></tr>'
        for lot in book.lots
        if lot.material == need.material
    )
    lot_table = f'<h3>Lots</h3><table class="figures parts"><tbody>{lots}</tbody></table>' if lots else ""
    unit = escape(unit_sign(need.unit))
    return (
        f"<h2>{escape(need.material)}</h2><p>{escape(need.name)} {state_html(state, words)}</p>"
        f'<figure class="drawn">{stock_graph(plan, need)}</figure>'
        f"{_orders(plan, need)}{lot_table}"
        '<h3>Day by day</h3><table class="figures parts"><thead><tr><th>day</th>'
        f'<th class="number">taken, {unit}</th><th class="number">arrives, {unit}</th>'
        f'<th class="number">left, {unit}</th></tr></thead><tbody>{days}</tbody></table>'
    )


def _orders(plan: Plan, need: MaterialNeed) -> str:
    if not need.proposed:
        return ""
    rows = "".join(
        f"<tr><td>{day_words(order.order_by)}<br><span class='aside'>there {day_words(order.arrives)}</span></td>"
        f'<td class="number">{count_words(order.quantity, need.unit)}</td>'
        f'<td class="number">{money_words(order.cost)}<br><span class="aside">{order.price_per_unit} {escape(plan.currency)} per {escape(unit_sign(need.unit))}</span></td>'
        f"<td>{escape(', '.join(order.serves))}</td></tr>"
        for order in need.proposed
    )
    proof = "No orders that meet these needs cost less: proven." if need.proven else "Cheaper orders are not ruled out."
    saving = (
        f"The plan's own purchases cost {money_words(need.saving)} {escape(plan.currency)} more."
        if need.saving
        else "The plan's own purchases cost no more."
    )
    return (
        '<h3>Proposed orders</h3><table class="figures parts"><thead><tr><th>order by</th><th class="number">quantity</th>'
        f'<th class="number">cost, {escape(plan.currency)}</th><th>for</th></tr></thead><tbody>{rows}</tbody></table>'
        f"<p>Price, ordering and keeping: {money_words(need.proposed_cost)} {escape(plan.currency)}. {proof} {saving}</p>"
    )
