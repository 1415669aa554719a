"""A plan as JSON and back, and the schema that says what each key means.

`plan.json` is public: every record of `plan.py` becomes an object with the same names, described in
`plan_schema`. Times are ISO 8601 with their offset from UTC, money is text with a decimal point,
quantities stand beside their unit. Figures of a design stand both in their shown unit and, exact, in SI.
"""

from __future__ import annotations

import datetime
import json
import math
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, Literal, Union, cast, get_args, get_origin, get_type_hints
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from naptuft.calculation import Caution, Check, Result, Step, Value, nearest, result_as_json
from naptuft.errors import BookError, Fault
from naptuft.planning.plan import Plan
from naptuft.planning.plan_words import MEANING, RESULT_SCHEMA

FORMAT = "naptuft plan 1"
MONEY = r"^-?[0-9]+(\.[0-9]+)?$"
MOMENT = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?[+-][0-9]{2}:[0-9]{2}$"
DATE = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
_RESULT_ROWS: Mapping[str, tuple[str, type, Mapping[str, str]]] = {
    "values": ("values", Value, {"value": "si"}),
    "checks": ("checks", Check, {"value": "value_si", "limit": "limit_si"}),
    "because": ("steps", Step, {"value": "si"}),
    "cautions": ("cautions", Caution, {}),
}
_WORDS_OF_NUMBERS = {"infinite": math.inf, "minus infinite": -math.inf, "not known": math.nan}


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """A plan as plain JSON values, as `plan_schema` describes them.

    Raises ValueError when a figure outside the designs is infinite or not a number.
    """
    zone = plan.start.tzinfo
    name = zone.key if isinstance(zone, ZoneInfo) else ""
    return {"format": FORMAT, "zone": name or "", **_written(plan)}


