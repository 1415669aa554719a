"""The ten-degree rule of cure, against printed factors."""

from math import exp

import pytest

from naptuft.roller.curing import cure_time, cured_share, mean_held, time_to_cure

DAY = 86_400.0


@pytest.mark.parametrize(
    ("chamber", "room", "days", "printed"), [(55.0, 25.0, 730.0, 91.25), (55.0, 22.0, 365.0, 37.06)]
)
def test_accelerated_ageing_by_ten_degrees(chamber, room, days, printed):
    """ASTM F1980, accelerated ageing: AAF = Q₁₀^((T_aa − T_rt)/10) with Q₁₀ = 2. Printed in public guides to it: 55 °C
    for 25 °C gives 8, two years 91.25 days; 55 °C for 22 °C gives 9.85, a year 37 days (the second from memory)."""
    found = cure_time(days * DAY, room + 273.15, chamber + 273.15, 2.0)
    assert found / DAY == pytest.approx(printed, abs=0.005)


def test_twice_in_ten_degrees_is_an_activation_energy_of_51_kilojoules():
    """S. Arrhenius's law, k ∝ exp(−E/RT): E = R ln 2/(1/293.15 − 1/303.15) is 51.2 kJ/mol."""
    energy, gas = 51_200.0, 8.314462618
    ratio = exp(energy / gas * (1 / 293.15 - 1 / 303.15))
    assert cure_time(1.0, 293.15, 303.15) == pytest.approx(1 / ratio, rel=2e-3)


def test_a_night_ten_degrees_colder_counts_half():
    """By hand: 8 h at 20 °C; six hours of evening at 20 °C do 6/8, the last quarter takes 2 · 2 = 4 h at 10 °C."""
    day = ((293.15, 12 * 3600.0), (283.15, 12 * 3600.0))
    wait = time_to_cure(day, 8 * 3600.0, 293.15, 2.0, start=6 * 3600.0)
    assert wait / 3600 == pytest.approx(10.0)
    assert cured_share(((293.15, 6 * 3600.0), (283.15, 4 * 3600.0)), 8 * 3600.0, 293.15, 2.0) == pytest.approx(1.0)


def test_little_law_printed_example():
    """J. D. C. Little and S. C. Graves, Little's Law, in Building Intuition, 2008 (from memory): a wine rack bought for
    at 160 bottles a year, each kept 1.5 years, holds 240."""
    year = 365 * DAY
    assert mean_held(160 / year, 1.5 * year) == pytest.approx(240.0)
