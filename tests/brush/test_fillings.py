"""What a filling is called, what a mix of two is, and what stands on the sheet beside it."""

import pytest

from naptuft.brush import BRUSH, FLEX, SETTING, SUITABILITY, WORKING
from naptuft.errors import NotFound
from naptuft.materials.filament import filament_material, mixed_filling


def head(**given):
    return BRUSH.answer({**BRUSH.example(), **given})


def test_a_mix_weighs_what_its_parts_weigh():
    """Half the filaments of one, half of the other, of one size: the mean of both heads, tapers set alike."""
    alike = {"tip_diameter": "0.12 mm", "diameter": "0.2 mm"}
    parts = [head(filling=name, **alike)["fill_weight"] for name in ("hog bristle", "PET")]
    assert head(filling="hog bristle and PET", **alike)["fill_weight"] == pytest.approx(sum(parts) / 2, rel=1e-9)


def test_a_mix_is_as_stiff_wet_and_dry_as_its_parts_side_by_side():
    alike = {"tip_diameter": "0.12 mm", "diameter": "0.2 mm"}
    for medium in ("dry", "water-borne", "oil or alkyd", "strong solvent"):
        parts = [head(filling=name, medium=medium, **alike)["head_stiffness"] for name in ("nylon 6.12", "PET")]
        mix = head(filling="nylon 6.12 and PET", medium=medium, **alike)["head_stiffness"]
        assert mix == pytest.approx(sum(parts) / 2, rel=1e-9)


def test_a_mix_bears_no_more_heat_than_the_weaker_part_and_needs_the_bond_of_the_stronger():
    mix = filament_material("nylon 6.12 and PET")
    parts = [filament_material(name) for name in ("nylon 6.12", "PET")]
    assert float(mix.heat_limit) == min(float(part.heat_limit) for part in parts)
    assert float(mix.strength) == max(float(part.strength) for part in parts)
    with pytest.raises(NotFound, match="did you mean hog bristle"):
        mixed_filling("mix", (("hog bristel", 1.0),))


def test_bristle_in_a_mix_keeps_its_caution_and_its_reason():
    result = head(filling="hog bristle and PET", medium="water-borne")
    assert any("disinfected bristle" in str(caution) for caution in result.cautions)
    assert any("the hair in hog bristle and PET takes up water" in remark for remark in result.remarks)


@pytest.mark.parametrize(("diameter", "word"), [("0.12 mm", "fine"), ("0.18 mm", "medium"), ("0.24 mm", "stout")])
def test_bristle_is_named_by_its_stoutness(diameter, word):
    remarks = head(filling="hog bristle", diameter=diameter, medium="oil or alkyd").remarks
    assert f"This is {word} bristle." in remarks


def test_bristle_comes_with_its_certificate():
    said = " ".join(map(str, head(filling="hog bristle", medium="oil or alkyd").cautions))
    assert "9 CFR 95.18" in said
    assert "anthrax" in said


def test_a_hot_cure_and_a_solvent_paint_carry_their_cautions():
    hot = SETTING.answer({**SETTING.example(), "cure_temperature": "60 degC"})
    cool = SETTING.answer(SETTING.example())
    assert any("oven" in str(caution) for caution in hot.cautions)
    assert not any("oven" in str(caution) for caution in cool.cautions)
    assert any("heats itself" in str(caution) for caution in cool.cautions)
    assert SUITABILITY.answer({"medium": "strong solvent"}).cautions
    assert not SUITABILITY.answer({"medium": "water-borne"}).cautions


def test_the_head_holds_no_more_than_its_drip_limit_when_dipped_deep():
    deep = WORKING.answer({**WORKING.example(), "diameter": "0.4 mm", "packing": "0.45", "dip_share": "100 %"})
    shallow = WORKING.answer({**WORKING.example(), "dip_share": "20 %"})
    assert deep["drip_limit"] <= deep["paint_volume"] * (1 + 1e-9)
    assert shallow["drip_limit"] > shallow["paint_volume"]


def test_a_filament_says_what_it_springs_back():
    result = FLEX.answer({**FLEX.example(), "filling": "PP"})
    assert result["bend_recovery"] == pytest.approx(0.75)


def test_dense_butts_soak_by_darcy_well_behind_straight_tubes():
    result = SETTING.answer({**SETTING.example(), "packing": "0.78"})
    assert result["depth_at_gel"] < result["depth_by_tubes"]
