"""UFC 3-190-06 (MIL-HDBK-1110), Protective Coatings and Paints, 7.5.2 Brushing: which filling for which paint.

"Chinese hog bristles represent the finest of the natural bristles … naturally flagged or split at the ends. This
permits more paint to be carried on the brush and leaves finer brush marks … Horsehair bristles are used in cheaper
brushes but are an unsatisfactory substitute for hog hair. Nylon and polyester are used in synthetic bristles …
Synthetic bristles absorb less water than natural bristles and are preferred for applying latex paints. However,
synthetic bristles may be softened by strong solvents in some paints. Thus, natural bristles are preferred for
application of paints with strong solvents. … wall, sash and trim (may be chisel or slash-shaped), and enamel
(bristles are shorter)." 7.5.2.1: "Dip the brush to cover one-half of the bristle length with paint."
"""

import pytest

from naptuft.brush import BRUSH, SUITABILITY, WORKING
from naptuft.brush.suitability import against, rank_fillings
from naptuft.materials.filament import FILAMENTS, filament_material


def test_synthetic_is_preferred_for_latex():
    ranked = rank_fillings("water-borne", 313.15)
    assert ranked[0].material.nature == "synthetic"
    assert all(against(one, "water-borne") for one in FILAMENTS if one.nature != "synthetic")


def test_natural_is_preferred_for_strong_solvents():
    ranked = rank_fillings("strong solvent", 313.15)
    assert ranked[0].material.name == "hog bristle"
    assert all(one.material.nature == "natural" for one in ranked if not one.reason)


def test_synthetics_are_said_to_soften_in_strong_solvents():
    reasons = [one.reason for one in rank_fillings("strong solvent", 313.15) if one.material.nature != "natural"]
    assert all("soften" in reason or "keeps" in reason or "set" in reason for reason in reasons)


def test_synthetic_filament_takes_up_less_water_than_bristle():
    bristle = float(filament_material("hog bristle").moisture)
    assert all(float(one.moisture) < bristle for one in FILAMENTS if one.nature == "synthetic")


@pytest.mark.parametrize("medium", ["oil or alkyd", "strong solvent"])
def test_horsehair_is_an_unsatisfactory_substitute_for_hog_hair(medium):
    ranked = {one.material.name: one for one in rank_fillings(medium, 313.15)}
    assert "unsatisfactory substitute for hog bristle" in ranked["horsehair"].reason
    assert not ranked["hog bristle"].reason


def test_nylon_and_polyester_are_the_synthetics_that_suit_latex():
    suited = [one.material.name for one in rank_fillings("water-borne", 313.15) if not one.reason]
    assert suited
    assert all("nylon" in name or name in ("PET", "PBT") for name in suited)


@pytest.mark.parametrize(
    ("job", "words"),
    [("sash and trim", "chisel or slash-shaped"), ("enamel or varnish", "shorter"), ("wall", "tapered from side")],
)
def test_each_kind_of_brush_has_its_shape(job, words):
    result = SUITABILITY.answer({"medium": "oil or alkyd", "job": job})
    assert any(words in remark for remark in result.remarks)
    assert any("flagged (split) tips: they carry more paint" in remark for remark in result.remarks)


def test_half_the_length_is_dipped_unless_said_otherwise():
    given = {name: value for name, value in WORKING.example().items() if name != "dip_share"}
    record, defaults = WORKING.read(given)
    assert record.dip_share == 0.5
    assert "dip_share" in defaults


def test_the_reason_stands_on_the_sheet_of_a_badly_chosen_brush():
    result = BRUSH.answer({**BRUSH.example(), "filling": "hog bristle", "medium": "water-borne"})
    assert any("goes limp in water-borne paint" in remark for remark in result.remarks)


def test_a_hot_wash_rules_out_what_cannot_bear_it():
    result = SUITABILITY.answer({"medium": "water-borne", "hottest": "115 degC"})
    assert any("PBT should not meet more than 110 °C" in remark for remark in result.remarks)
