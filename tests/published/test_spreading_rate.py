"""What a volume of paint covers: 1,604 square feet a US gallon at one mil (a coating maker's sheet "Theoretical
spreading rate")."""

import pytest

from naptuft.brush import WORKING
from naptuft.brush.working import area_covered

GALLON, FOOT, MIL = 3.785411784e-3, 0.3048, 25.4e-6


def test_a_gallon_at_a_mil_covers_1604_square_feet():
    assert area_covered(GALLON, MIL) / FOOT**2 == pytest.approx(1604, abs=0.5)


def test_a_gallon_over_400_square_feet_is_four_mils():
    """Worked conversion: 231 in³ over 57,600 in² is 0.004 in."""
    assert area_covered(GALLON, 0.004 * 0.0254) / FOOT**2 == pytest.approx(400, rel=0.005)


def test_solids_of_65_per_cent_at_five_mils():
    """Data sheet example: 1604 × 0.65 / 5 = 208.52 square feet; metric, 1000 × 0.65 / 125 = 5.2 m² a litre."""
    assert area_covered(0.65 * GALLON, 5 * MIL) / FOOT**2 == pytest.approx(208.52, rel=3e-4)
    assert area_covered(0.65e-3, 125e-6) == pytest.approx(5.2)


def test_one_dip_covers_what_it_releases_over_its_film():
    result = WORKING.answer(WORKING.example())
    assert result["area"] == pytest.approx(area_covered(0.6 * result["paint_volume"], 100e-6))
