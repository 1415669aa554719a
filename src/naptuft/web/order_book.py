"""Sheet 1, the order book: a book dropped in, checked, planned, and what becomes of each order."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from decimal import Decimal
from html import escape

from nicegui import ui
from starlette.concurrency import run_in_threadpool

from naptuft import services
from naptuft.errors import Fault
from naptuft.planning.plan import OrderOutcome, Plan
from naptuft.web.design_bench import product_address
from naptuft.web.desk import Desk, Planning
from naptuft.web.frame import Keys, markup, named, press, sheet
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import THIN, count_words, day_words, mark, moment_words, money_words, span_words

KEYS: Keys = (
    ("/", "find in the table"),
    ("← → ↑ ↓", "from cell to cell, with Shift marking"),
    ("Ctrl C", "copy what is marked"),
    ("Enter", "open the row"),
)
STATES = ("on time", "from stock", "late", "short")
DEMO_NAME = "Quillbeck demo"


class DropBox(ui.element, component="drop.js"):
    """Where a workbook is dropped or chosen; tells how many faults it has."""

    def __init__(self, words: str, on_taken: Callable[[int], object], *, small: bool = False):
        super().__init__()
        self.props["words"] = words
        self.props["small"] = small
        self.on("taken", lambda event: on_taken(int(event.args)))


def register(desk: Desk) -> None:
    """Add the page of the order book."""

    @ui.page("/")
    def order_book() -> None:
        with sheet(desk, 1, keys=KEYS, notes=quality_html(desk), whole=True, follows=True) as frame:
            page = OrderBook(desk)
            with ui.element("div").classes("order-book") as body:
                page.draw()

        def follow() -> None:
            if page.seen != desk.version:
                body.clear()
                with body:
                    page.draw()
                frame.retitle(quality_html(desk))
            elif desk.planning is not None:
                page.show_progress(desk.planning)

        ui.timer(0.25, follow)


class OrderBook:
    """One visitor's view of the order book."""

    def __init__(self, desk: Desk):
        self.desk = desk
        self.seen = -1
        self.view = "orders"
        self.progress: dict[str, ui.html] = {}

    def draw(self) -> None:
        """Draw what the desk now calls for: the planning under way, faults, the plan, or the place to drop a book."""
        desk = self.desk
        self.seen = desk.version
        if desk.planning is not None:
            self._draw_progress(desk.planning)
        elif desk.faults:
            self._draw_faults(desk.faults)
        elif desk.plan is not None:
            self._draw_plan(desk.plan)
        else:
            self._draw_empty()

    # Before there is a plan ---------------------------------------------------------------------

    def _draw_empty(self) -> None:
        desk = self.desk
        with ui.element("div").classes("start"):
            with ui.element("div").classes("start-drop"):
                if desk.book is None:
                    markup("<h2>Drop in a book</h2><p>A workbook with your plant, products, stock and orders.</p>")
                else:
                    book = desk.book
                    markup(
                        f"<h2>{escape(desk.book_name)} is sound</h2><p>{len(book.orders)} order lines, "
                        f"{len(book.products)} products, {len(book.lots)} lots, {len(book.machines)} machines.</p>"
                    )
                    press("Plan this book", "plan", lambda _: desk.begin_planning(), kind="press main")
                named(DropBox("Choose a workbook", self._taken), "drop")
                markup(
                    '<p class="aside">It is checked first: every fault is listed with its sheet, row, column and mend. '
                    "A sound book is planned at once.</p>"
                )
            with ui.element("div").classes("start-demo"):
                markup(
                    "<h2>Or look at a plant first</h2><p>Quillbeck Brush &amp; Nap, an invented plant on the River Quill: "
                    "four weeks of orders for brushes, refills, frames, trays and boxed sets. Some of them cannot be met, "
                    "and the plan says why.</p>"
                )
                press("Plan the Quillbeck demo", "plan-demo", self._plan_demo)
                markup(
                    "<h3>What comes out</h3><ol class='comes-out'><li>every order on time, late or short, with the reason</li>"
                    "<li>every operation on its machine, checked by a second program</li>"
                    "<li>lots, blends and cut lists; what to buy and when</li>"
                    "<li>money, to the cent</li><li>papers for the floor</li></ol>"
                )

    def _taken(self, faults: int) -> None:
        if not faults:
            self.desk.begin_planning()

    async def _plan_demo(self) -> None:
        book = await run_in_threadpool(services.demo_book)
        self.desk.lay(book, DEMO_NAME)
        self.desk.begin_planning()

    def _draw_faults(self, faults: tuple[Fault, ...]) -> None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        with ui.element("div").classes("faults"):
            with ui.element("div").classes("faults-head"):
                markup(
                    f'<h2 class="wrong">{mark("wrong")}{count} in {escape(self.desk.faulty_name)}</h2>'
                    "<p>Nothing was changed. Mend these in the workbook, save it and drop it in again.</p>"
                )
                named(DropBox("Choose the mended workbook", self._taken, small=True), "drop")
                press("Put the list away", "dismiss", lambda _: self.desk.dismiss_faults(), kind="word-press")
            ledger = Ledger(
                "faults",
                [
                    Column("sheet", "sheet", width=90),
                    Column("row", "row", "number", width=50),
                    Column("column", "column", width=90),
                    Column("value", "value", width=90),
                    Column("allowed", "allowed", width=160, small=True),
                    Column("mend", "mend", width=180, small=True),
                ],
                [(str(at), _fault_cells(fault)) for at, fault in enumerate(faults)],
                file_name="faults",
            )
            named(ledger, "faults")

    def _draw_progress(self, planning: Planning) -> None:
        with ui.element("div").classes("planning"):
            markup(f"<h2>Planning {escape(self.desk.book_name)}</h2>")
            for part in ("stage", "line", "best", "passed"):
                self.progress[part] = named(markup("", f"planning-{part}"), f"planning-{part}")
            press("Stop and keep the best so far", "stop", lambda _: planning.stop(), kind="press stop")
        self.show_progress(planning)

    def show_progress(self, planning: Planning) -> None:
        """Write how far the planning is."""
        words = "ending with the best so far" if planning.stopping else planning.stage
        self.progress["stage"].set_content(
            f'<b>{escape(words)}</b> <span class="aside">{planning.seconds:.0f}{THIN}s</span>'
        )
        self.progress["line"].set_content(ruled_line(planning.done))
        self.progress["best"].set_content(f"best so far: {escape(planning.best)}" if planning.best else "no answer yet")
        passed = "".join(
            f"<li>{mark('right')}{escape(stage)}<span class='aside'> {seconds:.1f}{THIN}s</span></li>"
            for stage, seconds in planning.passed
        )
        self.progress["passed"].set_content(f"<ul>{passed}</ul>")

    # The plan -----------------------------------------------------------------------------------

    def _draw_plan(self, plan: Plan) -> None:
        ledgers: dict[str, ui.element] = {}
        choices: dict[str, ui.element] = {}
        views = (
            ("orders", f"Orders {len(plan.orders)}", _orders_ledger),
            ("purchases", f"To buy {len(plan.purchases)}", _purchases_ledger),
            ("centres", f"Work centres {len(plan.loads)}", _loads_ledger),
            ("designs", f"Products {len(plan.designs)}", _designs_ledger),
            ("costs", "Money", _costs_ledger),
            ("findings", f"Checker {len(plan.checks)}", _findings_ledger),
        )

        def choose(view: str) -> None:
            self.view = view
            if not ledgers[view].default_slot.children:
                with ledgers[view]:
                    named(draws[view](plan), view)
            for name, holder in ledgers.items():
                holder.set_visibility(name == view)
            for name, choice in choices.items():
                choice.props["aria-pressed"] = "true" if name == view else "false"
                choice.update()

        def only(state: str) -> None:
            choose("orders")
            orders = next(iter(ledgers["orders"].default_slot.children))
            assert isinstance(orders, Ledger)
            orders.show_only("state", state)

        with ui.element("div").classes("outcome"):
            with ui.element("section").classes("states"):
                for state in STATES:
                    self._state_figure(plan, state, only)
            named(markup(_money_html(plan), "money"), "money")
            named(markup(_busy_html(plan), "busy"), "busy")
        with ui.element("div").classes("views"):
            with ui.element("div").classes("view-words"):
                for name, words, _ in views:
                    choices[name] = press(words, f"view-{name}", lambda _, name=name: choose(name), kind="view-word")
            with ui.element("div").classes("doings"):
                for words, href in (("plan as zip", "/desk/plan"), ("book as xlsx", "/desk/book")):
                    markup(
                        f'<a href="{href}" download data-mark="download-{href[6:]}">{words}</a>',
                    )
                press("plan again", "plan", lambda _: self.desk.begin_planning(), kind="word-press")
                named(DropBox("another book", self._taken, small=True), "drop")
        draws = {name: draw for name, _, draw in views}
        for name in draws:
            ledgers[name] = ui.element("div").classes("view")
        choose(self.view)

    def _state_figure(self, plan: Plan, state: str, only: Callable[[str], None]) -> None:
        count = sum(order.state == state for order in plan.orders)
        button = named(ui.element("button"), f"state-{state.replace(' ', '-')}")
        alarming = state in ("late", "short") and count
        button.classes("state-figure alarming" if alarming else "state-figure").on("click", lambda: only(state))
        with button:
            markup(f"<b>{count}</b><span>{mark(state)}{state}</span>", tag="span")


