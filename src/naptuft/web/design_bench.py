"""Sheet 2, the design bench: every declared calculation and whole design as a form with live results."""

from __future__ import annotations

import json
import shlex
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from urllib.parse import quote

from nicegui import ui
from starlette.concurrency import run_in_threadpool

from naptuft import services
from naptuft.book.designs import DESIGN_OF
from naptuft.book.model import Book
from naptuft.calculation import Calculation, Field, Result, write_value
from naptuft.design_sheet import DesignSheet, View, WholeDesign
from naptuft.errors import DesignError, Fault, NaptuftError
from naptuft.quantity import show_number, unit_sign
from naptuft.web.desk import Desk
from naptuft.web.entry import Entry
from naptuft.web.frame import Keys, markup, named, not_there, press, sheet
from naptuft.web.marks import THIN, mark
from naptuft.web.results import beside_html, matters_html, parts_html, result_html

LINES = ("brush", "handle", "roller", "tray", "boxing")
NOTES = (
    "<p>Write a unit and it is used: <b>2 1/2 in</b>, <b>63 mm</b>, <b>1,200 g</b>. A number alone is in the unit shown.</p>"
    "<p>What is left out is derived, or taken as usual and listed.</p>"
)
KEYS: Keys = (("Tab", "next input"),)
PARTS = ("drawing", "gauges", "figures", "remarks", "cautions", "because", "parts")
HEADINGS = {
    "gauges": "Margins",
    "figures": "Figures",
    "because": "Because",
    "remarks": "Remarks",
    "parts": "Part by part",
}
Declared = Calculation | DesignSheet


def register(desk: Desk) -> None:
    """Add the pages of the design bench."""

    @ui.page("/bench")
    def bench() -> None:
        _draw(desk, next(iter(services.SHEETS.values())), {})

    @ui.page("/bench/{name}")
    def bench_of(name: str, given: str = "") -> None:
        if name not in services.CALCULATIONS:
            not_there(desk, f"No calculation is named {name}.")
            return
        _draw(desk, services.CALCULATIONS[name], read_given(given))

    @ui.page("/design/{name}")
    def design_of(name: str, given: str = "") -> None:
        if name not in services.SHEETS:
            not_there(desk, f"No whole design is named {name}.")
            return
        _draw(desk, services.SHEETS[name], read_given(given))


def read_given(given: str) -> dict[str, str]:
    """Inputs carried in the address, as JSON; anything else is left aside."""
    try:
        values = json.loads(given) if given else {}
    except ValueError:
        return {}
    return {str(k): str(v) for k, v in values.items()} if isinstance(values, dict) else {}


def bench_address(calculation: Calculation, design: object) -> str:
    """The address of the bench with a product's own design written in."""
    values = {}
    for field in calculation.fields:
        written = written_text(field, getattr(design, field.name))
        if written:
            values[field.name] = written
    return f"/bench/{calculation.name}?given={quote(json.dumps(values, ensure_ascii=False))}"


def written_text(field: Field, value: object) -> str:
    """A typed value as a person would write it, unit and all; empty where there is none."""
    written = write_value(field, value)
    if written is None or written == "":
        return ""
    return f"{written} {field.unit}" if field.unit and field.kind in ("quantity", "whole") else str(written)


def command_line(declared: Declared, given: Mapping[str, str]) -> str:
    """The command that works the same thing out, quoted for a POSIX shell.

    >>> from naptuft.services import find_calculation
    >>> command_line(find_calculation("brush"), {"width": "2 1/2 in"})
    "naptuft work out brush width='2 1/2 in'"
    """
    pairs = [f"{name}={shlex.quote(value)}" for name, value in given.items() if value.strip()]
    words = ["design"] if isinstance(declared, DesignSheet) else ["work", "out"]
    return " ".join(["naptuft", *words, declared.name, *pairs])


@dataclass(frozen=True)
class Answer:
    """What a bench shows: the result, its drawings, and the whole design where it is one."""

    result: Result
    views: tuple[View, ...]
    design: WholeDesign | None = None


