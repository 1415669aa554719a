"""plan.json: there and back without loss, and exactly as its schema says."""

from __future__ import annotations

import dataclasses
import datetime
import json
import typing
from decimal import Decimal
from zoneinfo import ZoneInfo

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft.calculation import Caution, Check, Result, Step, Value
from naptuft.errors import BookError
from naptuft.planning import plan as planning
from naptuft.planning.plan import DesignOutcome, Plan
from naptuft.planning.plan_json import plan_as_json, plan_from_json, plan_schema, plan_text
from naptuft.planning.plan_words import MEANING
from sample_plan import sample_plan

ZONES = st.sampled_from(["UTC", "Europe/London", "America/St_Johns", "Asia/Kathmandu"]).map(ZoneInfo)
UNITS = st.sampled_from(["", "mm", "g", "degC", "kN", "%", "N/m", "pcs"])
FIGURES = st.floats(allow_nan=False)
TEXTS = st.text(max_size=12)

RESULTS = st.builds(
    Result,
    values=st.lists(st.builds(Value, name=TEXTS, label=TEXTS, value=FIGURES, unit=UNITS), max_size=2).map(tuple),
    checks=st.lists(
        st.builds(
            Check,
            label=TEXTS,
            value=st.floats(-1e12, 1e12),
            limit=st.floats(-1e12, 1e12),
            sense=st.sampled_from(["at least", "at most"]),
            unit=UNITS,
            source=TEXTS,
            mend=TEXTS,
        ),
        max_size=3,
    ).map(tuple),
    steps=st.lists(
        st.builds(Step, label=TEXTS, formula=TEXTS, value=FIGURES, unit=UNITS, source=TEXTS), max_size=2
    ).map(tuple),
    cautions=st.lists(st.builds(Caution, hazard=TEXTS, measure=TEXTS, rule=TEXTS), max_size=2).map(tuple),
    remarks=st.lists(TEXTS, max_size=2).map(tuple),
    defaults=st.lists(TEXTS, max_size=2).map(tuple),
)


def values_of(kind: typing.Any, zone: ZoneInfo) -> st.SearchStrategy:
    """Any value a field of this kind may hold."""
    if kind is Result:
        return RESULTS
    if dataclasses.is_dataclass(kind):
        return records(typing.cast(type, kind), zone)
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if origin is tuple:
        return st.lists(values_of(inside[0], zone), max_size=2).map(tuple)
    if origin is typing.Literal:
        return st.sampled_from(inside)
    if type(None) in inside:
        return st.none() | values_of(inside[0], zone)
    return {
        str: TEXTS,
        int: st.integers(-(10**12), 10**12),
        bool: st.booleans(),
        float: st.floats(allow_nan=False, allow_infinity=False),
        Decimal: st.integers(-(10**12), 10**12).map(lambda cents: Decimal(cents).scaleb(-4)),
        datetime.date: st.dates(),
        datetime.datetime: st.datetimes(
            datetime.datetime(1990, 1, 1), datetime.datetime(2200, 1, 1), timezones=st.just(zone), allow_imaginary=False
        ),
    }[kind]


def records(record: type, zone: ZoneInfo) -> st.SearchStrategy:
    """Any instance of one record of a plan."""
    hints = typing.get_type_hints(record)
    return st.builds(record, **{item.name: values_of(hints[item.name], zone) for item in dataclasses.fields(record)})


PLANS = ZONES.flatmap(lambda zone: records(Plan, zone))
CHECK = jsonschema.Draft202012Validator(plan_schema(), format_checker=jsonschema.FormatChecker())


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large], deadline=None)
@given(PLANS)
def test_any_plan_comes_back_the_same_and_fits_the_schema(plan):
    """Through text and back: equal records, equal text, and nothing the schema does not allow."""
    text = plan_text(plan)
    given_back = json.loads(text)
    CHECK.validate(given_back)
    again = plan_from_json(given_back)
    assert again == plan
    assert plan_text(again) == text


