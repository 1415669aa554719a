"""The ledger: our own ruled table, with sort, filter, copy, CSV and keys that go from cell to cell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeGuard

from nicegui import ui

from naptuft.quantity import unit_sign
from naptuft.web.marks import SHAPES


@dataclass(frozen=True)
class Column:
    """One column.

    width   least width in pixels; what room is left is shared out in proportion
    kind    text; number (right-aligned); state (a mark and words); strip (a drawing along one scale)
    head    markup of the scale above the drawings
    """

    name: str
    label: str
    kind: str = "text"
    width: int = 60
    small: bool = False
    head: str = ""


@dataclass(frozen=True)
class Cell:
    """What stands in a cell: words, what to sort by, and how it looks.

    value  sorted by and exported in place of the words, where it is not None
    unit   written in pale ink after the words
    state  one of the marks, for kind state
    href   where the words lead
    drawn  markup shown in place of the words, which are still what is copied
    """

    words: str
    value: Any = None
    unit: str = ""
    state: str = ""
    href: str = ""
    below: str = ""
    drawn: str = ""

    def packed(self) -> Any:
        """As sent to the page: the bare words where nothing else is known."""
        facts = {
            key: fact
            for key, fact in (
                ("v", self.value),
                ("u", unit_sign(self.unit)),
                ("s", self.state),
                ("h", self.href),
                ("b", self.below),
                ("d", self.drawn),
            )
            if fact not in (None, "")
        }
        return {"t": self.words, **facts} if facts else self.words


def _has_state(cell: Cell | str) -> TypeGuard[Cell]:
    return isinstance(cell, Cell) and bool(cell.state)


class Ledger(ui.element, component="ledger.js"):
    """A ruled table of cells.

    file_name  of the CSV, without its ending
    on_open    called with the row's key when a row is opened by Enter or a double click
    """

    def __init__(
        self,
        caption: str,
        columns: Sequence[Column],
        rows: Sequence[tuple[str, Sequence[Cell | str]]],
        *,
        file_name: str,
        empty: str = "nothing to list",
        on_open: Callable[[str], Any] | None = None,
        wrong: frozenset[str] = frozenset(),
    ):
        super().__init__()
        self.columns, self.rows = tuple(columns), tuple(rows)
        self.props["caption"] = caption
        self.props["fileName"] = file_name
        self.props["empty"] = empty
        self.props["shapes"] = {cell.state: SHAPES[cell.state] for _, row in rows for cell in row if _has_state(cell)}
        self.props["columns"] = [
            {
                "name": c.name,
                "label": c.label,
                "kind": c.kind,
                "width": c.width,
                "small": c.small,
                "head": c.head,
            }
            for c in columns
        ]
        self.props["rows"] = [
            {"k": key, "c": [cell if isinstance(cell, str) else cell.packed() for cell in cells], "w": key in wrong}
            for key, cells in rows
        ]
        if on_open is not None:
            self.on("open", lambda event: on_open(str(event.args)))

    def show_only(self, column: str, words: str) -> None:
        """Filter one column by words; no words show all rows again."""
        self.run_method("showOnly", column, words)

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        words = [cell if isinstance(cell, str) else cell.words for _, cells in self.rows for cell in cells]
        return [*super()._displayed_contents(only_visible=only_visible), self.props["caption"], *words]
