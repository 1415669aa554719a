"""The raw cells of an xlsx workbook.

fastexcel reads the cells. Before it does, every sheet is walked once as XML, to refuse a workbook that
would fill the memory, and to find what the table of cells does not tell: errors and percentages.
"""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree
from xml.parsers import expat

from naptuft.book.entry import Broken, Grid
from naptuft.book.files.limits import (
    KINDS,
    MOST_BYTES,
    MOST_COLUMNS,
    MOST_ROWS,
    MOST_UNPACKED,
    too_many_bytes,
    too_many_columns,
    too_many_rows,
)
from naptuft.errors import Fault, FileError

_SIGNATURES = (
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"BM", "a picture (BMP)"),
    (b"{\\rtf", "a text document (RTF)"),
    (b"<!DOCTYPE html", "a web page"),
    (b"<html", "a web page"),
)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_UNZIPPABLE = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, struct.error, ValueError)
_TEXTS = "xl/sharedStrings.xml"
_PERCENT_IDS = ("9", "10")


@dataclass
class _Survey:
    """What one walk over a sheet found: how far it reaches, its error cells, its percentages."""

    rows: int = 0
    columns: int = 0
    errors: dict[tuple[int, int], str] = field(default_factory=dict)
    percents: set[tuple[int, int]] = field(default_factory=set)


def read_workbook(path: Path) -> dict[str, Grid]:
    """The raw cells of every sheet, by sheet name: texts, numbers, None for an empty cell.

    Raises FileError for anything that is no sound workbook, or is too large; OSError for what cannot be read.
    """
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise too_many_bytes(str(path), size)
    raw = path.read_bytes()
    archive = _archive(path, raw)
    surveys: dict[str, _Survey] = {}
    faults: list[Fault] = []
    try:
        percent_styles = _percent_styles(archive)
        _check_texts(archive)
        for name, part in _worksheets(archive):
            try:
                surveys[name] = _survey(archive, part, percent_styles, f"{path}, sheet {name}")
            except FileError as error:
                faults += error.faults
    except (ElementTree.ParseError, expat.ExpatError, LookupError, *_UNZIPPABLE) as error:
        raise _damaged(path, error) from None
    if faults:
        raise FileError(*faults)
    return _cells(path, raw, surveys)


def _archive(path: Path, raw: bytes) -> zipfile.ZipFile:
    if not raw.strip(b"\0 \r\n\t"):
        raise FileError(Fault(str(path), "an empty file", KINDS, "write a blank book first: naptuft book new FILE"))
    if raw.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in raw:
            mend = "open it with its password and save it without one"
            raise FileError(Fault(str(path), "a workbook locked with a password", KINDS, mend))
        raise FileError(Fault(str(path), "an old workbook (.xls) or document", KINDS, "save it as .xlsx"))
    if not raw.startswith(b"PK"):
        what = next((what for sign, what in _SIGNATURES if raw[:64].lstrip().startswith(sign)), _guess(raw))
        mend = "give the folder it is in" if "CSV" in what else "give the workbook itself, saved as .xlsx"
        raise FileError(Fault(str(path), what, KINDS, mend))
    try:
        archive = zipfile.ZipFile(BytesIO(raw))
        names = set(archive.namelist())
        other = _other_document(names)
        if other:
            raise FileError(Fault(str(path), other, KINDS, "save it as .xlsx, or give the workbook itself"))
        if any(entry.flag_bits & 1 for entry in archive.infolist()):
            mend = "open it with its password and save it without one"
            raise FileError(Fault(str(path), "a workbook locked with a password", KINDS, mend))
        unpacked = sum(entry.file_size for entry in archive.infolist())
        if unpacked > MOST_UNPACKED:
            raise too_many_bytes(f"{path}, unpacked", unpacked)
        broken = archive.testzip()
    except _UNZIPPABLE as error:
        raise _damaged(path, error) from None
    if broken:
        raise _damaged(path, f"its part {broken} is broken")
    return archive


