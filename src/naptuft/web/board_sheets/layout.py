"""What the sheets beside the week board share: the way between them, and the strip that starts and follows work."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html import escape
from typing import Any

from nicegui import ui

from naptuft.errors import Fault
from naptuft.web.desk import Desk, Run
from naptuft.web.entry import Entry
from naptuft.web.frame import Frame, Keys, markup, named, press, sheet
from naptuft.web.marks import THIN, mark
from naptuft.web.order_book import ruled_line

SHEETS = (
    ("/board", "Board"),
    ("/board/odds", "Odds"),
    ("/board/reasons", "Reasons"),
    ("/board/changes", "Changes"),
    ("/board/promise", "Promise"),
    ("/board/materials", "Materials"),
    ("/board/capacity", "Capacity"),
    ("/board/trade", "Trade"),
)
KEYS: Keys = (("[ ]", "the sheet before, after"), ("/", "find in the table"), ("Enter", "open the row"))


def ways(present: str) -> None:
    """The words that lead from one sheet of the week board to another."""
    links = "".join(
        f'<a href="{path}" data-mark="way-{name.lower()}"{_present(path == present)}>{name}</a>'
        for path, name in SHEETS
    )
    named(markup(links, "ways", "nav"), "ways").props["aria-label"] = "sheets of the week board"


def _present(here: bool) -> str:
    return ' aria-current="page"' if here else ""


@contextmanager
def board_sheet(desk: Desk, path: str, *, notes: str = "", scale: str = "", keys: Keys = KEYS) -> Iterator[Frame]:
    """The frame of one sheet beside the board, the ways between them drawn, its working area open."""
    name = next(words for address, words in SHEETS if address == path)
    with (
        sheet(desk, 5, name=name, notes=notes, scale=scale, keys=keys, whole=True) as frame,
        ui.element("div").classes("beside-board"),
    ):
        ways(path)
        yield frame


class RunStrip:
    """Starts a piece of work, shows how far it is and its best answer so far, and stops it.

    name     of the work on the desk
    words    on the press that starts it
    begin    starts it; raises nothing
    show     draws the best answer so far; called again when there is a better one
    """

    def __init__(
        self,
        desk: Desk,
        name: str,
        words: str,
        begin: Callable[[], None],
        show: Callable[[Any], None],
        entries: Callable[[], None] = lambda: None,
    ):
        self.desk, self.name, self.show = desk, name, show
        self.seen = -1
        with ui.element("div").classes("run-strip") as self.strip:
            with ui.element("div").classes("run-asked") as self.asked:
                entries()
                press(words, "begin", lambda _: self._begin(begin), kind="press main")
            with ui.element("div").classes("run-going") as self.going:
                self.stage = named(markup("", "run-stage"), "run-stage")
                self.line = markup("", "planning-line")
                self.best = named(markup("", "run-best"), "run-best")
                press("Stop, keep the best", "stop", lambda _: self._stop(), kind="press stop")
            self.faults = named(markup("", "run-faults"), "run-faults")
        self.follow()
        ui.timer(0.25, self.follow)

    @property
    def run(self) -> Run | None:
        """The work under way or done, where it was ever begun on this plan."""
        return self.desk.runs.get(self.name)

    def _begin(self, begin: Callable[[], None]) -> None:
        self.faults.set_content("")
        begin()
        self.seen = -1
        self.follow()

    def _stop(self) -> None:
        if self.run is not None:
            self.run.stop()

    def say(self, faults: tuple[Fault, ...]) -> None:
        """List what is wrong with what was asked."""
        self.faults.set_content(faults_html(faults))

    def follow(self) -> None:
        """Draw what is new since the last look."""
        run = self.run
        under_way = run is not None and not run.over
        self.asked.set_visibility(not under_way)
        self.going.set_visibility(under_way)
        state = "under way" if under_way else "not begun" if run is None else "over"
        if self.strip.props.get("data-state") != state:
            self.strip.props["data-state"] = state
            self.strip.update()
        if run is None:
            return
        if under_way:
            words = "ending with the best so far" if run.stopping else run.stage
            self.stage.set_content(f'<b>{escape(words)}</b> <span class="aside">{run.seconds:.0f}{THIN}s</span>')
            self.line.set_content(ruled_line(run.done))
            self.best.set_content(f"best so far: {escape(run.best)}" if run.best else "no answer yet")
        if run.told != self.seen:
            self.seen = run.told
            if run.over and run.faults:
                self.say(run.faults)
            if run.answer is not None:
                self.show(run.answer)


def faults_html(faults: tuple[Fault, ...]) -> str:
    """Faults as a short list: where, what, what is allowed, the mend."""
    items = "".join(
        f'<li class="wrong">{mark("wrong")}<b>{escape(fault.place)}</b> {escape(str(fault.value))} '
        f'<span class="aside">allowed: {escape(fault.allowed)}; {escape(fault.mend)}</span></li>'
        for fault in faults
    )
    return f"<ul>{items}</ul>" if items else ""


def short_entry(label: str, value: str, name: str, on_change: Callable[[str], object], **facts: Any) -> Entry:
    """A line to write on with its label beside it, for the strip above an answer."""
    with ui.element("label").classes("short-entry"):
        markup(escape(label), "aside", "span")
        return Entry(label, value, f"ask-{name}", lambda event: on_change(str(event.value or "")), **facts)


class Views:
    """Words to choose one of several views by; each is drawn when it is first looked at."""

    def __init__(self, views: tuple[tuple[str, str, Callable[[], None]], ...], first: str = ""):
        self.choices: dict[str, ui.element] = {}
        self.holders: dict[str, ui.element] = {}
        self.draws = {name: draw for name, _, draw in views}
        with ui.element("div").classes("view-words"):
            for name, words, _ in views:
                self.choices[name] = press(
                    words, f"view-{name}", lambda _, name=name: self.choose(name), kind="view-word"
                )
        for name in self.draws:
            self.holders[name] = ui.element("div").classes("view")
        self.choose(first or views[0][0])

    def choose(self, name: str) -> None:
        """Show one view."""
        if not self.holders[name].default_slot.children:
            with self.holders[name]:
                self.draws[name]()
        for other, holder in self.holders.items():
            holder.set_visibility(other == name)
            self.choices[other].props["aria-pressed"] = "true" if other == name else "false"
            self.choices[other].update()


class Opened:
    """A ledger with the detail of one row beside it.

    detail  markup of a row's detail; "" for a key it does not know
    """

    def __init__(self, ledger: Callable[[Callable[[str], None]], ui.element], detail: Callable[[str], str], mark: str):
        self.detail = detail
        with ui.element("div").classes("ledger-sheet") as self.frame:
            with ui.element("div").classes("ledger-side"):
                self.ledger = named(ledger(self.open), mark)
            self.side = ui.element("aside").classes("ledger-detail")
            self.side.props["aria-label"] = "detail of the row opened"

    def open(self, key: str) -> None:
        """Show the detail of a row; close it where the key is unknown."""
        words = self.detail(key) if key else ""
        self.side.clear()
        self.frame.classes(add="open" if words else "", remove="" if words else "open")
        if words:
            with self.side:
                press("close", "close-detail", lambda _: self.open(""), kind="word-press close")
                named(markup(words), "detail")
