"""Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1: plane wall through a film (from memory)."""

from math import pi, sin

import pytest

from naptuft.materials.conduction import convective_plate_ratio, convective_root, plate_ratio


@pytest.mark.parametrize(
    ("biot", "root", "coefficient"),
    [
        (0.01, 0.0998, 1.0017),
        (0.1, 0.3111, 1.0160),
        (1.0, 0.8603, 1.1191),
        (10.0, 1.4289, 1.2620),
        (100.0, 1.5552, 1.2731),
    ],
)
def test_roots_and_coefficients_of_the_plane_wall(biot, root, coefficient):
    """Bi, zeta1 and C1 as printed, to their last digit."""
    found = convective_root(biot)
    assert found == pytest.approx(root, abs=1e-4)
    assert 4 * sin(found) / (2 * found + sin(2 * found)) == pytest.approx(coefficient, abs=2e-4)


def test_a_very_good_film_is_a_wall_held_at_the_mould_temperature():
    """Bi without limit: the film solution meets the fixed-temperature series (half and full thickness)."""
    assert convective_plate_ratio(0.0, 0.8, 1e7) == pytest.approx(plate_ratio(0.5, 0.2), abs=1e-5)
    assert convective_root(1e7) == pytest.approx(pi / 2, abs=1e-6)