def quality_html(desk: Desk) -> str:
    """How good the schedule is known to be, and whether it repeats."""
    if desk.plan is None:
        return "<p></p>"
    quality = desk.plan.quality
    late = span_words(quality.weighted_late_minutes)
    if quality.status == "optimal":
        known = "proven the least"
    elif quality.bound is None:
        known = "not proven the least; no bound is known"
    else:
        gap = quality.weighted_late_minutes - quality.bound
        known = f"not proven the least: at least {span_words(quality.bound)}, a gap of {span_words(gap)}"
    again = "repeats to the byte" if quality.repeats else "found under a time limit, so another run may differ"
    return (
        f"<p>Late work, weighted: <b>{late}</b>, {known}. Changeovers: <b>{span_words(quality.changeover_minutes)}</b>.</p>"
        f"<p>{quality.effort:,} candidate plans, seed {quality.seed}, {desk.plan_seconds:.0f} s; {again}.</p>"
    )


def ruled_line(done: float) -> str:
    """How far a piece of work is, as a notch on a ruled line."""
    ticks = "".join(f'<path class="tick" d="M{at * 10} 18v{-8 if at % 5 == 0 else -4}"/>' for at in range(101))
    at = max(0.0, min(1.0, done)) * 1000
    return (
        f'<svg class="progress-line" viewBox="-8 0 1016 30" preserveAspectRatio="none" role="progressbar" aria-valuemin="0" '
        f'aria-valuemax="100" aria-valuenow="{done * 100:.0f}"><path class="rule" d="M0 18H1000"/>{ticks}'
        f'<path class="way" d="M0 18H{at:.1f}"/><path class="notch" d="M{at:.1f} 18l-6-11h12z"/></svg>'
        f'<span class="number">{done * 100:.0f}{THIN}%</span>'
    )


