"""Parts of a whole design worked out one after another, with the faults of all of them."""

from __future__ import annotations

from typing import Any

from naptuft.calculation import Calculation
from naptuft.design_sheet import Part, worked
from naptuft.errors import DesignError, Fault


class Gathering:
    """Parts in the order worked out; a part that cannot be is kept as its faults.

    >>> from naptuft.roller.tolerance import TOLERANCE
    >>> gathering = Gathering()
    >>> gathering.add("Stack", TOLERANCE, links=()) is None
    True
    >>> gathering.parts()
    Traceback (most recent call last):
    naptuft.errors.DesignError: Stack: links: (); allowed: at least one dimension; write the dimensions of the chain
    """

    def __init__(self) -> None:
        self._parts: list[Part] = []
        self._faults: list[Fault] = []

    def add(self, heading: str, calculation: Calculation, **values: Any) -> Part | None:
        """Work out one part from SI values by input name; None when it has faults."""
        try:
            self._parts.append(worked(heading, calculation, **values))
        except DesignError as error:
            self._faults.extend(error.faults)
            return None
        return self._parts[-1]

    def parts(self) -> tuple[Part, ...]:
        """Every part. Raises DesignError with every fault of every part."""
        if self._faults:
            raise DesignError(*self._faults)
        return tuple(self._parts)
