"""US Navy, Steelworker manual, vol. 2 (public domain): a grooved lock seam takes three times its width."""

import pytest

from naptuft.brush.ferrule import FERRULE, seam_allowance


def test_grooved_lock_seam_takes_three_widths():
    """Seam of 1/4 in: 3/4 in of stock; a plain lap takes its own width."""
    assert seam_allowance("lock", 0.25 * 25.4e-3) == pytest.approx(0.75 * 25.4e-3)
    assert seam_allowance("lap", 0.25 * 25.4e-3) == pytest.approx(0.25 * 25.4e-3)


def test_round_ferrule_blank_is_the_mean_circle_and_the_seam():
    """Sheet-metal stretch-out: π × mean diameter + 3W. 30 mm inside, 0.4 mm stock, 3 mm seam: 95.50 + 9 = 104.50 mm."""
    given = {"shape": "round", "width": "30 mm", "depth": "30 mm", "gauge": "0.4 mm", "seam_width": "3 mm"}
    assert FERRULE.answer(given)["blank_length"] == pytest.approx(104.50e-3, abs=0.005e-3)
