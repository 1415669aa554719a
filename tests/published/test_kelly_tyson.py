"""Critical length of a fibre, l_c = σ·d/(2τ) (Kelly & Tyson, 1965): worked figures printed by Nickzom and by Bit1024.

A fibre embedded by half its critical length breaks as it draws out: the bond needed is l_c/2.
"""

from math import pi

import pytest

from naptuft.brush.setting_bench import bond_length


@pytest.mark.parametrize(
    ("strength", "diameter", "shear", "critical"),
    [
        (6_375_000, 0.01, 3_010_000, 0.0105897),
        (6_000_000, 0.005, 2_500_000, 0.006),
        (6_500_000, 0.015, 3_000_000, 0.01625),
        (15, 3, 10, 2.25),
    ],
)
def test_the_bond_needed_is_half_the_critical_length(strength, diameter, shear, critical):
    needed = bond_length(strength, diameter, pi / 4 * diameter**2, shear)
    assert 2 * needed == pytest.approx(critical, rel=1e-5)
