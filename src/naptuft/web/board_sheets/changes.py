"""Changes: what happened on the floor, the plan changed by it, what moved, and which of the two plans to keep."""

from __future__ import annotations

import datetime
import json
import time
from collections.abc import Callable, Mapping
from html import escape

from nicegui import run, ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.calculation import fields_of, write_value
from naptuft.errors import Fault, NaptuftError
from naptuft.planning.plan import Plan, PlannedOperation
from naptuft.planning.replan import Change, Happening, Replanned, happenings_csv
from naptuft.planning.replan.happenings import ALSO, KINDS, NEEDED
from naptuft.web.board import Board
from naptuft.web.board_sheets.asked import keep, moment_from, seconds_from
from naptuft.web.board_sheets.layout import RunStrip, Views, board_sheet, short_entry
from naptuft.web.board_sheets.strips import Scale, before_after
from naptuft.web.desk import Desk, Run
from naptuft.web.entry import Entry
from naptuft.web.frame import markup, named, not_planned, press
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import moment_words, span_words
from naptuft.web.order_book import DropBox

NOTES = (
    "<p>What is planned to be over or running at the time of changing, and not named here, counts as done or running as "
    "planned. Started work stays; nothing moves that need not.</p>"
)
FIRST_SECONDS = 1.0
FIELDS = {field.name: field for field in fields_of(Happening)}
FIRST = ("rule", "order", "work order", "operation")


def register(desk: Desk) -> None:
    """Add the sheet of changes."""

    @ui.page("/board/changes")
    def changes_page() -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 5)
            return
        with board_sheet(desk, "/board/changes", notes=NOTES, scale="on the calendar"):
            ChangesSheet(desk, desk.book, desk.plan)


