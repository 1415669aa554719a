"""Order sizes: stock adds up, terms are kept, and nothing costs less on small cases."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.planning.lot_sizing import Terms, order_sizes

NEEDS = st.lists(st.integers(0, 6), min_size=1, max_size=5)
TERMS = st.builds(
    lambda order_cost, keeping, least, from_quantity, less: Terms(
        ((0.0, 4.0), (float(from_quantity), 4.0 - less)),
        order_cost=float(order_cost),
        keeping_cost=keeping,
        least=float(least),
        multiple=1.0,
    ),
    st.integers(0, 20),
    st.sampled_from([0.0, 0.5, 2.0]),
    st.integers(0, 5),
    st.integers(2, 9),
    st.sampled_from([0.0, 0.5, 1.5]),
)


@settings(max_examples=60, deadline=None)
@given(NEEDS, TERMS, st.integers(0, 5))
def test_stock_adds_up_and_terms_are_kept(needs, terms, on_hand):
    answer = order_sizes(needs, terms, on_hand=on_hand)
    stock = float(on_hand)
    for need, bought, kept, spoiled in zip(needs, answer.quantities, answer.stock, answer.spoiled, strict=True):
        stock += bought - need - spoiled
        assert stock == pytest.approx(kept, abs=1e-5)
        assert kept >= -1e-6
        assert bought == 0 or bought >= terms.least - 1e-6
        assert bought == pytest.approx(round(bought), abs=1e-5)
    assert answer.cost >= answer.bound - 1e-5


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 4), min_size=1, max_size=4), TERMS)
def test_no_other_orders_cost_less(needs, terms):
    answer = order_sizes(needs, terms)
    least = min(
        (
            cost
            for orders in product(range(sum(needs) + 11), repeat=len(needs))
            if (cost := _cost(needs, orders, terms)) is not None
        ),
        default=None,
    )
    assert answer.proven
    assert least is not None
    assert answer.cost == pytest.approx(least, abs=1e-4)


def _cost(needs, orders, terms):
    stock = total = 0.0
    for need, order in zip(needs, orders, strict=True):
        if order and order < terms.least:
            return None
        stock += order - need
        if stock < 0:
            return None
        total += terms.keeping_cost * stock + (terms.order_cost + terms.price(order) * order if order else 0.0)
    return total
