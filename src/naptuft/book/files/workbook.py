"""A book written as an xlsx workbook."""

from __future__ import annotations

import datetime
import os
import tempfile
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from naptuft.book.entry import column_letters
from naptuft.book.files.layout import EXAMPLE, HELP, Page
from naptuft.book.sheets import GUIDE, MARK, SETTINGS
from naptuft.calculation import Field
from naptuft.drawing import ACCENT, INK, PALE, PAPER
from naptuft.errors import Fault, FileError

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

_WRITTEN_ON = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
_LISTED_ROWS = 5000
_LISTS = f"{MARK} lists"
_CELL_LENGTH = 32_767
_FORMATS = {
    "text": "@",
    "choice": "@",
    "clock": "@",
    "date": "yyyy-mm-dd",
    "moment": "yyyy-mm-dd hh:mm",
    "money": "0.00##",
}

_GUIDE = (
    "Fill in the sheets from left to right; each says under its headings what to write.",
    "A number without a unit is in the unit of its heading, [mm]; a unit written in the cell wins: 2 1/2 in.",
    "Change the unit in a heading, [mm] to [in], and the whole column is read in it.",
    "The first column is yours: a row with anything written there (help, example, a remark) is not read.",
    "The row marked example shows a filled row. Clear its first cell to use it, or delete the row.",
    "A column whose heading begins with #, and a sheet whose name begins with #, is your own and is not read.",
    "Dates are written 2026-12-04, moments 2026-12-04 14:00, times of day 06:00.",
    "A small table in one cell has | between its columns and ; between its rows: 190 mm | 300; 240 mm | 120.",
    "Save, then let naptuft check the book: it names every fault with its sheet, row and column.",
)


def write_workbook(pages: tuple[Page, ...], path: Path) -> None:
    """Write the pages to a workbook, a guide before them. Raises FileError for what a cell cannot hold."""
    import xlsxwriter

    handle, draft = tempfile.mkstemp(suffix=".draft", dir=path.parent)
    os.close(handle)
    try:
        workbook = xlsxwriter.Workbook(draft, {"strings_to_formulas": False, "strings_to_urls": False})
        workbook.set_properties({"created": _WRITTEN_ON, "title": "naptuft book"})
        _Writer(workbook, pages).write()
        workbook.close()
        Path(draft).chmod(0o644)
        os.replace(draft, path)
    finally:
        Path(draft).unlink(missing_ok=True)


