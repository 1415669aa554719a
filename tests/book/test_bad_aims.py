"""What a book says of overtime, preferred machines and use in time: each fault at its place, all in one pass."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.errors import BookError, Fault

Row = dict[str, str]


def rewritten(folder: Path, sheet: str, change: Callable[[Row], None]) -> None:
    """Each row of a sheet of the book, below its headings and help, written as `change` leaves it."""
    file = folder / f"{sheet}.csv"
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig"))))
    for row in rows[1:]:
        change(row)
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def faults_with(folder: Path, *changes: tuple[str, Callable[[Row], None]]) -> tuple[Fault, ...]:
    shutil.copytree(demo_folder(), folder)
    for sheet, change in changes:
        rewritten(folder, sheet, change)
    with pytest.raises(BookError) as caught:
        read_book(folder)
    return caught.value.faults


def setting(key: str, value: str, column: str) -> Callable[[Row], None]:
    """A change that writes one cell of the rows that hold a key."""

    def change(row: Row) -> None:
        if key in row.values():
            row[column] = value

    return change


def only_overtime(row: Row) -> None:
    if row["calendar"] == "early shift":
        row["overtime"] = "yes"


def joined_elsewhere(row: Row) -> None:
    if (row["product"], row["step"]) == ("B-WALL100", "10"):
        row["preferred"] = "PRESS-A"


def test_every_fault_is_told_with_its_place_the_value_and_the_mend(tmp_path):
    faults = faults_with(
        tmp_path / "book",
        ("Machines", setting("MIX-1", "-5", "penalty [min]")),
        ("Routes", joined_elsewhere),
        ("Shifts", only_overtime),
        ("Products", setting("B-WALL100", "2 kg", "use within [h]")),
    )
    told = {(fault.place.split(",")[0], fault.place.rsplit(", ", 1)[1]): fault for fault in faults}
    assert told["Machines", "penalty"].value == "-5"
    assert "at least 0 min" in told["Machines", "penalty"].allowed
    assert told["Routes", "preferred"].value == "PRESS-A"
    assert "a machine of HEADS" in told["Routes", "preferred"].allowed
    assert "usual shifts" in told["Shifts", "overtime"].allowed
    assert "usual shifts" in told["Shifts", "overtime"].mend
    assert "a time" in told["Products", "use within"].allowed
    assert len(faults) == 4
    assert all(fault.mend for fault in faults)


def test_a_machine_nobody_has_cannot_be_preferred(tmp_path):
    (fault,) = faults_with(tmp_path / "book", ("Routes", setting("B-WALL100", "LINE-9", "preferred")))[:1]
    assert fault.place.endswith("preferred")
    assert fault.value == "LINE-9"


def test_a_stock_tube_cut_for_several_work_orders_cannot_be_hurried(tmp_path):
    faults = faults_with(tmp_path / "book", ("Products", setting("T-KNIT12", "24", "use within [h]")))
    assert {fault.place.split(",")[0] for fault in faults} == {"Parts"}
    assert all(fault.value == "T-KNIT12" and "joint cut list" in fault.allowed for fault in faults)
