"""Any input within its limits: winding, splices, racks and cut lists answer in finite figures or refuse in words."""

import math
import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from naptuft.calculation import Field, result_as_json
from naptuft.errors import NaptuftError
from naptuft.roller import CURE_RACK, CUT_LIST, CUT_RUNS, SPLICE, STOCK_TUBE


def written(field: Field) -> st.SearchStrategy:
    """What a person may write in a field, most often its example or nothing."""
    usual = st.sampled_from([field.example or None, field.example if field.required else None])
    match field.kind:
        case "choice":
            return st.sampled_from(field.choices)
        case "whole":
            return usual | st.integers(int(field.low or 0), int(min(field.high or 60, 60)))
        case "money":
            return usual | st.integers(0, 500).map(lambda cents: f"{cents / 100:.2f}")
        case "date":
            return st.dates().map(str) | usual
        case "rows":
            row = st.fixed_dictionaries({column.name: written(column) for column in field.columns})
            return usual | st.lists(row, min_size=1, max_size=4)
        case "quantity":
            low, high = field.low or 0.0, field.high if field.high is not None else 1e3
            start = low if low > 0 else high * 1e-4
            return usual | usual | st.floats(0, 1).map(lambda share: start * (high / start) ** share)
        case _:
            return usual


@pytest.mark.parametrize("calculation", [STOCK_TUBE, SPLICE, CURE_RACK, CUT_LIST, CUT_RUNS], ids=lambda c: c.name)
@settings(deadline=None, max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(data=st.data())
def test_it_answers_in_finite_figures_or_refuses_in_words(calculation, data):
    raw = {field.name: data.draw(written(field), label=field.name) for field in calculation.fields}
    try:
        result = calculation.answer(raw)
    except NaptuftError as error:
        refused = error.faults
    else:
        refused = ()
        assert all(math.isfinite(value["value"]) for value in result_as_json(result)["values"])
        record, _ = calculation.read(raw)
        ElementTree.fromstring(calculation.draw(record, result))
    assert all(fault.place and fault.allowed and fault.mend for fault in refused)
