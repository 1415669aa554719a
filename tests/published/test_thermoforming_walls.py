"""Thermoformed walls.

Crawford, Plastics Engineering, 3rd ed. 1998, chapter 4, box of 150 x 100 x 60 mm from 2 mm sheet (from memory); Ghosh and
Hamilton 1980, long box (from memory); Throne, Technology of Thermoforming, 1996, areal draw of plain shapes (from memory)."""

from math import atan2, pi, sin, tan

import pytest

from naptuft.tray.forming import areal_draw_ratio, exchange_emissivity, floor_corner_factor, mean_wall, trough_wall
from naptuft.tray.profile import laid_sheet
from naptuft.tray.shape import TrayShape
from naptuft.tray.wall_map import wall_map

UPRIGHT = 1e-6


def test_a_box_of_150_by_100_by_60_mm_from_2_mm_sheet_has_walls_of_0_67_mm():
    """Printed: 30,000 mm3 over 45,000 mm2, mean 0.67 mm."""
    box = TrayShape(0.150, 0.100, 0.0, 0.060, 0.150, 0.060, UPRIGHT)
    areal = areal_draw_ratio(box.surface(), 0.150 * 0.100)
    assert areal == pytest.approx(3.0, rel=1e-4)
    assert mean_wall(0.002, areal) * 1e3 == pytest.approx(0.67, abs=0.005)


def test_an_upright_square_box_as_deep_as_wide_is_drawn_five_times():
    """Areal draw of an open box 1 + 4 H/L: 5 at H = L."""
    box = TrayShape(0.1, 0.1, 0.0, 0.1, 0.1, 0.1, UPRIGHT)
    assert areal_draw_ratio(box.surface(), 0.01) == pytest.approx(5.0, rel=1e-4)


def test_a_square_corner_thins_with_the_power_four_over_pi_less_one():
    """The sheet laid step by step: between two corner radii h goes with r^0.273."""
    box = [(0.0, 0.0), (0.0, 0.05), (0.2, 0.05), (0.2, 0.0)]
    wide, tight = (min(laid.share for laid in laid_sheet(box, radius, 400) if laid.free) for radius in (0.010, 0.002))
    assert tight / wide == pytest.approx(0.2 ** (4 / pi - 1), rel=0.02)


@pytest.mark.parametrize("angle", [0.6, 1.0, 1.3])
def test_a_v_shaped_trough_laid_step_by_step_follows_its_closed_form(angle):
    """h0 (sin a/a)(1 - s)^(tan a/a - 1), the reasoning of Crawford's cone in plane strain."""
    laid = laid_sheet([(0.0, 0.0), (1.0, tan(angle)), (2.0, 0.0)], 1e-6, 600)
    for piece in laid[:200:25]:
        if piece.reach < 0.9:
            assert piece.share == pytest.approx(trough_wall(1.0, angle, piece.reach), rel=3e-3)


@pytest.mark.parametrize(("half", "depth", "angle", "radius"), [(0.12, 0.06, 1.396, 0.006), (0.05, 0.09, 1.35, 0.004)])
def test_a_flat_floored_trough_laid_step_by_step_has_the_corner_of_the_closed_form(half, depth, angle, radius):
    inset = depth / tan(angle)
    laid = laid_sheet([(0.0, 0.0), (inset, depth), (2 * half - inset, depth), (2 * half, 0.0)], radius, 500)
    assert min(piece.share for piece in laid) == pytest.approx(
        floor_corner_factor(half, depth, angle, radius), rel=3e-3
    )


def test_the_floor_first_touched_keeps_chord_over_arc():
    """A free bubble that meets the floor is an arc: share sin(t)/t, t its half angle."""
    laid = laid_sheet([(0.0, 0.0), (0.01, 0.03), (0.29, 0.03), (0.30, 0.0)], 0.003, 400)
    middle = min(laid, key=lambda piece: abs(piece.reach - 0.15))
    turn = 2 * atan2(0.03, 0.15)
    assert middle.share == pytest.approx(sin(turn) / turn, rel=1e-3)


@pytest.mark.parametrize("depth", [0.02, 0.04, 0.06])
def test_lengthways_times_across_nearly_keeps_the_volume_by_itself(depth):
    """The volume of the sheet stays: before it is scaled the map of a paint tray misses it by less than 5 %."""
    tray = TrayShape(0.33, 0.25, 0.01, depth, 0.09, 0.008, 0.1745)
    assert wall_map(tray, 0.006, 160).scale == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize(("one", "other", "both"), [(1.0, 0.9, 0.9), (0.9, 0.9, 0.8182), (0.8, 0.8, 0.6667)])
def test_two_parallel_grey_faces_exchange_as_printed(one, other, both):
    """1/(1/e1 + 1/e2 - 1): 0.90, 0.818, 0.667 (Incropera and DeWitt, section 13.3, from memory)."""
    assert exchange_emissivity(one, other) == pytest.approx(both, abs=5e-5)
