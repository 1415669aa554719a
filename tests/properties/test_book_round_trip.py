"""Reading then writing a book loses nothing, whatever is in it, in a workbook and in CSV files."""

from __future__ import annotations

import datetime
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from brush_and_roller_book import sound_book
from naptuft.book.entry import read_grids, reading_of
from naptuft.book.files import check_book, read_rows, write_book
from naptuft.book.model import Book
from naptuft.book.sheets import SHEETS, Sheet, cell_of
from naptuft.brush.blend import FillingTarget, LengthAsked
from naptuft.calculation import Field, choice, fields_of, quantity, read_value, rows, text
from naptuft.errors import DesignError
from naptuft.plant.spread import NEEDED
from naptuft.quantity import Measure, to_si

TEXT = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=30)
UNITS = st.sampled_from(["", "", "kg", "g", "m", "m2", "lb", "l", "pcs", "ft", "kg/m3"])
FIGURES = {"least", "likely", "most", "mean", "variation", "shape"}
PLAIN = [sheet for sheet in SHEETS if not sheet.line and sheet.name != "Settings"]


def values_of(field: Field) -> st.SearchStrategy[Any]:
    """Every value a field may hold after it was read."""
    low = -1e6 if field.low is None else field.low
    high = 1e6 if field.high is None else field.high
    match field.kind:
        case "quantity":
            return st.floats(low, high, exclude_min=field.above).map(lambda value: to_si(value, field.unit))
        case "whole":
            return st.integers(int(low), int(high))
        case "measure":
            return st.builds(Measure, st.floats(1e-9, 1e12), UNITS)
        case "money":
            return st.decimals(0, 10**9, places=4) | st.decimals(0, 1, places=20)
        case "choice":
            return st.sampled_from(field.choices)
        case "yes":
            return st.booleans()
        case "date":
            return st.dates(datetime.date(1950, 1, 1), datetime.date(2199, 12, 31))
        case "moment":
            return st.datetimes(datetime.datetime(1950, 1, 1), datetime.datetime(2199, 12, 31)).map(
                lambda moment: moment.replace(microsecond=0)
            )
        case "clock":
            return st.integers(0, 1440)
        case _:
            return TEXT.map(str.strip).filter(bool)


def spreads_of(declared: type) -> st.SearchStrategy[Any]:
    """Any record with a spread in it: each form with the figures it needs, a yield within 20 and 100 %."""
    fields = {field.name: field for field in fields_of(declared)}
    named = {name: values_of(fields[name]) for name in fields.keys() - {"form", "of"} - FIGURES}
    figures = {name: values_of(fields[name]) for name in FIGURES}
    of = {"of": st.just("time")} if "of" in fields else {}
    in_order = st.lists(figures["most"], min_size=3, max_size=3).map(sorted)
    within = st.lists(st.floats(20, 100).map(lambda value: to_si(value, "%")), min_size=3, max_size=3).map(sorted)
    kinds = [
        st.builds(declared, form=st.just(form), **named, **of, **{name: figures[name] for name in NEEDED[form]})
        for form in ("lognormal", "Weibull")
    ]
    kinds += [
        st.tuples(st.fixed_dictionaries(named), three).map(
            lambda drawn, of=of: declared(
                form="triangular", **drawn[0], **of, **dict(zip(NEEDED["triangular"], drawn[1], strict=True))
            )
        )
        for of, three in [({"of": "time"} if of else {}, in_order)] + ([({"of": "yield"}, within)] if of else [])
    ]
    return st.one_of(kinds)


def records_of(declared: type) -> st.SearchStrategy[Any]:
    """Any record of a declared kind."""
    if {field.name for field in fields_of(declared)} >= FIGURES:
        return spreads_of(declared)
    return st.builds(
        declared,
        **{
            field.name: values_of(field) | st.just(field.default) if not field.required else values_of(field)
            for field in fields_of(declared)
        },
    )


def books() -> st.SearchStrategy[Book]:
    """Any book without designs; its records need not fit together."""
    return st.builds(
        Book,
        settings=records_of(SHEETS[0].record),
        **{sheet.holds: st.lists(records_of(sheet.record), max_size=2).map(tuple) for sheet in PLAIN},
    )


