"""Second moments of bent sheet: Roark's thin arc, and the corrugated sheet of a civil engineers' formula book.

Roark's Formulas for Stress and Strain, properties of sections (from memory); Merritt, Civil Engineering Formulas,
ch. 1, "corrugated sheet iron, parabolically curved": I = 64/105·(b1·h1³ − b2·h2³), h1 = (H + t)/2, h2 = (H − t)/2,
b1 = (B + 2.6t)/4, b2 = (B − 2.6t)/4, for one wave B long and H high.
"""

from math import atan, cos, pi, sin

import pytest

from naptuft.brush.forming import arc_moment, beaded_moment, corrugated_moment


def test_a_half_circle_has_the_printed_moment():
    """Thin half ring: area πRt, middle 2R/π, I = (π/2 − 4/π)R³t = 0.2976 R³t."""
    area, middle, moment = arc_moment(2.0, pi / 2, 0.01)
    assert area == pytest.approx(pi * 2 * 0.01)
    assert middle == pytest.approx(2 * 2 / pi)
    assert moment == pytest.approx(0.2976 * 8 * 0.01, rel=2e-4)


def test_a_whole_ring_has_the_moment_of_a_thin_tube():
    """πR³t about a diameter."""
    assert arc_moment(0.5, pi, 0.001)[2] == pytest.approx(pi * 0.5**3 * 0.001)


@pytest.mark.parametrize(("wave", "high", "gauge"), [(2.667, 0.5, 0.0598), (3.0, 1.0, 0.0598), (76.0, 18.0, 1.0)])
def test_a_wall_of_waves_is_as_stiff_as_corrugated_sheet(wave, high, gauge):
    """A sine wave against the formula's parabolas, by unit width: within 4 %."""
    b1, b2, h1, h2 = (wave + 2.6 * gauge) / 4, (wave - 2.6 * gauge) / 4, (high + gauge) / 2, (high - gauge) / 2
    printed = 64 / 105 * (b1 * h1**3 - b2 * h2**3) / wave
    assert corrugated_moment(gauge, high, wave) == pytest.approx(printed, rel=0.04)


def test_a_culvert_sheet_is_as_stiff_as_tabulated():
    """2 2/3 by 1/2 in. corrugation of 0.064 in. sheet (0.0598 uncoated): 1.892e-3 in⁴/in, steel culvert handbook

    (from memory). Its waves are arcs and tangents, a little less stiff than a sine: within 5 %.
    """
    assert corrugated_moment(0.0598, 0.5, 8 / 3) == pytest.approx(1.892e-3, rel=0.05)


def test_a_beaded_wall_agrees_with_its_section_cut_into_small_pieces():
    """Area and distance summed along the wall, against arcs and flats put together by Steiner's rule."""
    gauge, height, depth, pieces = 0.3e-3, 38e-3, 0.8e-3, 4000
    half = 2 * atan(0.5)
    radius = 2 * depth / sin(half)
    weights, ups = [height - 2 * 4 * depth], [0.0]
    for piece in range(pieces):
        angle = -half + 2 * half * (piece + 0.5) / pieces
        weights.append(2 * 2 * half / pieces * radius)
        ups.append(radius * cos(angle) - (radius - depth))
    mean = sum(w * y for w, y in zip(weights, ups, strict=True)) / sum(weights)
    steiner = sum(w * (y - mean) ** 2 for w, y in zip(weights, ups, strict=True)) * gauge
    arcs = sum(2 * 2 * half / pieces * radius * cos(-half + 2 * half * (p + 0.5) / pieces) ** 2 for p in range(pieces))
    own = (weights[0] + arcs) * gauge**3 / 12
    assert beaded_moment(gauge, height, 2, depth) == pytest.approx(steiner + own, rel=1e-4)
