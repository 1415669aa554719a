"""The frame all pages share: outer edge, margin index, ink frame, notes and title block."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from typing import TypeVar

from nicegui import ui

from naptuft import __version__
from naptuft.web.desk import Desk
from naptuft.web.marks import moment_words

E = TypeVar("E", bound=ui.element)

HEAD = """
<script>
(() => {
  let wanted = "system";
  try { wanted = localStorage.getItem("naptuft-paper") || wanted; } catch { }
  const dusk = matchMedia("(prefers-color-scheme: dark)").matches;
  document.documentElement.dataset.paper = wanted === "system" ? (dusk ? "dark" : "light") : wanted;
})();
</script>
<link rel="preload" href="/fonts/Barlow-Regular.ttf" as="font" type="font/ttf" crossorigin>
<link rel="preload" href="/fonts/BarlowCondensed-SemiBold.ttf" as="font" type="font/ttf" crossorigin>
<link rel="stylesheet" href="/static/sheet.css">
<script src="/static/sheet.js" defer></script>
"""


Keys = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Sheet:
    """One sheet of the set: its number in the margin, its name and where it is."""

    number: int
    name: str
    path: str


EVERYWHERE: Keys = (("1 2 3 4 5", "go to that sheet"), ("?", "show or hide these keys"))
SHEETS = (
    Sheet(1, "Order book", "/"),
    Sheet(2, "Design bench", "/bench"),
    Sheet(3, "Stock room", "/stock"),
    Sheet(4, "Blends and cuts", "/blends"),
    Sheet(5, "Week board", "/board"),
)


def named(element: E, mark: str) -> E:
    """Give a control the name by which tests, and people who script the page, find it."""
    element.mark(mark)
    element.props["data-mark"] = mark
    return element


def markup(content: str, classes: str = "", tag: str = "div") -> ui.html:
    """Markup of our own making, every value from outside already escaped."""
    return ui.html(content, sanitize=False, tag=tag).classes(classes)


def press(words: str, mark: str, on_click=None, *, kind: str = "press") -> ui.element:
    """A button: ruled, in words."""
    button = named(ui.element("button"), mark).classes(kind)
    button.props["type"] = "button"
    with button:
        ui.html(escape(words), sanitize=False, tag="span")
    if on_click is not None:
        button.on("click", on_click)
    return button


@dataclass
class Frame:
    """A drawn frame: its working area, and its title block, which can be written anew."""

    desk: Desk
    number: int
    title: str
    scale: str
    field: ui.element
    block: ui.html | None = None
    notes: ui.html | None = None

    def retitle(self, notes: str = "") -> None:
        """Write the title block, and the notes beside it, anew from what now lies on the desk."""
        if self.notes is not None:
            self.notes.set_content(notes)
        if self.block is not None:
            self.block.set_content(title_block(self.desk, self.number, self.title, self.scale))


@contextmanager
def sheet(
    desk: Desk,
    number: int,
    *,
    name: str = "",
    scale: str = "",
    keys: Keys = (),
    notes: str = "",
    whole: bool = False,
    follows: bool = False,
) -> Iterator[Frame]:
    """Draw the frame and yield it, its working area open.

    name     the sheet's name, when it is a detail of the numbered sheet
    scale    what the title block says of the scale; empty: nothing here is to scale
    keys     the keys of this sheet: pairs of keys and what they do
    notes    markup beside the title block
    whole    the content fills the working area edge to edge and scrolls by itself
    follows  the page draws itself anew when the desk changes; others say that they are out of date
    """
    present = next((item for item in SHEETS if item.number == number), None)
    title = name or (present.name if present else "No such sheet")
    ui.page_title(f"{title} · naptuft")
    with ui.element("div").classes("table-top"):
        _index(number, keys)
        with ui.element("main").classes("sheet"):
            with ui.element("div").classes("field whole" if whole else "field") as field:
                frame = Frame(desk, number, title, scale, field)
                yield frame
            with ui.element("footer").classes("foot"):
                with ui.element("div").classes("notes"):
                    with ui.element("div").classes("said") as said:
                        said.props["role"] = "status"
                        said.props["aria-live"] = "polite"
                    if notes:
                        frame.notes = markup(notes, "remarks-here")
                    if not follows:
                        _outdated_note(desk)
                frame.block = markup(title_block(desk, number, title, scale), "title-block", "dl")


def _outdated_note(desk: Desk) -> None:
    drawn = desk.version
    with ui.element("div").classes("outdated") as note:
        markup("The desk has changed since this sheet was drawn.", tag="span")
        press("Draw it anew", "draw-anew", lambda _: ui.navigate.reload(), kind="word-press")
    note.set_visibility(False)

    def look() -> None:
        if desk.version != drawn:
            note.set_visibility(True)
            timer.cancel()

    timer = ui.timer(1.0, look)


def _index(number: int, keys: Keys) -> None:
    links = ""
    for item in SHEETS:
        present = ' aria-current="page"' if item.number == number else ""
        links += (
            f'<li><a href="{item.path}" data-sheet="{item.number}" data-mark="sheet-{item.number}"{present}>'
            f"<b>{item.number}</b>{escape(item.name)}</a></li>"
        )
    papers = "".join(
        f'<button type="button" data-paper-choice="{choice}" data-mark="paper-{choice}" aria-pressed="false">'
        f"{choice}</button>"
        for choice in ("light", "dark", "system")
    )
    margin = markup(
        f'<div class="word">naptuft</div><ul>{links}</ul>'
        '<div class="below"><details class="keys" data-mark="keys"><summary>keys</summary>'
        f"<dl>{_keys_html((*keys, *EVERYWHERE))}</dl></details>"
        f'<div class="aside">paper</div><div class="paper-choice">{papers}</div></div>',
        "index",
        "nav",
    )
    margin.props["aria-label"] = "sheets"


def _keys_html(keys: Keys) -> str:
    return "".join(
        f"<dt>{' '.join(f'<kbd>{escape(key)}</kbd>' for key in pressed.split())}</dt><dd>{escape(what)}</dd>"
        for pressed, what in keys
    )


def title_block(desk: Desk, number: int, title: str, scale: str) -> str:
    """The title block, its fields after ISO 7200."""
    book, plan = desk.book, desk.plan
    plant = book.settings.plant if book else "no book on the desk"
    revision = f"{desk.book_name}, rev. {book.settings.revision}" if book else "none"
    made = moment_words(desk.plan_made) if plan else "not planned"
    if plan is None:
        checked = "nothing to check"
    elif plan.checks:
        checked = f'<span class="wrong">{len(plan.checks)} findings</span>'
    else:
        checked = "clean"
    begins = moment_words(plan.start if plan else book.start if book else None) or "none"
    cells = (
        ("plant", escape(plant)),
        ("book", escape(revision)),
        ("plan made", escape(made)),
        ("independent check", checked),
        ("starts", escape(begins)),
        ("horizon", f"{book.settings.horizon_days} days" if book else "none"),
        ("units, money", escape(f"as written, {book.settings.currency}" if book else "as written")),
        ("scale", escape(scale or "none")),
    )
    figure = f"<b>{number}</b> " if number else ""
    return (
        f'<div class="name"><dt>sheet</dt><dd><h1>{figure}{escape(title)}</h1></dd>'
        f"<dd>drawn by naptuft {escape(__version__)}</dd></div>"
        + "".join(f"<div><dt>{label}</dt><dd>{value}</dd></div>" for label, value in cells)
    )


def not_there(desk: Desk, what: str) -> None:
    """A sheet for an address that leads nowhere."""
    with sheet(desk, 0, name="No such sheet"):
        markup(
            f"<h2>There is no sheet at this address</h2><p>{escape(what)}</p>"
            "<p>Choose one from the index in the margin, or press its number.</p>",
            "blank",
        )


def not_planned(desk: Desk, number: int) -> None:
    """A sheet that waits for a plan."""
    with sheet(desk, number):
        markup(
            "<h2>Nothing is planned yet</h2><p>Drop a book in, or plan the Quillbeck demo, on the "
            '<a href="/">order book</a>.</p>',
            "blank",
        )
