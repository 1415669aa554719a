"""One declaration of an engineering calculation, and of the fields it reads.

A frozen dataclass lists the inputs; each is declared once with its unit, range, help and example.
The command line, REST, the web form, the handbook page and the columns of the book are all read from
that declaration. The calculation itself is a pure function from the input to a `Result`.
"""

from __future__ import annotations

import dataclasses
import datetime
import difflib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Any, Literal, TypeVar, cast

from naptuft.errors import DesignError, Fault, NotFound, UnitError
from naptuft.quantity import from_si, kind_of, parse, parse_measure, show_number, to_si, unit_sign

T = TypeVar("T")
Kind = Literal["quantity", "measure", "whole", "text", "choice", "yes", "money", "date", "moment", "clock", "rows"]

LOCAL_CODES = "Follow local codes and licensed practice."


@dataclass(frozen=True)
class Field:
    """One named value that comes in: what it is, its unit, what is allowed and an example.

    name     the Python name
    label    what people read
    kind     quantity (SI float), measure (number with a unit of its own, or that of a material), whole (int), text, choice, yes (bool), money (Decimal), date,
             moment (date and time), clock (time of day, in minutes after midnight), rows (a small table)
    unit     the unit assumed when none is written; also the unit shown
    low      least allowed value, in `unit` (None: no limit); `above` means the limit itself is excluded
    high     greatest allowed value, in `unit`
    choices  the values a choice may take
    default  used when nothing is given; `required` fields have none
    columns  the fields of each row, for kind rows
    """

    name: str
    label: str
    kind: Kind
    help: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    above: bool = False
    choices: tuple[str, ...] = ()
    required: bool = True
    default: Any = None
    example: str = ""
    columns: tuple[Field, ...] = ()
    row_type: type | None = None

    @property
    def allowed(self) -> str:
        """What may stand here, in words."""
        unit = f" {unit_sign(self.unit)}" if self.unit else ""
        match self.kind:
            case "choice":
                return "one of " + ", ".join(self.choices)
            case "yes":
                return "yes or no"
            case "text":
                return "a text"
            case "measure":
                return "a number above 0, with or without its unit"
            case "date":
                return "a date such as 2026-12-04"
            case "moment":
                return "a date and time such as 2026-12-04 14:00"
            case "clock":
                return "a time of day such as 06:00"
            case "rows":
                return "rows of " + " | ".join(column.label for column in self.columns) + ", parted by ;"
            case _:
                what = {"whole": "a whole number", "money": "an amount of money"}.get(self.kind) or kind_of(self.unit)
                bounds = []
                if self.low is not None:
                    bounds.append(f"{'above' if self.above else 'at least'} {show_number(self.low, 6)}{unit}")
                if self.high is not None:
                    bounds.append(f"at most {show_number(self.high, 6)}{unit}")
                return what + (", " if bounds else "") + " and ".join(bounds)


def _declare(kind: Kind, help: str, default: Any, **facts: Any) -> Any:  # noqa: A002
    required = default is dataclasses.MISSING
    facts.update(kind=kind, help=help, required=required, default=None if required else default)
    return dataclasses.field(default=default, kw_only=True, metadata={"field": facts})


def quantity(
    unit: str,
    help: str,  # noqa: A002
    *,
    low: float | None = None,
    high: float | None = None,
    above: bool = False,
    default: Any = dataclasses.MISSING,
    example: str = "",
    label: str = "",
) -> Any:
    """Declare an input that is a quantity: an SI float inside; unit, range and default in `unit`.

    A default of None means the value may be left out and the calculation then derives it.
    """
    si = default if default is dataclasses.MISSING or default is None else to_si(default, unit)
    return _declare("quantity", help, si, unit=unit, low=low, high=high, above=above, example=example, label=label)


def measure(help: str, *, default: Any = dataclasses.MISSING, example: str = "", label: str = "") -> Any:  # noqa: A002
    """Declare an input that is a number with a unit of its own, or without one in that of its material."""
    return _declare("measure", help, default, example=example, label=label)


def whole(
    help: str,  # noqa: A002
    *,
    low: int | None = None,
    high: int | None = None,
    default: Any = dataclasses.MISSING,
    example: str = "",
    label: str = "",
    unit: str = "",
) -> Any:
    """Declare an input that is a whole number."""
    return _declare("whole", help, default, unit=unit, low=low, high=high, example=example, label=label)


