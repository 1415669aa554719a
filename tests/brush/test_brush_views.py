"""The brush drawn to scale: what an engineer reads off the plan and the cut."""

import re
import xml.etree.ElementTree as ElementTree

import pytest

from naptuft.brush import BRUSH, FERRULE, JOINING
from naptuft.brush.views import draw_plan, draw_side

ANGLED = {"width": "50 mm", "thickness": "13 mm", "clear_length": "51 mm", "trim": "angular", "trim_angle": "20 deg"}
CHISEL = {"width": "38 mm", "thickness": "12 mm", "clear_length": "50 mm", "trim": "chisel", "trim_angle": "30 deg"}
PLUG = {"centrepiece_width": "22 mm", "centrepiece_thickness": "3 mm"}


def design(**given):
    return BRUSH.read({**BRUSH.example(), **given})[0]


def words(svg):
    return [element.text or "" for element in ElementTree.fromstring(svg).iter() if element.tag.endswith("text")]


def extent(svg, hint):
    """Left, right, top and bottom of what carries that hint, in millimetres of paper."""
    xs, ys = [], []
    for element in ElementTree.fromstring(svg).iter():
        if any(child.tag.endswith("title") and child.text == hint for child in element):
            numbers = [float(n) for n in re.findall(r"-?\d+\.\d+", element.attrib.get("d", ""))]
            xs, ys = xs + numbers[::2], ys + numbers[1::2]
    assert xs, hint
    return min(xs), max(xs), min(ys), max(ys)


def test_the_plan_names_width_length_out_and_ferrule():
    shown = words(draw_plan(design()))
    assert {"100 mm", "70 mm", "38 mm"} <= set(shown)


def test_the_plan_is_to_scale():
    left, right, top, bottom = extent(draw_plan(design()), "filling")
    assert (right - left) / (bottom - top) == pytest.approx(70 / 100, rel=1e-4)


def test_the_cut_shows_thickness_setting_and_plug_in_proportion():
    svg = draw_side(design())
    assert {"16 mm", "5 mm"} <= set(words(svg))
    left, right, top, bottom = extent(svg, "centrepiece")
    assert (bottom - top) / (right - left) == pytest.approx(5 / 5, rel=1e-3)


def test_an_angled_trim_slopes_on_the_plan_and_a_chisel_in_the_cut():
    assert "angular 20°, 18.2 mm" in words(draw_plan(design(**ANGLED, **PLUG)))
    assert "chisel 30°, 3.46 mm" in words(draw_side(design(**CHISEL, **PLUG)))
    assert not any("chisel" in shown for shown in words(draw_plan(design(**CHISEL, **PLUG))))


def test_beads_and_nails_are_drawn_when_ferrule_and_joint_are_known():
    ferrule, _ = FERRULE.read(FERRULE.example())
    join, _ = JOINING.read(JOINING.example())
    bare, full = draw_plan(design()), draw_plan(design(), ferrule, join)
    assert bare.count("<title>bead</title>") == 0
    assert full.count("<title>bead</title>") == 2 * ferrule.beads
    assert full.count("<title>nail</title>") == 2
    assert draw_side(design(), ferrule, join).count("<title>nail</title>") == 2


def test_a_brush_without_a_plug_has_no_well():
    plain = draw_side(design(centrepieces="0", centrepiece_width="0", centrepiece_thickness="0"))
    assert "centrepiece" not in plain
    assert "well" not in plain
