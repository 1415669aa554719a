"""Channels of a mould: wall shear 32Q/(pi D^3) of Poiseuille flow (Bird, Stewart and Lightfoot, from memory), and the
circle in a T of casting practice (Heuvers, from memory)."""

from math import pi

import pytest

from naptuft.handle.filling import gate_shear_rate
from naptuft.handle.mould_size import inscribed_circle
from naptuft.handle.runner import Runner, channels, feeding_diameter, frustum


@pytest.mark.parametrize("fed", [2, 4, 8])
def test_a_feeding_channel_shears_like_each_branch(fed):
    """32 Q/(pi D^3) is the same in the main channel and in each of the N branches."""
    branch, flow = 5e-3, 20e-6
    main = feeding_diameter(branch, fed)
    assert 32 * fed * flow / (pi * main**3) == pytest.approx(32 * flow / (pi * branch**3))


def test_the_largest_circle_in_a_t_touches_face_and_corners():
    """Its centre stands as far from the face as from the inner corners; a rib of six tenths makes it 9 % larger."""
    wall, rib = 2.5, 1.5
    diameter = inscribed_circle(wall, rib)
    centre = diameter / 2
    assert ((rib / 2) ** 2 + (wall - centre) ** 2) ** 0.5 == pytest.approx(centre)
    assert diameter / wall == pytest.approx(1.09)


def test_a_slit_shears_like_the_profile_s_slope_at_its_wall():
    """u = 1.5 (Q/wh)(1 - (2y/h)^2): slope at the wall 6Q/(wh^2)."""
    flow, width, thick, step = 30e-6, 6e-3, 2e-3, 1e-9

    def speed(y: float) -> float:
        return 1.5 * flow / (width * thick) * (1 - (2 * y / thick) ** 2)

    slope = (speed(thick / 2 - step) - speed(thick / 2)) / step
    assert gate_shear_rate(flow, width, thick) == pytest.approx(slope, rel=1e-5)


def test_runner_volume_is_what_its_pieces_hold():
    """Sprue frustum, main runner, four branches and three cold slugs, added up by hand for a mould of four."""
    runner = Runner(cavities=4, part_volume=63e-6, part_length=0.18, part_width=0.048)
    found = channels(runner)
    sprue = frustum(0.07, 4.5e-3, found.sprue_foot)
    ends = 2 * 1.5 * found.main
    pitch = 0.048 + 0.018
    by_hand = sprue + pi / 4 * (
        found.main**2 * (pitch + ends) + 4 * found.branch**2 * 0.015 + found.sprue_foot**2 * found.sprue_foot
    )
    assert found.volume == pytest.approx(by_hand)