def choice(
    choices: Sequence[str],
    help: str,  # noqa: A002
    *,
    default: Any = dataclasses.MISSING,
    example: str = "",
    label: str = "",
) -> Any:
    """Declare an input that is one of a few words."""
    return _declare("choice", help, default, choices=tuple(choices), example=example or choices[0], label=label)


def text(help: str, *, default: Any = dataclasses.MISSING, example: str = "", label: str = "") -> Any:  # noqa: A002
    """Declare an input that is free text."""
    return _declare("text", help, default, example=example, label=label)


def yes(help: str, *, default: Any = dataclasses.MISSING, example: str = "no", label: str = "") -> Any:  # noqa: A002
    """Declare an input that is yes or no."""
    return _declare("yes", help, default, example=example, label=label)


def money(
    help: str,  # noqa: A002
    *,
    low: float | None = 0,
    default: Any = dataclasses.MISSING,
    example: str = "",
    label: str = "",
) -> Any:
    """Declare an input that is an amount of money, a Decimal inside."""
    return _declare("money", help, default, low=low, example=example, label=label)


def date(help: str, *, default: Any = dataclasses.MISSING, example: str = "2026-12-04", label: str = "") -> Any:  # noqa: A002
    """Declare an input that is a date."""
    return _declare("date", help, default, example=example, label=label)


def moment(
    help: str,  # noqa: A002
    *,
    default: Any = dataclasses.MISSING,
    example: str = "2026-12-04 14:00",
    label: str = "",
) -> Any:
    """Declare an input that is a date and time, without a zone (the plant's own clock)."""
    return _declare("moment", help, default, example=example, label=label)


def clock(help: str, *, default: Any = dataclasses.MISSING, example: str = "06:00", label: str = "") -> Any:  # noqa: A002
    """Declare an input that is a time of day, whole minutes after midnight inside (24:00 allowed)."""
    return _declare("clock", help, default, example=example, label=label)


def rows(row_type: type, help: str, *, default: Any = dataclasses.MISSING, example: str = "", label: str = "") -> Any:  # noqa: A002
    """Declare an input that is a small table: a tuple of `row_type`, itself declared with fields.

    As text: cells parted by |, rows parted by ; as in "190 mm | 300; 240 mm | 120".
    """
    return _declare("rows", help, default, row_type=row_type, columns=fields_of(row_type), example=example, label=label)


@lru_cache(maxsize=256)
def fields_of(declared: type) -> tuple[Field, ...]:
    """The fields a frozen dataclass declares, in order.

    >>> @dataclass(frozen=True)
    ... class Core:
    ...     core_diameter: float = quantity("mm", "outside", low=10, high=150, example="44 mm")
    >>> fields_of(Core)[0].allowed
    'a length, at least 10 mm and at most 150 mm'
    """
    found = []
    for item in dataclasses.fields(declared):
        facts = dict(item.metadata["field"])
        facts["label"] = facts.get("label") or item.name.replace("_", " ")
        found.append(Field(name=item.name, **facts))
    return tuple(found)


def nearest(name: str, names: Iterable[str]) -> str:
    """A mend that names the nearest known name, or all of them when none is near.

    >>> nearest("core_diametre", ["core_diameter", "strip_width"])
    'did you mean core_diameter?'
    """
    known = list(names)
    close = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    return f"did you mean {close[0]}?" if close else "known: " + (", ".join(known) or "none")


def read_value(field: Field, given: object, place: str) -> tuple[Any, list[Fault]]:
    """Read one value for a field: the value (SI), and what is wrong with it. Never raises for bad input."""
    try:
        value = _read(field, given, place)
    except (UnitError, DesignError) as error:
        return None, list(error.faults)
    limit = limit_fault(field, value, given, place)
    return (None, [limit]) if limit else (value, [])


