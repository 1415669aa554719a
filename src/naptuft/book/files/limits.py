"""How large a book may be; a plant's book is far smaller."""

from __future__ import annotations

from naptuft.errors import Fault, FileError

MOST_ROWS = 50_000
MOST_COLUMNS = 100
MOST_BYTES = 60_000_000
MOST_UNPACKED = 250_000_000

KINDS = "an .xlsx workbook, or a folder of CSV files"


def too_many_rows(place: str) -> FileError:
    """The error for a sheet with more rows than a book may hold."""
    allowed = f"at most {MOST_ROWS:,} rows on a sheet"
    mend = "delete rows no longer needed, and empty rows below the last; split the book where it is really so large"
    return FileError(Fault(place, f"more than {MOST_ROWS:,} rows", allowed, mend))


def too_many_columns(place: str) -> FileError:
    """The error for a sheet with more columns than a book may hold."""
    allowed = f"at most {MOST_COLUMNS} columns on a sheet"
    return FileError(Fault(place, f"more than {MOST_COLUMNS} columns", allowed, "delete what stands far to the right"))


def too_many_bytes(place: str, size: int) -> FileError:
    """The error for a file larger than a book may be."""
    allowed = f"at most {MOST_BYTES // 1_000_000} million bytes"
    return FileError(Fault(place, f"{size:,} bytes", allowed, "delete what does not belong to the book"))
