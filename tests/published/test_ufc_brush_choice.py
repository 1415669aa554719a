"""UFC 3-190-06 (MIL-HDBK-1110), Protective Coatings and Paints, 7.5.2 Brushing: which filling for which paint.

"Synthetic bristles absorb less water than natural bristles and are preferred for applying latex paints. However,
synthetic bristles may be softened by strong solvents in some paints. Thus, natural bristles are preferred for
application of paints with strong solvents."
"""

from naptuft.brush import BRUSH, SUITABILITY
from naptuft.brush.suitability import against, rank_fillings
from naptuft.materials.filament import FILAMENTS


def test_synthetic_is_preferred_for_latex():
    ranked = rank_fillings("water-borne", 313.15)
    assert ranked[0].material.nature == "synthetic"
    assert all(against(one, "water-borne") for one in FILAMENTS if one.nature == "natural")


def test_natural_is_preferred_for_strong_solvents():
    ranked = rank_fillings("strong solvent", 313.15)
    assert ranked[0].material.name == "hog bristle"
    assert all("soften" in one.reason or "keeps" in one.reason or "set" in one.reason for one in ranked[3:])


def test_the_reason_stands_on_the_sheet_of_a_badly_chosen_brush():
    result = BRUSH.answer({**BRUSH.example(), "filling": "hog bristle", "medium": "water-borne"})
    assert any("goes limp in water-borne paint" in remark for remark in result.remarks)


def test_a_hot_wash_rules_out_what_cannot_bear_it():
    result = SUITABILITY.answer({"medium": "water-borne", "hottest": "115 degC"})
    assert any("PBT should not meet more than 110 °C" in remark for remark in result.remarks)
