"""Generations of regrind in a steady mix, as moulding guides table them (from memory)."""

import pytest

from naptuft.materials.reground import mean_passes, share_by_passes


@pytest.mark.parametrize(
    ("share", "passes"),
    [(0.25, (75.0, 18.75, 4.69, 1.17)), (0.50, (50.0, 25.0, 12.5, 6.25)), (0.20, (80.0, 16.0, 3.2, 0.64))],
)
def test_first_second_third_and_fourth_passes_as_tabled(share, passes):
    """Per cent of the mix through once, twice, three and four times."""
    found = [share_by_passes(share, n) * 100 for n in (1, 2, 3, 4)]
    assert found == pytest.approx(passes, abs=0.005)


def test_half_regrind_has_been_through_twice_on_the_mean():
    """1/(1 - r) = 2."""
    assert mean_passes(0.5) == 2.0
