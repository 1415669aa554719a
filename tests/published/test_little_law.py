"""Little and Graves, Little's Law, in Building Intuition, 2008: the wafer plant (from memory)."""

from naptuft.handle.finishing import racks_waiting


def test_a_thousand_wafers_a_day_and_45_days_are_45000_in_the_plant():
    """1,000 a day x 45 days = 45,000 units; in racks of 30: 1,500."""
    assert racks_waiting(1000 / 86400, 45 * 86400, 1) == 45_000
    assert racks_waiting(1000 / 86400, 45 * 86400, 30) == 1_500
