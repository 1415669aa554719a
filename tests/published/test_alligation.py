"""Alligation: two lots to a mean, quantities as the differences from it (school exercises printed at
CuriousTab and at the GMAT Club).

Wheat at 1.60 and 1.45 to 1.54: 3 : 2. Rice at 9.30 and 10.80 to 10.00: 8 : 7, cheaper to dearer.
"""

import pytest

from naptuft.brush.blend import BlendLot, FillingTarget, LengthAsked, blend_lots


def mixed(high, low, mean):
    """Two lots of one length, of the diameters given (µm), to a mean diameter of at least `mean`, the finer cheaper."""
    target = FillingTarget(
        profile=(LengthAsked(length=0.070, share=1.0, tolerance=0.0),), least_mean_diameter=mean, combing_loss=0.0
    )
    lots = [
        BlendLot("B-stout", 50.0, 60, ((0.070, 1.0),), high),
        BlendLot("B-fine", 50.0, 30, ((0.070, 1.0),), low),
    ]
    return dict(blend_lots(target, lots, 15.0).lots)


@pytest.mark.parametrize(("dear", "cheap", "mean", "parts"), [(1.60, 1.45, 1.54, (3, 2)), (10.80, 9.30, 10.00, (7, 8))])
def test_two_lots_are_mixed_in_the_printed_proportion(dear, cheap, mean, parts):
    """Diameters in place of prices, in the same proportion to one another; to the gram."""
    size = 0.18e-3 / mean
    taken = mixed(dear * size, cheap * size, mean * size)
    whole = sum(parts)
    assert taken["B-stout"] == pytest.approx(15.0 * parts[0] / whole, abs=0.003)
    assert taken["B-fine"] == pytest.approx(15.0 * parts[1] / whole, abs=0.003)