def _read(field: Field, given: object, place: str) -> Any:
    match field.kind:
        case "quantity":
            return parse(given, field.unit, place)
        case "measure":
            value = parse_measure(given, place)
            if value.number <= 0:
                raise UnitError(Fault(place, given, field.allowed, "write a number above 0"))
            return value
        case "whole":
            value = parse(given, field.unit, place)
            if abs(value - round(value)) > 1e-9:
                raise DesignError(Fault(place, given, field.allowed, "write a whole number"))
            return round(value)
        case "text":
            return _text(given)
        case "choice":
            word = _text(given)
            for known in field.choices:
                if known.casefold() == word.casefold():
                    return known
            raise DesignError(Fault(place, given, field.allowed, nearest(word, field.choices)))
        case "yes":
            if isinstance(given, bool):
                return given
            word = _text(given).casefold()
            if word in ("yes", "y", "true", "1"):
                return True
            if word in ("no", "n", "false", "0"):
                return False
            raise DesignError(Fault(place, given, "yes or no", "write yes or no"))
        case "money":
            try:
                amount = given if isinstance(given, Decimal) else Decimal(_text(given).replace(",", ""))
            except InvalidOperation:
                amount = Decimal("NaN")
            if not amount.is_finite():
                raise DesignError(Fault(place, given, field.allowed, "write an amount such as 12.50"))
            return amount
        case "date":
            return _moment(given, field, place).date()
        case "moment":
            return _moment(given, field, place)
        case "clock":
            return _clock(given, field, place)
        case "rows":
            return _rows(field, given, place)


def _text(given: object) -> str:
    if isinstance(given, float) and given.is_integer():
        return str(int(given))
    return str(given).strip()


def _moment(given: object, field: Field, place: str) -> datetime.datetime:
    if isinstance(given, datetime.datetime):
        return given
    if isinstance(given, datetime.date):
        return datetime.datetime.combine(given, datetime.time())
    try:
        when = datetime.datetime.fromisoformat(_text(given)).replace(microsecond=0)
    except ValueError:
        raise DesignError(Fault(place, given, field.allowed, f"write it as {field.example}")) from None
    if when.tzinfo is not None:
        raise DesignError(Fault(place, given, field.allowed, "leave the zone out: times are by the plant's clock"))
    return when


def _clock(given: object, field: Field, place: str) -> int:
    if isinstance(given, datetime.time):
        return given.hour * 60 + given.minute
    if isinstance(given, int) and not isinstance(given, bool) and 0 <= given <= 1440:
        return given
    if isinstance(given, float) and 0 <= given <= 1:
        return round(given * 1440)
    parts = _text(given).split(":")
    if len(parts) in (2, 3) and all(part.isdigit() for part in parts):
        minutes = int(parts[0]) * 60 + int(parts[1])
        if int(parts[1]) < 60 and minutes <= 1440:
            return minutes
    raise DesignError(Fault(place, given, field.allowed, "write hours and minutes as 06:00, up to 24:00"))


def _rows(field: Field, given: object, place: str) -> tuple[Any, ...]:
    if isinstance(given, str):
        stripped = given.strip()
        if stripped.startswith("["):
            try:
                given = json.loads(stripped)
            except json.JSONDecodeError:
                raise DesignError(Fault(place, given, field.allowed, "correct the JSON list")) from None
        else:
            given = [
                dict(zip((column.name for column in field.columns), cells, strict=False))
                for cells in ([cell.strip() for cell in row.split("|")] for row in stripped.split(";") if row.strip())
            ]
    if not isinstance(given, Sequence) or not all(
        isinstance(row, Mapping) or dataclasses.is_dataclass(row) for row in given
    ):
        raise DesignError(Fault(place, given, field.allowed, f"write rows such as {field.example}"))
    assert field.row_type is not None
    read, faults = [], []
    for number, row in enumerate(given, start=1):
        if isinstance(row, field.row_type):
            read.append(row)
            continue
        record, wrong, _ = read_record(field.row_type, cast(Mapping[str, object], row), f"{place}, row {number}, ")
        read.append(record)
        faults += wrong
    if faults:
        raise DesignError(*faults)
    if not read:
        raise DesignError(Fault(place, given, field.allowed, f"write at least one row, such as {field.example}"))
    return tuple(read)


def limit_fault(field: Field, value: Any, given: object, place: str) -> Fault | None:
    """What is wrong with a typed value outside a field's limits; None when it is inside. `given` is what was written."""
    if field.kind not in ("quantity", "whole", "money") or value is None:
        return None
    shown = float(value) if field.kind == "money" else from_si(value, field.unit)
    slack = 1e-9 * max(1.0, abs(shown))
    if field.low is not None and (shown < field.low - slack or (field.above and shown <= field.low)):
        return Fault(place, given, field.allowed, f"raise it to what is allowed; {field.help}")
    if field.high is not None and shown > field.high + slack:
        return Fault(place, given, field.allowed, f"lower it to what is allowed; {field.help}")
    return None


