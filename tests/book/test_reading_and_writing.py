"""What a person writes in a cell is what the book holds, in whatever unit, type or layout they write it."""

from __future__ import annotations

import csv
import datetime
import zipfile
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from brush_and_roller_book import sound_book
from naptuft.book.check import faults_of
from naptuft.book.designs import DESIGN_OF
from naptuft.book.files import check_book, read_book, write_blank, write_book
from naptuft.book.model import LINES, Book, Part, Product
from naptuft.book.sheets import SHEETS, explanation, heading
from naptuft.errors import BookError, FileError
from naptuft.quantity import Measure

BOTH = pytest.mark.parametrize("name", ["book.xlsx", "folder"])


def edited(tmp_path: Path, changes: dict[tuple[str, str], Any], book: Book | None = None) -> Path:
    """The sound book as a workbook, with some cells changed as in a spreadsheet."""
    path = tmp_path / "book.xlsx"
    write_book(book or sound_book(), path)
    workbook = openpyxl.load_workbook(path)
    for (sheet, cell), value in changes.items():
        workbook[sheet][cell] = value
    workbook.save(path)
    return path


def column_of(sheet: str, label: str) -> str:
    """The letter of a column, the mark column counted."""
    found = next(s for s in SHEETS if s.name == sheet)
    return get_column_letter(2 + [field.label for field in found.columns].index(label))


@BOTH
def test_what_is_written_reads_back_the_same(tmp_path: Path, name: str):
    write_book(sound_book(), tmp_path / name)
    assert read_book(tmp_path / name) == sound_book()
    assert check_book(tmp_path / name) == faults_of(sound_book()) == ()


@BOTH
def test_the_same_book_is_written_to_the_same_bytes(tmp_path: Path, name: str):
    def content(path: Path) -> list[bytes]:
        return [file.read_bytes() for file in (sorted(path.iterdir()) if path.is_dir() else [path])]

    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
    write_book(sound_book(), tmp_path / "one" / name)
    write_book(read_book(tmp_path / "one" / name), tmp_path / "two" / name)
    assert content(tmp_path / "one" / name) == content(tmp_path / "two" / name)


@BOTH
def test_a_blank_book_lacks_only_what_it_must_be_given(tmp_path: Path, name: str):
    write_blank(tmp_path / name)
    with pytest.raises(BookError) as caught:
        read_book(tmp_path / name)
    assert [fault.place for fault in caught.value.faults] == [
        "Settings, row 3, plant",
        "Settings, row 7, start",
        "Products",
    ]


def test_every_sheet_of_a_blank_workbook_has_headings_with_units_help_and_a_worked_row(tmp_path: Path):
    write_blank(tmp_path / "blank.xlsx")
    workbook = openpyxl.load_workbook(tmp_path / "blank.xlsx")
    assert workbook.sheetnames == ["Guide", *(sheet.name for sheet in SHEETS), *workbook.sheetnames[1 + len(SHEETS) :]]
    assert all(name.startswith("#") for name in workbook.sheetnames[1 + len(SHEETS) :])
    for sheet in SHEETS[1:]:
        page = workbook[sheet.name]
        titles, help_row, worked = (
            [cell.value for cell in row] for row in page.iter_rows(max_row=3, max_col=1 + len(sheet.columns))
        )
        assert titles == ["#", *map(heading, sheet.columns)]
        assert help_row == ["help", *map(explanation, sheet.columns)]
        assert worked[0] == "example"
        assert all(cell is not None for cell, field in zip(worked[1:], sheet.columns, strict=True) if field.required), (
            sheet.name
        )
        assert page.freeze_panes == "C3"
        for field in sheet.columns:
            letter = column_of(sheet.name, field.label)
            lists = [rule for rule in page.data_validations.dataValidation if f"{letter}3" in rule.sqref]
            assert bool(lists) == (field.kind in ("choice", "yes") or len(sheet.refers.get(field.name, ())) == 1)