def plan_text(plan: Plan) -> str:
    """The text of `plan.json`: keys in a fixed order, the same bytes for the same plan."""
    return json.dumps(plan_as_json(plan), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def plan_from_json(given: Mapping[str, Any]) -> Plan:
    """The plan that was written by `plan_as_json`.

    Raises BookError with every fault: keys missing or unknown, values of the wrong kind.
    """
    faults: list[Fault] = []
    raw = dict(given)
    form, zone_name = raw.pop("format", None), raw.pop("zone", None)
    if form != FORMAT:
        faults.append(Fault("format", form, repr(FORMAT), "read the plan with the naptuft that wrote it"))
    zone = None
    if zone_name:
        try:
            zone = ZoneInfo(zone_name)
        except (ZoneInfoNotFoundError, ValueError, TypeError):
            faults.append(Fault("zone", zone_name, "an IANA time zone, or nothing", "write it as Europe/London"))
    plan = _Reader(zone, faults).read(Plan, raw, "")
    if faults:
        raise BookError(*faults)
    return plan


def plan_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of `plan.json`; nothing beyond what it lists is allowed.

    >>> plan_schema()["properties"]["orders"]["items"]
    {'$ref': '#/$defs/order_outcome'}
    """
    definitions: dict[str, Any] = {}
    top = _object_schema(Plan, definitions)
    before = {
        "format": {"const": FORMAT, "description": "name and version of this format"},
        "zone": {"type": "string", "description": "time zone of the plant (IANA name); empty: only offsets are known"},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:naptuft:plan:1",
        "title": "naptuft plan",
        **top,
        "properties": before | top["properties"],
        "required": [*before, *top["required"]],
        "$defs": dict(sorted(definitions.items())),
    }


@cache
def _hints(record: type) -> dict[str, Any]:
    hints = get_type_hints(record)
    return {item.name: hints[item.name] for item in fields(record)}


def _written(value: Any) -> Any:
    """One value of a plan as JSON."""
    match value:
        case Result():
            return _written_result(value)
        case Decimal():
            return format(value, "f")
        case datetime.datetime() | datetime.date():
            return value.isoformat()
        case tuple():
            return [_written(item) for item in value]
        case float() if value.is_integer() and abs(value) < 1e15:
            return int(value)
        case _ if is_dataclass(value):
            return {item.name: _written(getattr(value, item.name)) for item in fields(value)}
        case _:
            return value


def _written_result(result: Result) -> dict[str, Any]:
    """A result as the web and the command line show it, with exact SI values and structured cautions beside."""
    shown = result_as_json(result)
    rank = sorted(range(len(result.checks)), key=lambda place: result.checks[place].margin)
    shown["checks"] = [
        check | {"value_si": _number(result.checks[i].value), "limit_si": _number(result.checks[i].limit)}
        for i, check in sorted(zip(rank, shown["checks"], strict=True), key=lambda pair: pair[0])
    ]
    shown["values"] = [v | {"si": _number(of.value)} for v, of in zip(shown["values"], result.values, strict=True)]
    shown["because"] = [s | {"si": _number(of.value)} for s, of in zip(shown["because"], result.steps, strict=True)]
    shown["cautions"] = [{"hazard": c.hazard, "measure": c.measure, "rule": c.rule} for c in result.cautions]
    for row in (*shown["values"], *shown["checks"], *shown["because"]):
        for key in row.keys() & {"value", "limit", "margin"}:
            row[key] = _number(row[key])
    return shown


def _number(value: float) -> float | str:
    """A number JSON can hold, or the word for one it cannot."""
    if math.isfinite(value):
        return value
    return "not known" if math.isnan(value) else "infinite" if value > 0 else "minus infinite"


def _plain(number: Any) -> bool:
    return isinstance(number, (int, float)) and not isinstance(number, bool)


class _Reader:
    """Reads JSON values back into the records of a plan, collecting every fault."""

    def __init__(self, zone: ZoneInfo | None, faults: list[Fault]):
        self.zone = zone
        self.faults = faults

    def wrong(self, place: str, value: object, allowed: str, mend: str = "write it as the schema says") -> None:
        """Note a fault."""
        self.faults.append(Fault(place or "plan", value, allowed, mend))

    def read(self, wanted: Any, value: Any, place: str) -> Any:
        """A value of the wanted type; None, and a fault noted, when it is not one."""
        origin = get_origin(wanted)
        if origin in (Union, types.UnionType):
            inner = [kind for kind in get_args(wanted) if kind is not type(None)]
            return None if value is None else self.read(inner[0], value, place)
        if origin is Literal:
            if value not in get_args(wanted):
                self.wrong(place, value, "one of " + ", ".join(map(str, get_args(wanted))))
            return value
        if origin is tuple:
            return self.rows(get_args(wanted)[0], value, place)
        if wanted is Result:
            return self.result(value, place)
        if is_dataclass(wanted):
            return self.record(cast(type, wanted), value, place)
        return self.single(wanted, value, place)

    def rows(self, wanted: Any, value: Any, place: str) -> tuple[Any, ...]:
        """A list of one kind."""
        if not isinstance(value, list):
            self.wrong(place, value, "a list")
            return ()
        return tuple(self.read(wanted, item, f"{place}[{i}]") for i, item in enumerate(value))

    def record(self, wanted: type, value: Any, place: str) -> Any:
        """An object with exactly the keys of a record."""
        if not isinstance(value, Mapping):
            self.wrong(place, value, "an object")
            return None
        before = len(self.faults)
        hints = _hints(wanted)
        self.keys(value, hints, place)
        read = {
            name: self.read(hint, value[name], _inside(place, name)) for name, hint in hints.items() if name in value
        }
        return wanted(**read) if len(self.faults) == before else None

    def keys(self, value: Mapping[str, Any], known: Mapping[str, Any] | set[str], place: str) -> None:
        """Note keys that are missing or unknown."""
        for name in value:
            if name not in known:
                self.wrong(_inside(place, name), value[name], "a known key", nearest(name, known))
        for name in known:
            if name not in value:
                self.wrong(_inside(place, name), None, "a value", "add the key")

    def single(self, wanted: type, value: Any, place: str) -> Any:
        """A text, number, amount of money or time."""
        if wanted is float and _plain(value):
            return float(value)
        if wanted is Decimal and isinstance(value, str):
            return self.parsed(Decimal, value, place, "an amount such as 12.50")
        if wanted is datetime.datetime and isinstance(value, str):
            return self.moment(value, place)
        if wanted is datetime.date and isinstance(value, str):
            return self.parsed(datetime.date.fromisoformat, value, place, "a date such as 2026-12-04")
        if wanted in (str, int, bool) and type(value) is wanted:
            return value
        self.wrong(
            place,
            value,
            {float: "a number", int: "a whole number", str: "a text", bool: "true or false"}.get(wanted, "a text"),
        )
        return None

    def parsed(self, read: Any, value: str, place: str, allowed: str) -> Any:
        """A text read by `read`."""
        try:
            return read(value)
        except (ValueError, InvalidOperation):
            self.wrong(place, value, allowed)
            return None

    def moment(self, value: str, place: str) -> datetime.datetime | None:
        """A time with its offset, in the plant's zone where that is known."""
        moment = self.parsed(datetime.datetime.fromisoformat, value, place, "a time such as 2026-12-04T14:00:00+00:00")
        if moment is not None and moment.tzinfo is None:
            self.wrong(place, value, "a time with its offset from UTC")
            return None
        return moment.astimezone(self.zone) if moment is not None and self.zone is not None else moment

    def result(self, value: Any, place: str) -> Result | None:
        """A design's result from its exact SI figures."""
        if not isinstance(value, Mapping):
            self.wrong(place, value, "an object")
            return None
        before = len(self.faults)
        self.keys(value, RESULT_SCHEMA["properties"], place)
        built: dict[str, tuple[Any, ...]] = {}
        for key, (name, record, exact) in _RESULT_ROWS.items():
            known = RESULT_SCHEMA["properties"][key]["items"]["properties"]
            rows = value.get(key, [])
            if not isinstance(rows, list):
                self.wrong(_inside(place, key), rows, "a list")
                continue
            built[name] = tuple(
                self.result_row(record, exact, known, row, f"{_inside(place, key)}[{i}]") for i, row in enumerate(rows)
            )
        for name in ("remarks", "defaults"):
            built[name] = self.rows(str, value.get(name, []), _inside(place, name))
        return Result(**built) if len(self.faults) == before else None

    def result_row(self, record: type, exact: Mapping[str, str], known: Mapping[str, Any], row: Any, place: str) -> Any:
        """One figure, check, step or caution; `exact` names the key that holds a field's SI value."""
        if not isinstance(row, Mapping):
            self.wrong(place, row, "an object")
            return None
        before = len(self.faults)
        self.keys(row, known, place)
        if len(self.faults) > before:
            return None
        read = {
            name: self.figure(row[exact[name]], _inside(place, exact[name]))
            if name in exact
            else self.read(hint, row[name], _inside(place, name))
            for name, hint in _hints(record).items()
        }
        return record(**read)

    def figure(self, value: Any, place: str) -> float:
        """A number, or one of the words for a number JSON cannot hold."""
        if isinstance(value, str) and value in _WORDS_OF_NUMBERS:
            return _WORDS_OF_NUMBERS[value]
        if not _plain(value):
            self.wrong(place, value, "a number, or one of " + ", ".join(_WORDS_OF_NUMBERS))
            return 0.0
        return float(value)


def _inside(place: str, name: str) -> str:
    return f"{place}.{name}" if place else name


def _object_schema(record: type, definitions: dict[str, Any]) -> dict[str, Any]:
    hints = _hints(record)
    meaning = MEANING[record.__name__]
    return {
        "type": "object",
        "description": meaning[""],
        "properties": {
            name: _schema_of(hint, definitions) | {"description": meaning[name]} for name, hint in hints.items()
        },
        "required": list(hints),
        "additionalProperties": False,
    }


def _schema_of(wanted: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    origin = get_origin(wanted)
    if origin in (Union, types.UnionType):
        inner = [kind for kind in get_args(wanted) if kind is not type(None)]
        return {"anyOf": [_schema_of(inner[0], definitions), {"type": "null"}]}
    if origin is Literal:
        return {"enum": list(get_args(wanted))}
    if origin is tuple:
        return {"type": "array", "items": _schema_of(get_args(wanted)[0], definitions)}
    if wanted is Result:
        definitions["result"] = RESULT_SCHEMA
        return {"$ref": "#/$defs/result"}
    if is_dataclass(wanted):
        kind = cast(type, wanted)
        name = "".join(f"_{c.lower()}" if c.isupper() else c for c in kind.__name__).lstrip("_")
        if name not in definitions:
            definitions[name] = _object_schema(kind, definitions)
        return {"$ref": f"#/$defs/{name}"}
    return dict(_SINGLE[wanted])


_SINGLE: Mapping[Any, Mapping[str, Any]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
    Decimal: {"type": "string", "pattern": MONEY},
    datetime.datetime: {"type": "string", "format": "date-time", "pattern": MOMENT},
    datetime.date: {"type": "string", "format": "date", "pattern": DATE},
}
