"""Books on disk: an xlsx workbook, or a folder of CSV files. Only this package reads or writes either.

In both, the first column is headed `#`: a row with anything written there (help, example, or a remark of
the user's own) is set aside and not read. Columns whose heading begins with `#`, and sheets whose name
does, are the user's own and are not read either.
"""

from __future__ import annotations

from pathlib import Path

from naptuft.book.check import check
from naptuft.book.entry import Grid, read_grids
from naptuft.book.files.cells import read_workbook
from naptuft.book.files.folder import read_folder, write_folder
from naptuft.book.files.layout import blank_pages, book_pages
from naptuft.book.files.limits import KINDS
from naptuft.book.files.workbook import write_workbook
from naptuft.book.model import Book
from naptuft.errors import BookError, Fault, FileError


def read_rows(path: Path | str) -> dict[str, Grid]:
    """The raw cells of every sheet, by sheet name.

    path  a workbook (.xlsx, .xlsm) or a folder of CSV files
    Raises FileError for anything that cannot be read as one.
    """
    path = Path(path)
    try:
        if path.is_dir():
            return read_folder(path)
        if not path.exists():
            raise FileError(Fault(str(path), "nothing there", KINDS, "correct the path"))
        if not path.is_file():
            raise FileError(Fault(str(path), "no ordinary file", KINDS, "give the path of a workbook"))
        return read_workbook(path)
    except FileError:
        raise
    except OSError as error:
        mend = "close it where it is open, and see that it may be read"
        raise FileError(Fault(str(error.filename or path), error.strerror or str(error), KINDS, mend)) from None


def check_book(path: Path | str) -> tuple[Fault, ...]:
    """Every fault of a book on disk, found in one pass: sheets, headings, cells, and how they fit together.

    Raises FileError for anything that cannot be read as a book.
    """
    reading = read_grids(read_rows(path))
    return (*reading.faults, *check(reading))


def read_book(path: Path | str) -> Book:
    """The book in a workbook or a folder of CSV files.

    Raises BookError with every fault found in one pass, FileError for anything that cannot be read as a book.
    """
    reading = read_grids(read_rows(path))
    faults = (*reading.faults, *check(reading))
    if faults or reading.book is None:
        raise BookError(*faults)
    return reading.book


def write_book(book: Book, path: Path | str) -> None:
    """Write a book: a workbook where the path ends in .xlsx, else a folder of CSV files.

    The same book gives the same bytes. Raises FileError when it cannot be written.
    """
    _write(book_pages(book), Path(path))


def write_blank(path: Path | str) -> None:
    """Write a blank book: headings with units, help under each, drop-down lists and one worked row a sheet.

    The worked row carries `example` in its first column and is not read; clear that cell to use the row.
    Raises FileError when it cannot be written.
    """
    _write(blank_pages(), Path(path))


def _write(pages, path: Path) -> None:
    workbook = path.suffix.lower() == ".xlsx"
    if not workbook and path.suffix and not path.is_dir():
        mend = "end its name in .xlsx, or give a name without an ending for a folder of CSV files"
        raise FileError(Fault(str(path), path.suffix, KINDS, mend))
    if workbook and path.is_dir():
        raise FileError(Fault(str(path), "a folder", KINDS, "choose another name for the workbook"))
    if not workbook and path.is_file():
        raise FileError(Fault(str(path), "a file", KINDS, "end its name in .xlsx, or name a folder"))
    try:
        (write_workbook if workbook else write_folder)(pages, path)
    except OSError as error:
        if isinstance(error, FileError):
            raise
        mend = "close it where it is open, and see that the folder is there and may be written to"
        raise FileError(
            Fault(str(path), error.strerror or str(error), "a place that can be written to", mend)
        ) from None
