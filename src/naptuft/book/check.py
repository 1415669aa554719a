"""How the records of a book fit together: every fault with its sheet, row and column, in one pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from naptuft.book.entry import Reading, Row
from naptuft.book.sheets import SHEETS
from naptuft.calculation import nearest
from naptuft.errors import Fault

_MOST_GUESSES = 200


def check(reading: Reading) -> tuple[Fault, ...]:
    """Everything wrong between the records of a book that were read.

    A row with a fault of its own still counts as there, so that one mistake is told once.
    """
    return tuple(fault for rule in _RULES for fault in rule(reading))


class _Guesses:
    """The nearest known name for each unknown one, worked out once each and not without end."""

    def __init__(self, known: Iterable[str], where: str):
        self.known = sorted(set(known))
        self.by_fold = {name.casefold(): name for name in self.known}
        self.where = where
        self.made: dict[str, str] = {}

    def mend(self, name: str) -> str:
        if name not in self.made:
            if name.casefold() in self.by_fold:
                return f"did you mean {self.by_fold[name.casefold()]}?"
            if len(self.made) >= _MOST_GUESSES or len(self.known) > 5000:
                return f"see {self.where}"
            guess = nearest(name, self.known)
            self.made[name] = guess if guess.startswith("did") else f"add it to {self.where}, or correct it"
        return self.made[name]


def _twice(reading: Reading) -> Iterator[Fault]:
    for sheet in SHEETS:
        seen: dict[tuple[object, ...], int] = {}
        if not sheet.keys:
            continue
        for row in reading[sheet.name]:
            if not all(key in row.values for key in sheet.keys):
                continue
            name = tuple(row.values[key] for key in sheet.keys)
            if name in seen:
                shown = ", ".join(str(part) for part in name)
                yield Fault(
                    row.place(sheet.keys[-1]),
                    shown,
                    f"each {' and '.join(key.replace('_', ' ') for key in sheet.keys)} once; row {seen[name]} has it already",
                    "delete or rename one of the two",
                )
            else:
                seen[name] = row.number


def _written(rows: Iterable[Row], column: str) -> set[str]:
    return {row.values[column] for row in rows if column in row.values}


def _dangling(reading: Reading) -> Iterator[Fault]:
    for sheet in SHEETS:
        for column, targets in sheet.refers.items():
            known = {name for target, key in targets for name in _written(reading[target], key)}
            where = " or ".join(target for target, _ in targets)
            guesses = _Guesses(known, f"the sheet {where}")
            for row in reading[sheet.name]:
                name = row.values.get(column)
                if name and name not in known:
                    key = targets[0][1].replace("_", " ")
                    yield Fault(row.place(column), name, f"a {key} from the sheet {where}", guesses.mend(name))


_RULES = (_twice, _dangling)
