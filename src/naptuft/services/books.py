"""Books: read, check, write a blank one, write the demo."""

from __future__ import annotations

from pathlib import Path

from naptuft.book import files
from naptuft.book.model import Book
from naptuft.errors import BookError, Fault, FileError


def read_book(path: Path) -> Book:
    """The book in a workbook or a folder of CSV files. Raises BookError or FileError with every fault."""
    return files.read_book(path)


def check_book(path: Path) -> tuple[Fault, ...]:
    """Every fault of a book, in one pass; empty when it is sound."""
    try:
        files.read_book(path)
    except (BookError, FileError) as error:
        return error.faults
    return ()


def write_book(book: Book, path: Path) -> None:
    """A book as a workbook or, where the path has no .xlsx ending, a folder of CSV files."""
    files.write_book(book, path)


def write_blank_book(path: Path) -> None:
    """A blank workbook with headings, help, units, drop-down lists and one worked row a sheet."""
    files.write_blank(path)


def demo_book() -> Book:
    """The book of the invented Quillbeck plant."""
    from naptuft.book import demo

    return files.read_book(demo.demo_folder())


def write_demo_book(path: Path) -> None:
    """The Quillbeck book as a workbook or, where the path has no .xlsx ending, a folder of CSV files."""
    files.write_book(demo_book(), path)
