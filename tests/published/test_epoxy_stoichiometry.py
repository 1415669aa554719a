"""Amine and epoxide equivalents: worked examples printed in epoxy makers' public formulating guides (from memory)."""

import pytest

from naptuft.brush.setting import blended_equivalent, hardener_phr, split_dose


def test_diethylenetriamine_takes_ten_parts_to_a_hundred():
    """AHEW = 103.2 / 5 = 20.6; with a resin of EEW 200: 10.3 phr; with EEW 189: 10.9 phr."""
    assert hardener_phr(103.2 / 5, 200) == pytest.approx(10.3, abs=0.05)
    assert hardener_phr(20.6, 189) == pytest.approx(10.9, abs=0.05)


def test_filler_and_second_resin_change_the_equivalent():
    """80 parts at 189, 10 at 183, 10 of filler: EEW 209; with hardener of AHEW 43: 20.6 phr."""
    equivalent = blended_equivalent([(80, 189), (10, 183), (10, None)])
    assert equivalent == pytest.approx(209, abs=0.5)
    assert hardener_phr(43, equivalent) == pytest.approx(20.6, abs=0.05)


def test_the_dose_splits_into_resin_and_hardener_without_loss():
    """22.75 phr of 5 g: 4.073 g of resin and 0.927 g of hardener."""
    resin, hardener = split_dose(5.0, 22.75)
    assert (resin, hardener) == (pytest.approx(4.073, abs=5e-4), pytest.approx(0.927, abs=5e-4))
