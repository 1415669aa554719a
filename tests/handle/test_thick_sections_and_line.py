"""What a user notices of thick sections, presses, moulds, vats, colours and the finishing line."""

import pytest

from naptuft.errors import DesignError
from naptuft.handle import (
    COAT_LINE,
    COLOUR_ORDER,
    DRAINAGE,
    HANDLE_COATS,
    MOULD_SIZE,
    MOULDED_PART,
    PRESS_CHOICE,
    REGRIND,
    THICK_SECTION,
    VAT,
)


def answer(calculation, **given):
    return calculation.answer({**calculation.example(), **given})


def test_a_thick_section_takes_minutes_and_a_thin_one_seconds():
    assert 120 < answer(THICK_SECTION, melt_temperature="205 degC")["cooling_time"] < 600
    assert answer(THICK_SECTION, thickness="2 mm")["cooling_time"] < 15


@pytest.mark.parametrize("resin", ["PS", "ABS", "PVC"])
def test_without_heat_of_fusion_the_handbook_and_the_course_agree(resin):
    """A very good contact and a glassy resin: the handbook's plate formula within 3 %."""
    result = answer(THICK_SECTION, resin=resin, contact="100000 W/m**2/K")
    assert result["cooling_through"] == pytest.approx(result["handbook_through"], rel=0.03)
    assert result["cooling_time"] == pytest.approx(result["handbook_time"], rel=0.03)


def test_a_poor_contact_cools_slower():
    good, poor = answer(THICK_SECTION), answer(THICK_SECTION, contact="200 W/m**2/K")
    assert poor["cooling_time"] > good["cooling_time"]


def test_a_soft_middle_is_told():
    assert any("sets outside the mould" in remark for remark in answer(THICK_SECTION).remarks)


def test_the_smallest_press_that_suits_is_chosen_and_others_told_why_not():
    result = answer(
        PRESS_CHOICE,
        presses="small | 800 kN | 180 cm**3 | 360 mm; middle | 1200 kN | 450 cm**3 | 420 mm; large | 3000 kN | 2500 cm**3 | 700 mm",
    )
    assert result["clamp"] == pytest.approx(1.2e6)
    assert result["presses_suitable"] == 1
    assert any(remark.startswith("small:") for remark in result.remarks)
    assert any("% of its largest" in remark for remark in result.remarks if remark.startswith("large"))


def test_pvc_may_not_stand_in_a_large_barrel():
    result = answer(PRESS_CHOICE, resin="PVC", cycle_time="240 s")
    assert not result.passed
    assert any("hydrogen chloride" in caution.hazard for caution in result.cautions)


def test_too_much_regrind_is_told_with_what_may_be_fed():
    failed = answer(REGRIND, regrind_share="70 %").limiting
    assert failed is not None
    assert "feed at most 52.6 % regrind" in failed.mend


def test_a_tight_tolerance_on_a_resin_that_shrinks_by_a_range_fails():
    assert answer(MOULD_SIZE).passed
    assert not answer(MOULD_SIZE, resin="HDPE").passed
    assert answer(MOULD_SIZE, resin="HDPE", shrinkage_low="2.0 %", shrinkage_high="2.4 %").passed


def test_shrinkage_the_wrong_way_round_is_refused():
    with pytest.raises(DesignError, match="shrinkage low"):
        answer(MOULD_SIZE, shrinkage_low="3 %", shrinkage_high="2 %")


def test_a_thick_rib_is_warned_of():
    labels = {check.label for check in answer(MOULD_SIZE, rib="2.2 mm").checks if not check.passed}
    assert labels == {"sink behind ribs, rib to wall"}


def test_lowering_too_fast_is_told_with_the_limit():
    result = answer(DRAINAGE, lowering_speed="60 mm/s")
    assert {check.label for check in result.checks if not check.passed} == {"lowering speed"}
    assert result["lowering_limit"] < 0.060


def test_a_shear_thinning_coating_leaves_a_thinner_film():
    oil, thinning = answer(DRAINAGE, flow_index="1"), answer(DRAINAGE, flow_index="0.6")
    assert thinning["working_viscosity"] < oil["working_viscosity"]
    assert thinning["drawn_film"] < oil["drawn_film"]


def test_a_vat_that_would_run_over_fails():
    assert not answer(VAT, freeboard="10 mm").passed
    assert "thinning_due" not in answer(VAT, evaporation="0 g/m**2/hour")


def test_the_best_order_of_colours_saves_time():
    result = answer(COLOUR_ORDER)
    assert result["saved"] > 0
    assert any("river blue – signal red – cream – black" in remark for remark in result.remarks)
    with pytest.raises(DesignError, match="each colour once"):
        answer(COLOUR_ORDER, colours="red | 50; Red | 50")


def test_too_few_racks_are_found_and_the_pace_they_allow_is_told():
    result = answer(COAT_LINE, racks="100")
    assert not result.passed
    pace = result["most_handles"] * 3600
    assert answer(COAT_LINE, racks="100", handles_per_hour=f"{pace * 0.98}").passed


def test_warm_air_dries_sooner_and_water_minds_the_weather():
    cool, warm = answer(COAT_LINE), answer(COAT_LINE, air_temperature="35 degC")
    assert warm["flash_off_time"] < cool["flash_off_time"]
    damp = answer(COAT_LINE, coating="water-borne acrylic", humidity="85 %")
    dry = answer(COAT_LINE, coating="water-borne acrylic", humidity="30 %")
    assert damp["flash_off_time"] > dry["flash_off_time"]
    assert "air_flow" not in dry


def test_a_quick_withdrawal_tells_the_film_with_its_own_weight():
    assert any("White and Tallmadge" in remark for remark in answer(HANDLE_COATS, withdrawal_speed="10 mm/s").remarks)


def test_a_warmer_melt_wants_more_water_and_electricity():
    cool, hot = answer(MOULDED_PART), answer(MOULDED_PART, melt_temperature="250 degC")
    assert hot["energy"] > cool["energy"]
    assert answer(MOULDED_PART, water_rise="6 K")["water_flow"] == pytest.approx(cool["water_flow"] / 2)


def test_packing_that_ends_before_the_gate_has_set_is_told():
    short, long = (answer(MOULDED_PART, gate_thickness="2 mm", pack_time=time) for time in ("2 s", "12 s"))
    assert {check.label for check in short.checks if not check.passed} == {"pack time, until the gate has set"}
    assert long.passed
    assert "gate_freeze_time" not in answer(MOULDED_PART)


def test_melt_and_ejection_close_together_still_cool_in_a_finite_time():
    result = answer(THICK_SECTION, melt_temperature="125 degC", ejection_temperature="112 degC")
    assert 0 < result["cooling_time"] < result["cooling_through"] < 3600