def test_the_worked_rows_of_a_blank_book_can_be_put_to_use(tmp_path: Path):
    write_blank(tmp_path / "blank.xlsx")
    workbook = openpyxl.load_workbook(tmp_path / "blank.xlsx")
    for sheet in SHEETS[1:]:
        workbook[sheet.name]["A3"] = None
    workbook["Settings"]["C3"] = "Quillbeck Brush & Nap"
    workbook["Settings"]["C7"] = datetime.datetime(2026, 11, 30, 6)
    workbook.save(tmp_path / "blank.xlsx")
    read = [fault for fault in check_book(tmp_path / "blank.xlsx") if "on the sheet" not in fault.allowed]
    assert all(", row 3, " in fault.place or fault.place == "Products" for fault in read)
    assert not [fault for fault in read if "a value" in fault.mend or "number" in fault.allowed], read


def test_every_line_with_a_design_has_a_sheet_with_headings_told_apart():
    assert {sheet.line for sheet in SHEETS if sheet.line} == set(DESIGN_OF) == set(LINES) - {"other"}
    for sheet in SHEETS:
        titles = [field.label.casefold() for field in sheet.columns]
        assert len(set(titles)) == len(titles), sheet.name
        assert len(sheet.name) <= 31, "a spreadsheet has no room for more"


@pytest.mark.parametrize(
    ("written", "length"),
    [(76.2, 0.0762), ("3 in", 0.0762), ('3"', 0.0762), ("2 1/2 in", 0.0635), ("6,35 cm", None), ("76.2", 0.0762)],
)
def test_a_unit_in_a_cell_wins_over_that_of_its_heading(tmp_path: Path, written: object, length: float | None):
    path = edited(tmp_path, {("Lot lengths", "C5"): written})
    if length is None:
        (fault,) = check_book(path)
        assert fault.place == "Lot lengths, row 5, length"
        assert "decimal point" in fault.mend
    else:
        assert read_book(path).lot_lengths[2].length == pytest.approx(length, rel=1e-15)


def test_a_heading_in_inches_makes_its_whole_column_inches(tmp_path: Path):
    path = edited(
        tmp_path,
        {
            ("Lot lengths", "C1"): "length [in]",
            ("Lot lengths", "C3"): 3,
            ("Lot lengths", "C4"): "70 mm",
            ("Lot lengths", "C5"): "2 1/2",
        },
    )
    lengths = [bar.length for bar in read_book(path).lot_lengths]
    assert lengths == [pytest.approx(0.0762), pytest.approx(0.070), pytest.approx(0.0635)]


def test_a_limit_holds_in_whatever_unit_a_value_is_written(tmp_path: Path):
    inches = {("Lot lengths", "C1"): "length [in]", ("Lot lengths", "C3"): 3, ("Lot lengths", "C5"): 3}
    path = edited(tmp_path, {**inches, ("Lot lengths", "C4"): 16})
    (fault,) = check_book(path)
    assert (fault.place, fault.value) == ("Lot lengths, row 4, length", "16 in")
    assert "at most 400 mm" in fault.allowed


@pytest.mark.parametrize(
    ("title", "word"), [("length [kg]", "a length"), ("length [inshes]", "inshes"), ("lenght [mm]", "length")]
)
def test_a_heading_with_a_wrong_unit_or_name_is_a_fault(tmp_path: Path, title: str, word: str):
    faults = check_book(edited(tmp_path, {("Lot lengths", "C1"): title}))
    assert faults[0].place == "Lot lengths, row 1, column C"
    assert word in faults[0].mend


def test_a_share_formatted_as_a_percentage_is_read_as_it_is_shown(tmp_path: Path):
    path = edited(tmp_path, {})
    workbook = openpyxl.load_workbook(path)
    for cell, shown in (("D3", 0.6), ("D4", 0.4)):
        workbook["Lot lengths"][cell] = shown
        workbook["Lot lengths"][cell].number_format = "0.0%"
    workbook.save(path)
    assert [bar.share for bar in read_book(path).lot_lengths] == [0.6, 0.4, 1.0]


def test_spreadsheet_errors_are_named_where_they_stand(tmp_path: Path):
    path = edited(tmp_path, {("Orders", "F3"): "#REF!", ("Lots", "D4"): "#N/A", ("Settings", "C13"): "#DIV/0!"})
    found = {fault.place: fault.value for fault in check_book(path)}
    assert found == {
        "Settings, row 13, group days": "#DIV/0!",
        "Lots, row 4, quantity": "#N/A",
        "Orders, row 3, quantity": "#REF!",
    }