_PLACE = re.compile(r"^(?P<sheet>[^,]+)(?:, row (?P<row>\d+))?(?:, (?P<column>.+))?$")


def _fault_cells(fault: Fault) -> list[Cell | str]:
    found = _PLACE.match(fault.place)
    sheet_name, row, column = found.group("sheet", "row", "column") if found else (fault.place, None, None)
    return [
        sheet_name,
        Cell(row or "", int(row) if row else None),
        column or "",
        str(fault.value) if fault.value is not None else "",
        fault.allowed,
        fault.mend,
    ]


def _money_html(plan: Plan) -> str:
    delivered = services.margins(plan)
    value = sum((line.value for line in delivered), Decimal(0))
    cost = sum((line.cost for line in delivered), Decimal(0))
    buy = sum((purchase.cost for purchase in plan.purchases), Decimal(0))
    first = min((purchase.order_by for purchase in plan.purchases), default=None)
    rows = (
        ("value delivered", money_words(value)),
        ("planned cost", money_words(cost)),
        ("left over", f"{money_words(value - cost)}"),
        ("material to buy", money_words(buy)),
    )
    until = f'<p class="aside">first purchase by {day_words(first)}</p>' if first else ""
    return (
        f'<h3>Money, {escape(plan.currency)}</h3><table class="figures"><tbody>'
        + "".join(f'<tr><th scope="row">{label}</th><td class="number">{amount}</td></tr>' for label, amount in rows)
        + f"</tbody></table>{until}"
    )