def is_blank(given: object) -> bool:
    """True for what counts as nothing written: None or only white space.

    >>> is_blank(None), is_blank("  "), is_blank(0)
    (True, True, False)
    """
    return given is None or (isinstance(given, str) and not given.strip())


def read_record(
    declared: type[T], given: Mapping[str, object], place: str = ""
) -> tuple[T | None, list[Fault], tuple[str, ...]]:
    """Read a whole record: the instance (None when anything is wrong), all faults, and the defaults used.

    declared  a frozen dataclass of declared fields
    given     raw values by field name (or by label); text, numbers, JSON
    place     put before each field's label in the messages
    """
    fields = fields_of(declared)
    names = {field.name: field for field in fields}
    by_label = {field.label.casefold(): field.name for field in fields}
    raw: dict[str, object] = {}
    faults: list[Fault] = []
    for name, value in given.items():
        known = name if name in names else by_label.get(name.strip().casefold(), name.strip().replace("-", "_"))
        if known not in names:
            faults.append(Fault(f"{place}{name}", value, "a known input", nearest(name, names)))
        else:
            raw[known] = value
    values: dict[str, Any] = {}
    defaults = []
    for field in fields:
        where = f"{place}{field.label}"
        if is_blank(raw.get(field.name)):
            if field.required:
                faults.append(
                    Fault(where, "", field.allowed, f"give a value, such as {field.example or field.allowed}")
                )
            else:
                defaults.append(field.name)
            continue
        value, wrong = read_value(field, raw[field.name], where)
        faults += wrong
        values[field.name] = value
    if faults:
        return None, faults, ()
    try:
        return declared(**values), [], tuple(defaults)
    except DesignError as error:
        return None, [dataclasses.replace(fault, place=f"{place}{fault.place}") for fault in error.faults], ()


def write_value(field: Field, value: Any) -> Any:
    """A value as a cell or JSON holds it: quantities in the field's own unit. Inverse of `read_value`."""
    if value is None:
        return None
    match field.kind:
        case "quantity" | "whole":
            shown = from_si(value, field.unit)
            near = round(shown, 9)
            return int(near) if near == int(near) and abs(near) < 1e15 else near
        case "measure":
            return str(value) if value.unit else value.number
        case "yes":
            return "yes" if value else "no"
        case "clock":
            return f"{value // 60:02d}:{value % 60:02d}"
        case "moment":
            return value.isoformat(sep=" ", timespec="minutes")
        case "date":
            return value.isoformat()
        case "rows":
            return "; ".join(
                " | ".join(_row_cell(column, getattr(row, column.name)) for column in field.columns) for row in value
            )
        case _:
            return value


def _row_cell(column: Field, value: Any) -> str:
    written = write_value(column, value)
    if written is None:
        return ""
    return f"{written} {column.unit}" if column.unit and column.kind in ("quantity", "whole") else str(written)


@dataclass(frozen=True)
class Value:
    """One figure of a result: SI inside, with the unit it is shown in."""

    name: str
    label: str
    value: float
    unit: str = ""

    def __str__(self) -> str:
        return f"{show_number(from_si(self.value, self.unit))} {unit_sign(self.unit)}".rstrip()


@dataclass(frozen=True)
class Check:
    """One limit the design must keep, with its margin. Values and limit in SI, shown in `unit`.

    margin  how far inside the limit, as a share of the limit; below 0 the check fails
    """

    label: str
    value: float
    limit: float
    sense: Literal["at least", "at most"]
    unit: str = ""
    source: str = ""
    mend: str = ""

    @property
    def margin(self) -> float:
        """How far inside the limit, as a share of it.

        >>> Check("packing", 0.45, 0.60, "at most").margin
        0.25
        """
        slack = self.value - self.limit if self.sense == "at least" else self.limit - self.value
        scale = abs(self.limit) or max(abs(self.value), 1e-12)
        return round(slack / scale, 12)

    @property
    def passed(self) -> bool:
        """True when the limit is kept."""
        return self.margin >= 0


@dataclass(frozen=True)
class Step:
    """One step of the reasoning: what, the formula as printed, its value and where it comes from."""

    label: str
    formula: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class Caution:
    """A hazard, the usual measure against it and the public rule to read."""

    hazard: str
    measure: str
    rule: str = ""

    def __str__(self) -> str:
        rule = f" See {self.rule}." if self.rule else ""
        return f"{self.hazard}: {self.measure.rstrip('.')}.{rule} {LOCAL_CODES}"


