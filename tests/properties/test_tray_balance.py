"""Trays: geometry against a fine grid, thinning that keeps the sheet's volume, layouts that hold their trays."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.tray.forming import (
    floor_corner_factor,
    heating_time,
    one_side_cooling_time,
    spread_rate,
    trough_wall,
)
from naptuft.tray.heating import sag_share
from naptuft.tray.layout import lay_out
from naptuft.tray.profile import laid_sheet
from naptuft.tray.shape import TrayShape
from naptuft.tray.stack import trays_in_height
from naptuft.tray.wall_map import wall_map
from naptuft.tray.walls import nested_pitch, section_walls, stack_height
from naptuft.tray.web import web_balance


@settings(deadline=None, max_examples=25)
@given(st.floats(0.02, 0.08), st.floats(0.05, 0.5), st.floats(0.0, 0.1))
def test_surface_and_volume_agree_with_a_grid_of_depths(depth, draft, floor):
    shape = TrayShape(0.34, 0.27, 0.01, depth, floor, 0.01, draft)
    along, across = shape.opening
    x = (np.arange(800) + 0.5) / 800 * along
    y = (np.arange(600) + 0.5) / 600 * across
    points = np.array(shape.profile())
    deep = np.interp(x, points[:, 0], points[:, 1])
    side = np.minimum(y, across - y) / math.tan(draft)
    depths = np.minimum(deep[:, None], side[None, :])
    cell = along / 800 * across / 600
    assert depths.sum() * cell == pytest.approx(shape.volume(), rel=3e-3)
    slope_x, slope_y = np.gradient(depths, along / 800, across / 600)
    surface = np.sqrt(1 + slope_x**2 + slope_y**2).sum() * cell
    assert surface + shape.footprint - along * across == pytest.approx(shape.surface(), rel=2e-2)


@settings(deadline=None)
@given(st.floats(0.2, 1.45))
def test_the_trough_holds_all_of_the_sheet(angle):
    steps = 4000
    total = sum(trough_wall(1.0, angle, 1 - ((k + 0.5) / steps) ** 2) * 2 * (k + 0.5) / steps**2 for k in range(steps))
    assert total / math.cos(angle) == pytest.approx(1.0, abs=2e-3)


@settings(deadline=None)
@given(st.floats(0.02, 0.2), st.floats(0.01, 0.2), st.floats(1.1, 1.5), st.floats(0.002, 0.01))
def test_a_corner_is_thinner_than_the_sheet_and_thickens_with_its_radius(half, depth, angle, radius):
    if half - depth / math.tan(angle) <= 0.005:
        return
    sharp = floor_corner_factor(half, depth, angle, radius)
    assert 0 < sharp < 1
    assert floor_corner_factor(half, depth, angle, 1.5 * radius) >= sharp


@settings(deadline=None)
@given(st.floats(0.02, 0.1), st.floats(1.2, 1.5))
def test_floor_first_and_wall_first_meet_where_they_should(half, angle):
    """Where the arc touches floor and walls at once, both ways give the same thickness."""
    depth = half * math.tan(angle / 2)
    before = floor_corner_factor(half, depth * (1 - 1e-6), angle, 0.003)
    after = floor_corner_factor(half, depth * (1 + 1e-6), angle, 0.003)
    assert before == pytest.approx(after, rel=1e-4)


@settings(deadline=None)
@given(
    st.floats(0.1, 0.5),
    st.floats(0.1, 0.5),
    st.floats(0.6, 2.0),
    st.floats(0.6, 2.0),
    st.floats(0, 0.05),
    st.booleans(),
)
def test_every_layout_holds_its_trays_and_weighs_its_web(length, width, sheet, mould, gap, turned):
    layout = lay_out((length, width), sheet, mould, gap, 0.02, turned)
    used = layout.across * layout.piece_across + (layout.across - 1) * gap + 0.04
    assert used <= sheet + 1e-9
    assert layout.index <= mould + 1e-9
    assert layout.sheet_area >= layout.tray_area
    assert layout.web_share == pytest.approx(1 - layout.trays * length * width / layout.sheet_area)


@settings(deadline=None)
@given(st.floats(0.2e-3, 3e-3), st.floats(1.1, 3.0))
def test_a_thicker_sheet_heats_and_cools_longer(thickness, thicker):
    def times(wall):
        heat = heating_time(wall, 1050.0, 1800.0, 293.15, 423.15, 673.15, 0.8)
        return heat, one_side_cooling_time(wall, 0.08e-6, 423.15, 323.15, 358.15)

    thin, thick = times(thickness), times(thickness * thicker)
    assert thick[0] == pytest.approx(thin[0] * thicker)
    assert thick[1] == pytest.approx(thin[1] * thicker**2)


@settings(deadline=None)
@given(st.floats(0.05, 0.2), st.floats(0.1, 0.9), st.floats(1.2, 1.5))
def test_the_sheet_laid_on_the_floor_and_left_in_the_arc_is_all_of_it(half, share, angle):
    """Until the arc lies along the walls: what is on the floor and what is still free add up to the half width."""
    depth = share * half * math.tan(angle / 2)
    last = depth / math.tan(angle / 2)
    steps = 2000
    step = (half - last) / steps
    wall = math.sin(2 * math.atan2(depth, half)) / (2 * math.atan2(depth, half))
    laid = 0.0
    for k in range(steps):
        change = math.exp(-spread_rate(half - (k + 0.5) * step, depth) * step)
        laid += wall * (1 + change) / 2 * step
        wall *= change
    free = wall * last * angle / math.sin(angle)
    assert laid + free == pytest.approx(half, rel=1e-3)


@settings(deadline=None)
@given(st.floats(0.03, 0.2), st.floats(0.01, 0.15), st.floats(1.2, 1.5), st.floats(0.002, 0.01))
def test_no_place_on_the_section_is_thicker_than_the_sheet(half, depth, angle, radius):
    if half - depth / math.tan(angle) <= 0.005:
        return
    points = section_walls(half, depth, angle, radius)
    assert all(0 < point.share <= 1 for point in points)
    corner = next(point for point in points if point.place == "floor corner")
    assert corner.share <= min(point.share for point in points if point.place.startswith("floor")) + 1e-12


@settings(deadline=None)
@given(st.floats(0.1, 1.5), st.floats(0.5, 1.5), st.floats(2e5, 1e7))
def test_sag_is_where_weight_and_stretch_balance(span, density, modulus):
    """Tension rho g L^2/(8 d) equals E x 8/3 (d/L)^2 at the sag given."""
    density *= 1000
    share = sag_share(span, density, modulus)
    assert density * 9.80665 * span / (8 * share) == pytest.approx(modulus * 8 / 3 * share**2, rel=1e-9)


@settings(deadline=None)
@given(st.floats(2e-4, 3e-3), st.floats(0.05, 0.7), st.floats(2e-4, 5e-3), st.floats(0.01, 0.2), st.floats(0.05, 1.5))
def test_a_stack_fills_the_height_and_no_more(wall, draft, rim, depth, height):
    pitch = nested_pitch(wall, draft, rim)
    count = trays_in_height(height, depth, pitch)
    if count:
        assert stack_height(depth, pitch, count) <= height + 1e-6
        assert stack_height(depth, pitch, count + 1) > height - 1e-6
    else:
        assert depth > height


@settings(deadline=None, max_examples=40)
@given(st.floats(0.01, 0.1), st.floats(0.05, 0.5), st.floats(0.0, 0.15), st.floats(0.05, 0.9), st.floats(0.001, 0.004))
def test_what_is_laid_on_any_profile_is_all_of_the_sheet(depth, draft, floor, end, radius):
    """Deep well, ramp and short wall: shares times lengths, with the corners as fillets, add up to the opening."""
    shape = TrayShape(0.34, 0.27, 0.01, depth, floor, end * depth, draft)
    opening = shape.opening[0]
    points = shape.profile()
    if points[3][0] <= points[2][0]:
        return
    laid = laid_sheet(points, radius, 300)
    total = sum(piece.length * piece.share for piece in laid if not piece.free)
    corners = sum(piece.length * piece.share for piece in laid if piece.free)
    assert total <= opening * 1.01
    assert total + corners >= opening * 0.985
    assert all(0 < piece.share <= 1 for piece in laid)


@settings(deadline=None, max_examples=15)
@given(st.floats(0.02, 0.08), st.floats(1.2, 2.0))
def test_a_deeper_well_is_thinner_at_its_corner(depth, deeper):
    def corner(deep: float) -> float:
        return wall_map(TrayShape(0.34, 0.27, 0.01, deep, 0.08, 0.01, 0.17), 0.006).corner.share

    assert corner(depth * deeper) < corner(depth)


@settings(deadline=None)
@given(st.floats(0.01, 2.0), st.floats(0.1, 0.99), st.floats(0, 0.5), st.floats(0, 1))
def test_sheet_is_tray_dust_sold_and_fed_back(sheet, part, loss, fed):
    balance = web_balance(sheet, sheet * part, loss, fed)
    assert balance.tray + balance.lost + balance.sold + balance.fed == pytest.approx(sheet, rel=1e-9)
    assert balance.fresh + balance.fed == pytest.approx(sheet, rel=1e-9)
    assert 0 <= balance.regrind_in_sheet < 1
