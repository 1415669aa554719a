"""The design sheet of one product: drawing to scale, margins, figures, reasons, parts and route."""

from __future__ import annotations

from html import escape

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.design_sheet import View
from naptuft.planning.plan import DesignOutcome, Plan
from naptuft.quantity import show_number
from naptuft.web.design_bench import bench_address, product_address, verdict
from naptuft.web.desk import Desk
from naptuft.web.frame import markup, named, not_there, sheet
from naptuft.web.marks import count_words, moment_words, money_words, span_words, state_html
from naptuft.web.results import result_html


def register(desk: Desk) -> None:
    """Add the page of a product."""

    @ui.page("/product/{code:path}")
    def product(code: str) -> None:
        if desk.book is None or code not in desk.book.product:
            not_there(desk, f"No product of the book on the desk has the code {code}.")
            return
        _draw(desk, desk.book, code)


def _outcome(desk: Desk, book: Book, code: str) -> DesignOutcome | None:
    from naptuft.planning.design import design_products

    if desk.plan is not None:
        return next((design for design in desk.plan.designs if design.product == code), None)
    if "designs" not in desk.kept:
        desk.kept["designs"] = design_products(book)
    return desk.kept["designs"].get(code)


def _draw(desk: Desk, book: Book, code: str) -> None:
    product = book.product[code]
    outcome = _outcome(desk, book, code)
    scale = "on the drawing" if outcome else ""
    notes = "<p>Point at a line of the drawing to read what stands behind it.</p>" if outcome else ""
    with sheet(desk, 2, name=code, scale=scale, notes=notes), ui.element("div").classes("product"):
        markup(
            f'<h2 class="product-name">{escape(product.name)}</h2>'
            f'<span class="aside">{escape(product.line)}, {escape(code)}</span>',
            "product-head",
        )
        with ui.element("div").classes("product-main"):
            figures = ""
            if outcome is None:
                markup('<p class="aside">This product has no design sheet of its own: it is made of its parts.</p>')
            else:
                calculation = services.CALCULATIONS[outcome.calculation]
                design = book.designs[code]
                views = (View("", calculation.draw(design, outcome.result)),) if calculation.draw else ()
                parts = result_html(outcome.result, calculation.fields, views)
                link = f'<a href="{escape(bench_address(calculation, design))}" data-mark="to-bench">open on the design bench</a>'
                markup(f"<p>{verdict(outcome.result)}. {link}</p>", "verdict")
                figures = parts["figures"]
                named(markup(parts["drawing"]), "drawing")
                named(markup(f"<h2>Margins</h2>{parts['gauges']}"), "gauges")
                markup(parts["cautions"])
                markup(parts["remarks"])
                markup(f"<h2>Because</h2>{parts['because']}" if parts["because"] else "")
        with ui.element("aside").classes("product-side"):
            if figures:
                named(markup(f"<h2>Figures</h2>{figures}"), "figures")
            named(markup(_parts_list(book, code, outcome)), "parts-list")
            markup(_route(book, code))
            if desk.plan is not None:
                named(markup(_orders(desk.plan, code)), "product-orders")
            markup(_used_in(book, code))


def _parts_list(book: Book, code: str, outcome: DesignOutcome | None) -> str:
    """The parts list, numbered as on a drawing."""
    parts = book.parts_of.get(code, ())
    if not parts:
        return ""
    rows = ""
    for number, part in enumerate(parts, 1):
        item = book.item[part.part]
        if part.part in book.product:
            name = f'<a href="{product_address(part.part)}">{escape(part.part)}</a>'
        else:
            name = escape(part.part)
        figures = {value.name: str(value) for value in outcome.result.values} if outcome else {}
        if part.quantity is None:
            amount = figures.get(part.from_design, part.from_design.replace("_", " "))
        else:
            amount = f"{show_number(part.quantity.number, 3)} {part.quantity.unit or item.unit}"
        rows += (
            f'<tr><td class="number">{number}</td><td>{name}<br><span class="aside">{escape(item.name)}</span></td>'
            f'<td class="number">{escape(amount.strip())}</td></tr>'
        )
    return (
        '<h2>Parts, for one</h2><table class="figures parts"><thead><tr><th class="number">no.</th><th>part</th>'
        f'<th class="number">quantity</th></tr></thead><tbody>{rows}</tbody></table>'
    )


def _route(book: Book, code: str) -> str:
    steps = book.route_of.get(code, ())
    if not steps:
        return ""
    rows = "".join(
        f'<tr><td class="number">{step.step}</td><td>{escape(step.name)}<br><span class="aside">{escape(step.work_centre)}'
        f"{', ' + escape(step.family) if step.family else ''}</span></td>"
        f'<td class="number">{"then " + span_words(step.wait / 60) if step.wait else ""}</td></tr>'
        for step in steps
    )
    return (
        '<h2>Route</h2><table class="figures parts"><thead><tr><th class="number">step</th><th>operation</th>'
        f'<th class="number">wait</th></tr></thead><tbody>{rows}</tbody></table>'
    )


def _orders(plan: Plan, code: str) -> str:
    lines = [order for order in plan.orders if order.product == code]
    if not lines:
        return ""
    rows = "".join(
        f"<tr><td>{escape(line.name)}<br><span class='aside'>{escape(line.customer)}</span></td>"
        f'<td class="number">{count_words(line.quantity)}</td>'
        f"<td>{state_html(line.state, line.state)}<br><span class='aside'>due {moment_words(line.due)}</span></td></tr>"
        for line in lines
    )
    cost = next((cost for cost in plan.costs if cost.of == "product" and cost.name == code), None)
    each = f"<p>Planned cost of one: {money_words(cost.total)} {escape(plan.currency)}</p>" if cost else ""
    return f'<h2>Ordered</h2><table class="figures parts"><tbody>{rows}</tbody></table>{each}'


def _used_in(book: Book, code: str) -> str:
    users = sorted({part.product for part in book.parts if part.part == code})
    if not users:
        return ""
    links = ", ".join(f'<a href="{product_address(user)}">{escape(user)}</a>' for user in users)
    return f"<h2>Goes into</h2><p>{links}</p>"
