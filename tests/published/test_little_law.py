"""Little and Graves, Little's Law, in Building Intuition, 2008: the wafer plant (from memory)."""

from naptuft.handle.finishing import racks_waiting


def test_a_thousand_wafers_a_day_and_45_days_are_45000_in_the_plant():
    """1,000 a day x 45 days = 45,000 units; in racks of 30: 1,500."""
    assert racks_waiting(1000 / 86400, 45 * 86400, 1) == 45_000
    assert racks_waiting(1000 / 86400, 45 * 86400, 30) == 1_500


def test_160_bottles_at_eight_a_month_are_twenty_months_old():
    """The wine rack of the chapter's opening (read): 160 bottles held, 8 a month bought, so 20 months."""
    month = 30.4 * 86400
    assert racks_waiting(8 / month, 20 * month, 1) == 160