def _busy_html(plan: Plan) -> str:
    busiest = sorted(plan.loads, key=lambda load: -load.share)[:5]
    rows = "".join(
        f'<tr><th scope="row">{escape(load.name)}</th><td class="bar-cell">{share_bar(load.share)}</td>'
        f'<td class="number">{load.share * 100:.0f}<span class="unit">{THIN}%</span></td></tr>'
        for load in busiest
    )
    return f'<h3>Busiest work centres</h3><table class="figures"><tbody>{rows}</tbody></table>'


def share_bar(share: float) -> str:
    """A share of a whole as a notch on a short ruled line."""
    at = min(1.0, share) * 100
    return (
        '<svg class="share" viewBox="0 0 104 12" preserveAspectRatio="none" aria-hidden="true">'
        f'<path class="rule" d="M2 9H102M2 9v-4M27 9v-3M52 9v-4M77 9v-3M102 9v-4"/><path class="way" d="M2 9H{2 + at:.1f}"/>'
        f'<path class="notch" d="M{2 + at:.1f} 9l-3-7h6z"/></svg>'
    )


def _when(moment: datetime.datetime | None) -> Cell:
    return Cell(moment_words(moment), moment.isoformat(timespec="minutes") if moment else None)


def _day(day: datetime.date) -> Cell:
    return Cell(day_words(day), day.isoformat())


def _money(amount: Decimal | None) -> Cell:
    return Cell(money_words(amount), float(amount) if amount is not None else None)


def state_words(order: OrderOutcome) -> str:
    """The state of an order line with how late or how short it is."""
    if order.state == "late":
        return f"late {span_words(order.late_minutes)}"
    if order.state == "short":
        return f"short {order.short_quantity:,}"
    return order.state


def _orders_ledger(plan: Plan) -> Ledger:
    rows = []
    for order in plan.orders:
        rank = STATES[::-1].index(order.state) * 1e9 - order.late_minutes - order.short_quantity
        board = f"/board?work_order={order.work_orders[0]}" if order.work_orders else ""
        rows.append(
            (
                order.name,
                [
                    Cell(order.name, href=board, below=order.customer),
                    Cell(order.product, href=product_address(order.product), below=order.product_name),
                    Cell(count_words(order.quantity), order.quantity),
                    _when(order.due),
                    _when(order.finish),
                    Cell(state_words(order), rank, state=order.state),
                    _money(order.value),
                    _money(order.cost),
                    order.reason,
                ],
            )
        )
    return Ledger(
        "order lines",
        [
            Column("order", "order", width=112),
            Column("product", "product", width=148),
            Column("quantity", "quantity", "number", width=70),
            Column("due", "due", width=130),
            Column("finish", "finish", width=130),
            Column("state", "state", "state", width=132),
            Column("value", f"value, {plan.currency}", "number", width=86),
            Column("cost", f"cost, {plan.currency}", "number", width=84),
            Column("reason", "reason", width=200, small=True),
        ],
        rows,
        file_name="orders",
    )


