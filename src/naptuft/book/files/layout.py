"""What stands where on each sheet, the same for the workbook and the folder of CSV files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from naptuft.book.entry import reading_of
from naptuft.book.model import Book
from naptuft.book.sheets import MARK, SETTINGS, SETTINGS_HEADINGS, SHEETS, Sheet, cell_of, explanation, heading
from naptuft.calculation import Field, read_value

HELP = "help"
EXAMPLE = "example"


@dataclass(frozen=True)
class Page:
    """One sheet ready to write.

    headings  the first row, the mark column included
    help      the second row: what to write under each heading
    rows      everything below, the mark column included
    fields    the field under each heading; None for the mark column and those of the settings
    """

    sheet: Sheet
    headings: tuple[str, ...]
    help: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    fields: tuple[Field | None, ...]


def book_pages(book: Book) -> tuple[Page, ...]:
    """Every sheet of a book, filled."""
    reading = reading_of(book)
    return tuple(
        _settings_page(sheet, reading[sheet.name][0].values)
        if sheet.name == SETTINGS
        else _page(
            sheet,
            [
                (None, *(cell_of(field, row.values[field.name]) for field in sheet.columns))
                for row in reading[sheet.name]
            ],
        )
        for sheet in SHEETS
    )


def blank_pages() -> tuple[Page, ...]:
    """Every sheet of a blank book, with its worked row."""
    return tuple(
        _settings_page(sheet, {field.name: field.default for field in sheet.columns})
        if sheet.name == SETTINGS
        else _page(sheet, [(EXAMPLE, *(_worked(field) for field in sheet.columns))])
        for sheet in SHEETS
    )


def _page(sheet: Sheet, rows: list[tuple[Any, ...]]) -> Page:
    return Page(
        sheet,
        (MARK, *(heading(field) for field in sheet.columns)),
        (HELP, *(explanation(field) for field in sheet.columns)),
        tuple(rows),
        (None, *sheet.columns),
    )


def _settings_page(sheet: Sheet, values: Mapping[str, Any]) -> Page:
    rows = tuple(
        (None, heading(field), cell_of(field, values[field.name]), explanation(field), field.example or None)
        for field in sheet.columns
    )
    about = ("a line each; leave the names as they are", "write here", "what it means", "as it may look")
    return Page(sheet, (MARK, *SETTINGS_HEADINGS), (HELP, *about), rows, (None,) * (1 + len(SETTINGS_HEADINGS)))


def _worked(field: Field) -> Any:
    """The field's example as a cell; its default where it has none."""
    if not field.example:
        return cell_of(field, field.default)
    value, faults = read_value(field, field.example, field.label)
    assert not faults, faults
    return cell_of(field, value)
