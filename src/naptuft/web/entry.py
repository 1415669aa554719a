"""One input of a form, as a ruled line to write on or a few words to choose from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui


class Entry(ui.input, component="entry.js"):
    """A line to write on, its unit beside it; with `choices`, words to choose from.

    mark  the name by which tests find it
    """

    def __init__(
        self,
        label: str,
        value: str,
        mark: str,
        on_change: Callable[[Any], Any],
        *,
        unit: str = "",
        choices: Sequence[str] = (),
        placeholder: str = "",
    ):
        super().__init__(label, value=value, on_change=on_change)
        self.mark(mark)
        self.props["mark"] = mark
        self.props["unit"] = unit
        if choices:
            self.props["choices"] = list(choices)
        if placeholder:
            self.props["placeholder"] = placeholder

    def show_faulty(self, faulty: bool) -> None:
        """Draw the line in red lead, or in ink again."""
        if bool(self.props.get("faulty")) != faulty:
            self.props["faulty"] = faulty
            self.update()
