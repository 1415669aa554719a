"""What an engineer sees when designing a brush head."""

import pytest

from naptuft.brush import BRUSH
from naptuft.errors import DesignError


def design(**given):
    return BRUSH.answer({**BRUSH.example(), **given})


def test_an_emulsion_wall_brush_has_the_weight_and_count_of_the_trade():
    """100 mm wall brush: tens of thousands of filaments, 40 to 90 g of filling; common practice."""
    result = design()
    assert 15_000 < result["filament_count"] < 40_000
    assert 0.040 < result["fill_weight"] < 0.090
    assert 0.002 < result["epoxy_dose"] < 0.010
    assert result.passed


def test_mass_of_the_filling_is_that_of_its_filaments():
    """The filling weighs what its filaments weigh one by one: count × volume × density."""
    result = design(tip_diameter="0.2 mm", trim_loss="0 %")
    section = 3.14159265 / 4 * 0.2e-3**2
    assert result["fill_weight"] == pytest.approx(result["filament_count"] * section * 0.075 * 1310, rel=1e-6)


def test_bristle_goes_limp_in_water_and_the_sheet_says_so():
    wet = design(filling="hog bristle", diameter="0.18 mm", medium="water-borne")
    oil = design(filling="hog bristle", diameter="0.18 mm", medium="oil or alkyd")
    assert wet["head_stiffness"] < 0.6 * oil["head_stiffness"]
    assert any("keeps only 50% of its stiffness" in remark for remark in wet.remarks)


def test_impossible_geometry_is_refused_with_every_fault():
    with pytest.raises(DesignError) as caught:
        design(tip_diameter="0.3 mm", setting_depth="38 mm")
    assert {fault.place for fault in caught.value.faults} == {"tip diameter", "setting depth"}


def test_a_centrepiece_larger_than_the_cavity_is_refused():
    with pytest.raises(DesignError, match="centrepiece thickness"):
        design(centrepiece_thickness="17 mm")


def test_a_round_brush_needs_no_thickness_and_a_flat_one_does():
    given = {**BRUSH.example(), "shape": "round", "width": "30 mm", "centrepieces": "0"}
    del given["thickness"], given["centrepiece_width"], given["centrepiece_thickness"]
    assert BRUSH.answer(given)["open_area"] == pytest.approx(3.14159265 / 4 * 0.030**2)
    with pytest.raises(DesignError, match="thickness"):
        BRUSH.answer({**given, "shape": "flat"})


def test_what_was_assumed_is_listed():
    given = {name: BRUSH.example()[name] for name in ("width", "thickness", "clear_length", "filling", "diameter")}
    assert {"packing", "setting_depth", "centrepieces", "epoxy"} <= set(BRUSH.answer(given).defaults)


def test_a_shallow_setting_fails_its_check_and_is_remarked():
    result = design(setting_depth="3 mm")
    assert not result.passed
    assert result.limiting is not None
    assert result.limiting.label == "setting depth"


def test_the_end_section_is_drawn_to_scale():
    record, _ = BRUSH.read(BRUSH.example())
    assert BRUSH.draw is not None
    picture = BRUSH.draw(record, BRUSH.run(record))
    assert "100 mm" in picture
    assert "16 mm" in picture
    assert picture.count("<circle") > 40
