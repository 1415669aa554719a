"""Incropera and DeWitt, Fundamentals of Heat and Mass Transfer: radiation on a body of one temperature (from memory)."""

from math import atan, log

import pytest

from naptuft.materials.transient import STEFAN_BOLTZMANN, Face, HeatContent, conduct
from naptuft.tray.forming import heating_time


def closed_form(surface_heat: float, emissivity: float, heater: float, start: float, end: float) -> float:
    """Equation 5.18: t = rho V c/(4 e A s Tsur^3) {ln|..| - ln|..| + 2 [atan(T/Tsur) - atan(Ti/Tsur)]}."""
    logs = log((heater + end) / (heater - end)) - log((heater + start) / (heater - start))
    arcs = 2 * (atan(end / heater) - atan(start / heater))
    return surface_heat / (4 * emissivity * STEFAN_BOLTZMANN * heater**3) * (logs + arcs)


@pytest.mark.parametrize("thickness", [0.0005, 0.0012])
def test_a_thin_sheet_between_heaters_follows_the_closed_form(thickness):
    """Radiation alone on both faces: equation 5.18 with V/A half the thickness."""
    held = 1050.0 * 1800.0 * thickness / 2
    printed = closed_form(held, 0.8, 673.15, 293.15, 423.15)
    assert heating_time(thickness, 1050.0, 1800.0, 293.15, 423.15, 673.15, 0.8, film=0.0) == pytest.approx(printed)


def test_a_sheet_that_conducts_well_heats_as_it_happens_like_the_closed_form():
    """The same through the thickness, with a conductivity a thousand times a plastic's."""
    heater = Face(emissivity=0.8, heater=673.15)
    run = conduct(0.0012, 150.0, HeatContent(1050.0, 1800.0), 293.15, (heater, heater), 40.0)
    printed = closed_form(1050.0 * 1800.0 * 0.0006, 0.8, 673.15, 293.15, 423.15)
    assert run.when(run.mean, 423.15) == pytest.approx(printed, rel=2e-3)


def test_a_black_body_at_1000_kelvin_emits_56_7_kilowatts_a_square_metre():
    """Emissive power sigma T^4 at 1000 K: 56,700 W/m2."""
    gain, _ = Face(emissivity=1.0, heater=1000.0).flux(0.0)
    assert gain == pytest.approx(56_700, rel=1e-4)
