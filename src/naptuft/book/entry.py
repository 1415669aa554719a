"""From raw cells to typed records, every fault with its sheet, row and column."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from naptuft.book.model import Book
from naptuft.book.sheets import GUIDE, MARK, SETTINGS, SETTINGS_HEADINGS, SHEET_NAMED, SHEETS, Sheet, heading
from naptuft.calculation import Field, is_blank, nearest, read_value
from naptuft.errors import DesignError, Fault, UnitError
from naptuft.quantity import parse, parse_measure, unit_sign

MOST_FAULTS = 500
"""Faults named on one sheet; what goes beyond is counted."""


@dataclass(frozen=True)
class Broken:
    """A cell that holds a spreadsheet's error instead of a value."""

    sign: str

    def __str__(self) -> str:
        return self.sign


@dataclass(frozen=True)
class Grid:
    """The raw cells of one sheet: (row number, cells) for each row that holds anything, headings first."""

    name: str
    rows: tuple[tuple[int, tuple[object, ...]], ...]


@dataclass(frozen=True)
class Row:
    """One row read.

    values  what could be read, by field name; a column with a fault is not in it
    record  the whole record; None when any of it is wrong
    lines   where each field has a row of its own (the settings), its number
    """

    sheet: Sheet
    number: int
    values: Mapping[str, Any]
    record: Any = None
    lines: Mapping[str, int] = dataclasses.field(default_factory=dict)

    def place(self, column: str = "") -> str:
        """Where a column of this row stands, in words: `Orders, row 7, due`."""
        number = self.lines.get(column, self.number)
        row = f"{self.sheet.name}, row {number}" if number else self.sheet.name
        if not column:
            return row
        label = next((found.label for found in self.sheet.columns if found.name == column), column)
        return f"{row}, {label}"


@dataclass(frozen=True)
class Reading:
    """What a book's sheets held: the rows of each sheet, which sheets were there, and what is wrong so far."""

    rows: Mapping[str, tuple[Row, ...]]
    present: frozenset[str]
    faults: tuple[Fault, ...] = ()

    def __getitem__(self, sheet: str) -> tuple[Row, ...]:
        return self.rows.get(sheet, ())

    @property
    def designs(self) -> Iterator[Row]:
        """The rows of all sheets of designs."""
        return (row for sheet in SHEETS if sheet.line for row in self[sheet.name])

    @cached_property
    def book(self) -> Book | None:
        """The book made of every record that could be read; None when the settings could not."""
        held: dict[str, Any] = {}
        designs: dict[str, Any] = {}
        for sheet in SHEETS:
            whole = [row for row in self[sheet.name] if row.record is not None]
            if sheet.line:
                designs |= {row.values["product"]: row.record for row in whole}
            elif sheet.name == SETTINGS:
                if not whole:
                    return None
                held["settings"] = whole[0].record
            else:
                held[sheet.holds] = tuple(row.record for row in whole)
        return Book(designs=designs, **held)


def read_grids(grids: Mapping[str, Grid]) -> Reading:
    """Read every sheet: the typed rows and all faults of sheet names, headings, cells and records."""
    rows: dict[str, tuple[Row, ...]] = {}
    by_name = {_plain(name): name for name in SHEET_NAMED}
    allowed = "a sheet of the book, or one whose name begins with #"
    faults = [
        Fault(f"sheet {name}", name, allowed, nearest(name, SHEET_NAMED))
        for name in grids
        if _plain(name) not in by_name and not name.startswith(MARK) and _plain(name) != _plain(GUIDE)
    ]
    found: dict[str, Grid] = {}
    for name, grid in grids.items():
        known = by_name.get(_plain(name), "")
        if known in found:
            mend = f"keep one of {found[known].name} and {name}"
            faults.append(Fault(f"sheet {name}", name, f"the sheet {known} once", mend))
        elif known:
            found[known] = grid
    for sheet in SHEETS:
        grid = found.get(sheet.name)
        if grid is None:
            if sheet.needed:
                faults.append(
                    Fault(
                        f"sheet {sheet.name}",
                        "",
                        f"every book has it: {sheet.about}",
                        "add it from a new blank book; leave it empty below the headings where there is nothing",
                    )
                )
            continue
        read, wrong = _read_settings(sheet, grid) if sheet.name == SETTINGS else _read_sheet(sheet, grid)
        rows[sheet.name] = read
        faults += wrong
    return Reading(rows, frozenset(found), tuple(faults))


def reading_of(book: Book) -> Reading:
    """The reading of a book already in memory, its rows numbered as `write_book` writes them."""
    rows: dict[str, tuple[Row, ...]] = {}
    for sheet in SHEETS:
        if sheet.line:
            lines = {product.code: product.line for product in book.products}
            held = [
                (record, {"product": code})
                for code, record in book.designs.items()
                if isinstance(record, sheet.record) and lines.get(code, sheet.line) == sheet.line
            ]
        else:
            value = getattr(book, sheet.holds)
            held = [(record, {}) for record in (value if isinstance(value, tuple) else (value,))]
        rows[sheet.name] = tuple(
            Row(sheet, number, {**extra, **vars(record)}, record) for number, (record, extra) in enumerate(held, 3)
        )
    return Reading(rows, frozenset(SHEET_NAMED))


