"""What a book says of pinned steps: each fault at its place, all in one pass; what is right goes out as it came in."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book, write_book
from naptuft.errors import BookError

HEADS = "order,line,product,step,machine,start\n"


def with_pins(folder: Path, *rows: str) -> Path:
    shutil.copytree(demo_folder(), folder)
    (folder / "Pins.csv").write_text(HEADS + "\n".join(rows) + "\n")
    return folder


def test_every_wrong_pin_is_told_in_one_pass(tmp_path):
    folder = with_pins(
        tmp_path / "book",
        "S-1001,9,B-OVAL50,10,LINE-1,2026-12-01 08:00",
        "S-1001,2,B-OVAL50,11,LINE-1,2026-12-01 08:00",
        "S-1001,2,R-WOV240,10,BEVEL-1,2026-12-01 08:00",
        "S-1001,2,B-OVAL50,10,WIND-1,2026-12-01 08:00",
        "S-1001,2,B-OVAL50,20,NOWHERE,2026-10-01 08:00",
    )
    with pytest.raises(BookError) as refused:
        read_book(folder)
    told = {fault.place.removeprefix("Pins, row "): fault for fault in refused.value.faults}
    columns = [place.partition(", ")[2] for place in told]
    assert columns.count("line") == columns.count("step") == columns.count("product") == columns.count("start") == 1
    assert columns.count("machine") == 2
    assert all(fault.mend for fault in told.values())


def test_pins_go_out_as_they_came_in(tmp_path):
    book = read_book(with_pins(tmp_path / "book", "S-1001,2,B-OVAL50,10,LINE-1,2026-12-01 08:00"))
    (pin,) = book.pins
    assert pin.start == datetime.datetime(2026, 12, 1, 8)
    write_book(book, tmp_path / "again.xlsx")
    assert read_book(tmp_path / "again.xlsx") == book
