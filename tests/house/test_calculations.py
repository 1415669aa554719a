"""Every declared calculation can be used by someone who reads only its declaration."""

from __future__ import annotations

import dataclasses
import xml.etree.ElementTree as ElementTree

import pytest

from naptuft.calculation import Calculation, result_as_json
from naptuft.errors import DesignError
from naptuft.quantity import kind_of
from naptuft.services import CALCULATIONS

everyone = pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=CALCULATIONS.keys())


@everyone
def test_its_example_works_out_and_says_why(calculation: Calculation):
    result = calculation.answer(calculation.example())
    assert result.values
    assert result.steps, "a result says why"
    for step in result.steps:
        assert step.formula
        assert step.source
    for check in result.checks:
        assert check.label
    assert len({value.name for value in result.values}) == len(result.values)


@everyone
def test_every_input_is_explained_with_unit_and_example(calculation: Calculation):
    assert calculation.title
    assert calculation.about
    for field in calculation.fields:
        assert field.help, field.name
        assert not field.required or field.example, f"{field.name} must be given and so needs an example"
        kind_of(field.unit)


@everyone
def test_the_same_input_gives_the_same_result(calculation: Calculation):
    first = calculation.answer(calculation.example())
    assert calculation.answer(calculation.example()) == first
    assert result_as_json(first)["passed"] == first.passed


@everyone
def test_its_input_cannot_be_changed_after_it_is_read(calculation: Calculation):
    record, _ = calculation.read(calculation.example())
    name = calculation.fields[0].name
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(record, name, 1.0)


@everyone
def test_nothing_given_names_every_input_that_is_missing(calculation: Calculation):
    with pytest.raises(DesignError) as caught:
        calculation.answer({})
    missing = {fault.place for fault in caught.value.faults}
    assert missing == {field.label for field in calculation.fields if field.required}


@everyone
def test_a_misspelt_input_suggests_the_right_one(calculation: Calculation):
    name = max((field.name for field in calculation.fields), key=len)
    given = calculation.example()
    given[name[:-1] + "q"] = "1"
    with pytest.raises(DesignError) as caught:
        calculation.answer(given)
    assert any(f"did you mean {name}" in fault.mend for fault in caught.value.faults)


@everyone
def test_a_quantity_of_the_wrong_kind_is_named(calculation: Calculation):
    for field in calculation.fields:
        if field.kind == "quantity" and kind_of(field.unit) == "a length":
            with pytest.raises(DesignError) as caught:
                calculation.answer({**calculation.example(), field.name: "50 g"})
            assert f"{field.label} wants a length; '50 g' is a mass" in str(caught.value)
            return


@everyone
def test_its_drawing_is_an_svg_with_a_title(calculation: Calculation):
    if calculation.draw is None:
        return
    record, _ = calculation.read(calculation.example())
    drawing = ElementTree.fromstring(calculation.draw(record, calculation.run(record)))
    assert drawing.tag.endswith("svg")
    assert any(element.tag.endswith("title") and element.text for element in drawing.iter())