class _Writer:
    def __init__(self, workbook: Workbook, pages: tuple[Page, ...]):
        self.workbook = workbook
        self.pages = pages
        self.lists: list[tuple[str, ...]] = []
        face = {"font_name": "Arial", "font_size": 10, "font_color": INK, "valign": "top"}
        self.face = face
        self.heading = workbook.add_format(
            {**face, "bold": True, "bg_color": INK, "font_color": PAPER, "text_wrap": True}
        )
        self.help = workbook.add_format({**face, "font_size": 8, "italic": True, "font_color": PALE, "text_wrap": True})
        self.wrapped = workbook.add_format({**face, "text_wrap": True})
        self.title = workbook.add_format({**face, "bold": True, "font_size": 14})
        self.plain: dict[tuple[str, bool], Format] = {}

    def cell_format(self, number: str, example: bool) -> Format:
        key = (number, example)
        if key not in self.plain:
            marked = {"italic": True, "font_color": ACCENT} if example else {}
            self.plain[key] = self.workbook.add_format({**self.face, "num_format": number, **marked})
        return self.plain[key]

    def write(self) -> None:
        self._write_guide()
        for page in self.pages:
            self._write_page(page)
        if self.lists:
            sheet = self.workbook.add_worksheet(_LISTS)
            sheet.hide()
            for column, words in enumerate(self.lists):
                for row, word in enumerate(words):
                    sheet.write_string(row, column, word)

    def _write_guide(self) -> None:
        sheet = self.workbook.add_worksheet(GUIDE)
        sheet.hide_gridlines(2)
        sheet.set_column(0, 0, 24)
        sheet.set_column(1, 1, 100)
        sheet.write_string(0, 0, "How to fill in this book", self.title)
        for row, line in enumerate(_GUIDE, 2):
            sheet.write_string(row, 1, line, self.wrapped)
        for row, page in enumerate(self.pages, 3 + len(_GUIDE)):
            sheet.write_url(row, 0, f"internal:'{page.sheet.name}'!A1", self.cell_format("@", True), page.sheet.name)
            sheet.write_string(row, 1, page.sheet.about, self.wrapped)

    def _write_page(self, page: Page) -> None:
        sheet = self.workbook.add_worksheet(page.sheet.name)
        widths = [_width(page, column) for column in range(len(page.headings))]
        settings = page.sheet.name == SETTINGS
        for column, (title, help_text, field) in enumerate(zip(page.headings, page.help, page.fields, strict=True)):
            sheet.set_column(column, column, widths[column], self.cell_format(_number_format(field), False))
            sheet.write_string(0, column, title, self.heading)
            sheet.write_string(1, column, help_text, self.help)
            if field is not None:
                self._offer_choices(sheet, page, column, field)
        lines = [ceil(len(text) * 0.95 / width) for text, width in zip(page.help, widths, strict=True)]
        sheet.set_row(1, 11.5 * max(lines) + 4)
        sheet.freeze_panes(2, 2)
        for row, cells in enumerate(page.rows, 2):
            example = cells[0] in (EXAMPLE, HELP)
            for column, cell in enumerate(cells):
                number = "General" if settings else _number_format(page.fields[column])
                self._write_cell(sheet, page, row, column, cell, number, example or (settings and column > 2))

    def _write_cell(
        self, sheet: Worksheet, page: Page, row: int, column: int, cell: Any, number: str, example: bool
    ) -> None:
        if cell is None:
            return
        if isinstance(cell, datetime.date) and cell.year >= 1900:
            moment = cell if isinstance(cell, datetime.datetime) else datetime.datetime.combine(cell, datetime.time())
            style = _FORMATS["moment" if isinstance(cell, datetime.datetime) else "date"]
            sheet.write_datetime(
                row, column, moment, self.cell_format(f"{style}:ss" if moment.second else style, example)
            )
        elif isinstance(cell, datetime.date):
            sheet.write_string(row, column, cell.isoformat(), self.cell_format("@", example))
        elif isinstance(cell, str):
            if len(cell) > _CELL_LENGTH:
                place = f"{page.sheet.name}, row {row + 1}, column {column_letters(column)}"
                mend = "shorten the text, or write the book as a folder of CSV files"
                raise FileError(Fault(place, f"{len(cell)} characters", f"at most {_CELL_LENGTH} in a cell", mend))
            sheet.write_string(row, column, cell, self.cell_format("@", example))
        else:
            sheet.write_number(row, column, cell, self.cell_format(number, example))

    def _offer_choices(self, sheet: Worksheet, page: Page, column: int, field: Field) -> None:
        targets = page.sheet.refers.get(field.name, ())
        choices = ("yes", "no") if field.kind == "yes" else field.choices
        source: Any = None
        if choices and len(",".join(choices)) <= 255 and not any("," in word for word in choices):
            source = list(choices)
        elif choices:
            self.lists.append(choices)
            letters = column_letters(len(self.lists) - 1)
            source = f"='{_LISTS}'!${letters}$1:${letters}${len(choices)}"
        elif len(targets) == 1:
            name, key = targets[0]
            there = next(other for other in self.pages if other.sheet.name == name)
            letters = column_letters(next(at for at, f in enumerate(there.fields) if f is not None and f.name == key))
            source = f"='{name}'!${letters}$3:${letters}${_LISTED_ROWS}"
        if source is None:
            return
        rules = {
            "validate": "list",
            "source": source,
            "error_type": "warning",
            "error_title": field.label[:32],
            "error_message": f"Write {field.allowed}."[:255]
            if choices
            else f"Not a code on the sheet {targets[0][0]}.",
        }
        sheet.data_validation(2, column, _LISTED_ROWS - 1, column, rules)


def _number_format(field: Field | None) -> str:
    if field is None:
        return "General"
    if field.unit == "%":
        return 'General" %"'
    return _FORMATS.get(field.kind, "General")


def _width(page: Page, column: int) -> float:
    if column == 0:
        return 9
    longest = max((len(str(row[column])) for row in page.rows[:500] if row[column] is not None), default=0)
    if page.sheet.name == SETTINGS:
        return (0, 30, 24, 70, 24)[column]
    return min(44, max(14, len(page.headings[column]) + 2, longest + 2, len(page.help[column]) / 7))
