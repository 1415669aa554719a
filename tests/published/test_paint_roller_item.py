"""US commercial item description A-A-2851C, Paint Roller and Roller Covers, 3.1: what it asks, and what we refuse."""

import pytest

from naptuft.roller import FRAME, FRAME_FIT
from naptuft.roller.frame_fit import CAP_STRENGTH, GRIP_TORQUE


def failed(result):
    return {check.label for check in result.checks if not check.passed}


@pytest.mark.parametrize(
    ("rod", "wrong"),
    [("0.283 in", set()), ("0.342 in", set()), ("0.281 in", {"rod off 5/16 in"}), ("0.344 in", {"rod off 5/16 in"})],
)
def test_wire_is_five_sixteenths_within_thirty_thousandths(rod, wrong):
    """3.1.2: 5/16 in diameter, ±0.030 in: 0.2825 to 0.3425 in."""
    assert failed(FRAME.answer({**FRAME.example(), "rod_diameter": rod, "to_item": "yes"})) == wrong


@pytest.mark.parametrize(("turn", "wrong"), [(85.5, False), (94.5, False), (84.5, True), (95.5, True)])
def test_cage_stands_square_to_the_handle_within_five_degrees(turn, wrong):
    """3.1.2: cage at 90° (±5°) to the handle."""
    legs = f"150 mm | -90 deg | 14 mm; 105 mm | 90 deg | 14 mm; 50 mm | {turn} deg | 14 mm; 235 mm | 0 deg | 14 mm"
    found = failed(FRAME.answer({**FRAME.example(), "legs": legs}))
    assert ("cage out of square with the handle" in found) == wrong


@pytest.mark.parametrize(("down", "wrong"), [(92.5, False), (117, False), (90, True), (120, True)])
def test_cage_is_centred_within_half_an_inch(down, wrong):
    """3.1.2: cage centred to within 1/2 in of the handle's centreline."""
    legs = f"150 mm | -90 deg | 14 mm; {down} mm | 90 deg | 14 mm; 50 mm | 90 deg | 14 mm; 235 mm | 0 deg | 14 mm"
    assert ("cage's middle off the handle's line" in failed(FRAME.answer({**FRAME.example(), "legs": legs}))) == wrong


@pytest.mark.parametrize(("play", "wrong"), [("1/8 in", set()), ("0.13 in", {"side play of the cage"})])
def test_side_play_is_an_eighth_at_most(play, wrong):
    """3.1.2: lateral movement 1/8 in or less."""
    assert failed(FRAME.answer({**FRAME.example(), "side_play": play})) == wrong


def test_grip_bears_eight_inch_pounds():
    """3.1.1: the bond does not fail at 8 in·lbf, 0.904 N·m."""
    assert pytest.approx(0.904, abs=0.0005) == GRIP_TORQUE
    short = FRAME_FIT.answer({**FRAME_FIT.example(), "grip_length": "20 mm"})
    assert failed(short) == {"torque the grip's bond bears"}


def test_end_caps_bear_two_thousand_pounds_an_inch():
    """3.1.3.1: tensile strength not less than 2,000 lbf/in², 13.8 MPa."""
    assert pytest.approx(13.79e6, rel=1e-3) == CAP_STRENGTH
