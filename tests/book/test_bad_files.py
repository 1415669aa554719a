"""Whatever is given instead of a sound book gets one clear message, and never more than a moment's work."""

from __future__ import annotations

import os
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import openpyxl.styles
import pytest
import xlsxwriter

from brush_and_roller_book import sound_book
from naptuft.book.files import check_book, read_book, write_blank, write_book
from naptuft.errors import FileError

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504)


def said(path: Path) -> str:
    """The message for a file that is no book; one line, naming the file."""
    with pytest.raises(FileError) as caught:
        read_book(path)
    message = str(caught.value)
    assert str(path) in message
    assert "Traceback" not in message
    assert "\n" not in message
    return message


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("empty.xlsx", b"", "an empty file"),
        ("blank.xlsx", b"\n\n  ", "an empty file"),
        ("locked.xlsx", OLE + "EncryptedPackage".encode("utf-16-le") + bytes(500), "password"),
        ("old.xls", OLE + "Workbook".encode("utf-16-le") + bytes(500), ".xls"),
        ("paper.pdf", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "a PDF"),
        ("picture.xlsx", b"\x89PNG\r\n\x1a\n" + bytes(100), "a picture"),
        ("photo.xlsx", b"\xff\xd8\xff\xe0" + bytes(100), "a picture"),
        ("page.xlsx", b"<html><body>Orders</body></html>", "a web page"),
        ("Orders.csv", b"order,line\nS-1,1\n", "give the folder"),
        ("noise.xlsx", bytes(range(128, 256)) * 8, "something else"),
        ("half.xlsx", b"PK\x03\x04" + bytes(200), "damaged"),
    ],
)
def test_a_file_of_another_kind_is_named_for_what_it_is(tmp_path: Path, name: str, content: bytes, word: str):
    (tmp_path / name).write_bytes(content)
    assert word in said(tmp_path / name)


@pytest.mark.parametrize(
    ("part", "word"),
    [
        ("word/document.xml", "a text document"),
        ("ppt/presentation.xml", "slides"),
        ("xl/workbook.bin", ".xlsb"),
        ("content.xml", "an OpenDocument file"),
        ("notes.txt", "no workbook"),
    ],
)
def test_a_zip_of_another_kind_is_named_for_what_it_is(tmp_path: Path, part: str, word: str):
    with zipfile.ZipFile(tmp_path / "other.xlsx", "w") as archive:
        archive.writestr(part, "<x/>")
    assert word in said(tmp_path / "other.xlsx")