@dataclass(frozen=True)
class Result:
    """What a calculation answers: figures, checks, reasoning, cautions and remarks.

    remarks   sentences worth reading: a value outside a formula's range, common practice departed from
    defaults  names of inputs that were not given, so that nothing is assumed in silence
    """

    values: tuple[Value, ...]
    checks: tuple[Check, ...] = ()
    steps: tuple[Step, ...] = ()
    cautions: tuple[Caution, ...] = ()
    remarks: tuple[str, ...] = ()
    defaults: tuple[str, ...] = ()

    def __getitem__(self, name: str) -> float:
        for value in self.values:
            if value.name == name:
                return value.value
        raise NotFound(
            Fault(
                "result",
                name,
                "the name of a figure in this result",
                nearest(name, (v.name for v in self.values)),
            )
        )

    def __contains__(self, name: object) -> bool:
        return any(value.name == name for value in self.values)

    @property
    def limiting(self) -> Check | None:
        """The check with the least margin, or None when nothing is checked."""
        return min(self.checks, key=lambda check: check.margin, default=None)

    @property
    def passed(self) -> bool:
        """True when every check passes."""
        return all(check.passed for check in self.checks)

    def ordered_checks(self) -> tuple[Check, ...]:
        """The checks, the limiting one first."""
        return tuple(sorted(self.checks, key=lambda check: check.margin))


class Declared:
    """What is declared once by a frozen dataclass of declared fields, and read from raw values."""

    inputs: type

    @property
    def fields(self) -> tuple[Field, ...]:
        """The declared inputs, in order."""
        return fields_of(self.inputs)

    def example(self) -> dict[str, str]:
        """The example value of each input that has one: a complete, valid set."""
        return {field.name: field.example for field in self.fields if field.example}

    def read(self, given: Mapping[str, object]) -> tuple[Any, tuple[str, ...]]:
        """Raw values to a typed input and the defaults used. Raises DesignError with every fault."""
        record, faults, defaults = read_record(self.inputs, given)
        if faults:
            raise DesignError(*faults)
        return record, defaults


@dataclass(frozen=True)
class Calculation(Declared):
    """The declaration of one engineering calculation.

    name      what the user types, words joined by hyphens
    title     what the user reads
    line      the product line: brush, handle, roller, tray or boxing
    about     one or two sentences: what it answers and when to use it
    inputs    a frozen dataclass of declared fields
    run       pure function from an instance of `inputs` to a Result; raises DesignError
    draw      optional: the picture to scale, as SVG text, from the input and its result
    """

    name: str
    title: str
    line: str
    about: str
    inputs: type
    run: Callable[[Any], Result]
    draw: Callable[[Any, Result], str] | None = None

    def answer(self, given: Mapping[str, object]) -> Result:
        """Work the calculation out from raw values. Raises DesignError with every fault found."""
        record, defaults = self.read(given)
        return dataclasses.replace(self.run(record), defaults=defaults)


def result_as_json(result: Result) -> dict[str, Any]:
    """A result as plain JSON values, each quantity in its shown unit and named.

    >>> result_as_json(Result((Value("lead", "lead", 0.0843, "mm"),)))["values"][0]
    {'name': 'lead', 'label': 'lead', 'value': 84.3, 'unit': 'mm'}
    """
    limiting = result.limiting
    return {
        "passed": result.passed,
        "limiting": limiting.label if limiting else None,
        "values": [
            {"name": v.name, "label": v.label, "value": _shown(v.value, v.unit), "unit": v.unit} for v in result.values
        ],
        "checks": [
            {
                "label": c.label,
                "value": _shown(c.value, c.unit),
                "sense": c.sense,
                "limit": _shown(c.limit, c.unit),
                "unit": c.unit,
                "passed": c.passed,
                "margin": round(c.margin, 6),
                "source": c.source,
                "mend": c.mend,
            }
            for c in result.ordered_checks()
        ],
        "because": [
            {
                "label": s.label,
                "formula": s.formula,
                "value": _shown(s.value, s.unit),
                "unit": s.unit,
                "source": s.source,
            }
            for s in result.steps
        ],
        "cautions": [str(caution) for caution in result.cautions],
        "remarks": list(result.remarks),
        "defaults": list(result.defaults),
    }


def _shown(value: float, unit: str) -> float:
    return float(f"{from_si(value, unit):.10g}")
