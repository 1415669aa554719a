"""Arrhenius acceleration: NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.5.1 (from memory).

Between 25 and 125 °C the factor is 133 for ΔH = 0.5 eV and 17,597 for ΔH = 1.0 eV, k = 8.617e-5 eV/K.
"""

import pytest

from naptuft.brush.capillary import GAS_CONSTANT, arrhenius_factor

ELECTRON_VOLT = GAS_CONSTANT / 8.617e-5


@pytest.mark.parametrize(("electron_volts", "factor"), [(0.5, 133), (1.0, 17_597)])
def test_a_hundred_degrees_speed_a_reaction_as_printed(electron_volts, factor):
    slowed = arrhenius_factor(electron_volts * ELECTRON_VOLT, 298.15, 398.15)
    assert slowed == pytest.approx(factor, rel=0.004)


def test_a_cure_twice_as_warm_by_the_rule_takes_half_the_time_twice():
    """Two steps of the ten-degree rule, 20 to 40 °C: about a quarter, at an energy between 51.2 and 65.9 kJ/mol."""
    assert arrhenius_factor(53e3, 293.15, 313.15) == pytest.approx(4.0, rel=0.02)
