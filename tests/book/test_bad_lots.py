"""Bad lots of bristle planted in the demo book: each is refused at its place, with what is allowed and the mend."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.errors import BookError, Fault


def planted(folder: Path, sheet: str, old: str, new: str) -> tuple[Fault, ...]:
    """The faults of the demo book with one piece of one sheet written otherwise."""
    shutil.copytree(demo_folder(), folder)
    file = folder / f"{sheet}.csv"
    before = file.read_bytes().decode("utf-8")
    assert before.count(old) == 1
    file.write_bytes(before.replace(old, new).encode("utf-8"))
    with pytest.raises(BookError) as caught:
        read_book(folder)
    return caught.value.faults


def line_of(sheet: str, start: str) -> str:
    lines = (demo_folder() / f"{sheet}.csv").read_text(encoding="utf-8").splitlines()
    return next(line for line in lines if line.startswith(start))


LOT = ",L-2015,BR-B64,43 kg,2026-10-10,,free,,Copsewell Bristle,43.97,165,11.3,5.4,77"


@pytest.mark.parametrize(
    ("old", "new", "column", "value", "allowed", "mend"),
    [
        (",165,11.3,", ",1650,11.3,", "diameter", "1650 µm", "30 to 600 µm", "check its unit"),
        (",165,11.3,", ",,11.3,", "diameter", "", "a diameter", "measure it"),
        (",165,11.3,", ",165,41,", "moisture", "41.0%", "at most 26%", "dry the lot"),
        (",165,11.3,", ",165,65,", "moisture", "65", "at most 60 %", "lower it"),
        (",11.3,5.4,", ",11.3,-5,", "curl", "-5", "at least 0 %", "raise it"),
        (",43 kg,", ",43 mm,", "quantity", "43 mm", "a mass", ""),
    ],
)
def test_a_lot_with_an_impossible_figure_is_refused(tmp_path, old, new, column, value, allowed, mend):
    assert line_of("Lots", ",L-2015,") == LOT
    faults = planted(tmp_path / "book", "Lots", LOT, LOT.replace(old, new))
    assert len(faults) == 1
    (fault,) = faults
    assert fault.place.startswith("Lots, row ")
    assert fault.place.endswith(column)
    assert str(fault.value).startswith(value)
    assert allowed in fault.allowed
    assert mend in fault.mend


def test_a_lot_that_was_never_measured_is_refused(tmp_path):
    text = (demo_folder() / "Lot lengths.csv").read_text(encoding="utf-8")
    bars = "".join(line + "\n" for line in text.splitlines() if line.startswith(",L-2015,"))
    end = "\r\n" if "\r\n" in (demo_folder() / "Lot lengths.csv").read_bytes().decode("utf-8") else "\n"
    (fault,) = planted(tmp_path / "book", "Lot lengths", bars.replace("\n", end), "")
    assert fault.place.startswith("Lots, row ")
    assert fault.value == "L-2015"
    assert "length profile" in fault.allowed
    assert "Lot lengths" in fault.mend


def test_a_length_class_told_twice_is_refused(tmp_path):
    bars = [
        line
        for line in (demo_folder() / "Lot lengths.csv").read_text(encoding="utf-8").splitlines()
        if line.startswith(",L-2015,")
    ]
    first, second = bars[0], bars[1]
    again = ",".join([*second.split(",")[:2], first.split(",")[2], *second.split(",")[3:]])
    (fault,) = planted(tmp_path / "book", "Lot lengths", second, again)
    assert fault.place.startswith("Lot lengths, row ")
    assert fault.value == "L-2015, 70"
    assert "each lot and length once" in fault.allowed
    assert "correct one" in fault.mend


def test_shares_that_do_not_add_up_are_refused(tmp_path):
    bar = line_of("Lot lengths", ",L-2015,")
    head, share = bar.rsplit(",", 1)
    (fault,) = planted(tmp_path / "book", "Lot lengths", bar, f"{head},{float(share) - 5:g}")
    assert "add up to 100 %" in fault.allowed
    assert "L-2015" in fault.allowed
    assert fault.value == "95 %"


def test_a_bad_lot_on_hold_is_let_be(tmp_path):
    folder = tmp_path / "book"
    shutil.copytree(demo_folder(), folder)
    file = folder / "Lots.csv"
    held = LOT.replace(",free,", ",held,").replace(",165,11.3,", ",1650,41,")
    file.write_bytes(file.read_bytes().decode("utf-8").replace(LOT, held).encode("utf-8"))
    assert read_book(folder).lot["L-2015"].state == "held"
