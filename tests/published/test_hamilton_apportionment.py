"""Rounding by largest remainder against the first house it was used for.

Source: apportionment bill of 1792 by Hamilton's method, 120 seats, census of 1790; populations and result
as tabled in COMAP, For All Practical Purposes, 10th edition, ch. 14, example 6 (seats), and the census (populations).
"""

from __future__ import annotations

from fractions import Fraction

from naptuft.costing.rounding import largest_remainder

POPULATION_AND_SEATS = {
    "Virginia": (630_560, 21),
    "Massachusetts": (475_327, 16),
    "Pennsylvania": (432_879, 14),
    "North Carolina": (353_523, 12),
    "New York": (331_589, 11),
    "Maryland": (278_514, 9),
    "Connecticut": (236_841, 8),
    "South Carolina": (206_236, 7),
    "New Jersey": (179_570, 6),
    "New Hampshire": (141_822, 5),
    "Vermont": (85_533, 3),
    "Georgia": (70_835, 2),
    "Kentucky": (68_705, 2),
    "Rhode Island": (68_446, 2),
    "Delaware": (55_540, 2),
}


def test_the_120_seats_of_1792_come_out_state_by_state():
    """Population 3,615,920; nine seats left over go to the nine largest remainders."""
    total = sum(population for population, _ in POPULATION_AND_SEATS.values())
    assert total == 3_615_920
    quotas = [Fraction(120 * population, total) for population, _ in POPULATION_AND_SEATS.values()]
    seats = largest_remainder(quotas, 120)
    assert dict(zip(POPULATION_AND_SEATS, seats, strict=True)) == {
        state: seats for state, (_, seats) in POPULATION_AND_SEATS.items()
    }
