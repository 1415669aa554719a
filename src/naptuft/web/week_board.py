"""Sheet 5, the week board: every operation on its machine, and the chain of the work order picked."""

from __future__ import annotations

from html import escape

from nicegui import ui

from naptuft.planning.plan import Plan, WorkOrder
from naptuft.web.board import Board
from naptuft.web.board_sheets.layout import ways
from naptuft.web.design_bench import product_address
from naptuft.web.desk import Desk
from naptuft.web.families import LOOKS, legend_html
from naptuft.web.frame import Keys, markup, named, not_planned, press, sheet
from naptuft.web.marks import count_words, moment_words, span_words, stretch_words

KEYS: Keys = (
    ("← → ↑ ↓", "from operation to operation, with Shift pan"),
    ("+ −", "closer, wider"),
    ("0 w d s", "whole plan, week, day, shift"),
    ("[ ]", "the sheet before, after"),
    ("Enter", "open the operation"),
    ("Esc", "close it"),
)


def register(desk: Desk) -> None:
    """Add the page of the week board."""

    @ui.page("/board")
    def board_page(work_order: str = "") -> None:
        plan = desk.plan
        if plan is None:
            not_planned(desk, 5)
            return
        _draw(desk, plan, work_order)


def _draw(desk: Desk, plan: Plan, first: str) -> None:
    orders = {order.number: order for order in plan.work_orders}
    lines = {order.product_line for order in plan.work_orders}
    legend = legend_html([line for line in LOOKS if line in lines])
    with sheet(desk, 5, keys=KEYS, notes=legend, whole=True), ui.element("div").classes("beside-board"):
        ways("/board")
        _board(plan, orders, first)


def _board(plan: Plan, orders: dict[str, WorkOrder], first: str) -> None:
    with ui.element("div").classes("board-sheet") as frame:

        def pick(number: str) -> None:
            detail.clear()
            frame.classes(add="open" if number in orders else "", remove="" if number in orders else "open")
            if number in orders:
                with detail:
                    _detail(plan, orders, number)

        def go(number: str) -> None:
            board.show(number)
            pick(number)

        def close() -> None:
            pick("")
            board.run_method("pick", None)

        def _detail(plan: Plan, orders: dict[str, WorkOrder], number: str) -> None:
            press("close", "close-detail", lambda _: close(), kind="word-press close")
            order = orders[number]
            named(markup(_order_html(plan, order)), "detail")
            users = [other.number for other in plan.work_orders if number in other.needs]
            for words, numbers in (("Waits for", order.needs), ("Goes into", users)):
                if numbers:
                    markup(f"<h3>{words}</h3>")
                    with ui.element("ul").classes("chain"):
                        for other in numbers:
                            with ui.element("li"):
                                press(other, f"go-{other}", lambda _, other=other: go(other), kind="word-press")
                                markup(escape(orders[other].product_name) if other in orders else "", "aside", "span")

        board = Board("/desk/board", pick, first)
        detail = ui.element("aside").classes("board-detail")
        detail.props["aria-label"] = "work order"
        if first:
            pick(first)


def _order_html(plan: Plan, order: WorkOrder) -> str:
    late = round((order.finish - order.due).total_seconds() / 60)
    when = f'<span class="wrong">late {span_words(late)}</span>' if late > 0 else "in time"
    facts = (
        ("quantity", f"{count_words(order.quantity, order.unit)}, {count_words(order.started, order.unit)} started"),
        ("may start", moment_words(order.release)),
        ("runs", stretch_words(order.start, order.finish)),
        ("due", f"{moment_words(order.due)}, {when}"),
        ("for", ", ".join(f"{serving.order}/{serving.line}" for serving in order.serves) or "stock"),
    )
    rows = "".join(f"<dt>{label}</dt><dd>{words if '<' in words else escape(words)}</dd>" for label, words in facts)
    steps = "".join(
        f'<tr><td class="number">{step.step}</td><td>{escape(step.name)}<br><span class="aside">{escape(step.machine)}, '
        f"{stretch_words(step.start, step.end)}"
        f"{', then waits ' + span_words(step.wait_minutes) if step.wait_minutes else ''}</span>"
        f'<br><span class="aside reason">{escape(step.earliest_start_reason)}</span></td></tr>'
        for step in plan.operations
        if step.work_order == order.number
    )
    lots = "".join(
        f'<tr><td>{escape(taken.lot)}<br><span class="aside">{escape(taken.material_name)}</span></td>'
        f'<td class="number">{count_words(round(taken.quantity, 3), taken.unit)}</td></tr>'
        for taken in plan.allocations
        if taken.work_order == order.number
    )
    return (
        f'<h2>{escape(order.number)}</h2><p><a href="{product_address(order.product)}">{escape(order.product)}</a> '
        f'{escape(order.product_name)}</p><dl class="facts">{rows}</dl>'
        f'<h3>Operations</h3><table class="figures parts"><tbody>{steps}</tbody></table>'
        + (f'<h3>Lots</h3><table class="figures parts"><tbody>{lots}</tbody></table>' if lots else "")
    )
