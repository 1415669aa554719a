"""A book with planted faults is answered with all of them at once, each at its place, and nothing else."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from brush_and_roller_book import sound_book
from naptuft.book.files import check_book, read_book, write_book
from naptuft.errors import BookError


class Workbook:
    """A book as a person edits it in a spreadsheet: by sheet, row and heading."""

    def __init__(self, path: Path):
        self.path = path
        self.sheets = openpyxl.load_workbook(path)

    def column(self, sheet: str, heading: str) -> int:
        titles = [cell.value for cell in self.sheets[sheet][1]]
        return titles.index(heading) + 1

    def write(self, sheet: str, row: int, heading: str, value: Any) -> None:
        self.sheets[sheet].cell(row, self.column(sheet, heading)).value = value

    def save(self) -> None:
        self.sheets.save(self.path)


@pytest.fixture
def workbook(tmp_path: Path) -> Workbook:
    write_book(sound_book(), tmp_path / "book.xlsx")
    return Workbook(tmp_path / "book.xlsx")


PLANTED = (
    ("Settings", 6, "value", "Europe/Londn", "Settings, row 6, zone", "Europe/London"),
    ("Shifts", 4, "closes", "06:00", "Shifts, row 4, closes", "two"),
    ("Closures", 3, "calendar", "nights", "Closures, row 3, calendar", "add it there"),
    ("Closures", 4, "end", "2026-12-03 05:00", "Closures, row 4, end", "correct"),
    ("Work centres", 4, "crew", "HAND", "Work centres, row 4, crew", "did you mean HANDS?"),
    ("Machines", 5, "calendar", "dya", "Machines, row 5, calendar", "did you mean day?"),
    ("Racks", 3, "capacity [pcs]", "many", "Racks, row 3, capacity", "12"),
    ("Materials", 3, "kind", "brisle", "Materials, row 3, kind", "did you mean bristle?"),
    ("Materials", 6, "price per unit", "9,2x", "Materials, row 6, price per unit", "12.50"),
    ("Lots", 3, "quantity", "60 m", "Lots, row 3, quantity", "kg"),
    ("Lots", 4, "material", "br-76", "Lots, row 4, material", "did you mean BR-76?"),
    ("Lots", 5, "expires", "2026-09-30", "Lots, row 5, expires", "dates"),
    ("Lot lengths", 4, "share [%]", 30, "Lot lengths, row 3, share", "rows 3, 4"),
    ("Products", 3, "gtin", "6291041500218", "Products, row 3, gtin", "copy"),
    ("Parts", 3, "from design", "fill_wait", "Parts, row 3, from design", "did you mean fill_weight?"),
    ("Parts", 5, "quantity", None, "Parts, row 5, quantity", "one of the two"),
    ("Routes", 7, "time each [s]", "6 mm", "Routes, row 7, time each", "a length"),
    ("Routes", 10, "product", "R-420", "Routes, row 10, product", "did you mean R-240?"),
    ("Orders", 3, "due", "soon", "Orders, row 3, due", "2026-12-11 14:00"),
    ("Orders", 4, "quantity [pcs]", 0, "Orders, row 4, quantity", "raise"),
)


def test_twenty_planted_faults_are_all_named_with_place_value_and_mend(workbook: Workbook):
    for sheet, row, heading, value, _, _ in PLANTED:
        workbook.write(sheet, row, heading, value)
    workbook.save()
    with pytest.raises(BookError) as caught:
        read_book(workbook.path)
    found = {fault.place: fault for fault in caught.value.faults}
    assert sorted(found) == sorted(place for *_, place, _ in PLANTED)
    assert len(caught.value.faults) == len(PLANTED)
    for *_, place, word in PLANTED:
        assert word in found[place].mend, found[place]
        assert found[place].allowed
    assert found["Parts, row 3, from design"].value == "fill_wait"


@pytest.mark.parametrize("fault", PLANTED, ids=[fault[4] for fault in PLANTED])
def test_each_planted_fault_alone_is_told_once(workbook: Workbook, fault: tuple[Any, ...]):
    sheet, row, heading, value, place, _ = fault
    workbook.write(sheet, row, heading, value)
    workbook.save()
    assert [found.place for found in check_book(workbook.path)] == [place]


def test_a_loop_of_parts_is_named_as_its_chain(workbook: Workbook):
    workbook.write("Parts", 8, "part", "X-DUO")
    workbook.write("Parts", 8, "from design", None)
    workbook.write("Parts", 8, "quantity", 1)
    workbook.save()
    (fault,) = [fault for fault in check_book(workbook.path) if ">" in str(fault.value)]
    assert fault.place.startswith("Parts, row ")
    assert str(fault.value) == "B-WALL100 > F-WALL > X-DUO > B-WALL100"


def test_a_code_written_twice_names_the_row_that_has_it(workbook: Workbook):
    workbook.write("Materials", 6, "code", "BR-70")
    workbook.save()
    twice = [fault for fault in check_book(workbook.path) if fault.place == "Materials, row 6, code"]
    assert [fault.value for fault in twice] == ["BR-70"]
    assert "row 3 has it" in twice[0].allowed


def test_a_design_that_cannot_be_worked_out_is_a_fault_on_its_row(workbook: Workbook):
    workbook.write("Filling designs", 3, "profile", "76 mm | 40 % | 5 %; 70 mm | 40 % | 5 %")
    workbook.save()
    (fault,) = check_book(workbook.path)
    assert fault.place == "Filling designs, row 3, profile"
    assert "100 %" in fault.allowed


def test_a_design_on_the_sheet_of_another_line_is_sent_to_the_right_one(workbook: Workbook):
    workbook.write("Ferrule designs", 3, "product", "H-WALL")
    workbook.save()
    faults = {fault.place: fault for fault in check_book(workbook.path)}
    assert "Handle designs" in faults["Ferrule designs, row 3, product"].mend
    assert "Ferrule designs" in faults["Products, row 5, code"].mend


def test_products_without_route_parts_or_design_are_each_named(workbook: Workbook):
    for column, value in (("code", "B-NEW"), ("name", "new brush"), ("line", "brush"), ("unit", "pcs")):
        workbook.write("Products", 10, column, value)
    workbook.save()
    faults = check_book(workbook.path)
    assert {fault.place for fault in faults} == {"Products, row 10, code"}
    assert len(faults) == 3
    assert {sheet for sheet in ("Brush designs", "Parts", "Routes") for fault in faults if sheet in fault.mend} == {
        "Brush designs",
        "Parts",
        "Routes",
    }


def test_a_batch_larger_than_all_its_racks_is_a_fault(workbook: Workbook):
    workbook.write("Racks", 3, "capacity [pcs]", 8)
    workbook.save()
    (fault,) = check_book(workbook.path)
    assert fault.place == "Routes, row 6, per rack"
    assert "205" in fault.allowed, "200 good ones at 2 % scrap"
    assert "192" in fault.allowed


@pytest.mark.parametrize(
    ("sheet", "row", "heading", "value", "place"),
    [
        ("Routes", 6, "rack", None, "Routes, row 6, rack"),
        ("Routes", 6, "per rack", None, "Routes, row 6, per rack"),
        ("Routes", 6, "most wait [min]", 60, "Routes, row 6, most wait"),
        ("Routes", 5, "from design", "blank_length", "Routes, row 5, from design"),
        ("Routes", 5, "from design", "part_mass", "Routes, row 5, from design"),
        ("Routes", 3, "stage", "cut", "Routes, row 3, stage"),
        ("Routes", 9, "stage", None, "Parts, row 13, part"),
        ("Parts", 14, "from design", "cut list", "Parts, row 14, from design"),
        ("Parts", 13, "from design", "blend", "Parts, row 13, from design"),
        ("Parts", 12, "from design", "strip_mass", "Parts, row 12, from design"),
        ("Parts", 3, "quantity", "80 g", "Parts, row 3, from design"),
        ("Products", 3, "least batch", 1000, "Products, row 3, least batch"),
        ("Products", 3, "most batch", "300 kg", "Products, row 3, most batch"),
        ("Products", 3, "most batch", 900.5, "Products, row 3, most batch"),
        ("Products", 4, "unit", "pcs", "Products, row 4, unit"),
        ("Materials", 5, "safety stock", "3 m", "Materials, row 5, safety stock"),
        ("Lots", 3, "diameter [µm]", None, "Lots, row 3, diameter"),
        ("Orders", 3, "product", "F-WALL", "Orders, row 3, product"),
        ("Settings", 5, "value", "Euro", "Settings, row 5, currency"),
        ("Settings", 22, "value", "700 mm", "Settings, row 22, end trim"),
        ("Work centres", 3, "people", 9, "Work centres, row 3, people"),
        ("Machines", 3, "work centre", "BOX", "Work centres, row 3, code"),
        ("Orders", 4, "order", "S-1001", "Orders, row 4, line"),
        ("Lots", 3, "code", "BR-70", "Lots, row 3, code"),
    ],
)
def test_what_does_not_fit_together_is_named_at_its_place(
    workbook: Workbook, sheet: str, row: int, heading: str, value: Any, place: str
):
    workbook.write(sheet, row, heading, value)
    if (sheet, heading) == ("Parts", "from design") and value != "fill_weight":
        workbook.write("Parts", row, "quantity", None)
    workbook.save()
    assert place in [fault.place for fault in check_book(workbook.path)]


def test_a_refill_longer_than_its_stock_tube_is_a_fault(workbook: Workbook):
    workbook.write("Refill designs", 3, "length [mm]", "300 mm")
    workbook.write("Stock tube designs", 3, "tube length [mm]", "310 mm")
    workbook.save()
    assert "Parts, row 13, part" in [fault.place for fault in check_book(workbook.path)]


def test_a_lot_that_fillings_are_blended_from_must_be_measured(workbook: Workbook):
    workbook.write("Lot lengths", 5, "lot", "L-1")
    workbook.save()
    assert "Lots, row 4, code" in [fault.place for fault in check_book(workbook.path)]
    workbook.write("Lots", 4, "state", "held")
    workbook.write("Lot lengths", 5, "share [%]", None)
    workbook.write("Lot lengths", 5, "length [mm]", None)
    workbook.write("Lot lengths", 5, "lot", None)
    workbook.save()
    assert check_book(workbook.path) == ()


def test_an_order_due_before_the_plan_starts_or_far_beyond_it_is_allowed(workbook: Workbook):
    workbook.write("Orders", 3, "due", "2026-01-02 08:00")
    workbook.write("Orders", 4, "due", "2029-01-02 08:00")
    workbook.save()
    assert check_book(workbook.path) == ()
