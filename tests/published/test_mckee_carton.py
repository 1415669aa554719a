"""McKee, Gander and Wachuta, Compression strength formula for corrugated boxes, 1963 (from memory)."""

import pytest

from naptuft.boxing.stacking import bottom_load, compression_strength

POUND_FORCE, INCH = 4.4482216, 0.0254


def test_a_32_ect_carton_of_60_inches_round_bears_582_pounds():
    """5.87 x 32 lb/in x sqrt(60 in x 0.16 in) = 582 lbf."""
    strength = compression_strength(32 * POUND_FORCE / INCH, 60 * INCH, 0.16 * INCH)
    assert strength / POUND_FORCE == pytest.approx(582, abs=0.5)


def test_a_single_layer_carries_nothing():
    assert bottom_load(12.0, 1) == bottom_load(12.0, 0) == 0.0
