"""A book as a folder of CSV files, one a sheet."""

from __future__ import annotations

import csv
import datetime
import io
import os
import re
from pathlib import Path
from typing import Any

from naptuft.book.entry import Grid
from naptuft.book.files.layout import Page
from naptuft.book.files.limits import KINDS, MOST_BYTES, MOST_ROWS, too_many_bytes, too_many_rows
from naptuft.errors import Fault, FileError

_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_BOUNDARIES = (",", ";", "\t")


def write_folder(pages: tuple[Page, ...], path: Path) -> None:
    """Write each page as `<sheet>.csv`: UTF-8, a comma between cells."""
    path.mkdir(parents=True, exist_ok=True)
    for page in pages:
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\r\n")
        writer.writerow(page.headings)
        writer.writerow(page.help)
        writer.writerows([_written(cell) for cell in row] for row in page.rows)
        target = path / f"{page.sheet.name}.csv"
        draft = target.with_suffix(".csv.draft")
        draft.write_bytes(text.getvalue().encode("utf-8-sig"))
        os.replace(draft, target)


def _written(cell: Any) -> str:
    """A cell as CSV text. A text that a spreadsheet would run as a formula gets an apostrophe before it."""
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(sep=" ", timespec="seconds" if cell.second else "minutes")
    if isinstance(cell, str) and _FORMULA.match(cell):
        return f"'{cell}"
    return cell if isinstance(cell, str) else repr(cell) if isinstance(cell, float) else str(cell)


def read_folder(path: Path) -> dict[str, Grid]:
    """The raw cells of every CSV file in a folder, by file name. Raises FileError with all that cannot be read."""
    files = sorted(
        file for file in path.iterdir() if file.suffix.lower() == ".csv" and not file.name.startswith((".", "~"))
    )
    if not files:
        mend = "give the folder that holds Settings.csv, Products.csv and the others, or a workbook"
        raise FileError(Fault(str(path), "no CSV files in it", KINDS, mend))
    grids: dict[str, Grid] = {}
    faults: list[Fault] = []
    for file in files:
        try:
            grids[file.stem] = _read_file(file)
        except FileError as error:
            faults += error.faults
    if faults:
        raise FileError(*faults)
    return grids


def _read_file(file: Path) -> Grid:
    size = file.stat().st_size
    if size > MOST_BYTES:
        raise too_many_bytes(str(file), size)
    raw = file.read_bytes()
    utf16 = raw.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = raw.decode("utf-16" if utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        mend = "save it again as 'CSV UTF-8'"
        raise FileError(
            Fault(f"{file}, line {line}", raw[error.start : error.start + 1], "text in UTF-8", mend)
        ) from None
    if "\0" in text:
        raise FileError(Fault(str(file), "a zero byte", "text in UTF-8", "save it again as 'CSV UTF-8'"))
    first = text.split("\n", 1)[0]
    between = max(_BOUNDARIES, key=first.count)
    rows: list[tuple[int, tuple[object, ...]]] = []
    try:
        for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True), 1):
            if any(cell.strip() for cell in cells):
                rows.append((number, tuple(_read(cell) for cell in cells)))
            if number > MOST_ROWS + 2:
                raise too_many_rows(str(file))
    except csv.Error as error:
        raise FileError(
            Fault(f"{file}, after row {len(rows)}", str(error), "cells as CSV has them", "correct the quotation marks")
        ) from None
    return Grid(file.stem, tuple(rows))


def _read(cell: str) -> str | None:
    if cell.startswith("'") and _FORMULA.match(cell):
        cell = cell[1:]
    return cell or None
