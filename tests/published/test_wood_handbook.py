"""Forest Products Laboratory, Wood Handbook: nails in side grain (ch. 8) and movement with moisture (ch. 13).

Figures for eight woods at 12 % moisture, a sixpenny nail of 0.113 in pulled straight out, as taken from the handbook
(Ag. Handbook 72) in Wengert, "Strength and density predictors", Woodworking Network. The equation is printed there
and at Engineers Edge, "Wood nail pullout", as 54.12·G^(5/2)·D·L (N, mm) and 7,850·G^(5/2)·D·L (lb, in).
Table 13-5 is that of FPL-GTR-190 (2010).
"""

import pytest

from naptuft.brush import JOINING
from naptuft.brush.joining import JoinDesign, bore, nail_lateral, nail_withdrawal, swelling

POUND, INCH = 4.4482216, 0.0254
WOODS = {
    "hard maple": (0.63, 279),
    "soft maple": (0.47, 134),
    "yellow birch": (0.62, 268),
    "white birch": (0.55, 199),
    "American beech": (0.64, 291),
    "white ash": (0.60, 247),
    "white oak": (0.68, 338),
    "hickory": (0.72, 390),
}
NAILS_AT_HALF = [(25, 1.4, 58.9), (30, 1.6, 80.8), (40, 2.0, 135), (50, 2.2, 185), (60, 2.8, 283)]


@pytest.mark.parametrize(("gravity", "pounds"), WOODS.values(), ids=WOODS)
def test_eight_woods_hold_a_sixpenny_nail_as_tabulated(gravity, pounds):
    """Pounds for each inch of penetration, to the printed pound."""
    assert nail_withdrawal(gravity, 0.113 * INCH, INCH) / POUND == pytest.approx(pounds, abs=0.75)


def test_the_metric_and_the_inch_equation_are_one():
    """54.12 in N and mm, 7,850 in pounds and inches."""
    assert nail_withdrawal(1.0, INCH, INCH) / POUND == pytest.approx(7850, rel=1e-4)


@pytest.mark.parametrize(("length", "diameter", "newtons"), NAILS_AT_HALF)
def test_a_fifth_of_the_older_equation_is_the_allowable_table(length, diameter, newtons):
    """1,380·G^(5/2)·D a fifth of 6,900 (FPL-093, 1965); metric nails at G 0.5, Engineering ToolBox, to the digit."""
    fifth = nail_withdrawal(0.5, diameter / 1e3, length / 1e3) / 5
    assert fifth * 6900 / 7850 == pytest.approx(newtons, rel=0.006)


def test_a_twentypenny_nail_in_spruce_by_the_older_equation():
    """Engineering ToolBox, after FPL-0100: G 0.45, D 0.203 in: 38 lb allowable for each inch."""
    fifth = nail_withdrawal(0.45, 0.203 * INCH, INCH) / 5 / POUND
    assert fifth * 6900 / 7850 == pytest.approx(38, abs=0.5)


@pytest.mark.parametrize(("gravity", "inch_factor"), [(0.40, 1440), (0.52, 2000), (0.65, 2720)])
def test_the_sideways_factors_are_those_of_the_inch_table(gravity, inch_factor):
    """p = K·D^(3/2), hardwoods: K 1,440, 2,000 and 2,720 (lb, in), table 8-4 (from memory)."""
    assert nail_lateral(gravity, INCH, 20 * INCH) / POUND == pytest.approx(inch_factor, rel=1e-3)


def test_less_than_ten_diameters_counts_in_proportion():
    """Merritt, Civil Engineering Formulas, ch. 6: ten diameters for dense species, less "directly proportional"."""
    full = nail_lateral(0.65, 1.4e-3, 14e-3)
    assert nail_lateral(0.65, 1.4e-3, 20e-3) == full
    assert nail_lateral(0.65, 1.4e-3, 7e-3) == pytest.approx(full / 2)


def test_a_board_swells_as_in_the_flooring_example():
    """Coefficient 0.00129, 5 in wide, 6 to 9 % moisture: 0.019 in (flooring makers' example of the handbook's rule)."""
    assert swelling(5 * INCH, 0.00129, 3) / INCH == pytest.approx(0.019, abs=0.0005)


def test_beech_across_a_handle_moves_as_tabulated():
    """Table 13-5: American beech 0.00190 radial, which is what a handle's thickness is taken to do."""
    record, _ = JOINING.read(JOINING.example())
    assert record.swell == 0.00190
    result = JOINING.answer({**JOINING.example(), "moisture_gain": "4"})
    assert result["swelling"] == pytest.approx(0.016 * 0.00190 * 4)


@pytest.mark.parametrize(("gravity", "share"), [(0.65, 0.90), (0.50, 0.75)])
def test_a_hole_is_bored_no_wider_than_allowed(gravity, share):
    """Merritt & Ricketts, Building Design and Construction: 90 % of the nail above a gravity of 0.6, else 75 %."""
    joint = JoinDesign(width=0.1, thickness=0.016, stock="wood", specific_gravity=gravity, prebored=True)
    assert bore(joint) == pytest.approx(share * joint.nail_diameter)