def capped(faults: Iterable[Fault]) -> list[Fault]:
    """The first faults of each sheet, and for a sheet with more, how many more."""
    kept: list[Fault] = []
    counts: dict[str, int] = {}
    for fault in faults:
        sheet = fault.place.split(", row ")[0]
        counts[sheet] = counts.get(sheet, 0) + 1
        if counts[sheet] <= MOST_FAULTS:
            kept.append(fault)
    more = {sheet: count - MOST_FAULTS for sheet, count in counts.items() if count > MOST_FAULTS}
    mend = "mend those named, then check again"
    return kept + [Fault(sheet, f"{count} more faults", "none", mend) for sheet, count in more.items()]


def _plain(name: object) -> str:
    return " ".join(str(name).replace("_", " ").replace("-", " ").split()).casefold()


def _read_settings(sheet: Sheet, grid: Grid) -> tuple[tuple[Row, ...], list[Fault]]:
    fields = {_plain(name): field for field in sheet.columns for name in (field.name, field.label, heading(field))}
    columns = {_plain(title): at for at, title in enumerate(grid.rows[0][1]) if title is not None} if grid.rows else {}
    faults = [
        Fault(f"{sheet.name}, row 1", "", f"a column headed {title}", f"add the heading {title}")
        for title in SETTINGS_HEADINGS[:2]
        if title not in columns
    ]
    if faults:
        return (), faults
    lines: dict[str, int] = {}
    values: dict[str, Any] = {}
    for number, cells in grid.rows[1:]:
        mark, name, given = (
            cells[at] if (at := columns.get(title, len(cells))) < len(cells) else None
            for title in (MARK, *SETTINGS_HEADINGS[:2])
        )
        if not is_blank(mark) or (is_blank(name) and is_blank(given)):
            continue
        field = fields.get(_plain(name or ""))
        where = f"{sheet.name}, row {number}, {field.label if field else 'name'}"
        if field is None:
            labels = [field.label for field in sheet.columns]
            faults.append(Fault(where, name or "", "the name of a setting", nearest(str(name or ""), labels)))
        elif field.name in lines:
            once = f"written once; row {lines[field.name]} has it already"
            faults.append(Fault(where, given, once, "delete one of the two"))
        else:
            lines[field.name] = number
            faults += _take(field, given, where, "", values)
    for field in sheet.columns:
        if field.required and field.name not in lines:
            faults += _take(field, None, f"{sheet.name}, {field.label}", "", values)
    row = Row(sheet, 0, values, lines=lines)
    row, wrong = _whole(row, complete=all(f.name in values for f in sheet.columns if f.required) and not faults)
    return (row,), faults + wrong


@dataclass(frozen=True)
class _Column:
    field: Field
    position: int
    unit: str


def _read_sheet(sheet: Sheet, grid: Grid) -> tuple[tuple[Row, ...], list[Fault]]:
    if not grid.rows:
        return (), [Fault(f"{sheet.name}, row 1", "", "the headings", "copy them from a new blank book")]
    columns, mark, faults = _headings(sheet, grid)
    named = {column.field.name for column in columns}
    lacking = any(field.required and field.name not in named for field in sheet.columns)
    rows = []
    for number, cells in grid.rows[1:]:
        if mark is not None and mark < len(cells) and not is_blank(cells[mark]):
            continue
        values: dict[str, Any] = {}
        wrong: list[Fault] = []
        given = [cells[column.position] if column.position < len(cells) else None for column in columns]
        if all(is_blank(cell) for cell in given):
            continue
        for column, cell in zip(columns, given, strict=True):
            where = f"{sheet.name}, row {number}, {column.field.label}"
            wrong += _take(column.field, cell, where, column.unit, values)
        row, broken = _whole(Row(sheet, number, values), complete=not wrong and not lacking)
        faults += wrong + broken
        rows.append(row)
    return tuple(rows), capped(faults)


