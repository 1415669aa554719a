"""Rows and figures anywhere in their limits: finishing, pile, fit, clip and stack answer in numbers or refuse in words."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft.calculation import Field, result_as_json
from naptuft.errors import DesignError
from naptuft.roller import CLIP, FLUFF, FRAME, FRAME_FIT, PILE_CHOICE, REFILL, SHEDDING, SOLVENT_PROOF, SPIN, TOLERANCE
from naptuft.roller import SHEETS as ROLLER_SHEETS

EVERY = (CLIP, FLUFF, FRAME, FRAME_FIT, PILE_CHOICE, REFILL, SHEDDING, SOLVENT_PROOF, SPIN, TOLERANCE)


def raw_value(field: Field) -> st.SearchStrategy:
    """What a person may write in a field, most often near its example."""
    usual = st.sampled_from([field.example or None, None if not field.required else field.example])
    if field.kind == "choice":
        return st.sampled_from(field.choices)
    if field.kind == "whole":
        return usual | st.integers(int(field.low or 0), int(min(field.high or 500, 500)))
    if field.kind == "yes":
        return st.booleans()
    if field.kind == "rows":
        row = st.fixed_dictionaries({column.name: raw_value(column) for column in field.columns})
        return usual | st.lists(row, min_size=1, max_size=4)
    if field.kind != "quantity":
        return usual
    low, high = field.low or 0.0, field.high if field.high is not None else 1e3
    start = low if low > 0 else high * 1e-4
    across = st.floats(0, 1).map(
        lambda share: start * (high / start) ** share if high > 0 and low >= 0 else low + share * (high - low)
    )
    return usual | usual | across


def worked_or_refused(declared, data, answer):
    raw = {field.name: data.draw(raw_value(field), label=field.name) for field in declared.fields}
    refused = []
    try:
        return answer(raw)
    except DesignError as error:
        refused = error.faults
    assert refused
    assert all(fault.place and fault.allowed and fault.mend for fault in refused), refused
    return None


@pytest.mark.parametrize("calculation", EVERY, ids=lambda calculation: calculation.name)
@settings(deadline=None, max_examples=80, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_input_gives_finite_figures_and_a_picture(calculation, data):
    result = worked_or_refused(calculation, data, calculation.answer)
    if result is None:
        return
    assert all(math.isfinite(value.value) for value in result.values), result.values
    assert all(math.isfinite(check.margin) for check in result.checks)
    assert result_as_json(result)["because"]


@pytest.mark.parametrize("sheet", ROLLER_SHEETS, ids=lambda sheet: sheet.name)
@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_choice_gives_a_whole_sheet_with_pictures(sheet, data):
    design = worked_or_refused(sheet, data, sheet.answer)
    if design is None:
        return
    assert design.headline
    assert all("nan" not in view.svg and view.svg.startswith("<svg") for view in design.views)
