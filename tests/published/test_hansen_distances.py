"""Hansen distances. Polymer values: J. Burke, Solubility Parameters: Theory and Application, 1984, after Hansen;
solvent values: Hansen Solubility Parameters: A User's Handbook, appendix A (both from memory)."""

import pytest

from naptuft.errors import NotFound
from naptuft.materials.solvent import PAINT_SOLVENTS, POLYMERS, blend, distance, relative_distance
from naptuft.roller import SOLVENT_PROOF


def test_toluene_dissolves_polystyrene():
    """(21.28, 5.75, 4.30), R0 12.7 against (18.0, 1.4, 2.0): √(4·3.28² + 4.35² + 2.30²)/12.7 = 0.65."""
    assert relative_distance(POLYMERS["polystyrene"], PAINT_SOLVENTS["toluene"]) == pytest.approx(0.65, abs=0.005)


def test_acetone_does_not_dissolve_pvc():
    """(18.23, 7.53, 8.35), R0 3.5 against (15.5, 10.4, 7.0): 1.80. PVC swells in acetone and dissolves in blends."""
    assert relative_distance(POLYMERS["rigid PVC"], PAINT_SOLVENTS["acetone"]) == pytest.approx(1.80, abs=0.005)


def test_a_solvent_is_at_no_distance_from_itself():
    """The rule often printed the wrong way round: dissolving is a small distance, not a large one."""
    acetone = PAINT_SOLVENTS["acetone"]
    assert distance(acetone, acetone) == 0


def test_a_blend_can_dissolve_what_neither_part_does():
    """Two poor solvents on opposite sides of a polymer make a good one (Hansen's classic use of the distance)."""
    pvc = POLYMERS["rigid PVC"]
    mixed = blend([("acetone", 35), ("toluene", 65)])
    alone = [relative_distance(pvc, PAINT_SOLVENTS[name]) for name in ("acetone", "toluene")]
    assert relative_distance(pvc, mixed) < min(alone)


def test_water_leaves_every_core_alone():
    """Common practice: any core does for water-borne paint."""
    for polymer in POLYMERS.values():
        assert relative_distance(polymer, PAINT_SOLVENTS["water"]) > 1


def test_a_solvent_without_data_says_which_data_are_missing():
    with pytest.raises(NotFound, match="dispersion, polar and hydrogen-bond"):
        blend([("turpentine oil", 1)])


def test_the_safest_material_comes_first():
    result = SOLVENT_PROOF.answer({"solvents": "toluene | 100 %"})
    reds = [value.value for value in result.values]
    assert reds == sorted(reds, reverse=True)
    assert any(remark.startswith("polystyrene: dissolves") for remark in result.remarks)
