"""Which pile for what: UFC 3-190-06 (MIL-HDBK-1110) 7.5.3; TB 43-0144, 4-4; GOST 10831-87, 1.2.1; A-A-2851C, 3.1."""

import pytest

from naptuft.materials.fabric import FABRICS, pile_fabric
from naptuft.roller import PILE_CHOICE
from naptuft.roller.pile_choice import PAINTS, SURFACES, against, rank_piles, second_choice

INCH = 0.0254


def chosen(**given):
    use, _ = PILE_CHOICE.read({**PILE_CHOICE.example(), "own_fabric": "none", "own_pile": None, **given})
    return rank_piles(use)


def test_nap_runs_from_a_quarter_to_one_and_a_quarter_inches():
    """UFC 3-190-06, 7.5.3: nap 0.25 to 1.25 in; longer fibres on rougher surfaces, shorter on smooth."""
    ordered = list(SURFACES.values())
    assert min(surface.high for surface in ordered) == pytest.approx(0.25 * INCH)
    assert max(surface.high for surface in ordered) == pytest.approx(1.25 * INCH)
    assert [surface.low for surface in ordered] == sorted(surface.low for surface in ordered)


def test_natural_fibre_comes_first_for_solvent_paint_and_synthetic_for_latex():
    """UFC 3-190-06, 7.5.3: natural for solvent base paints, synthetic for latex paints."""
    assert chosen(surface="rough", paint="solvent-borne")[0].fabric.fibre == "wool"
    assert chosen(surface="rough", paint="water-borne")[0].fabric.fibre != "wool"


def test_lambs_wool_mats_in_water():
    """TB 43-0144, 4-4 b(1): mats badly in water, not recommended for water-base paints; most solvent-resistant."""
    wool = pile_fabric("lambswool")
    assert "mats" in against(wool, "water-borne")
    assert not against(wool, "strong solvent")
    assert not second_choice(wool, "strong solvent")


def test_lambs_wool_is_for_semi_smooth_and_rough_surfaces():
    """TB 43-0144, 4-4 b(1): recommended on semi-smooth and rough surfaces, nap up to 1 1/4 in."""
    reasons = {
        name: next(one.reason for one in chosen(surface=name, paint="solvent-borne") if one.fabric.fibre == "wool")
        for name in SURFACES
    }
    assert reasons["very smooth"]
    assert reasons["smooth"]
    assert not reasons["semi-smooth"]
    assert not reasons["rough"]


def test_the_standard_cover_suits_the_common_wall():
    """A-A-2851C, 3.1: full-size rollers come with a pile of at least 0.375 in; that is the seam of smooth and semi-smooth."""
    assert SURFACES["smooth"].high == pytest.approx(0.375 * INCH) == SURFACES["semi-smooth"].low


def test_pile_outside_the_standard_is_said():
    """GOST 10831-87, 1.2.1: pile height 8 to 25 mm."""
    said = [
        any(
            "GOST 10831-87" in remark
            for remark in PILE_CHOICE.answer({"surface": name, "paint": "water-borne"}).remarks
        )
        for name in ("very smooth", "semi-smooth")
    ]
    assert said == [True, False]


def test_own_pile_too_long_for_a_door_fails_and_says_so():
    result = PILE_CHOICE.answer({**PILE_CHOICE.example(), "surface": "very smooth", "own_pile": "12 mm"})
    assert [check.label for check in result.checks if not check.passed] == ["own pile, most for this surface"]


@pytest.mark.parametrize("paint", PAINTS)
@pytest.mark.parametrize("name", SURFACES)
def test_every_fabric_is_judged_with_its_reason(name, paint):
    ranked = chosen(surface=name, paint=paint)
    assert {one.fabric.name for one in ranked} == {fabric.name for fabric in FABRICS}
    verdicts = [bool(one.reason) for one in ranked]
    assert verdicts == sorted(verdicts)