@given(RESULTS, st.sampled_from([float("inf"), float("-inf"), float("nan")]))
def test_a_design_figure_that_is_no_number_is_written_as_a_word(result, odd):
    """JSON has no infinity; the text stays strict JSON and the figure comes back."""
    result = dataclasses.replace(result, values=(Value("odd", "odd", odd, "mm"),))
    plan = dataclasses.replace(sample_plan(), designs=(DesignOutcome("P", "p", "brush", "head", result),))
    text = plan_text(plan)
    CHECK.validate(json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is not JSON")))
    found = plan_from_json(json.loads(text)).designs[0].result["odd"]
    assert found == odd or (found != found and odd != odd)


def test_the_sample_plan_reads_as_the_format_promises():
    """Times with offset, money as text, whole numbers without a point, quantities with their unit."""
    written = plan_as_json(sample_plan())
    CHECK.validate(written)
    order = written["orders"][1]
    assert order["due"] == "2026-12-04T12:00:00+00:00"
    assert order["value"] == "1050.00"
    assert (order["late_minutes"], order["short_quantity"]) == (10, 0)
    allocation = written["allocations"][0]
    assert (allocation["quantity"], allocation["unit"]) == (42.18, "kg")
    values = written["designs"][0]["result"]["values"][0]
    assert (values["value"], values["unit"], values["si"]) == (86.0, "g", 0.086)


@pytest.mark.parametrize(
    ("damage", "place"),
    [
        (lambda j: j["orders"][0].pop("due"), "orders[0].due"),
        (lambda j: j["orders"][0].update(colour="red"), "orders[0].colour"),
        (lambda j: j["orders"][0].update(quantity="many"), "orders[0].quantity"),
        (lambda j: j["orders"][0].update(quantity=True), "orders[0].quantity"),
        (lambda j: j["orders"][0].update(state="lost"), "orders[0].state"),
        (lambda j: j["operations"][0].update(start="2026-11-30T06:00:00"), "operations[0].start"),
        (lambda j: j["operations"][0].update(start="soon"), "operations[0].start"),
        (lambda j: j["costs"][0].update(total=12.5), "costs[0].total"),
        (lambda j: j.update(blends={}), "blends"),
        (lambda j: j.pop("checks"), "checks"),
        (lambda j: j.update(format="naptuft plan 0"), "format"),
        (lambda j: j["designs"][0]["result"]["values"][0].pop("si"), "designs[0].result.values[0].si"),
        (
            lambda j: j["designs"][0]["result"]["checks"][0].update(limit_si="high"),
            "designs[0].result.checks[0].limit_si",
        ),
        (lambda j: j["designs"][0]["result"].update(cautions="none"), "designs[0].result.cautions"),
    ],
)
def test_a_damaged_plan_is_refused_by_reader_and_schema_alike(damage, place):
    """The reader names the place; the published schema refuses the same file."""
    written = plan_as_json(sample_plan())
    damage(written)
    with pytest.raises(BookError) as refused:
        plan_from_json(written)
    assert [fault.place for fault in refused.value.faults] == [place]
    assert not CHECK.is_valid(written)


def test_every_fault_is_named_in_one_pass():
    """Three damages, three faults."""
    written = plan_as_json(sample_plan())
    del written["orders"][0]["due"]
    written["loads"][1]["machines"] = "two"
    written["zone"] = "Mars/Olympus"
    with pytest.raises(BookError) as refused:
        plan_from_json(written)
    assert {fault.place for fault in refused.value.faults} == {"orders[0].due", "loads[1].machines", "zone"}


def test_every_key_of_every_record_is_explained():
    """The words beside the schema name exactly the records and fields of a plan."""
    found = {
        name: {field.name for field in dataclasses.fields(record)} | {""}
        for name, record in vars(planning).items()
        if dataclasses.is_dataclass(record) and record.__module__ == planning.__name__
    }
    assert {name: set(words) for name, words in MEANING.items()} == found
    assert all(text for words in MEANING.values() for text in words.values())


def test_the_schema_itself_is_valid_and_closed():
    """Draft 2020-12 accepts it, and every object in it refuses unknown keys."""
    schema = plan_schema()
    jsonschema.Draft202012Validator.check_schema(schema)

    def objects(part):
        if isinstance(part, dict):
            if part.get("type") == "object":
                yield part
            for inner in part.values():
                yield from objects(inner)

    for part in objects(schema):
        assert part["additionalProperties"] is False
        assert set(part["required"]) == set(part["properties"])
