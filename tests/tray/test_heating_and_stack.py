"""What a user notices of a sheet in its oven, a tray's walls and nested trays in a carton."""

import pytest

from naptuft.errors import DesignError
from naptuft.tray import CALCULATIONS, SHEET_HEATING, TRAY, TRAY_STACK
from naptuft.tray.design import TrayDesign
from naptuft.tray.wall_map import wall_map


def answer(calculation, **given):
    return calculation.answer({**calculation.example(), **given})


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda calculation: calculation.name)
def test_every_example_passes_and_names_its_sources(calculation):
    result = answer(calculation)
    assert result.passed
    assert all(step.source for step in result.steps)
    assert result.cautions


def test_a_thin_sheet_heats_like_one_temperature_and_a_thick_one_lags():
    thin, thick = answer(SHEET_HEATING, sheet_thickness="0.4 mm"), answer(SHEET_HEATING, sheet_thickness="5 mm")
    assert thin["heating_time"] == pytest.approx(thin["thin_sheet_time"], rel=0.02)
    assert thick["heating_time"] > 1.05 * thick["thin_sheet_time"]
    assert thick["spread"] > 5 * thin["spread"]


def test_a_thick_sheet_under_hot_heaters_burns_its_face_before_the_middle_is_ready():
    result = answer(SHEET_HEATING, sheet_thickness="6 mm", upper_heater="600 degC", lower_heater="600 degC")
    assert "hottest place" in {check.label for check in result.checks if not check.passed}


def test_one_heater_alone_leaves_the_faces_apart():
    both, one = answer(SHEET_HEATING), answer(SHEET_HEATING, lower_heater="150 degC")
    assert one["upper_face"] - one["lower_face"] > 5
    assert abs(both["upper_face"] - both["lower_face"]) < 0.1
    assert one["heating_time"] > both["heating_time"]


def test_a_heater_too_cool_is_refused_with_all_that_is_wrong():
    with pytest.raises(DesignError) as raised:
        answer(SHEET_HEATING, upper_heater="150 degC", lower_heater="150 degC", clamped_length="200 mm")
    assert {fault.place for fault in raised.value.faults} == {"upper heater", "clamped width"}


def test_a_wide_soft_sheet_sags_too_far():
    result = answer(SHEET_HEATING, clamped_width="680 mm", hot_modulus="0.1 MPa")
    assert "sag over the free side" in {check.label for check in result.checks if not check.passed}


def test_the_wall_thins_from_the_middle_to_the_corner_and_from_the_ramp_to_the_well():
    record, _ = TRAY.read(TRAY.example())
    assert isinstance(record, TrayDesign)
    walls = wall_map(record.shape, record.corner_radius)
    share = {place.name: place.share for place in walls.places()}
    assert share["well, bottom corner"] < share["well, side"] < share["well, middle"] < 1
    up = [share[f"ramp, {part}, middle"] for part in ("a quarter up", "half way up", "three quarters up")]
    assert share["well, middle"] < up[0] < up[1] < up[2] < 1
    assert walls.corner.share < min(share.values())


def test_nested_trays_add_little_and_fill_the_carton():
    result = answer(TRAY_STACK)
    assert result["stack_height"] <= 0.320
    assert result["stack_pitch"] < 0.2 * 0.061
    assert result["trays_per_carton"] == 2 * result["trays_per_stack"]


def test_a_carton_too_small_is_refused():
    with pytest.raises(DesignError, match="use a larger carton"):
        answer(TRAY_STACK, carton_height="50 mm")


def test_steep_walls_that_stick_together_are_found():
    result = answer(TRAY_STACK, draft="3 deg")
    assert "lean of the walls, to part from each other" in {c.label for c in result.checks if not c.passed}
