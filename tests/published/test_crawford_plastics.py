"""Crawford, Plastics Engineering, 3rd ed. 1998: table 1.8 and the thermoformed cone of chapter 4."""

from math import cos, pi

import pytest

from naptuft.materials.resin import RESINS
from naptuft.tray.forming import cone_wall


def test_the_wall_of_a_sixty_degree_cone():
    """At 0, 1/4, 1/2 and 3/4 of the wall: 0.750, 0.5625, 0.375, 0.1875 of the sheet."""
    walls = [cone_wall(1.0, pi / 3, share) for share in (0.0, 0.25, 0.5, 0.75)]
    assert walls == pytest.approx([0.750, 0.5625, 0.375, 0.1875], abs=5e-5)


@pytest.mark.parametrize("angle", [0.3, 0.8, pi / 3, 1.3])
def test_the_cone_holds_all_of_the_sheet(angle):
    """The wall summed over the cone closes on the sheet's volume: 1.0000."""
    steps = 20_000
    slant = 1 / cos(angle)
    total = sum(
        cone_wall(1.0, angle, (k + 0.5) / steps) * 2 * pi * (1 - (k + 0.5) / steps) * slant / steps
        for k in range(steps)
    )
    assert total / pi == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "density", "specific_heat", "conductivity"),
    [
        ("ABS", 1040, 1.3, 0.25),
        ("PA66", 1140, 1.7, 0.24),
        ("PET", 1360, 1.0, 0.20),
        ("PP", 905, 2.0, 0.20),
        ("PS", 1050, 1.3, 0.15),
        ("HDPE", 950, 2.2, 0.25),
        ("PVC", 1400, 0.9, 0.16),
    ],
)
def test_table_1_8(name, density, specific_heat, conductivity):
    """Density kg/m3, specific heat kJ/kg/K, conductivity W/m/K; the effective diffusivity stays below k/(rho c)."""
    resin = RESINS[name]
    found = (float(resin.density), float(resin.specific_heat) / 1e3, float(resin.conductivity))
    assert found == (density, specific_heat, conductivity)
    assert float(resin.diffusivity) < conductivity / (density * specific_heat * 1e3)
    assert 0.07e-6 <= float(resin.diffusivity) <= 0.13e-6