def test_dates_and_times_may_be_text_or_real_dates(tmp_path: Path):
    letter = column_of("Orders", "due")
    changes = {
        ("Orders", f"{letter}3"): "2026-12-11 14:30",
        ("Orders", f"{letter}4"): datetime.datetime(2026, 12, 9, 7, 15),
        ("Shifts", "D3"): datetime.time(5, 30),
        ("Shifts", "E3"): "24:00",
        ("Shifts", "D4"): 0.25,
        ("Shifts", "E4"): "18:45",
    }
    path = edited(tmp_path, changes)
    workbook = openpyxl.load_workbook(path)
    workbook["Shifts"]["D4"].number_format = "General"
    workbook.save(path)
    book = read_book(path)
    assert [order.due for order in book.orders] == [
        datetime.datetime(2026, 12, 11, 14, 30),
        datetime.datetime(2026, 12, 9, 7, 15),
    ]
    assert [(shift.opens, shift.closes) for shift in book.shifts[:2]] == [(330, 1440), (360, 1125)]


def test_rows_set_aside_and_columns_of_ones_own_are_not_read(tmp_path: Path):
    path = edited(
        tmp_path, {("Orders", "A4"): "customer to confirm", ("Orders", "E4"): "NO-SUCH", ("Orders", "K1"): "# note"}
    )
    assert [order.name for order in read_book(path).orders] == ["S-1001/1"]


def test_data_under_an_empty_heading_is_a_fault(tmp_path: Path):
    (fault,) = check_book(edited(tmp_path, {("Crews", "H3"): "who is this?"}))
    assert fault.place == "Crews, row 1, column H"


def test_a_heading_may_be_written_as_the_field_is_named_or_twice_never(tmp_path: Path):
    path = edited(tmp_path, {("Machines", "C1"): "work_centre", ("Machines", "G1"): "Rate per hour"})
    assert read_book(path) == sound_book()
    faults = check_book(edited(tmp_path, {("Machines", "D1"): "code"}))
    assert [fault.place for fault in faults] == ["Machines, row 1, column D", "Machines, row 1"]
    assert "name" in faults[1].allowed


def test_a_missing_sheet_a_missing_setting_and_a_setting_twice_are_named(tmp_path: Path):
    write_book(sound_book(), tmp_path / "folder")
    (tmp_path / "folder" / "Racks.csv").unlink()
    settings = (tmp_path / "folder" / "Settings.csv").read_text("utf-8-sig").splitlines()
    kept = [line for line in settings if not line.startswith(",start")]
    (tmp_path / "folder" / "Settings.csv").write_text("\n".join([*kept, kept[2], ",moon phase,full"]))
    places = {fault.place: fault for fault in check_book(tmp_path / "folder")}
    assert set(places) == {
        "sheet Racks",
        "Settings, start",
        f"Settings, row {len(kept) + 1}, plant",
        f"Settings, row {len(kept) + 2}, name",
    }


HOSTILE = ("=1+1", "+44 20 7946", "-5 % off", "@SUM(A1)", "'=quoted", "''", "'", "\t", '=HYPERLINK("x")')


@BOTH
@pytest.mark.parametrize("text", [text for text in HOSTILE if text.strip()])
def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path, name: str, text: str):
    book = sound_book()
    book = replace(book, crews=(replace(book.crews[0], name=text),))
    write_book(book, tmp_path / name)
    assert read_book(tmp_path / name) == book
    if name == "folder":
        with (tmp_path / name / "Crews.csv").open(encoding="utf-8-sig", newline="") as file:
            cell = list(csv.reader(file))[2][2]
        assert cell[0] not in "=+-@\t\r"
    else:
        with zipfile.ZipFile(tmp_path / name) as archive:
            assert not [part for part in archive.namelist() if b"<f>" in archive.read(part)]