class Bench:
    """One visitor's work on one calculation or one whole design."""

    def __init__(self, declared: Declared, given: Mapping[str, str]):
        self.declared = declared
        self.given = {field.name: given.get(field.name, "") for field in declared.fields}
        if not any(self.given.values()):
            self.given |= declared.example()
        self.turn = 0
        self.held: Result | None = None
        self.shown: Answer | None = None
        self.entries: dict[str, Entry] = {}
        self.faults: dict[str, ui.html] = {}
        self.parts: dict[str, ui.html] = {}

    def written(self) -> dict[str, str]:
        """The inputs that are not empty."""
        return {name: value for name, value in self.given.items() if value.strip()}

    def answer(self) -> Answer:
        """Work everything out. Raises DesignError."""
        if isinstance(self.declared, DesignSheet):
            design = self.declared.answer(self.written())
            return Answer(design.result, design.views, design)
        result = self.declared.answer(self.written())
        if self.declared.draw is None:
            return Answer(result, ())
        record, _ = self.declared.read(self.written())
        return Answer(result, (View("", self.declared.draw(record, result)),))

    async def write(self, name: str, value: str | None) -> None:
        """Take in one value and work everything out anew."""
        self.given[name] = value or ""
        self.turn += 1
        turn = self.turn
        try:
            answer = await run_in_threadpool(self.answer)
        except NaptuftError as error:
            if turn == self.turn:
                self.show_faults(error.faults)
        else:
            if turn == self.turn:
                self.show(answer)

    def show(self, answer: Answer) -> None:
        """Draw an answer."""
        self.shown = answer
        self.show_faults(())
        content = result_html(answer.result, self.declared.fields, answer.views)
        if self.held is not None:
            content["figures"] = beside_html(self.held, answer.result)
        content["parts"] = "" if answer.design is None else parts_html(answer.design)
        for name in PARTS:
            heading = f"<h2>{HEADINGS[name]}</h2>" if content[name] and name in HEADINGS else ""
            self.parts[name].set_content(f"{heading}{content[name]}")
        self.parts["verdict"].set_content(verdict(answer.result))
        self.parts["matters"].set_content("")
        self.parts["command"].set_content(escape(command_line(self.declared, self.given)))
        if isinstance(self.declared, DesignSheet):
            self.parts["paper"].set_content(paper_links(self.declared, self.written()))

    def hold(self) -> None:
        """Keep the present figures, to stand beside what comes next; pressed again, let them go."""
        if self.shown is None:
            return
        self.held = None if self.held is not None else self.shown.result
        self.show(self.shown)

    async def weigh(self) -> None:
        """Show which input each figure follows."""
        turn = self.turn
        try:
            found = await run_in_threadpool(services.what_matters, self.declared, self.written())
        except NaptuftError as error:
            self.show_faults(error.faults)
            return
        if turn == self.turn and self.shown is not None:
            self.parts["matters"].set_content(matters_html(found, self.declared.fields, self.shown.result))

    def show_faults(self, faults: tuple[Fault, ...]) -> None:
        """Write each fault beside its input; what belongs to none stands above the result."""
        by_input: dict[str, list[Fault]] = {}
        loose = []
        for fault in faults:
            owner = self._owner(fault.place)
            if owner is None:
                loose.append(fault)
            else:
                by_input.setdefault(owner, []).append(fault)
        for name, line in self.faults.items():
            mine = by_input.get(name, [])
            line.set_content("<br>".join(_fault_words(fault) for fault in mine))
            self.entries[name].show_faulty(bool(mine))
        if not faults:
            self.parts["trouble"].set_content("")
            return
        items = [f"<li>{escape(fault.place)}: {_fault_words(fault)}</li>" for fault in loose]
        if by_input:
            labels = ", ".join(escape(field.label) for field in self.declared.fields if field.name in by_input)
            items.append(f"<li>to be mended: {labels}</li>")
        self.parts["trouble"].set_content(
            f'<ul class="wrong">{"".join(items)}</ul>'
            '<p class="aside">What stands below is of the last inputs that were sound.</p>'
        )

    def _owner(self, place: str) -> str | None:
        """The input a fault belongs to: its place begins with the input's label or name."""
        folded = place.casefold()
        owners = [
            field.name
            for field in self.declared.fields
            if folded.startswith((field.label.casefold(), field.name.casefold()))
        ]
        return max(owners, key=len, default=None)


def _fault_words(fault: Fault) -> str:
    mend = escape(fault.mend)
    found = "" if fault.value in ("", None) or str(fault.value) in fault.mend else f"{escape(str(fault.value))}: "
    return f"{found}{mend}. Allowed: {escape(fault.allowed)}."


def verdict(result: Result) -> str:
    """One line that says whether every check passes and which one is closest."""
    limiting = result.limiting
    if limiting is None:
        return ""
    if result.passed:
        return (
            f'<span class="right">{mark("right")}every check passes</span>, '
            f"closest {escape(limiting.label)} with {limiting.margin * 100:.0f}{THIN}% to spare"
        )
    count = sum(not check.passed for check in result.checks)
    return (
        f'<span class="wrong">{mark("wrong")}{count} of {len(result.checks)} checks fail</span>, '
        f"worst {escape(limiting.label)}"
    )