def _purchases_ledger(plan: Plan) -> Ledger:
    return Ledger(
        "purchases",
        [
            Column("number", "number", width=70),
            Column("material", "material", width=150),
            Column("quantity", "buy", "number", width=80),
            Column("needed", "needed", "number", width=80),
            Column("order_by", "order by", width=90),
            Column("arrives", "arrives", width=118),
            Column("cost", f"cost, {plan.currency}", "number", width=82),
            Column("serves", "waits for it", width=160, small=True),
        ],
        [
            (
                purchase.number,
                [
                    purchase.number,
                    Cell(purchase.material, below=purchase.material_name),
                    Cell(count_words(purchase.quantity), purchase.quantity, unit=purchase.unit),
                    Cell(count_words(round(purchase.needed, 3)), purchase.needed, unit=purchase.unit),
                    _day(purchase.order_by),
                    _when(purchase.arrives),
                    _money(purchase.cost),
                    ", ".join(purchase.serves),
                ],
            )
            for purchase in sorted(plan.purchases, key=lambda purchase: (purchase.order_by, purchase.number))
        ],
        file_name="to-buy",
        empty="nothing has to be bought",
    )


def _loads_ledger(plan: Plan) -> Ledger:
    def hours(minutes: int) -> Cell:
        return Cell(f"{minutes / 60:,.1f}", round(minutes / 60, 2), unit="h")

    return Ledger(
        "work centres",
        [
            Column("centre", "work centre", width=150),
            Column("machines", "machines", "number", width=70),
            Column("open", "open", "number", width=80),
            Column("run", "runs", "number", width=80),
            Column("changeover", "changeover", "number", width=90),
            Column("share", "in use", "number", width=70),
        ],
        [
            (
                load.work_centre,
                [
                    Cell(load.work_centre, below=load.name),
                    Cell(str(load.machines), load.machines),
                    hours(load.open_minutes),
                    hours(load.run_minutes),
                    hours(load.changeover_minutes),
                    Cell(f"{load.share * 100:.1f}", round(load.share, 4), unit="%"),
                ],
            )
            for load in sorted(plan.loads, key=lambda load: -load.share)
        ],
        file_name="work-centres",
    )


def _designs_ledger(plan: Plan) -> Ledger:
    rows = []
    for design in plan.designs:
        limiting = design.result.limiting
        state = "right" if not design.failed else "wrong"
        words = "every check passes" if not design.failed else f"{len(design.failed)} fail"
        rows.append(
            (
                design.product,
                [
                    Cell(design.product, href=product_address(design.product), below=design.product_name),
                    design.product_line,
                    Cell(words, len(design.failed), state=state) if limiting else "nothing checked",
                    limiting.label if limiting else "",
                    Cell(f"{limiting.margin * 100:.0f}", round(limiting.margin, 4), unit="%") if limiting else "",
                ],
            )
        )
    return Ledger(
        "products designed",
        [
            Column("product", "product", width=170),
            Column("line", "line", width=80),
            Column("state", "checks", "state", width=130),
            Column("limiting", "closest check", width=150),
            Column("margin", "margin", "number", width=70),
        ],
        rows,
        file_name="products",
    )


def _costs_ledger(plan: Plan) -> Ledger:
    kinds = ("material", "machine", "labour", "energy", "overhead", "scrap", "regrind_credit", "total")
    names = {design.product: design.product_name for design in plan.designs}
    return Ledger(
        "product costs",
        [
            Column("product", f"one of, {plan.currency}", width=160),
            *(Column(kind, kind.replace("_", " "), "number", width=86) for kind in kinds),
        ],
        [
            (
                cost.name,
                [
                    Cell(cost.name, href=product_address(cost.name), below=names.get(cost.name, "")),
                    *(Cell(_each(getattr(cost, kind)), float(getattr(cost, kind))) for kind in kinds),
                ],
            )
            for cost in plan.costs
            if cost.of == "product"
        ],
        file_name="costs",
    )


def _each(amount: Decimal) -> str:
    return f"{amount:,.4f}"


def _findings_ledger(plan: Plan) -> Ledger:
    return Ledger(
        "findings",
        [
            Column("rule", "rule", width=100),
            Column("place", "place", width=120),
            Column("message", "what is wrong", width=240),
        ],
        [(str(at), [finding.rule, finding.place, finding.message]) for at, finding in enumerate(plan.checks)],
        file_name="findings",
        empty="The independent checker holds nothing against this plan.",
    )
