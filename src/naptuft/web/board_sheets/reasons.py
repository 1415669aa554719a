"""Reasons: why each late order is late, what would relieve it, and where the hours of each work centre go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.planning.machine_time import IDLE, MachineTime, Use, centre_time
from naptuft.planning.plan import OrderOutcome, Plan
from naptuft.planning.relief import LateOrder, Relief
from naptuft.web.board_sheets.calendar import chain_drawing
from naptuft.web.board_sheets.layout import Opened, RunStrip, Views, board_sheet
from naptuft.web.board_sheets.strips import shares
from naptuft.web.desk import Desk, Run
from naptuft.web.frame import markup, not_planned
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import moment_words, money_words, span_words, state_html
from naptuft.web.order_book import STATES, state_words

NOTES = (
    "<p>A relief changes one thing and puts the plan's own sequence on the floor again. What it does to the other "
    "orders stands beside what it does to this one.</p>"
)
LOOKS: Mapping[Use, str] = {
    "runs": "runs",
    "changed over": "changed-over",
    "material not there": "waits",
    "part being made": "waits",
    "step before not done": "waits",
    "drying or curing": "dries",
    "racks full": "held",
    "crew elsewhere": "held",
    "held back": "held",
    "no work ready": "none",
}
PATTERNS = (
    '<svg width="0" height="0" style="position:absolute" aria-hidden="true">'
    '<pattern id="use-dries" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path class="use-line" d="M0 0V5"/></pattern>'
    '<pattern id="use-changed" width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path class="use-ink" d="M0 0V4"/></pattern>'
    '<pattern id="use-held" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path class="use-line" d="M0 0V5M0 0H5"/></pattern></svg>'
)


LEGEND = (
    ("runs", "runs"),
    ("changed-over", "changed over"),
    ("waits", "lacks material, a part or the step before"),
    ("dries", "waits for drying or curing"),
    ("held", "racks full, crew elsewhere, held back"),
    ("none", "no work ready"),
)


def register(desk: Desk) -> None:
    """Add the sheet of reasons."""

    @ui.page("/board/reasons")
    def reasons_page(order: str = "", view: str = "late") -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 5)
            return
        with board_sheet(desk, "/board/reasons", notes=NOTES, scale="on the calendar"):
            ReasonsSheet(desk, desk.book, desk.plan, order, view)


class ReasonsSheet:
    """One visitor's view of the reasons."""

    def __init__(self, desk: Desk, book: Book, plan: Plan, first: str, view: str):
        self.desk, self.book, self.plan, self.first = desk, book, plan, first
        self.orders = {order.name: order for order in plan.orders}
        self.tried: dict[str, LateOrder] = {}
        self.place: ui.element | None = None
        self.strip = RunStrip(desk, "reliefs", "Try reliefs", self.begin, self.show)
        late = [order for order in plan.orders if order.late_minutes or order.state == "short"]
        views = (
            ("late", f"Late or short {len(late)}", self.draw_orders),
            ("centres", f"Work centres {len(book.work_centres)}", self.draw_centres),
        )
        with ui.element("div").classes("views-beside"):
            Views(views, view if view in ("late", "centres") else "late")

    def begin(self) -> None:
        """Start trying reliefs on every late order."""
        book, plan = self.book, self.plan

        def work(run: Run) -> tuple[LateOrder, ...]:
            def offer(found: tuple[LateOrder, ...]) -> None:
                enough = sum(order.best is not None and order.best.enough for order in found)
                run.offer(found, f"a relief found for {enough} of {len(found)} late orders")

            return services.reliefs(book, plan, run.at, run.halted, offer=offer)

        self.desk.begin("reliefs", "reliefs of every late order", work)

    def show(self, tried: tuple[LateOrder, ...]) -> None:
        """Take the reliefs in and draw the orders anew."""
        self.tried = {order.order: order for order in tried}
        if self.place is not None:
            self.place.clear()
            with self.place:
                self._orders()

    def draw_orders(self) -> None:
        """The late orders."""
        self.place = ui.element("div").classes("view")
        with self.place:
            self._orders()

    def _orders(self) -> None:
        late = [order for order in self.plan.orders if order.late_minutes or order.state == "short"]
        late.sort(key=lambda order: -order.late_minutes)
        opened = Opened(lambda on_open: self._ledger(late, on_open), self._detail, "late-orders")
        chosen = self.first or (late[0].name if late else "")
        if chosen in self.orders:
            opened.open(chosen)

    def _ledger(self, late: list[OrderOutcome], on_open) -> Ledger:
        rows = []
        for order in late:
            best = self.tried[order.name].best if order.name in self.tried else None
            rank = STATES[::-1].index(order.state) * 1e9 - order.late_minutes
            rows.append(
                (
                    order.name,
                    [
                        Cell(order.name, below=order.product_name),
                        Cell(state_words(order), rank, state=order.state),
                        order.reason,
                        self._best(order, best),
                    ],
                )
            )
        return Ledger(
            "orders",
            [
                Column("order", "order", width=130),
                Column("state", "state", "state", 126),
                Column("reason", "why", width=190, small=True),
                Column("relief", "best relief tried", width=190, small=True),
            ],
            rows,
            file_name="late-orders",
            empty="No order is late and none is short.",
            on_open=on_open,
        )

    def _best(self, order: OrderOutcome, best: Relief | None) -> Cell | str:
        if order.name not in self.tried:
            return "not tried yet" if order.late_minutes else "more material"
        if best is None:
            return "nothing tried helps"
        return f"{best.words}: {'on time' if best.enough else 'late ' + span_words(best.late_minutes)}"

    def _detail(self, name: str) -> str:
        order = self.orders[name]
        links = services.chain(self.plan, order)
        parts = [
            f"<h2>{escape(name)}</h2><p>{escape(order.product_name)}, {escape(order.customer)} "
            f"{state_html(order.state, state_words(order))}</p>"
        ]
        if order.reason:
            parts.append(f"<p>{escape(order.reason)}</p>")
        if name in self.tried:
            parts.append(_causes(self.tried[name]))
        if links and order.finish is not None:
            drawing = chain_drawing(
                f"the chain that ends in {name}", links, order.due, order.finish, since=self.plan.start
            )
            parts.append(
                f'<figure class="drawn tall">{drawing}<figcaption>hatched: work; fine line before it: waits; line after it: '
                "dries or cures</figcaption></figure>"
            )
            waits = [link for link in links if link.waited]
            rows = "".join(
                f'<tr><td>{_board(link.operation.work_order)} {escape(link.operation.name)}<br><span class="aside">'
                f"{escape(link.operation.machine)}, {moment_words(link.operation.start)}: "
                f'{escape(link.operation.earliest_start_reason)}</span></td><td class="number">{span_words(link.waited)}</td></tr>'
                for link in sorted(waits, key=lambda link: -link.waited)
            )
            parts.append(
                f'<h3>What it waits for, the longest first</h3><table class="figures parts"><tbody>{rows}</tbody></table>'
            )
        if name in self.tried:
            parts.append(_tried(self.tried[name], self.plan.currency))
        odds = f'<a href="/board/odds?order={escape(name)}">its odds</a>'
        boards = ", ".join(_board(number) for number in order.work_orders)
        parts.append(f"<p>{odds}{'; on the board: ' + boards if boards else ''}</p>")
        return "".join(parts)

    def draw_centres(self) -> None:
        """Where the hours of each work centre go."""
        if "machine time" not in self.desk.kept:
            self.desk.kept["machine time"] = services.machine_hours(self.book, self.plan)
        times = self.desk.kept["machine time"]
        markup(f"{PATTERNS}{_legend_html()}", "use-legend")
        Opened(
            lambda on_open: _centres(self.book, centre_time(times), on_open),
            lambda code: _centre_detail(times, code),
            "centre-hours",
        )


