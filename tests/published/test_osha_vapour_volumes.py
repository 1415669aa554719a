"""29 CFR 1910.94, table G-11 (vapour of a gallon) and the 25 % dilution formula beside it (from memory), and the rules
29 CFR 1910.124(b) and WAC 296-835-11010 (a quarter of the lower flammable limit; read)."""

import pytest

from naptuft.errors import DesignError
from naptuft.handle.drying_air import DRYING_AIR, HOT, STANDARD_TEMPERATURE, dilution_air, hot_factor, vapour_flow
from naptuft.materials.coating import SOLVENTS

GALLON, CUBIC_FOOT = 3.785411784e-3, 0.028316846592


def gallon_of_vapour(name: str) -> float:
    """Cubic feet of vapour at 70 degF from a gallon of liquid."""
    solvent = SOLVENTS[name]
    mass = GALLON * float(solvent.density)
    return vapour_flow(mass, float(solvent.molar_mass), STANDARD_TEMPERATURE) / CUBIC_FOOT


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("toluene", 30.4),
        ("xylene", 26.4),
        ("acetone", 44.0),
        ("n-butyl acetate", 24.8),
        ("ethanol", 55.2),
        ("methyl ethyl ketone", 36.4),
    ],
)
def test_a_gallon_of_solvent_gives_the_printed_volume_of_vapour(name, printed):
    """Cubic feet a gallon at 70 degF, within 1.5 %: the liquids there differ a little in density."""
    assert gallon_of_vapour(name) == pytest.approx(printed, rel=0.015)


def test_air_for_a_gallon_is_a_shade_more_than_the_rule_s_own_formula():
    """4 (100 - LEL)(cubic feet a gallon)/LEL for toluene at 1.4 %: 8,564 cu ft; ours counts the vapour as air too."""
    printed = 4 * (100 - 1.4) * 30.4 / 1.4
    assert printed == pytest.approx(8564, abs=1)
    toluene = SOLVENTS["toluene"]
    rate = GALLON * float(toluene.density)
    ours = dilution_air(rate, float(toluene.molar_mass), 0.014, 4) / CUBIC_FOOT
    assert ours == pytest.approx(printed / (1 - 0.014), rel=2e-3)


def test_the_limit_falls_by_three_tenths_above_250_fahrenheit():
    """Constant up to 250 degF (120 degC), then x 0.7: Wyoming rules for well drilling, 2013, definition of LEL (read)."""
    assert pytest.approx((250 + 459.67) / 1.8) == HOT
    assert (hot_factor(HOT - 0.1), hot_factor(HOT + 0.1)) == (1.0, 0.7)


def test_vapour_is_never_let_above_a_quarter_of_the_limit():
    """Below 25 % of the lower flammable limit: a factor of 4 is just that, and less is refused."""
    quarter = DRYING_AIR.answer({**DRYING_AIR.example(), "safety_factor": "4"})
    assert quarter["vapour_share"] == pytest.approx(0.25)
    with pytest.raises(DesignError):
        dilution_air(1e-3, 0.1, 0.01, 3.9)
