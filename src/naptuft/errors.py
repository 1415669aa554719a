"""The one family of errors.

    NaptuftError
        UnitError      a quantity that cannot be read, or of the wrong kind
        BookError      all faults of one book, found in one pass
        DesignError    an input outside what a calculation can answer for
        Infeasible     no answer exists; names the constraint that blocks it
        FileError      a file that cannot be read or written
        NotFound       a name that is not there, with the nearest that is

A `Fault` says where, what was found, what is allowed and how to mend it. Every error carries its
faults in `args` alone, so that it survives the trip between worker processes.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing wrong with what came in.

    place   where: sheet, row and column, or the name of the input
    value   what was found there
    allowed what may stand there
    mend    what to do about it

    >>> print(Fault("Orders, row 7, due", "soon", "a date", "write it as 2026-12-04"))
    Orders, row 7, due: 'soon'; allowed: a date; write it as 2026-12-04
    """

    place: str
    value: object
    allowed: str
    mend: str

    def __str__(self) -> str:
        return f"{self.place}: {self.value!r}; allowed: {self.allowed}; {self.mend}"


class NaptuftError(Exception):
    """Base of every error naptuft raises on purpose; `faults` tells all that is wrong."""

    def __init__(self, *faults: Fault):
        super().__init__(*faults)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Every fault found, in the order found."""
        return self.args

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


class UnitError(NaptuftError, ValueError):
    """A quantity that cannot be read, or is of the wrong kind (a mass where a length is wanted)."""


class BookError(NaptuftError, ValueError):
    """All faults of one book, found in one pass."""


class DesignError(NaptuftError, ValueError):
    """An input outside what a calculation can answer for."""


class Infeasible(NaptuftError, ValueError):  # noqa: N818
    """No answer exists; the fault's place names the constraint that blocks it."""


class FileError(NaptuftError, OSError):
    """A file that cannot be read as a book, or written."""

    def __init__(self, *faults: Fault):
        super().__init__(*faults)
        self.args = faults  # OSError keeps two of three or more

    def __str__(self) -> str:
        return NaptuftError.__str__(self)


class NotFound(NaptuftError, LookupError):  # noqa: N818
    """A name that is not there; the mend suggests the nearest that is."""