def _board(number: str) -> str:
    return f'<a href="/board?work_order={escape(number)}">{escape(number)}</a>'


def _causes(order: LateOrder) -> str:
    rows = "".join(
        f'<tr><td>{escape(cause.words)}<br><span class="aside">{escape(cause.kind)}</span></td>'
        f'<td class="number">{span_words(cause.minutes)}</td></tr>'
        for cause in order.causes
    )
    told = {
        True: "Planned anew without these, the order is on time.",
        False: "Planned anew without these, the order is still late.",
        None: "",
    }[order.confirmed]
    if not rows:
        return ""
    return f'<h3>What makes it late, the largest first</h3><table class="figures parts"><tbody>{rows}</tbody></table><p>{told}</p>'


def _tried(order: LateOrder, currency: str) -> str:
    if not order.tried:
        return "<h3>Reliefs tried</h3><p>Nothing that was tried makes it less late.</p>"
    rows = "".join(
        f"<tr><td>{escape(relief.words)}{_how(relief)}</td>"
        f"<td>{state_html('on time', 'on time') if relief.enough else state_html('late', span_words(relief.late_minutes))}</td>"
        f'<td class="number">{relief.others:+,.0f}</td>'
        f'<td class="number">{"ask" if relief.cost is None else money_words(relief.cost)}</td></tr>'
        for relief in order.tried[:12]
    )
    return (
        '<h3>Reliefs tried, the best first</h3><table class="figures parts"><thead><tr><th>relief</th><th>then</th>'
        f'<th class="number">others, late min</th><th class="number">cost, {escape(currency)}</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _how(relief: Relief) -> str:
    return '<br><span class="aside">everything planned anew with it</span>' if relief.searched else ""


def _parts(uses: Mapping[Use, int]) -> list[tuple[str, str, float]]:
    opened = sum(uses.values()) - uses["closed"]
    return [
        (LOOKS[use], f"{use}: {uses[use] / 60:,.1f} h", uses[use] / opened) for use in LOOKS if opened and uses[use]
    ]


def _legend_html() -> str:
    items = "".join(
        f'<li><svg class="strip-drawn" width="26" height="14" aria-hidden="true"><rect class="use {look}" x="0.5" y="1" '
        f'width="25" height="12"/></svg>{words}</li>'
        for look, words in LEGEND
    )
    return f'<ul class="legend">{items}</ul>'


def _hours(minutes: int) -> Cell:
    return Cell(f"{minutes / 60:,.0f}" if minutes else "", round(minutes / 60, 2))


def _centres(book: Book, uses: Mapping[str, Mapping[Use, int]], on_open) -> Ledger:
    names = {centre.code: centre.name for centre in book.work_centres}
    shown: tuple[Use, ...] = ("runs", "changed over", *IDLE)
    heads = {
        "runs": "runs",
        "changed over": "change",
        "material not there": "material",
        "part being made": "part",
        "step before not done": "step",
        "drying or curing": "dry",
        "racks full": "racks",
        "crew elsewhere": "crew",
        "held back": "held",
        "no work ready": "no work",
    }
    rows = []
    for code, of in sorted(uses.items(), key=lambda item: -item[1]["runs"] / max(1, sum(item[1].values()))):
        opened = sum(of.values()) - of["closed"]
        rows.append(
            (
                code,
                [
                    Cell(code, below=names.get(code, "")),
                    _hours(opened),
                    Cell("hours of each use in order", drawn=shares(_parts(of))),
                    *(_hours(of[use]) for use in shown),
                ],
            )
        )
    return Ledger(
        "work centres, hours inside the horizon",
        [
            Column("centre", "work centre", width=128),
            Column("open", "open, h", "number", 62),
            Column("uses", "use of open hours", "strip", 190),
            *(Column(use.replace(" ", "_"), heads[use], "number", 66) for use in shown),
        ],
        rows,
        file_name="work-centre-hours",
        on_open=on_open,
    )


def _centre_detail(times: Sequence[MachineTime], code: str) -> str:
    own = [time for time in times if time.work_centre == code]
    if not own:
        return ""
    parts = [f"<h2>{escape(code)}</h2>"]
    for time in own:
        opened = time.open
        rows = "".join(
            f'<tr><th scope="row">{use}</th><td class="number">{span_words(time.minutes[use])}</td>'
            f'<td class="number">{100 * time.minutes[use] / opened:.1f}</td></tr>'
            for use in LOOKS
            if opened and time.minutes[use]
        )
        parts.append(
            f"<h3>{escape(time.machine)}</h3>{shares(_parts(time.minutes))}"
            '<table class="figures parts"><thead><tr><th>use</th><th class="number">in all</th>'
            f'<th class="number">% of open</th></tr></thead><tbody>{rows}</tbody></table>'
        )
    return "".join(parts)
