"""A filament of any section, bent in a paint."""

from math import cos, pi, sin

import pytest

from naptuft.brush import FLEX
from naptuft.brush.filament import Section
from naptuft.errors import DesignError


def moments_of_outline(points):
    """Area and second moment of a polygon by Green's theorem."""
    area = moment = 0.0
    for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1], strict=True):
        cross = x1 * y2 - x2 * y1
        area += cross / 2
        moment += cross * (y1**2 + y1 * y2 + y2**2) / 12
    return area, moment


def test_a_trilobal_section_agrees_with_its_outline_walked_round():
    section = Section("trilobal", 0.3e-3, 0.06e-3)
    middle, wave = 0.12e-3, 0.03e-3
    turn = [2 * pi * i / 4000 for i in range(4000)]
    outline = [((middle + wave * cos(3 * t)) * cos(t), (middle + wave * cos(3 * t)) * sin(t)) for t in turn]
    area, moment = moments_of_outline(outline)
    assert section.area == pytest.approx(area, rel=1e-5)
    assert section.second_moment == pytest.approx(moment, rel=1e-5)


def test_a_cross_agrees_with_its_outline_walked_round():
    d, b = 0.4, 0.12
    outline = [
        (b / 2, -d / 2),
        (b / 2, -b / 2),
        (d / 2, -b / 2),
        (d / 2, b / 2),
        (b / 2, b / 2),
        (b / 2, d / 2),
        (-b / 2, d / 2),
        (-b / 2, b / 2),
        (-d / 2, b / 2),
        (-d / 2, -b / 2),
        (-b / 2, -b / 2),
        (-b / 2, -d / 2),
    ]
    area, moment = moments_of_outline(outline)
    section = Section("cross", d, b)
    assert section.area == pytest.approx(area)
    assert section.second_moment == pytest.approx(moment)


def test_force_and_deflection_are_each_other_read_backwards():
    there = FLEX.answer(FLEX.example())
    back = FLEX.answer({**FLEX.example(), "deflection": "", "force": f"{there['force'] * 1e3} mN"})
    assert back["deflection"] == pytest.approx(0.020, rel=1e-5)


def test_far_bending_takes_more_force_than_the_small_formula_says():
    result = FLEX.answer({**FLEX.example(), "deflection": "45 mm", "tip_diameter": "0.2 mm"})
    assert result["force"] > 1.2 * result["stiffness"] * 0.045


def test_a_force_and_a_deflection_together_are_refused():
    with pytest.raises(DesignError, match="not both"):
        FLEX.answer({**FLEX.example(), "force": "1 mN"})
    with pytest.raises(DesignError, match="not both"):
        FLEX.answer({**FLEX.example(), "deflection": ""})


def test_a_bore_wider_than_the_filament_is_refused():
    with pytest.raises(DesignError, match="bore"):
        FLEX.answer({**FLEX.example(), "form": "hollow", "inner": "0.3 mm"})


def test_an_hour_bent_weakens_the_push():
    result = FLEX.answer(FLEX.example())
    assert 0.6 * result["force"] < result["force_after_hour"] < result["force"]