class ChangesSheet:
    """One visitor's list of what happened, and the plan changed by it."""

    def __init__(self, desk: Desk, book: Book, plan: Plan):
        self.desk, self.book, self.plan = desk, book, plan
        self.at = f"{plan.start + datetime.timedelta(days=1, hours=4):%Y-%m-%d %H:%M}"
        self.seconds, self.seed, self.most_moved = "5", "1", "10 %"
        self.rows: list[dict[str, str]] = [{"kind": "machine down"}]
        self.strip = RunStrip(desk, "changes", "Change the plan", self.begin, self.show, self.entries)
        with ui.element("div").classes("changes"):
            self.form = ui.element("section").classes("changes-form")
            self.answer = ui.element("section").classes("changes-answer")
        self.draw_form()
        if desk.runs.get("changes") is None:
            with self.answer:
                markup(
                    "<h2>Nothing changed yet</h2><p>Write what happened beside this, or drop a CSV of it there; then change the "
                    "plan. Both plans are kept until you choose.</p>",
                    "blank",
                )
        self.strip.seen = -1
        self.strip.follow()

    def entries(self) -> None:
        """When, how much may move, for how long, from which seed."""
        with ui.element("div").classes("short-entry wide"):
            short_entry("it is now", self.at, "at", keep(self, "at"))
        short_entry("of the work ahead, move at most", self.most_moved, "most-moved", keep(self, "most_moved"))
        short_entry("look for better", self.seconds, "seconds", keep(self, "seconds"), unit="s")
        short_entry("seed", self.seed, "seed", keep(self, "seed"))

    # What happened ------------------------------------------------------------------------------

    def draw_form(self) -> None:
        """The table of what happened."""
        self.form.clear()
        with self.form:
            markup("<h2>What happened</h2>")
            for place, row in enumerate(self.rows):
                self._draw_row(place, row)
            with ui.element("div").classes("changes-presses"):
                press("one more", "add-happening", lambda _: self._add(), kind="word-press")
                press("save as CSV", "save-happenings", lambda _: self._save(), kind="word-press")
                drop = DropBox("Take a CSV", lambda _: None, small=True)
                drop.props["accept"] = ".csv,.json,text/csv"
                drop.props["text"] = True
                named(drop, "drop-happenings").on("text", lambda event: self.take(str(event.args)))

    def _draw_row(self, place: int, row: dict[str, str]) -> None:
        def write(name: str) -> Callable[[str], None]:
            return lambda written: row.__setitem__(name, written)

        def choose(kind: str) -> None:
            if kind != row["kind"]:
                self.rows[place] = {"kind": kind}
                self.draw_form()

        with ui.element("fieldset").classes("happening"):
            with ui.element("div").classes("happening-head"):
                markup(f"<b>{place + 1}</b>", tag="span")
                Entry(
                    "what happened",
                    row["kind"],
                    f"kind-{place}",
                    lambda event: choose(str(event.value)),
                    choices=KINDS,
                )
                press("delete", f"delete-{place}", lambda _: self._delete(place), kind="word-press")
            for name in (*NEEDED[row["kind"]], *ALSO.get(row["kind"], ())):
                field = FIELDS[name]
                optional = name not in NEEDED[row["kind"]]
                with ui.element("label").classes("happening-field"):
                    markup(escape(field.label) + (" (may be empty)" if optional else ""), "aside", "span")
                    choices = self._choices(name)
                    if choices and not row.get(name) and not optional:
                        row[name] = choices[0]
                    Entry(
                        field.label,
                        row.get(name, ""),
                        f"{name}-{place}",
                        lambda event, name=name: write(name)(str(event.value or "")),
                        choices=("", *choices) if optional and choices else choices,
                        placeholder=self._example(name),
                    )

    def _choices(self, name: str) -> tuple[str, ...]:
        if name == "machine":
            return tuple(machine.code for machine in self.book.machines)
        if name == "product":
            return tuple(product.code for product in self.book.products)
        return ()

    def _example(self, name: str) -> str:
        if name in ("since", "until", "due"):
            return f"{self.plan.start + datetime.timedelta(days=1, hours=8):%Y-%m-%d %H:%M}"
        return FIELDS[name].example if name != "work_order" else self.plan.work_orders[0].number

    def _add(self) -> None:
        self.rows.append({"kind": self.rows[-1]["kind"] if self.rows else KINDS[0]})
        self.draw_form()

    def _delete(self, place: int) -> None:
        del self.rows[place]
        self.draw_form()

    def take(self, text: str) -> None:
        """Read what happened from CSV or JSON text."""
        try:
            found = services.happened(text)
        except NaptuftError as error:
            self.strip.say(error.faults)
            return
        self.strip.say(())
        self.rows = [_row_of(happening) for happening in found]
        self.draw_form()

    def happenings(self) -> tuple[Happening, ...]:
        """What the form says. Raises DesignError with every fault."""
        given = [{name: value for name, value in row.items() if value.strip()} for row in self.rows]
        return services.happened(json.dumps(given))

    def _save(self) -> None:
        try:
            text = happenings_csv(self.happenings())
        except NaptuftError as error:
            self.strip.say(error.faults)
            return
        ui.download.content(text.encode(), "happened.csv", "text/csv")

    # The plan changed ---------------------------------------------------------------------------

    def begin(self) -> None:
        """Change the plan, or say what is wrong with what was asked."""
        at, faults = moment_from("it is now", self.at)
        seconds, wrong = seconds_from("look for better", self.seconds)
        happenings: tuple[Happening, ...] = ()
        share = 0.0
        try:
            happenings = self.happenings()
        except NaptuftError as error:
            faults = (*faults, *error.faults)
        try:
            share = services.share_moved(self.most_moved)
        except NaptuftError as error:
            faults = (*faults, *error.faults)
        if not self.seed.strip().isdecimal():
            wrong = (*wrong, Fault("seed", self.seed, "a whole number", "write 1, say"))
        if faults or wrong or at is None:
            self.strip.say((*faults, *wrong))
            return
        book, plan, seed = self.book, self.plan, int(self.seed)

        def work(run: Run) -> Replanned:
            run.at("repairing the plan", 0.05)
            first = services.change_plan(book, plan, at, happenings, seconds=FIRST_SECONDS, seed=seed, most_moved=share)
            if seconds <= FIRST_SECONDS or run.halted():
                return first
            run.offer(first, _words(first))
            began = time.monotonic()

            def halted() -> bool:
                run.at("looking for better", min(1.0, (time.monotonic() - began) / seconds))
                return run.halted()

            second = services.change_plan(
                book, plan, at, happenings, seconds=seconds, seed=seed, stop=halted, most_moved=share
            )
            return second if _figures(second) <= _figures(first) else first

        self.desk.begin("changes", f"{len(happenings)} happenings at {at:%Y-%m-%d %H:%M}", work)

    def show(self, answer: Replanned) -> None:
        """Draw the plan changed beside the plan on the desk."""
        if not hasattr(self, "answer"):
            return
        self.answer.clear()
        run = self.desk.runs.get("changes")
        with self.answer:
            with ui.element("div").classes("changes-verdict"):
                named(markup(_verdict(self.plan, answer)), "verdict")
                if run is not None and run.over:
                    with ui.element("div").classes("changes-keep"):
                        press("Keep the changed plan", "keep-new", lambda _: self._keep(answer), kind="press main")
                        if answer.freer is not None:
                            press("Keep the one that moves more", "keep-freer", lambda _: self._keep_freer(answer))
                        press("Keep the plan as it was", "keep-old", lambda _: self._put_away())
                if answer.beyond:
                    named(markup(escape(f"More moved than were to: {answer.beyond}."), "aside"), "beyond")
            Views(
                (
                    ("changes", f"What changed {len(answer.changes)}", lambda: self._ledger(answer)),
                    ("board", "On the board", lambda: self._board()),
                )
            )

    def _board(self) -> None:
        Board("/desk/board/changed", lambda _: None)

    def _ledger(self, answer: Replanned) -> None:
        named(changes_ledger(self.plan, answer), "changes")

    def _keep(self, answer: Replanned) -> None:
        run = self.desk.runs.get("changes")
        self.desk.adopt(answer.book, answer.plan, run.seconds if run else 0.0)
        ui.navigate.to("/board")

    async def _keep_freer(self, answer: Replanned) -> None:
        taken = await run.io_bound(services.take_freer, answer)
        if taken is not None:
            self._keep(taken)

    def _put_away(self) -> None:
        self.desk.runs.pop("changes", None)
        ui.navigate.to("/board/changes")