def read_back(book: Book, name: str) -> Book | None:
    """The book after writing and reading it, without asking how its records fit together."""
    with tempfile.TemporaryDirectory() as folder:
        write_book(book, Path(folder) / name)
        reading = read_grids(read_rows(Path(folder) / name))
        assert not reading.faults, reading.faults
        return reading.book


@pytest.mark.parametrize("name", ["book.xlsx", "folder"])
@given(book=books())
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_any_book_reads_back_the_same(name: str, book: Book):
    assert read_back(book, name) == book


@pytest.mark.parametrize("name", ["book.xlsx", "folder"])
@given(cuts=st.lists(st.floats(11, 290), min_size=1, max_size=6, unique=True), tolerance=st.floats(0, 50))
@settings(max_examples=15, deadline=None)
def test_a_table_in_a_cell_reads_back_the_same(name: str, cuts: list[float], tolerance: float):
    try:
        share, near = to_si(100 / len(cuts), "%"), to_si(tolerance, "%")
        profile = tuple(LengthAsked(length=to_si(cut, "mm"), share=share, tolerance=near) for cut in cuts)
        target = FillingTarget(profile=profile)
    except DesignError:
        assume(False)
        raise
    book = sound_book()
    book = Book(**{**vars_of(book), "designs": {**book.designs, "F-WALL": target}})
    assert read_back(book, name) == book


def vars_of(book: Book) -> dict[str, Any]:
    """The fields a book was made from."""
    return {name: getattr(book, name) for name in Book.__dataclass_fields__}


def test_a_table_whose_texts_hold_the_marks_between_cells_reads_back_the_same():
    @dataclass(frozen=True)
    class Layer:
        name: str = text("what it is", example="felt")
        side: str = choice(("in", "out"), "which side", default="in")
        thickness: float | None = quantity("mm", "how thick", default=None, example="2 mm")

    @dataclass(frozen=True)
    class Stack:
        layers: tuple[Layer, ...] = rows(Layer, "the layers", example="felt | in | 2 mm")

    (field,) = fields_of(Stack)
    for name in ("a|b", "a;b", "[a", "plain", "two\nlines", 'a"b'):
        layers = (Layer(name=name, thickness=1 / 3), Layer(name="x", side="out"))
        assert read_value(field, cell_of(field, layers), "layers") == (layers, [])


@given(st.sampled_from(PLAIN), st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_whatever_is_written_in_a_cell_is_read_or_named_never_a_crash(sheet: Sheet, data: st.DataObject):
    field = data.draw(st.sampled_from(sheet.columns))
    cell = data.draw(
        st.text(max_size=40).filter(lambda text: "\0" not in text and "\r" not in text)
        | st.from_regex(r"[-+]?[0-9]{1,3}([.,/ ][0-9]{1,3})? ?[a-z\"'°%*/()]{0,6}[0-9]?", fullmatch=True)
        | st.sampled_from(["1e999", "1e400 kg", "12 (kg", "0/0", "1/0", "9" * 400, "NaN", "inf", "24:61", "\ud800"])
    )
    assume("\ud800" not in cell)
    with tempfile.TemporaryDirectory() as folder:
        write_book(sound_book(), Path(folder) / "book")
        file = Path(folder) / "book" / f"{sheet.name}.csv"
        lines = file.read_text("utf-8-sig").splitlines()
        cells = [""] * (1 + len(sheet.columns))
        cells[1 + sheet.columns.index(field)] = '"' + cell.replace('"', '""') + '"'
        file.write_text("\n".join([lines[0], ",".join(cells)]), "utf-8")
        faults = check_book(Path(folder) / "book")
    assert all(fault.place and fault.allowed and fault.mend for fault in faults)


def test_the_reading_of_a_book_in_memory_is_that_of_its_file():
    with tempfile.TemporaryDirectory() as folder:
        write_book(sound_book(), Path(folder) / "book.xlsx")
        read = read_grids(read_rows(Path(folder) / "book.xlsx"))
    held = reading_of(sound_book())
    for sheet in SHEETS[1:]:
        assert [(row.place("code"), row.record) for row in read[sheet.name]] == [
            (row.place("code"), row.record) for row in held[sheet.name]
        ]