@BOTH
def test_codes_keep_their_leading_zeros_and_numbers_their_last_digit(tmp_path: Path, name: str):
    book = sound_book()
    lots = (
        *book.lots,
        replace(
            book.lots[2], code="0012", quantity=Measure(1 / 3, "kg"), price_per_unit=Decimal("0.1234567890123456789")
        ),
        replace(book.lots[2], code="1E5", quantity=Measure(0.1 + 0.2), supplier="=0012", diameter=0.0001 / 3),
        replace(book.lots[2], code="12345678901234567890", quantity=Measure(1e-9, "m3"), moisture=0.1234567890123),
    )
    book = replace(book, lots=(*lots[:-1], replace(lots[-1], quantity=Measure(1e-9))))
    write_book(book, tmp_path / name)
    assert read_book(tmp_path / name).lots == book.lots


def test_a_text_too_long_for_a_cell_is_refused_when_written_not_lost(tmp_path: Path):
    book = sound_book()
    book = replace(book, crews=(replace(book.crews[0], name="x" * 40_000),))
    with pytest.raises(FileError, match="Crews, row 3"):
        write_book(book, tmp_path / "book.xlsx")
    assert not list(tmp_path.iterdir())


def test_faults_without_end_are_counted_not_listed(tmp_path: Path):
    write_book(sound_book(), tmp_path / "folder")
    with (tmp_path / "folder" / "Orders.csv").open("a") as file:
        file.writelines(f",T-{row},1,Harrow Lane,X-DUO,none,never\n" for row in range(3000))
    faults = [fault for fault in check_book(tmp_path / "folder") if fault.place.startswith("Orders")]
    assert len(faults) == 501
    assert faults[-1].value == "5500 more faults"


def test_references_without_end_are_answered_too(tmp_path: Path):
    write_book(sound_book(), tmp_path / "folder")
    with (tmp_path / "folder" / "Orders.csv").open("a") as file:
        file.writelines(f",T-{row},1,Harrow Lane,X-{row},5,2026-12-11 14:00\n" for row in range(3000))
    faults = check_book(tmp_path / "folder")
    assert faults[0].place == "Orders, row 5, product"
    assert len(faults) == 501
    assert faults[-1].value == "2500 more faults"


def test_a_product_made_of_nothing_but_itself_is_a_loop(tmp_path: Path):
    book = sound_book()
    book = replace(
        book,
        products=(*book.products, Product(code="Z", name="z", line="other")),
        parts=(*book.parts, Part(product="Z", part="Z", quantity=Measure(1))),
        routes=(*book.routes, replace(book.routes[0], product="Z")),
    )
    write_book(book, tmp_path / "book.xlsx")
    assert [str(fault.value) for fault in check_book(tmp_path / "book.xlsx")] == ["Z > Z"]
    assert [str(fault.value) for fault in faults_of(book)] == ["Z > Z"]


@pytest.mark.parametrize(
    "due", ["2026-12-11T14:00+02:00", "2026-12-11 14:00Z", "0026-12-11 14:00", "11.12.2026", "2026-13-01", "46360"]
)
def test_a_date_that_cannot_be_meant_is_a_fault(tmp_path: Path, due: object):
    (fault,) = check_book(edited(tmp_path, {("Orders", column_of("Orders", "due") + "3"): due}))
    assert fault.place == "Orders, row 3, due"


def test_a_sheet_that_is_there_twice_is_a_fault(tmp_path: Path):
    write_book(sound_book(), tmp_path / "folder")
    (tmp_path / "folder" / "work-centres.csv").write_bytes((tmp_path / "folder" / "Work centres.csv").read_bytes())
    (fault,) = check_book(tmp_path / "folder")
    assert fault.mend == "keep one of Work centres and work-centres"


@pytest.mark.parametrize("name", ["book.xlsx", "book"])
@pytest.mark.parametrize("price", ["0.013669739298646667", "0.1", "0.00000012345678901234567", "1234567.8901"])
def test_a_price_keeps_every_digit(tmp_path: Path, name: str, price: str):
    book = sound_book()
    dear = replace(book.materials[0], price_per_unit=Decimal(price))
    write_book(replace(book, materials=(dear, *book.materials[1:])), tmp_path / name)
    assert read_book(tmp_path / name).materials[0].price_per_unit == Decimal(price)
