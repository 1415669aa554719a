"""What a user notices when a handle or moulded part is worked out."""

import re

import pytest

from naptuft import handle
from naptuft.errors import DesignError
from naptuft.handle import DRYING_AIR, HANDLE, HANDLE_COATS, HANDLE_MOULDING, MOULDED_PART


def answer(calculation, **given):
    return calculation.answer({**calculation.example(), **given})


@pytest.mark.parametrize("calculation", handle.CALCULATIONS, ids=lambda calculation: calculation.name)
def test_every_example_works_and_says_where_its_figures_come_from(calculation):
    result = answer(calculation)
    assert result.values
    assert all(step.source and step.formula for step in result.steps)
    assert result.cautions
    assert all("Follow local codes and licensed practice." in str(caution) for caution in result.cautions)


def test_a_thick_solid_handle_takes_about_five_minutes():
    """Common practice: melt about 205 °C and five minutes for a thick solid handle."""
    result = answer(HANDLE, melt_temperature="205 degC")
    assert 3 * 60 < result["cooling_time"] < 8 * 60


def test_a_thin_hollow_grip_takes_seconds():
    assert answer(MOULDED_PART, cooling_thickness="2 mm")["cooling_time"] < 15


def test_all_resin_of_a_shot_is_accounted_for():
    result = answer(HANDLE, reground_share="40 %")
    each = result["resin_mass"] + result["regrind_mass"]
    assert each * 4 == pytest.approx(result["shot_mass"], rel=1e-12)


def test_a_hollow_handle_weighs_less_and_cools_sooner_than_a_solid_one():
    solid, hollow = answer(HANDLE), answer(HANDLE, wall="2.5 mm")
    assert hollow["part_mass"] < solid["part_mass"]
    assert hollow["cooling_time"] < solid["cooling_time"] / 10


def test_the_press_is_judged_when_it_is_named():
    small = answer(HANDLE, press_clamp="400 kN", press_shot="200 cm**3")
    large = answer(HANDLE, press_clamp="1500 kN", press_shot="700 cm**3")
    assert {check.label for check in small.checks if not check.passed} == {
        "clamp force against the press",
        "shot against the press",
    }
    assert large.passed


def test_enough_cavities_are_asked_for():
    result = answer(HANDLE_MOULDING, demand_per_hour="200", cavities="4")
    need = result["cavities_needed"]
    assert not result.passed
    assert answer(HANDLE_MOULDING, demand_per_hour="200", cavities=str(int(need))).passed


def test_faults_of_outline_and_mould_come_together():
    with pytest.raises(DesignError) as raised:
        answer(HANDLE, neck_width="40 mm", mould_temperature="100 degC", ejection_temperature="60 degC")
    places = {fault.place for fault in raised.value.faults}
    assert places == {"neck width", "ejection temperature"}


def test_a_temperature_out_of_the_ordinary_is_remarked():
    remarks = " ".join(answer(MOULDED_PART, melt_temperature="300 degC").remarks)
    assert re.search(r"melt temperature of 300 °C is outside the usual 204 to 260 °C of PP", remarks)


def test_pvc_carries_its_own_caution():
    assert any("hydrogen chloride" in caution.hazard for caution in answer(MOULDED_PART, resin="PVC").cautions)


def test_a_film_beyond_its_formula_says_so():
    quick = answer(HANDLE_COATS, withdrawal_speed="20 mm/s")
    assert any("outside the film formula's range" in remark for remark in quick.remarks)
    assert not any("outside the film formula's range" in remark for remark in answer(HANDLE_COATS).remarks)


def test_vapour_is_warned_of_only_where_there_is_solvent():
    water = answer(HANDLE_COATS, coating="water-borne acrylic")
    assert not any("vapour" in caution.hazard for caution in water.cautions)
    assert any("vapour" in caution.hazard for caution in answer(HANDLE_COATS).cautions)


def test_too_little_air_is_found():
    needed = answer(DRYING_AIR)["air_flow"]
    assert not answer(DRYING_AIR, air_given=f"{needed * 3600 * 0.9} m**3/hour").passed
    assert answer(DRYING_AIR, air_given=f"{needed * 3600 * 1.1} m**3/hour").passed


def test_a_solvent_not_in_the_table_says_which_data_are_missing():
    with pytest.raises(DesignError) as raised:
        answer(DRYING_AIR, solvent="another", molar_mass="88.1 g/mol")
    assert [fault.place for fault in raised.value.faults] == ["lower limit"]
    known = answer(DRYING_AIR, solvent="another", molar_mass="116.16 g/mol", lower_limit="1.7 %")
    assert known["air_flow"] == pytest.approx(answer(DRYING_AIR)["air_flow"])


def test_no_figure_is_named_twice():
    for calculation in handle.CALCULATIONS:
        names = [value.name for value in answer(calculation).values]
        assert len(names) == len(set(names)), calculation.name


def test_the_drawing_shows_the_length_and_the_ferrule_line():
    record, _ = HANDLE.read(HANDLE.example())
    assert HANDLE.draw is not None
    picture = HANDLE.draw(record, HANDLE.run(record))
    assert "180 mm" in picture
    assert "ferrule line" in picture
