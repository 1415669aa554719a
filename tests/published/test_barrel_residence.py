"""How to calculate barrel residence time, a public guide's worked example (read), and flow through a full vessel."""

import pytest

from naptuft.handle.press import INVENTORY_SHOTS, residence_time


def test_a_200_gram_barrel_and_a_100_gram_shot_of_15_seconds_keep_the_resin_42_seconds():
    """Printed: 200 g x 1.4 = 280 g; 280/100 = 2.8; x 15 s = 42 s."""
    assert INVENTORY_SHOTS == 1.4
    assert residence_time(100.0, 200.0, 15.0) == pytest.approx(42.0)


def test_a_short_screw_counts_twice():
    """Printed: multiply by two where the screw is shorter than four shots: 60 s."""
    assert residence_time(100.0, 200.0, 15.0, held=2.0) == pytest.approx(60.0)