def _row_of(happening: Happening) -> dict[str, str]:
    row = {}
    for name, field in FIELDS.items():
        written = write_value(field, getattr(happening, name))
        if written not in (None, ""):
            row[name] = str(written)
    return row


def _figures(answer: Replanned) -> tuple[int, float, int]:
    return max(0, answer.moved - answer.most), answer.plan.quality.weighted_late_minutes, answer.moved


def _words(answer: Replanned) -> str:
    late = sum(order.late_minutes > 0 for order in answer.plan.orders)
    return f"{answer.moved} of {answer.ahead} operations moved, {late} orders late"


def _verdict(plan: Plan, answer: Replanned) -> str:
    def late(of: Plan) -> str:
        return f"{sum(order.late_minutes > 0 for order in of.orders)}"

    def lateness(of: Plan) -> str:
        return span_words(of.quality.weighted_late_minutes)

    def changeover(of: Plan) -> str:
        return span_words(of.quality.changeover_minutes)

    def clean(of: Plan) -> str:
        return f"{len(of.checks)} findings" if of.checks else "clean"

    freer = answer.freer
    moved = [f"{one.moved} of {one.ahead} ahead" for one in (answer, freer) if one is not None]
    plans = [answer.plan, *([freer.plan] if freer is not None else [])]
    rows = (
        ("operations moved", ["", *moved]),
        ("orders late", [late(each) for each in (plan, *plans)]),
        ("late work, weighted", [lateness(each) for each in (plan, *plans)]),
        ("changeovers", [changeover(each) for each in (plan, *plans)]),
        ("independent check", [clean(plan), clean(answer.plan), *(["when kept"] if freer is not None else [])]),
    )
    body = "".join(
        f'<tr><th scope="row">{what}</th>'
        + "".join(
            f'<td class="number">{f"<b>{cell}</b>" if place == 1 else cell}</td>' for place, cell in enumerate(cells)
        )
        + "</tr>"
        for what, cells in rows
    )
    heads = ["before", "now", *(["were more to move"] if freer is not None else [])]
    return (
        f'<table class="figures"><thead><tr><th>as of {moment_words(answer.at)}</th>'
        + "".join(f'<th class="number">{head}</th>' for head in heads)
        + f"</tr></thead><tbody>{body}</tbody></table>"
    )


Where = tuple[datetime.datetime, datetime.datetime]


def _stretches(plan: Plan) -> Mapping[tuple[str, str], PlannedOperation]:
    return {(operation.work_order, str(operation.step)): operation for operation in plan.operations}


def changes_ledger(plan: Plan, answer: Replanned) -> Ledger:
    """What is no longer as planned, each operation drawn where it was and where it is."""
    before, after = _stretches(plan), _stretches(answer.plan)

    def found(of: Mapping[tuple[str, str], PlannedOperation], change: Change) -> Where | None:
        number, _, rest = change.place.partition(" step ")
        operation = of.get((number, rest.partition(",")[0])) if change.kind == "operation" else None
        return (operation.start, operation.end) if operation else None

    ordered = sorted(
        answer.changes, key=lambda change: FIRST.index(change.kind) if change.kind in FIRST else len(FIRST)
    )
    drawn = [(change, found(before, change), found(after, change)) for change in ordered]
    ends = [moment for _, *both in drawn for stretch in both if stretch for moment in stretch]
    scale = Scale.over([answer.at, *ends])
    rows = []
    for place, (change, was, now) in enumerate(drawn):
        number = change.place.split(" ")[0]
        href = f"/board?work_order={number}" if number.startswith("W-") else ""
        if change.kind == "order" and change.before:
            href = f"/board/reasons?order={change.place}"
        rows.append(
            (
                str(place),
                [
                    change.kind,
                    Cell(change.place, href=href),
                    Cell(
                        f"{change.before} -> {change.after}",
                        (now or was or (answer.at,))[0].isoformat(timespec="minutes"),
                        drawn=before_after(scale, was, now),
                    )
                    if was or now
                    else Cell(change.after or change.before),
                    change.before,
                    change.after,
                    change.why,
                ],
            )
        )
    return Ledger(
        "changes",
        [
            Column("kind", "what", width=98),
            Column("place", "which", width=150),
            Column("strip", "before above, now below", "strip", width=170, head=scale.head()),
            Column("before", "before", width=120, small=True),
            Column("after", "now", width=120, small=True),
            Column("why", "why", width=150, small=True),
        ],
        rows,
        file_name="changes",
        empty="Nothing had to change.",
    )