def paper_links(sheet: DesignSheet, given: Mapping[str, str]) -> str:
    """Where the paper and the data of a design are."""
    query = quote(json.dumps(given, ensure_ascii=False))
    return "".join(
        f'<a href="/desk/design/{escape(sheet.name)}.{ending}?given={query}" data-mark="design-{ending}">{words}</a> '
        for ending, words in (("pdf", "print this design (PDF)"), ("json", "its data (JSON)"))
    )


def _draw(desk: Desk, declared: Declared, given: Mapping[str, str]) -> None:
    bench = Bench(declared, given)
    with (
        sheet(desk, 2, name="Design bench", scale="on the drawing", keys=KEYS, notes=NOTES, whole=True),
        ui.element("div").classes("bench"),
    ):
        markup(_contents(declared), "bench-index", "nav").props["aria-label"] = "designs and calculations"
        with ui.element("form").classes("bench-form").on("submit", js_handler="(event) => event.preventDefault()"):
            markup(f'<h2>{escape(declared.title)}</h2><p class="about">{escape(declared.about)}</p>')
            if isinstance(declared, Calculation):
                named(markup(_designed_so(desk, declared)), "designed-so")
            for field in declared.fields:
                _input(bench, field)
        with ui.element("div").classes("bench-answer"):
            for part in ("verdict", "trouble"):
                bench.parts[part] = named(markup("", f"part {part}"), part)
            with ui.element("div").classes("part presses"):
                hold = press("hold these figures beside", "hold", kind="word-press")
                hold.on("click", lambda _: _hold(bench, hold))
                press("what matters most", "weigh", bench.weigh, kind="word-press")
                bench.parts["paper"] = named(markup("", "paper-links", "span"), "paper-links")
            bench.parts["matters"] = named(markup("", "part matters"), "matters")
            for part in PARTS:
                bench.parts[part] = named(markup("", f"part {part}"), part)
            with ui.element("div").classes("part command"):
                markup("<h2>The same on the command line</h2>")
                bench.parts["command"] = named(markup("", "mono command-line"), "command")
                bench.parts["command"].props["id"] = "command-line"
                copy = press("copy", "copy-command", kind="word-press")
                copy.props["data-copy"] = "command-line"
                copy.props["data-what"] = "the command"
    try:
        bench.show(bench.answer())
    except DesignError as error:
        bench.parts["command"].set_content(escape(command_line(declared, bench.given)))
        bench.show_faults(error.faults)


def _hold(bench: Bench, button: ui.element) -> None:
    bench.hold()
    words = "hold these figures beside" if bench.held is None else "let the held figures go"
    button.clear()
    with button:
        markup(escape(words), tag="span")


def _designed_so(desk: Desk, calculation: Calculation) -> str:
    """Links to the products of the book that are designed by this calculation."""
    book = desk.book
    if book is None:
        return ""
    links = [
        f'<a href="{product_address(product.code)}">{escape(product.code)}</a>'
        for product in book.products
        if product.code in book.designs and DESIGN_OF.get(product.line) is calculation
    ]
    if calculation.name == "bristle-blend":
        return _fillings(book)
    if not links:
        return ""
    summary = "1 product of the book" if len(links) == 1 else f"{len(links)} products of the book"
    return f'<details class="designed"><summary>{summary}</summary>{", ".join(links)}</details>'


def _fillings(book: Book) -> str:
    """Links that fill the form with a filling of the book and the lots in stock today."""
    links = [
        f'<a href="{blend_address(book, product.code)}">{escape(product.code)}</a>'
        for product in book.products
        if product.line == "filling" and product.code in book.designs
    ]
    if not links:
        return ""
    return f'<details class="designed" open><summary>from the lots in stock</summary>{", ".join(links)}</details>'


def blend_address(book: Book, filling: str) -> str:
    """The bench with a filling of the book and its lots in stock written in."""
    return f"/bench/bristle-blend?given={quote(json.dumps(services.blend_today(book, filling), ensure_ascii=False))}"


def product_address(code: str) -> str:
    """Where a product's design sheet is."""
    return f"/product/{quote(code, safe='')}"


def _contents(present: Declared) -> str:
    def link(declared: Declared, path: str, mark: str) -> str:
        here = ' aria-current="page"' if declared is present else ""
        title = escape(declared.title)
        words = f"<b>{title}</b>" if isinstance(declared, DesignSheet) else title
        return f'<li><a href="/{path}/{escape(declared.name)}" data-mark="{mark}-{escape(declared.name)}"{here}>{words}</a></li>'

    parts = []
    for line in LINES:
        items = "".join(link(each, "design", "whole") for each in services.SHEETS.values() if each.line == line)
        items += "".join(
            link(each, "bench", "calculation") for each in services.CALCULATIONS.values() if each.line == line
        )
        if items:
            parts.append(f"<h3>{line}</h3><ul>{items}</ul>")
    return "".join(parts)


