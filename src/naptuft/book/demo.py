"""The demo book: the invented plant Quillbeck Brush & Nap, as a folder of CSV files, one a sheet."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def demo_folder() -> Path:
    """Where the Quillbeck book lies, ready for `read_book`.

    >>> (demo_folder() / "Settings.csv").is_file()
    True
    """
    return Path(str(files("naptuft.book"))) / "quillbeck"
