"""How drying speeds up with warmth, against vapour pressures of the steam tables and NIST (from memory)."""

import pytest

from naptuft.handle.coat_line import EVAPORATION, drying_speed, flash_off_time


@pytest.mark.parametrize(
    ("solvent", "cool", "warm"),
    [("", 2.339, 4.246), ("toluene", 2.91, 4.89), ("acetone", 24.6, 38.0), ("ethanol", 5.87, 10.5)],
)
def test_vapour_pressure_from_20_to_30_degrees(solvent, cool, warm):
    """kPa at 20 and 30 degC: water, toluene, acetone, ethanol; the ratio within 3 %."""
    assert drying_speed(EVAPORATION[solvent] * 1e3, 303.15, 0.5) == pytest.approx(warm / cool, rel=0.03)


def test_flash_off_is_the_tables_in_the_tables_air_and_shorter_in_warm_moving_air():
    assert flash_off_time(900.0, "xylene", 293.15, 0.5, 0.5) == pytest.approx(900.0)
    assert flash_off_time(900.0, "xylene", 303.15, 1.0, 0.5) < 900.0 / 2
    assert flash_off_time(900.0, "", 293.15, 0.5, 0.8) > flash_off_time(900.0, "", 293.15, 0.5, 0.3)