def _input(bench: Bench, field: Field) -> None:
    with ui.element("div").classes("input-row"):
        needed = "" if field.required else ' <span class="aside">optional</span>'
        markup(f"{escape(field.label)}{needed}", "input-label", "label")
        if field.kind == "rows":
            _rows_input(bench, field)
        else:
            choices = field.choices if field.kind == "choice" else ("yes", "no") if field.kind == "yes" else ()
            value = bench.given[field.name] or (_default_text(field) if choices else "")
            bench.entries[field.name] = Entry(
                field.label,
                value,
                f"input-{field.name}",
                lambda event, name=field.name: bench.write(name, event.value),
                unit=unit_sign(field.unit),
                choices=choices,
                placeholder=_default_text(field),
            )
        bench.faults[field.name] = named(markup("", "fault wrong"), f"fault-{field.name}")
        markup(" · ".join(words for words in (escape(field.help), escape(bounds_words(field))) if words), "aside help")


def bounds_words(field: Field) -> str:
    """The range of a number in few words; empty where there is none.

    >>> bounds_words(Field("width", "width", "quantity", "", unit="mm", low=4, high=250))
    '4 to 250 mm'
    """
    if field.kind not in ("quantity", "whole", "money"):
        return ""
    unit = f" {unit_sign(field.unit)}" if unit_sign(field.unit) else ""
    low = None if field.low is None else show_number(field.low, 6)
    high = None if field.high is None else show_number(field.high, 6)
    if low is None:
        return f"at most {high}{unit}" if high else ""
    if high is None:
        return f"{'above' if field.above else 'at least'} {low}{unit}"
    return f"above {low}, to {high}{unit}" if field.above else f"{low} to {high}{unit}"


def _default_text(field: Field) -> str:
    """What is taken when the input is left empty."""
    if field.required:
        return ""
    if field.default is None:
        return "derived"
    written = written_text(field, field.default)
    return written.removesuffix(field.unit) + unit_sign(field.unit) if field.unit else written


def _rows_input(bench: Bench, field: Field) -> None:
    """A small table: one entry a cell; the whole is kept as text with cells parted by | and rows by ;."""
    hidden = Entry(field.label, bench.given[field.name], f"input-{field.name}", lambda _: None)
    hidden.set_visibility(False)
    bench.entries[field.name] = hidden
    width = len(field.columns)
    cells = [
        [cell.strip() for cell in row.split("|")] + [""] * width
        for row in bench.given[field.name].split(";")
        if row.strip()
    ] or [[""] * width]
    table = [row[:width] for row in cells]

    async def keep() -> None:
        written = "; ".join(" | ".join(row) for row in table if any(cell.strip() for cell in row))
        await bench.write(field.name, written)

    @ui.refreshable
    def draw() -> None:
        with ui.element("table").classes("rows-input"):
            markup(
                "<tr>"
                + "".join(
                    f'<th scope="col">{escape(column.label)} <span class="unit">{escape(unit_sign(column.unit))}</span></th>'
                    for column in field.columns
                )
                + "<th></th></tr>",
                tag="thead",
            )
            with ui.element("tbody"):
                for at, row in enumerate(table):
                    with ui.element("tr"):
                        for across, column in enumerate(field.columns):
                            with ui.element("td"):
                                Entry(
                                    f"{column.label}, row {at + 1}",
                                    row[across],
                                    f"input-{field.name}-{at + 1}-{column.name}",
                                    lambda event, at=at, across=across: change(at, across, event.value),
                                    choices=column.choices,
                                )
                        with ui.element("td"):
                            press(
                                "remove",
                                f"remove-{field.name}-{at + 1}",
                                lambda _, at=at: remove(at),
                                kind="word-press",
                            )
        press("add a row", f"add-{field.name}", lambda _: add(), kind="word-press")

    async def change(at: int, across: int, value: str | None) -> None:
        table[at][across] = (value or "").replace("|", "/").replace(";", ",")
        await keep()

    async def remove(at: int) -> None:
        del table[at]
        if not table:
            table.append([""] * width)
        draw.refresh()
        await keep()

    async def add() -> None:
        table.append(list(table[-1]))
        draw.refresh()
        await keep()

    with ui.element("div").classes("rows-frame"):
        draw()