def test_a_workbook_cut_short_or_with_a_broken_part_is_called_damaged(tmp_path: Path):
    write_book(sound_book(), tmp_path / "sound.xlsx")
    raw = (tmp_path / "sound.xlsx").read_bytes()
    for share in (0.1, 0.5, 0.9, 0.999):
        (tmp_path / "cut.xlsx").write_bytes(raw[: int(len(raw) * share)])
        assert "damaged" in said(tmp_path / "cut.xlsx")
    for at in range(100, len(raw) // 2, len(raw) // 9):
        (tmp_path / "flipped.xlsx").write_bytes(raw[:at] + bytes([raw[at] ^ 0xFF] * 8) + raw[at + 8 :])
        assert "damaged" in said(tmp_path / "flipped.xlsx")


@pytest.mark.parametrize("ending", [b"<<&", b""])
@pytest.mark.parametrize("part", ["xl/_rels/workbook.xml.rels", "xl/worksheets/sheet3.xml", "xl/sharedStrings.xml"])
def test_a_workbook_with_a_part_cut_short_is_called_damaged_not_read_in_part(tmp_path: Path, part: str, ending: bytes):
    rewritten(tmp_path / "broken.xlsx", part, lambda content: content[: len(content) // 2] + ending)
    assert "damaged" in said(tmp_path / "broken.xlsx")


def test_a_workbook_in_an_unknown_encoding_is_called_damaged(tmp_path: Path):
    rewritten(tmp_path / "odd.xlsx", "xl/workbook.xml", lambda content: content.replace(b"UTF-8", b"UTF-88"))
    assert "damaged" in said(tmp_path / "odd.xlsx")


def rewritten(path: Path, part: str, change: Callable[[bytes], bytes]) -> None:
    """Write the sound book with each part whose name holds `part` changed, sound as a zip file."""
    write_book(sound_book(), path.with_name("sound.xlsx"))
    with (
        zipfile.ZipFile(path.with_name("sound.xlsx")) as sound,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as changed,
    ):
        for name in sound.namelist():
            content = sound.read(name)
            changed.writestr(name, change(content) if part in name else content)


def test_a_zip_that_unpacks_to_more_than_a_book_may_hold_is_not_unpacked(tmp_path: Path):
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
        with archive.open("xl/worksheets/sheet1.xml", "w") as part:
            for _ in range(300):
                part.write(bytes(1_000_000))
    assert (tmp_path / "bomb.xlsx").stat().st_size < 1_000_000
    assert "million bytes" in said(tmp_path / "bomb.xlsx")


def test_a_file_larger_than_a_book_may_be_is_not_read(tmp_path: Path):
    with (tmp_path / "huge.xlsx").open("wb") as file:
        file.write(b"PK\x03\x04")
        file.truncate(100_000_000)
    assert "million bytes" in said(tmp_path / "huge.xlsx")


def test_a_cell_in_the_farthest_corner_is_answered_with_the_limit(tmp_path: Path):
    for row, column, word in ((1_048_575, 0, "50,000 rows"), (3, 16_383, "100 columns"), (70_000, 8, "50,000 rows")):
        with xlsxwriter.Workbook(tmp_path / "far.xlsx") as workbook:
            sheet = workbook.add_worksheet("Orders")
            sheet.write_string(0, 0, "order")
            sheet.write_string(row, column, "x")
        message = said(tmp_path / "far.xlsx")
        assert word in message
        assert "sheet Orders" in message


def test_rows_that_are_only_formatted_do_not_count(tmp_path: Path):
    write_book(sound_book(), tmp_path / "sound.xlsx")
    workbook = openpyxl.load_workbook(tmp_path / "sound.xlsx")
    workbook["Orders"].cell(1_000_000, 3).font = openpyxl.styles.Font(bold=True)
    workbook.save(tmp_path / "sound.xlsx")
    assert read_book(tmp_path / "sound.xlsx") == sound_book()


def test_two_hundred_thousand_rows_are_answered_with_the_limit(tmp_path: Path):
    with xlsxwriter.Workbook(tmp_path / "long.xlsx", {"constant_memory": True}) as workbook:
        sheet = workbook.add_worksheet("Orders")
        for row in range(200_000):
            sheet.write_number(row, 0, row)
    assert "50,000 rows" in said(tmp_path / "long.xlsx")
    write_book(sound_book(), tmp_path / "folder")
    with (tmp_path / "folder" / "Orders.csv").open("a") as file:
        file.writelines(f",S-{row},1,Harrow Lane,X-DUO,5,2026-12-11 14:00\n" for row in range(200_000))
    with pytest.raises(FileError, match="50,000 rows"):
        read_book(tmp_path / "folder")


def test_a_path_with_nothing_or_a_folder_without_csv_says_so(tmp_path: Path):
    assert "nothing there" in said(tmp_path / "missing.xlsx")
    assert "no CSV files" in said(tmp_path)
    os.mkfifo(tmp_path / "pipe.xlsx")
    assert "no ordinary file" in said(tmp_path / "pipe.xlsx")


def folder_with(tmp_path: Path, name: str, content: bytes) -> Path:
    write_book(sound_book(), tmp_path / "folder")
    (tmp_path / "folder" / name).write_bytes(content)
    return tmp_path / "folder"


def test_csv_in_an_old_encoding_names_the_line_and_the_remedy(tmp_path: Path):
    folder = folder_with(tmp_path, "Crews.csv", "code,name,heads,wage per hour\nM,Möbel,2,20\n".encode("cp1252"))
    with pytest.raises(FileError, match=r"Crews.csv, line 2.*UTF-8"):
        read_book(folder)


def test_csv_with_broken_quotation_marks_names_the_place(tmp_path: Path):
    folder = folder_with(tmp_path, "Crews.csv", b'code,name,heads,wage per hour\nM,"hands"x,2,20\n')
    with pytest.raises(FileError, match="quotation marks"):
        read_book(folder)


def test_csv_with_zero_bytes_is_refused(tmp_path: Path):
    folder = folder_with(tmp_path, "Crews.csv", b"code,name\0\n")
    with pytest.raises(FileError, match="zero byte"):
        read_book(folder)


def test_csv_as_spreadsheets_save_it_elsewhere_is_read_alike(tmp_path: Path):
    write_book(sound_book(), tmp_path / "folder")
    for file in (tmp_path / "folder").iterdir():
        rows = file.read_text("utf-8-sig")
        if '"' not in rows and ";" not in rows:
            file.write_text(rows.replace(",", ";"), "utf-16" if file.stem == "Orders" else "utf-8")
    assert read_book(tmp_path / "folder") == sound_book()


def test_an_empty_sheet_file_asks_for_its_headings(tmp_path: Path):
    folder = folder_with(tmp_path, "Racks.csv", b"")
    assert "Racks, row 1" in [fault.place for fault in check_book(folder)]


def test_a_workbook_of_something_else_names_every_sheet_it_lacks(tmp_path: Path):
    with xlsxwriter.Workbook(tmp_path / "other.xlsx") as workbook:
        workbook.add_worksheet("Machine").write_string(0, 0, "code")
        workbook.add_worksheet("# my notes").write_string(0, 0, "anything")
    faults = {fault.place: fault for fault in check_book(tmp_path / "other.xlsx")}
    assert faults["sheet Machine"].mend == "did you mean Machines?"
    assert {"sheet Settings", "sheet Machines", "sheet Products", "sheet Orders"} <= set(faults)
    assert "sheet # my notes" not in faults
    assert "sheet Brush designs" not in faults, "a plant needs no sheet for a line it does not make"


def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path):
    (tmp_path / "a file").write_text("x")
    for path, word in (
        (tmp_path / "nowhere" / "book.xlsx", "folder is there"),
        (tmp_path / "book.docx", ".xlsx"),
        (tmp_path / "a file", "name a folder"),
        (tmp_path / "a file" / "book.xlsx", "folder is there"),
    ):
        with pytest.raises(FileError, match=word):
            write_blank(path)
    assert [file.name for file in tmp_path.iterdir()] == ["a file"]


def test_a_cell_name_out_of_all_bounds_is_called_damaged(tmp_path: Path):
    far = b'r="B999999999999"'
    rewritten(tmp_path / "odd.xlsx", "worksheets/", lambda content: content.replace(b'r="B3"', far))
    assert "damaged" in said(tmp_path / "odd.xlsx")


def test_a_zip_locked_with_a_password_is_told_from_a_damaged_one(tmp_path: Path):
    write_book(sound_book(), tmp_path / "sound.xlsx")
    raw = bytearray((tmp_path / "sound.xlsx").read_bytes())
    at = raw.find(b"PK\x01\x02")
    while at >= 0:
        (flags,) = struct.unpack_from("<H", raw, at + 8)
        struct.pack_into("<H", raw, at + 8, flags | 1)
        at = raw.find(b"PK\x01\x02", at + 4)
    (tmp_path / "locked.xlsx").write_bytes(raw)
    assert "password" in said(tmp_path / "locked.xlsx")
