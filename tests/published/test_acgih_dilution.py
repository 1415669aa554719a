"""ACGIH, Industrial Ventilation, chapter 2: air to dilute vapour for fire (from memory)."""

import pytest

from naptuft.handle.drying_air import dilution_air
from naptuft.quantity import from_si, to_si

PINT_OF_WATER = 1.0431


def xylol_rate() -> float:
    """Two pints an hour of specific gravity 0.88, in kg/s."""
    return 2 * PINT_OF_WATER * 0.88 * 0.45359237 / 3600


def test_two_pints_of_xylol_an_hour_in_a_drying_oven():
    """LEL 1.0 %, MW 106, C 10, B 0.7: 159 cfm at 70 degF, 243 cfm at 350 degF."""
    hot = to_si(350, "degF")
    standard = dilution_air(xylol_rate(), 0.106, 0.010, 10, hot)
    actual = dilution_air(xylol_rate(), 0.106, 0.010, 10, hot, flow_temperature=hot)
    assert from_si(standard, "foot**3/min") == pytest.approx(159, abs=1.0)
    assert from_si(actual, "foot**3/min") == pytest.approx(243, abs=1.0)


def test_the_constant_403_is_the_molar_volume_in_pints():
    """403 = 387 cubic feet a pound-mole at 70 degF x 1.041 pounds of water a pint."""
    cool = to_si(70, "degF")
    rate = PINT_OF_WATER * 0.45359237 / 60
    flow = dilution_air(rate, 1e-3, 0.9999, 4, cool) * 0.9999 / 4
    assert from_si(flow, "foot**3/min") == pytest.approx(403, abs=1.0)
