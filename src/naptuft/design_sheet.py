"""A whole design from one top-level choice: several calculations worked out together and shown as one sheet.

A product line declares a sheet as it declares a calculation: the inputs once, and a pure function that works
out the parts in the order the product is made. The command line, REST, the design bench and the paper are
read from that declaration.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from naptuft.calculation import (
    Calculation,
    Check,
    Declared,
    Result,
    Value,
    fields_of,
    limit_fault,
    result_as_json,
    write_value,
)
from naptuft.errors import DesignError
from naptuft.quantity import unit_sign


@dataclass(frozen=True)
class Part:
    """One calculation of a sheet, worked out.

    heading      what the part is about, as people read it
    calculation  the calculation it was worked out by
    record       the input it had
    result       what came of it; `defaults` names the inputs the sheet left to it
    """

    heading: str
    calculation: Calculation
    record: Any
    result: Result

    def __getitem__(self, name: str) -> float:
        return self.result[name]


def worked(heading: str, calculation: Calculation, **values: Any) -> Part:
    """Work out one part from SI values by input name. Raises DesignError with the part named in each place.

    An input given as None is left to the calculation, as one not given.
    """
    given = {name: value for name, value in values.items() if value is not None}
    defaults = tuple(field.name for field in calculation.fields if field.name not in given)
    outside = [
        limit_fault(
            field,
            given[field.name],
            f"{write_value(field, given[field.name])} {unit_sign(field.unit)}".rstrip(),
            f"{heading}: {field.label}",
        )
        for field in calculation.fields
        if field.name in given
    ]
    if any(outside):
        raise DesignError(*(fault for fault in outside if fault))
    try:
        record = calculation.inputs(**given)
        result = calculation.run(record)
    except DesignError as error:
        raise DesignError(*(replace(fault, place=f"{heading}: {fault.place}") for fault in error.faults)) from None
    return Part(heading, calculation, record, replace(result, defaults=defaults))


@dataclass(frozen=True)
class View:
    """A picture of a sheet: what it shows, and the SVG, to scale."""

    title: str
    svg: str


@dataclass(frozen=True)
class DesignSheet(Declared):
    """The declaration of a whole design.

    name      what the user types after `naptuft design`
    title     what the user reads
    line      the product line: brush, handle, roller or tray
    about     one or two sentences: what is designed
    inputs    a frozen dataclass of declared fields: the top-level choice
    compose   pure function from an instance of `inputs` to the parts, in the order of making; raises DesignError
    headline  the figures at the head of the sheet, each a pair: heading of the part, name of the figure
    views     optional: pictures of the whole, before those of the parts
    settle    optional: fills in what was left out by rule; what matters is asked of the settled choice, as a
              size that follows another in round steps would hide it
    """

    name: str
    title: str
    line: str
    about: str
    inputs: type
    compose: Callable[[Any], tuple[Part, ...]]
    headline: tuple[tuple[str, str], ...]
    views: Callable[[Any, tuple[Part, ...]], tuple[View, ...]] | None = None
    settle: Callable[[Any], Any] | None = None

    def answer(self, given: Mapping[str, object]) -> WholeDesign:
        """Design from raw values. Raises DesignError with every fault found."""
        record, defaults = self.read(given)
        return WholeDesign(self, record, self.compose(record), defaults)


@dataclass(frozen=True)
class WholeDesign:
    """A sheet worked out.

    record    the typed top-level choice
    parts     in the order of making
    defaults  top-level inputs that were not given
    """

    sheet: DesignSheet
    record: Any
    parts: tuple[Part, ...]
    defaults: tuple[str, ...] = ()

    def part(self, heading: str) -> Part:
        """The part under a heading."""
        return next(part for part in self.parts if part.heading == heading)

    @property
    def headline(self) -> tuple[Value, ...]:
        """The figures at the head of the sheet; a part or figure this design does not have is left out."""
        by_heading = {part.heading: {value.name: value for value in part.result.values} for part in self.parts}
        return tuple(
            by_heading[heading][name] for heading, name in self.sheet.headline if name in by_heading.get(heading, {})
        )

    @property
    def result(self) -> Result:
        """The sheet as one result: the headline, and the checks, remarks and cautions of every part.

        Checks are named with their part, so that the limiting one says where it is.
        """
        return Result(
            values=self.headline,
            checks=tuple(_named(part, check) for part in self.parts for check in part.result.checks),
            cautions=tuple(dict.fromkeys(caution for part in self.parts for caution in part.result.cautions)),
            remarks=tuple(dict.fromkeys(words for part in self.parts for words in part.result.remarks)),
            defaults=self.defaults,
        )

    @property
    def views(self) -> tuple[View, ...]:
        """Pictures of the whole, then of each part that draws one."""
        whole = self.sheet.views(self.record, self.parts) if self.sheet.views else ()
        return whole + tuple(
            View(part.heading, part.calculation.draw(part.record, part.result))
            for part in self.parts
            if part.calculation.draw is not None
        )


def _named(part: Part, check: Check) -> Check:
    return replace(check, label=f"{part.heading}: {check.label}")


@dataclass(frozen=True)
class Compared:
    """One figure or check of two designs side by side; None where a design does not have it.

    difference  second less first over the first, as a share; None where it has no meaning
    """

    label: str
    unit: str
    first: float | None
    second: float | None

    @property
    def difference(self) -> float | None:
        """Second less first, as a share of the first.

        >>> Compared("fill weight", "g", 0.040, 0.050).difference
        0.25
        """
        if self.first is None or self.second is None or not self.first:
            return None
        return round((self.second - self.first) / abs(self.first), 12)


def compare(first: Result, second: Result) -> tuple[Compared, ...]:
    """The figures of two results side by side, in the order of the first; those only the second has come last.

    >>> from naptuft.calculation import Value
    >>> one, two = (Result((Value("lead", "lead", x, "mm"),)) for x in (0.080, 0.084))
    >>> [(row.label, row.difference) for row in compare(one, two)]
    [('lead', 0.05)]
    """
    firsts = {value.name: value for value in first.values}
    seconds = {value.name: value for value in second.values}
    rows = []
    for name in dict.fromkeys((*firsts, *seconds)):
        a, b = firsts.get(name), seconds.get(name)
        known = a or b
        assert known is not None
        rows.append(Compared(known.label, known.unit, a.value if a else None, b.value if b else None))
    return tuple(rows)


@dataclass(frozen=True)
class Sensitivity:
    """How one figure follows one input: per cent of the figure for one per cent of the input."""

    input: str
    figure: str
    per_cent: float


SENSITIVITY_STEP = 0.005


def sensitivities(record: Any, figures: Callable[[Any], Result]) -> tuple[Sensitivity, ...]:
    """d ln(figure) / d ln(input) for each quantity given and each figure that is not nil, the strongest first.

    Central differences of half a per cent either way; one-sided where one side is not allowed; an input that
    may be moved neither way, is nil or is a whole number is left out.

    record   a frozen dataclass of declared fields
    figures  works a record out; raises DesignError where it is not allowed

    >>> from naptuft.roller.winding import STOCK_TUBE
    >>> tube, _ = STOCK_TUBE.read(STOCK_TUBE.example())
    >>> strongest = sensitivities(tube, STOCK_TUBE.run)[0]
    >>> abs(strongest.per_cent) > 0.5
    True
    """
    here = figures(record)
    found = []
    for field in fields_of(type(record)):
        value = getattr(record, field.name)
        if field.kind != "quantity" or not value:
            continue
        sides = []
        for step in (-SENSITIVITY_STEP, SENSITIVITY_STEP):
            try:
                sides.append((step, figures(replace(record, **{field.name: value * (1 + step)}))))
            except DesignError:
                sides.append((0.0, here))
        (low_step, low), (high_step, high) = sides
        if low_step == high_step:
            continue
        for figure in here.values:
            if not figure.value or figure.name not in low or figure.name not in high:
                continue
            slope = (high[figure.name] - low[figure.name]) / figure.value / (high_step - low_step)
            if abs(slope) > 1e-9:
                found.append(Sensitivity(field.name, figure.name, slope))
    return tuple(sorted(found, key=lambda each: -abs(each.per_cent)))


def design_as_json(design: WholeDesign) -> dict[str, Any]:
    """A design as plain JSON values: the choice made, the headline, and each part as its calculation answers."""
    whole = result_as_json(design.result)
    return {
        "design": design.sheet.name,
        "inputs": _inputs_as_json(design.record),
        "defaults": list(design.defaults),
        "passed": whole["passed"],
        "limiting": whole["limiting"],
        "headline": whole["values"],
        "parts": [
            {
                "heading": part.heading,
                "calculation": part.calculation.name,
                "inputs": _inputs_as_json(part.record),
                **result_as_json(part.result),
            }
            for part in design.parts
        ],
    }


def _inputs_as_json(record: Any) -> dict[str, Any]:
    written = ((field, write_value(field, getattr(record, field.name))) for field in fields_of(type(record)))
    return {field.name: str(value) if isinstance(value, Decimal) else value for field, value in written}