def _guess(raw: bytes) -> str:
    try:
        text = raw[:4000].decode("utf-8-sig")
    except UnicodeDecodeError:
        return "something else"
    lines = [line for line in text.splitlines() if line]
    return "a CSV or text file" if lines and "\0" not in text else "something else"


def _other_document(names: set[str]) -> str:
    if "xl/workbook.xml" in names:
        return ""
    if "xl/workbook.bin" in names:
        return "a binary workbook (.xlsb)"
    if any(name.startswith("word/") for name in names):
        return "a text document (.docx)"
    if any(name.startswith("ppt/") for name in names):
        return "slides (.pptx)"
    if "content.xml" in names:
        return "an OpenDocument file"
    return "a zip file that is no workbook"


def _damaged(path: Path, error: object) -> FileError:
    mend = "open it in a spreadsheet, let it repair the file and save it; or take an older copy"
    return FileError(Fault(str(path), f"a damaged file: {error}", KINDS, mend))


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]


def _worksheets(archive: zipfile.ZipFile) -> list[tuple[str, str]]:
    """Name and part of each worksheet, in order; sheets that are charts only are left out."""
    relations = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    parts = {
        relation.get("Id"): relation.get("Target", "")
        for relation in relations
        if relation.get("Type", "").endswith("/worksheet")
    }
    found = []
    for element in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter():
        if _local(element.tag) != "sheet":
            continue
        number = next((value for name, value in element.attrib.items() if _local(name) == "id"), None)
        if number in parts:
            target = parts[number]
            part = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
            found.append((element.get("name", ""), part))
    return found


def _percent_styles(archive: zipfile.ZipFile) -> frozenset[str]:
    """Numbers of the cell styles that show a number as a percentage."""
    if "xl/styles.xml" not in archive.namelist():
        return frozenset()
    percent_formats = set(_PERCENT_IDS)
    styles: list[str] = []
    for element in ElementTree.fromstring(archive.read("xl/styles.xml")):
        if _local(element.tag) == "numFmts":
            percent_formats |= {
                number.get("numFmtId", "")
                for number in element
                if "%" in re.sub(r'"[^"]*"|\\.', "", number.get("formatCode", ""))
            }
        if _local(element.tag) == "cellXfs":
            styles = [style.get("numFmtId", "") for style in element]
    return frozenset(str(at) for at, number in enumerate(styles) if number in percent_formats)


def _check_texts(archive: zipfile.ZipFile) -> None:
    """The shared texts must be whole: cut short, they would be read as fewer texts."""
    if _TEXTS in archive.namelist():
        texts = archive.read(_TEXTS)
        if not re.search(rb"</(?:\w+:)?sst\s*>\s*$", texts[-200:]):
            expat.ParserCreate().Parse(texts, True)


def _survey(archive: zipfile.ZipFile, part: str, percent_styles: frozenset[str], place: str) -> _Survey:
    """What the cells do not tell; sheets that plainly hold nothing of the kind are not walked."""
    sheet = archive.read(part)
    unplaced = sum(sheet.count(tag) for tag in _CELL_TAGS) > len(_PLACED.findall(sheet)) + MOST_COLUMNS
    percent = percent_styles and re.search(rb"""\bs\s*=\s*["'](?:%s)["']""" % "|".join(percent_styles).encode(), sheet)
    cut_off = not _WHOLE_SHEET.search(sheet[-200:])
    if cut_off or unplaced or percent or _FAR.search(sheet) or _ERROR.search(sheet):
        return _walk(sheet, percent_styles, place)
    return _Survey()


_WHOLE_SHEET = re.compile(rb"</(?:\w+:)?worksheet\s*>\s*$")
_CELL_TAGS = (b"<c ", b"<c>", b":c ", b":c>")
_PLACED = re.compile(rb"\br\s*=")
_ERROR = re.compile(rb"""\bt\s*=\s*["']e["']""")
_FAR = re.compile(rb"""\br\s*=\s*["'](?:(?:[A-Z]{3}|C[W-Z]|[D-Z][A-Z])\d|[A-Z]*(?:[1-9]\d{5}|[5-9]\d{4}))""")
"""A column past the 100th, or a row past the 49,999th."""


