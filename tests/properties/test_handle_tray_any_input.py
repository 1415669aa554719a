"""Whatever the form allows gives finite figures and a drawing, or a DesignError that names what is wrong."""

import math

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from naptuft import boxing, handle, tray
from naptuft.calculation import Field, result_as_json
from naptuft.errors import DesignError

EVERY = (*handle.CALCULATIONS, *tray.CALCULATIONS, *boxing.CALCULATIONS)


def values(field: Field) -> st.SearchStrategy:
    """Raw values for a field, over all it allows, its default or example more often."""
    example = st.just(field.example) if field.example else st.none()
    match field.kind:
        case "choice":
            return st.sampled_from(field.choices)
        case "whole":
            high = min(field.high or 1000, 400)
            return example | st.integers(int(field.low or 0), int(high))
        case "quantity":
            assert field.low is not None
            assert field.high is not None
            spread = st.floats(0, 1).map(lambda part: spread_over(field.low or 0.0, field.high or 0.0, part))
            usual = st.none() if not field.required else example
            return usual | example | spread
        case _:
            return st.just(field.example) if field.required else st.none()


def spread_over(low: float, high: float, part: float) -> float:
    """Between the limits, as many small values as large ones."""
    if low > 0 and high / low > 100:
        return low * (high / low) ** part
    return low + (high - low) * part


@pytest.mark.parametrize("calculation", EVERY, ids=lambda calculation: calculation.name)
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_allowed_input_is_answered_or_refused_in_words(calculation, data):
    raw = {field.name: data.draw(values(field), label=field.name) for field in calculation.fields}
    faults, record, result = (), None, None
    try:
        record, _ = calculation.read(raw)
        result = calculation.run(record)
    except DesignError as error:
        faults = error.faults
    event("answered" if result else "refused")
    if result is None:
        assert faults
        assert all(fault.place and fault.allowed and fault.mend for fault in faults)
        return
    assert all(math.isfinite(value.value) for value in result.values)
    assert all(math.isfinite(check.margin) for check in result.checks)
    assert result_as_json(result)["values"]
    if calculation.draw is not None:
        picture = calculation.draw(record, result)
        assert picture.startswith("<svg")
        assert "nan" not in picture
