"""Whole sheets of handles and trays: any choice the form allows is designed with its drawings, or refused in words."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft import handle, tray
from naptuft.calculation import Field
from naptuft.errors import DesignError

EVERY = (*handle.SHEETS, *tray.SHEETS)


def raw_value(field: Field) -> st.SearchStrategy:
    """The example or default more often, else a value between the limits."""
    usual = st.just(field.example) if field.example else st.none()
    match field.kind:
        case "choice":
            return st.sampled_from(field.choices)
        case "whole":
            return usual | st.integers(int(field.low or 0), int(min(field.high or 100, 200)))
        case "quantity":
            low, high = field.low or 0.0, field.high or 1.0
            spread = st.floats(0, 1).map(lambda part: low + (high - low) * part**3)
            return st.one_of(usual, usual, usual, spread)
        case _:
            return usual


@pytest.mark.parametrize("sheet", EVERY, ids=lambda sheet: sheet.name)
@settings(deadline=None, max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_choice_is_designed_or_refused_in_words(sheet, data):
    raw = {field.name: data.draw(raw_value(field), label=field.name) for field in sheet.fields}
    faults, whole = (), None
    try:
        whole = sheet.answer(raw)
    except DesignError as error:
        faults = error.faults
    if whole is None:
        assert faults
        assert all(fault.place and fault.allowed and fault.mend for fault in faults)
        return
    assert all(math.isfinite(value.value) for part in whole.parts for value in part.result.values)
    assert whole.result.limiting is not None
    assert all("nan" not in view.svg for view in whole.views)
