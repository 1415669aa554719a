"""One property of a material: a value in SI, the range it is met in, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from naptuft.errors import DesignError, Fault

COMMON_PRACTICE = "common practice"


@dataclass(frozen=True)
class Property:
    """A value that can be traced to its source.

    value   the value to reckon with, in SI
    unit    its SI unit, such as "Pa" or "kg/m**3"; "" for a plain number
    source  author, title, year, table; or `common practice`; ends in `from memory` when it was not opened
    low     least value met in practice or in the source, in SI; None where none is known
    high    greatest value met, in SI; None where none is known

    Raises DesignError when the source is empty, the value is not finite, or it lies outside its range.

    >>> density = Property(1140.0, "kg/m**3", "maker's public table", low=1130.0, high=1150.0)
    >>> float(density), 1120.0 in density
    (1140.0, False)
    """

    value: float
    unit: str
    source: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        faults = []
        if not self.source.strip():
            faults.append(Fault("source", self.source, "a text", "name where the value comes from"))
        if not isfinite(self.value):
            faults.append(Fault("value", self.value, "a finite number", "give the value in SI"))
        elif self.value not in self:
            faults.append(
                Fault("value", self.value, f"between {self.low} and {self.high}", "correct the value or its range")
            )
        if faults:
            raise DesignError(*faults)

    def __float__(self) -> float:
        return self.value

    def __contains__(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)
