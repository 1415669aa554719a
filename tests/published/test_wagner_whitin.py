"""Dynamic lot sizes, economic quantities and a requirements record against their sources.

Wagner and Whitin, Dynamic Version of the Economic Lot Size Model, Management Science 5 (1958) 89, table 1
(figures from memory: twelve months of demand, a set-up cost for each, one a unit a month to keep; least cost 864).
Hillier and Lieberman, Introduction to Operations Research, inventory theory, the loudspeaker example (from memory).
Krajewski and Ritzman, Operations Management, resource planning, inventory record of the seat subassembly: gross
requirements, opening stock, lot size and lead time as in a stored copy of the chapter's slides; the filled-in
record from memory, and recomputed by hand below.
"""

from __future__ import annotations

import pytest

from naptuft.planning.lot_sizing import Terms, economic_quantity, economic_quantity_with_breaks, order_sizes

DEMAND = (69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56)
SET_UP = (85.0, 102.0, 102.0, 101.0, 98.0, 114.0, 105.0, 86.0, 119.0, 110.0, 98.0, 114.0)


def test_the_twelve_months_of_wagner_and_whitin_cost_864():
    answer = order_sizes(DEMAND, Terms(order_cost=SET_UP, keeping_cost=1.0))
    assert answer.cost == pytest.approx(864)
    assert answer.bound == pytest.approx(864)
    assert answer.proven
    assert sum(answer.quantities) == pytest.approx(sum(DEMAND))


def test_the_first_months_are_ordered_as_printed():
    """Months 1 and 2 together, then 3 and 4: the first two rows of the printed plan."""
    answer = order_sizes(DEMAND[:4], Terms(order_cost=SET_UP[:4], keeping_cost=1.0))
    assert answer.quantities == (98.0, 0.0, 97.0, 0.0)
    assert answer.cost == pytest.approx(85 + 29 + 102 + 61)


def test_economic_quantity_of_the_loudspeakers():
    """8,000 a month, 12,000 a set-up, 0.30 a month to keep: 25,298."""
    assert round(economic_quantity(8000, 12_000, 0.30)) == 25_298


def test_price_breaks_of_the_loudspeakers():
    """11 below 10,000, 10 below 80,000, else 9.50: still 25,298, at 87,589 a month against 89,200 at 80,000."""
    terms = Terms(((0, 11.0), (10_000, 10.0), (80_000, 9.5)), order_cost=12_000.0, keeping_cost=0.30)
    quantity, cost = economic_quantity_with_breaks(8000, terms)
    assert (round(quantity), round(cost)) == (25_298, 87_589)
    assert terms.price(80_000) == 9.5
    _, at_80_000 = economic_quantity_with_breaks(8000, Terms(((0, 99.0), (80_000, 9.5)), 12_000.0, 0.30))
    assert round(at_80_000) == 89_200


def test_inventory_record_of_the_seat_subassembly():
    """37 in hand, 230 arriving in week 1, lots of 230: two more lots, in weeks 4 and 7."""
    gross = (150, 0, 0, 120, 0, 150, 120, 0)
    arriving_in_week_1 = 230
    answer = order_sizes(
        gross,
        Terms(keeping_cost=1.0, least=230, multiple=230),
        on_hand=37 + arriving_in_week_1,
    )
    assert answer.quantities == (0, 0, 0, 230, 0, 0, 230, 0)
    assert answer.stock == (117, 117, 117, 227, 227, 77, 187, 187)
