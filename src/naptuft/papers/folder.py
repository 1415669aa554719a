"""The output folder of a plan: every file made first, then moved into place, so that none is half written."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from naptuft.book.model import Book
from naptuft.errors import Fault, FileError
from naptuft.papers.blending import blends
from naptuft.papers.cutting import cut_lists
from naptuft.papers.ordering import orders
from naptuft.papers.press import printed
from naptuft.papers.setting import settings
from naptuft.papers.summary import summary_markdown
from naptuft.papers.traveller import travellers
from naptuft.papers.workbook import workbook
from naptuft.planning.material_plan import material_plan
from naptuft.planning.plan import Plan
from naptuft.planning.plan_json import plan_text

Progress = Callable[[str, float], None]

PAPERS = ("orders", "travellers", "settings", "cut_lists", "blends")
UNTAGGED = ("travellers", "settings")
"""Long papers, printed without the mark-up for screen readers, which makes them four times as large."""

FILES = ("plan.json", "plan.xlsx", "summary.md", *(f"papers/{name}.pdf" for name in PAPERS))
"""Every file a plan's folder may hold, the plan itself first."""


def paper(name: str, book: Book, plan: Plan) -> bytes | None:
    """One paper as PDF; None when the plan has nothing to put on it.

    name  a word of `PAPERS`
    """
    data = {
        "orders": lambda: orders(plan),
        "travellers": lambda: travellers(book, plan),
        "settings": lambda: settings(book, plan),
        "cut_lists": lambda: cut_lists(book, plan),
        "blends": lambda: blends(book, plan),
    }[name]()
    return printed(name, data, tags=name not in UNTAGGED) if data["parts"] else None


def traveller_paper(book: Book, plan: Plan, number: str) -> bytes | None:
    """The traveller of one work order as PDF; None when the plan has no such work order."""
    data = travellers(book, plan, [number])
    return printed("travellers", data) if data["parts"] else None


def write_papers(book: Book, plan: Plan, folder: Path, progress: Progress | None = None) -> tuple[Path, ...]:
    """Print every paper of a plan into a folder and return the files written.

    A paper with nothing on it is not printed, and one left from an earlier plan is removed.
    progress  told what is being printed, and what share is done
    Raises FileError when the folder cannot be written; nothing in it is changed then.
    """
    made: dict[str, bytes] = {}
    for place, name in enumerate(PAPERS):
        _tell(progress, f"printing {name.replace('_', ' ')}", place / len(PAPERS))
        pdf = paper(name, book, plan)
        if pdf is not None:
            made[f"{name}.pdf"] = pdf
    _tell(progress, "papers printed", 1.0)
    return put_files(folder, made, tuple(f"{name}.pdf" for name in PAPERS))


def write_all(book: Book, plan: Plan, folder: Path, progress: Progress | None = None) -> tuple[Path, ...]:
    """Write plan.json, plan.xlsx, summary.md and the papers of a plan into a folder; all of them or none.

    Other files in the folder are left alone. Returns the files written.
    progress  told what is being made, and what share is done
    Raises FileError when the folder cannot be written.
    """
    made: dict[str, bytes] = {}
    makers: dict[str, Callable[[], bytes | None]] = {
        "plan.json": lambda: plan_text(plan).encode(),
        "plan.xlsx": lambda: workbook(plan, material_plan(book, plan)),
        "summary.md": lambda: summary_markdown(plan).encode(),
        **{f"papers/{name}.pdf": (lambda name=name: paper(name, book, plan)) for name in PAPERS},
    }
    for place, (name, make) in enumerate(makers.items()):
        _tell(progress, f"making {name}", place / len(makers))
        content = make()
        if content is not None:
            made[name] = content
    _tell(progress, "written", 1.0)
    return put_files(folder, made, FILES)


def _tell(progress: Progress | None, what: str, share: float) -> None:
    if progress is not None:
        progress(what, share)


def put_files(folder: Path, made: Mapping[str, bytes], known: tuple[str, ...]) -> tuple[Path, ...]:
    """Write all files beside the folder, then move each into it; remove known files that were not made."""
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise FileError(_unwritable(folder, error)) from error
    try:
        for name, content in made.items():
            _file(beside / "new" / name).write_bytes(content)
        _exchange(folder, beside, made, known)
    except OSError as error:
        raise FileError(_unwritable(folder, error)) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return tuple(folder / name for name in known if name in made)


def _exchange(folder: Path, beside: Path, made: Mapping[str, bytes], known: tuple[str, ...]) -> None:
    """Move the old files out and the new ones in; on any failure put everything back and raise OSError."""
    undo: list[tuple[Path, Path]] = []
    try:
        for name in reversed(known):
            target, new, old = folder / name, beside / "new" / name, _file(beside / "old" / name)
            if target.exists():
                os.replace(target, old)
                undo.append((old, target))
            if name in made:
                os.replace(new, _file(target))
                undo.append((target, new))
    except OSError:
        for moved, back in reversed(undo):
            os.replace(moved, back)
        raise


def _file(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


def _unwritable(folder: Path, error: OSError) -> Fault:
    return Fault(
        "output folder",
        str(folder),
        "a folder that can be written",
        f"{error.strerror or error}; close its files or name another folder",
    )
