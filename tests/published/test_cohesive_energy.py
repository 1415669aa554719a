"""The whole solubility parameter is the root of the heat of vaporisation by volume: √((ΔH − RT)/V) (Hildebrand).

Heats at 25 °C after the CRC Handbook of Chemistry and Physics, molar volumes after Hansen (both from memory).
"""

from math import sqrt

import pytest

from naptuft.materials.solvent import PAINT_SOLVENTS

GAS, WARM = 8.314462618, 298.15


@pytest.mark.parametrize(
    ("name", "heat", "volume"),
    [
        ("acetone", 30.99e3, 74.0e-6),
        ("methyl ethyl ketone", 34.79e3, 90.1e-6),
        ("toluene", 38.01e3, 106.8e-6),
        ("xylene", 43.43e3, 121.2e-6),
        ("n-butyl acetate", 43.86e3, 132.5e-6),
        ("ethyl acetate", 35.60e3, 98.5e-6),
        ("ethanol", 42.32e3, 58.5e-6),
        ("isopropanol", 45.39e3, 76.8e-6),
        ("water", 43.99e3, 18.0e-6),
    ],
)
def test_the_three_parts_add_up_to_the_heat_of_vaporisation(name, heat, volume):
    """No Hansen parameter enters on the right: a check of the table from outside."""
    solvent = PAINT_SOLVENTS[name]
    whole = sqrt(solvent.dispersion**2 + solvent.polar**2 + solvent.hydrogen**2)
    assert whole == pytest.approx(sqrt((heat - GAS * WARM) / volume), rel=0.025)