def _walk(sheet: bytes, percent_styles: frozenset[str], place: str) -> _Survey:
    survey = _Survey()
    row = column = -1
    kind = style = ""
    counted = in_error = False

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal row, column, kind, style, counted, in_error
        match tag.rpartition(":")[2]:
            case "row":
                row = int(attributes["r"]) - 1 if "r" in attributes else row + 1
                column = -1
            case "c":
                column += 1
                if "r" in attributes:
                    row, column = _position(attributes["r"])
                kind, style, counted = attributes.get("t", "n"), attributes.get("s", ""), False
            case "v" | "is" if not counted:
                counted = True
                survey.rows, survey.columns = max(survey.rows, row + 1), max(survey.columns, column + 1)
                if survey.rows > MOST_ROWS + 2:
                    raise too_many_rows(place)
                if survey.columns > MOST_COLUMNS:
                    raise too_many_columns(place)
                if kind == "n" and style in percent_styles:
                    survey.percents.add((row, column))
                in_error = kind == "e"

    def text(data: str) -> None:
        if in_error:
            survey.errors[row, column] = survey.errors.get((row, column), "") + data

    def end(tag: str) -> None:
        nonlocal in_error
        if in_error and tag.rpartition(":")[2] == "v":
            in_error = False

    def refuse(*_: object) -> None:
        raise ValueError("it declares a document type")

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.CharacterDataHandler, parser.EndElementHandler = start, text, end
    parser.StartDoctypeDeclHandler = refuse
    parser.Parse(sheet, True)
    return survey


_REFERENCE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")


def _position(reference: str) -> tuple[int, int]:
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise ValueError(f"it has a cell named {reference[:20]!r}")
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - 64
    return int(match[2]) - 1, column - 1


def _cells(path: Path, raw: bytes, surveys: dict[str, _Survey]) -> dict[str, Grid]:
    import fastexcel

    try:
        reader = fastexcel.read_excel(raw)
        return {name: _grid(reader, name, survey) for name, survey in surveys.items()}
    except fastexcel.FastExcelError as error:
        raise _damaged(path, str(error).splitlines()[0]) from None


def _grid(reader, name: str, survey: _Survey) -> Grid:
    texts = reader.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")
    if not texts.width:
        return Grid(name, ())
    numbers = reader.load_sheet(name, header_row=None, skip_rows=0, dtypes="float")
    first = texts.available_columns()[0].absolute_index
    rows = []
    both = zip(texts.to_polars().iter_rows(), numbers.to_polars().iter_rows(), strict=True)
    for words, figures in both:
        cells: list[object] = [None] * first
        cells += [_cell(word, figure) for word, figure in zip(words, figures, strict=True)]
        rows.append(cells)
    for (row, column), sign in survey.errors.items():
        if row < len(rows) and column < len(rows[row]):
            rows[row][column] = Broken(sign)
    for row, column in survey.percents:
        figure = rows[row][column] if row < len(rows) and column < len(rows[row]) else None
        if isinstance(figure, float | int):
            rows[row][column] = f"{figure * 100:.12g} %"
    kept = ((number, tuple(cells)) for number, cells in enumerate(rows, 1) if any(cell is not None for cell in cells))
    return Grid(name, tuple(kept))


def _cell(word: str | None, figure: float | None) -> object:
    """The cell as read: a number where the text is no more than that number as fastexcel writes it."""
    if word is None or word == "":
        return None
    if figure is not None and word == f"{figure:.9f}".rstrip("0").rstrip("."):
        return int(figure) if figure.is_integer() and abs(figure) < _WHOLE else figure
    return word


_WHOLE = 2**53
