"""ISO 294-4, moulding shrinkage as (mould - part)/mould (from memory), and what guides print of it."""

import pytest

from naptuft.handle.mould_size import mould_length
from naptuft.materials.resin import RESINS


def test_a_mould_of_100_mm_gives_98_5_mm_at_1_5_per_cent():
    """S = 100 x (100 - 98.5)/100 = 1.5 %."""
    assert mould_length(0.0985, 0.015) == pytest.approx(0.100)


def test_an_80_mm_polyethylene_part_wants_a_cavity_of_82_05_mm():
    """Groover, Fundamentals of Modern Manufacturing, chapter on plastics (from memory): D + D S + D S2 with S 0.025."""
    assert pytest.approx(82.05) == 80.0 + 80.0 * 0.025 + 80.0 * 0.025**2
    assert mould_length(0.080, 0.025) * 1e3 == pytest.approx(82.05, abs=0.005)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("PS", 0.4, 0.7), ("PP", 1.0, 2.5), ("HDPE", 1.5, 6.0), ("ABS", 0.5, 0.9), ("PA66", 1.5, 2.2)],
)
def test_shrinkage_is_a_range_that_holds_the_printed_one(name, low, high):
    """General processing guidelines and handbooks, per cent: ours is never narrower than what they print."""
    shrinkage = RESINS[name].shrinkage
    assert shrinkage.low is not None
    assert shrinkage.high is not None
    assert shrinkage.low <= low / 100 < high / 100 <= shrinkage.high


@pytest.mark.parametrize(
    ("name", "melt", "mould"),
    [
        ("ABS", (390, 540), (100, 180)),
        ("PS", (400, 480), (70, 120)),
        ("HDPE", (360, 525), (60, 110)),
        ("PA66", (520, 580), (160, 240)),
        ("PP", (400, 500), (70, 120)),
    ],
)
def test_temperatures_are_those_of_the_guidelines(name, melt, mould):
    """General processing guidelines, a public trade table, degF: melt and mould of each resin."""
    resin = RESINS[name]
    for known, (low, high) in ((resin.melt_temperature, melt), (resin.mould_temperature, mould)):
        assert known.low == pytest.approx((low + 459.67) / 1.8, abs=0.6)
        assert known.high == pytest.approx((high + 459.67) / 1.8, abs=0.6)