def _headings(sheet: Sheet, grid: Grid) -> tuple[list[_Column], int | None, list[Fault]]:
    fields = {_plain(name): field for field in sheet.columns for name in (field.name, field.label)}
    first, titles = grid.rows[0]
    width = max(len(cells) for _, cells in grid.rows)
    columns: list[_Column] = []
    mark = None
    faults: list[Fault] = []
    for at in range(width):
        title = titles[at] if at < len(titles) else None
        where = f"{sheet.name}, row {first}, column {column_letters(at)}"
        if is_blank(title):
            if any(at < len(cells) and not is_blank(cells[at]) for _, cells in grid.rows[1:]):
                mend = "write its heading, or one that begins with # for a column of your own"
                faults.append(Fault(where, "", "a heading above every column in use", mend))
            continue
        text = str(title).strip()
        if text.startswith(MARK):
            mark = at if text == MARK else mark
            continue
        label, unit = _HEADING.match(text).groups()  # pyright: ignore[reportOptionalMemberAccess]
        field = fields.get(_plain(label))
        if field is None:
            known = [field.label for field in sheet.columns]
            allowed = "a heading of this sheet, or one that begins with #"
            faults.append(Fault(where, text, allowed, nearest(_plain(label), known)))
        elif any(column.field is field for column in columns):
            faults.append(Fault(where, text, "each heading once", "delete one of the two columns"))
        else:
            columns.append(_Column(field, at, ""))
            try:
                columns[-1] = _Column(field, at, _heading_unit(field, unit, where))
            except UnitError as error:
                faults += error.faults
    named = {column.field.name for column in columns}
    for field in sheet.columns:
        if field.required and field.name not in named:
            mend = f"add it: {field.help}"
            faults.append(Fault(f"{sheet.name}, row {first}", "", f"a column headed {heading(field)}", mend))
    return columns, mark, faults


_HEADING = re.compile(r"(.*?)\s*(?:\[([^\]]*)\])?\s*$", re.DOTALL)
_PLAIN_NUMBER = re.compile(r"[\d\s.,/eE+\-−½¼¾⅛⅜⅝⅞]+")


def _heading_unit(field: Field, unit: str | None, where: str) -> str:
    """The unit a heading gives its column, empty where it is the field's own."""
    if not unit or not unit.strip() or unit.strip() in (field.unit, unit_sign(field.unit)):
        return ""
    if field.kind == "quantity" or (field.kind == "whole" and field.unit):
        parse(f"1 {unit}", field.unit, where)
        return unit.strip()
    if field.kind == "measure":
        parse_measure(f"1 {unit}", where)
        return unit.strip()
    raise UnitError(Fault(where, unit, f"no unit: {field.label} is {field.allowed}", f"write {field.label} alone"))


def _take(field: Field, given: object, where: str, unit: str, values: dict[str, Any]) -> list[Fault]:
    """Read one cell into `values`; what is wrong with it."""
    if is_blank(given):
        mend = f"give a value, such as {field.example or field.allowed}"
        return [Fault(where, "", field.allowed, mend)] if field.required else []
    if isinstance(given, Broken):
        return [Fault(where, given.sign, field.allowed, "mend the formula, or write the value itself")]
    if isinstance(given, str) and len(given) > _LONGEST.get(field.kind, 80):
        mend = f"shorten it to {_LONGEST.get(field.kind, 80)} characters"
        return [Fault(where, f"{given[:40]}…", field.allowed, mend)]
    if field.kind == "clock" and (time := _EXCEL_TIME.fullmatch(str(given))):
        given = "24:00" if time[1] else time[2]
    elif field.kind == "clock" and isinstance(given, int):
        given = float(given)
    elif unit and _PLAIN_NUMBER.fullmatch(str(given)):
        given = f"{given} {unit}"
    if field.kind == "moment" and _ZONED.search(str(given)):
        mend = "write the time as the clock in the plant shows it, without a zone"
        return [Fault(where, given, field.allowed, mend)]
    value, wrong = read_value(field, given, where)
    if not wrong and field.kind in ("date", "moment") and not _FIRST_YEAR <= value.year <= _LAST_YEAR:
        wrong = [Fault(where, str(given), f"{field.allowed}, from {_FIRST_YEAR} to {_LAST_YEAR}", "correct the year")]
    if not wrong and field.kind == "text":
        value = value.replace("\r\n", "\n").replace("\r", "\n")
        if _CONTROL.search(value):
            wrong = [Fault(where, value, "a text without control characters", "type it again")]
    if not wrong:
        values[field.name] = value
    return wrong


_LONGEST = {"text": 1000, "rows": 20_000}
_FIRST_YEAR, _LAST_YEAR = 1950, 2199
_ZONED = re.compile(r":\d\d.*(?:Z|[+-]\d\d(?::?\d\d)?)$")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_EXCEL_TIME = re.compile(r"(?:1899-12-3[01]|(1900-01-01)) (\d\d:\d\d)(?::00)?")


def _whole(row: Row, complete: bool) -> tuple[Row, list[Fault]]:
    """The row with its record, where nothing is wrong with it."""
    if not complete:
        return row, []
    given = {name: value for name, value in row.values.items() if not (row.sheet.line and name == "product")}
    try:
        record = row.sheet.record(**given)
    except DesignError as error:
        return row, [replace(fault, place=f"{row.place()}, {fault.place}") for fault in error.faults]
    return replace(row, values={**row.values, **vars(record)}, record=record), []


def column_letters(position: int) -> str:
    """A column as spreadsheets letter it, from 0.

    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
