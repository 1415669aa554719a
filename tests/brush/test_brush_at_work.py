"""The head at work, and the three brushes an engineer would recognise."""

import itertools

import pytest
from scipy.integrate import quad

from naptuft.brush import BRUSH, WORKING
from naptuft.brush.head import trimmed_share
from naptuft.brush.working import rubbing_stiffness
from naptuft.errors import DesignError

WALL = {}
SASH = {
    "width": "50 mm",
    "thickness": "12 mm",
    "clear_length": "60 mm",
    "filling": "nylon 6.12",
    "diameter": "0.15 mm",
    "trim": "angular",
    "trim_angle": "22 deg",
    "centrepiece_width": "32 mm",
    "centrepiece_thickness": "3.5 mm",
}
VARNISH = {
    "width": "38 mm",
    "thickness": "12 mm",
    "clear_length": "50 mm",
    "filling": "hog bristle",
    "diameter": "0.18 mm",
    "medium": "oil or alkyd",
    "trim": "chisel",
    "trim_angle": "30 deg",
    "centrepiece_width": "22 mm",
    "centrepiece_thickness": "3 mm",
}


def work(given):
    return WORKING.answer({**WORKING.example(), **given})


def head(given):
    return BRUSH.answer({**BRUSH.example(), **given})


@pytest.mark.parametrize(
    ("given", "count", "grams", "paint"),
    [
        (WALL, (15_000, 40_000), (40, 90), (15, 45)),
        (SASH, (8_000, 25_000), (8, 25), (5, 16)),
        (VARNISH, (5_000, 15_000), (8, 22), (3, 11)),
    ],
)
def test_three_known_brushes_have_counts_weights_and_loads_of_the_trade(given, count, grams, paint):
    """100 mm wall brush for emulsion, 50 mm angled sash, 38 mm bristle varnish brush; ranges common practice."""
    design, worked = head(given), work(given)
    assert count[0] < design["filament_count"] < count[1]
    assert grams[0] < design["fill_weight"] * 1e3 < grams[1]
    assert paint[0] < worked["paint_volume"] * 1e6 < paint[1]
    assert design.passed
    assert worked.passed


def test_the_stiffness_of_a_head_lies_between_its_bounds():
    result = work(WALL)
    secant = result["press_force"] / 0.025
    assert result["stiffness_free"] <= secant < result["stiffness_bonded"]
    assert result["stiffness_free"] < result["stiffness_rubbing"] < 1.1 * result["stiffness_free"]


def test_a_pack_of_rubbing_strips_is_as_stiff_as_its_layers_worked_out_one_by_one():
    """Forty layers: each bent by what the one above passes on less what it passes on, friction at both its faces."""
    layers, rigidity, length, thickness, friction = 40, 2.0e-5, 0.07, 0.016, 0.3
    each = thickness / layers
    single = 3 * rigidity / length**3
    load = 1.0
    passed = [load * (1 - number / layers) for number in range(layers + 1)]
    bent = sum(
        (above - below) * length**3 / 3 - friction * (above * (number > 0) + below) * each / 2 * length**2 / 2
        for number, (above, below) in enumerate(itertools.pairwise(passed))
    )
    stiffness = load / (bent / (layers * rigidity))
    assert rubbing_stiffness(layers * single, friction, thickness, length) == pytest.approx(stiffness, rel=0.003)


def test_a_head_that_would_lock_is_refused():
    with pytest.raises(DesignError, match="friction"):
        work({"thickness": "100 mm", "clear_length": "40 mm", "press": "20 mm", "rubbing": "0.9"})


def test_a_coarse_loose_head_drips_and_says_so():
    result = work({"diameter": "0.4 mm", "packing": "0.45", "dip_share": "100 %"})
    assert not result.passed
    assert any("runs back into the can" in remark for remark in result.remarks)


def test_a_looser_head_carries_more_until_it_can_no_longer_hold_it():
    """Without a well: among the filaments, a shallow dip is held either way, a whole dip only by the tighter head."""
    plain = {"centrepieces": "0", "centrepiece_width": "0", "centrepiece_thickness": "0"}

    def carried(packing, dip):
        return work({**plain, "packing": packing, "dip_share": dip})["paint_volume"]

    assert carried("0.5", "20 %") > carried("0.7", "20 %")
    assert carried("0.5", "100 %") < carried("0.7", "100 %")


@pytest.mark.parametrize(("ratio", "drop"), [(0.5, 0.015), (0.8, 0.02), (0.3, 0.04)])
def test_sloped_trim_cuts_off_what_integration_says(ratio, drop):
    """Volume of the tip cones, integrated over the slope, over the volume of whole filaments."""
    length = 0.075

    def cut(height):
        return quad(lambda x: (ratio + (1 - ratio) * x / length) ** 2, 0, height)[0]

    mean = quad(cut, 0, drop)[0] / drop
    assert trimmed_share(ratio, length, drop) == pytest.approx(mean / cut(length), rel=1e-9)


def test_a_trim_deeper_than_the_clear_length_is_refused():
    with pytest.raises(DesignError, match="clear length"):
        head({**SASH, "trim_angle": "45 deg"})
    with pytest.raises(DesignError, match="trim angle"):
        head({"trim": "chisel"})
