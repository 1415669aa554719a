"""Names: each written once where it is declared, and leading somewhere wherever it is used."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from naptuft.book.entry import Reading, Row
from naptuft.book.sheets import SHEET_NAMED, SHEETS, Sheet
from naptuft.calculation import fields_of, nearest, write_value
from naptuft.errors import Fault

_MOST_GUESSES = 200
_MOST_NAMES = 5000


def check_references(reading: Reading) -> Iterator[Fault]:
    """Names written twice, names shared by two kinds of thing, and references that lead nowhere."""
    for sheet in SHEETS:
        if sheet.keys:
            yield from _twice(sheet, reading[sheet.name])
    yield from _shared(reading, "Products", "Materials")
    yield from _shared(reading, "Lots", "Materials")
    yield from _shared(reading, "Lots", "Products")
    for sheet in SHEETS:
        for column in sheet.refers:
            yield from _dangling(reading, sheet, column)


def names_in(rows: Iterable[Row], column: str) -> set[str]:
    """Every value of a column that could be read."""
    return {row.values[column] for row in rows if row.values.get(column)}


def names_meant(reading: Reading, sheet: str, column: str) -> set[str]:
    """Every value of a column, and for each that leads nowhere the known name it is likely a slip for."""
    written = names_in(reading[sheet], column)
    guesses = _guesses(reading, SHEET_NAMED[sheet], column)
    return written | {guess for name in sorted(written - guesses.known) if (guess := guesses.guess(name))}


class _Guesses:
    """The known name an unknown one is likely a slip for: worked out once each, and not without end."""

    def __init__(self, known: Iterable[str]):
        self.known = set(known)
        self._by_fold = {name.casefold(): name for name in sorted(self.known)}
        self._made: dict[str, str] = {}

    def guess(self, name: str) -> str:
        """The nearest known name; empty where none is near."""
        if name.casefold() in self._by_fold:
            return self._by_fold[name.casefold()]
        if name not in self._made:
            if len(self._made) >= _MOST_GUESSES or len(self.known) > _MOST_NAMES or len(name) > 100:
                return ""
            said = nearest(name, sorted(self.known))
            self._made[name] = said.removeprefix("did you mean ").removesuffix("?") if said.startswith("did") else ""
        return self._made[name]


def _guesses(reading: Reading, sheet: Sheet, column: str) -> _Guesses:
    return _Guesses(name for target, key in sheet.refers[column] for name in names_in(reading[target], key))


def _twice(sheet: Sheet, rows: tuple[Row, ...]) -> Iterator[Fault]:
    fields = [field for field in sheet.columns if field.name in sheet.keys]
    seen: dict[tuple[object, ...], int] = {}
    for row in rows:
        if not all(field.name in row.values for field in fields):
            continue
        name = tuple(row.values[field.name] for field in fields)
        if name not in seen:
            seen[name] = row.number
            continue
        shown = ", ".join(str(write_value(field, row.values[field.name])) for field in fields)
        once = f"each {' and '.join(field.label for field in fields)} once; row {seen[name]} has it already"
        yield Fault(row.place(fields[-1].name), shown, once, "delete or correct one of the two")


def _shared(reading: Reading, sheet: str, other: str) -> Iterator[Fault]:
    taken = {row.values["code"]: row.number for row in reading[other] if "code" in row.values}
    for row in reading[sheet]:
        code = row.values.get("code")
        if code in taken:
            allowed = f"a code of its own; {other}, row {taken[code]} has it already"
            yield Fault(row.place("code"), code, allowed, "give one of the two another code")


def _dangling(reading: Reading, sheet: Sheet, column: str) -> Iterator[Fault]:
    targets = sheet.refers[column]
    if any(target not in reading.present for target, _ in targets):
        return
    if any(reading[target] and not names_in(reading[target], key) for target, key in targets):
        return
    guesses = _guesses(reading, sheet, column)
    labels = {field.name: field.label for target, _ in targets for field in fields_of(SHEET_NAMED[target].record)}
    where = " or ".join(f"a {labels[key]} on the sheet {target}" for target, key in targets)
    for row in reading[sheet.name]:
        name = row.values.get(column)
        if name and name not in guesses.known:
            guess = guesses.guess(name)
            mend = f"did you mean {guess}?" if guess else "add it there, or correct it here"
            yield Fault(row.place(column), name, where, mend)
