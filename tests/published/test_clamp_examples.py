"""Clamp force: figures printed in public moulding guides whose titles were not kept (from memory).

They are products of the numbers printed beside them, so each can be worked again by hand.
"""

import pytest

from naptuft.handle.moulding import clamp_force
from naptuft.quantity import from_si, to_si


def test_45_square_inches_at_4500_psi_with_15_per_cent_in_hand():
    """Printed: 45 sq in x 4,500 psi x 1.15 = 232,875; the page calls them tons, they are pounds-force."""
    force = clamp_force(to_si(45, "inch**2"), to_si(4500, "psi"), 1.15)
    assert from_si(force, "force_pound") == pytest.approx(232_875, abs=0.5)
    assert from_si(force, "force_pound") / 2000 == pytest.approx(116.4, abs=0.05)


def test_a_six_inch_square_at_five_tons_a_square_inch():
    """Printed: 36 sq in x 5 tons a square inch = 180 tons."""
    force = clamp_force(to_si(36, "inch**2"), to_si(10_000, "psi"))
    assert from_si(force, "force_pound") / 2000 == pytest.approx(180.0)


def test_square_centimetres_and_bar_over_a_hundred_are_kilonewtons():
    """Printed rule: kN = cm2 x bar / 100."""
    assert clamp_force(to_si(56.7, "cm**2"), to_si(300, "bar")) / 1e3 == pytest.approx(56.7 * 300 / 100)
