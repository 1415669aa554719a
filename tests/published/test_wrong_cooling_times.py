"""Cooling times and diffusivities that public pages print wrongly, kept as negative tests."""

from math import log, pi

import pytest

from naptuft.handle.moulding import plate_cooling_time
from naptuft.materials.conduction import plate_ratio
from naptuft.materials.resin import RESINS

PLATE = (0.008, 0.10e-6, 513.15, 333.15, 393.15)


def test_the_formula_with_the_melt_in_both_brackets_leaves_the_middle_far_too_hot():
    """A public page prints s2/(pi2 a) ln((Tm-Tw)/(Tm-Te)): 26.3 s for 8 mm, 240/60/120 degC; the middle is at 211 degC."""
    printed = 0.008**2 / (pi**2 * 0.10e-6) * log(180 / 120)
    assert printed == pytest.approx(26.3, abs=0.05)
    assert 60 + 180 * plate_ratio(0.5, 0.10e-6 * printed / 0.008**2) == pytest.approx(211, abs=1)
    assert plate_cooling_time(*PLATE) > 3 * printed


def test_the_square_over_the_diffusivity_is_seven_times_too_long():
    """The same page's answer to a question, t = L2/a: 640 s; the series has the whole plate within 1 K of the mould."""
    printed = 0.008**2 / 0.10e-6
    assert printed == pytest.approx(640)
    assert 180 * plate_ratio(0.5, 1.0) < 0.02
    assert plate_cooling_time(*PLATE) < printed / 7


@pytest.mark.parametrize("name", ["PP", "HDPE", "PS"])
def test_the_sixfold_diffusivity_is_in_no_range_of_ours(name):
    """Printed 0.55 to 0.69 mm2/s for PP and LDPE; k/(rho c) gives 0.07 to 0.13."""
    for printed in (0.55e-6, 0.69e-6):
        assert printed not in RESINS[name].diffusivity
