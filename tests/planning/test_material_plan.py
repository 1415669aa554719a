"""The material plan adds up with the plan it is of, and its orders cost no more than the plan's own."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest

from naptuft.book.model import Book, Material, PriceBreak
from naptuft.planning.lot_sizing import order_sizes
from naptuft.planning.material_plan import material_plan, terms_of
from naptuft.planning.plan import Plan
from naptuft.quantity import Measure
from sample_book import sample_book
from sample_plan import sample_plan


def needs() -> tuple[Book, Plan, dict]:
    book, plan = sample_book(), sample_plan()
    return book, plan, {need.material: need for need in material_plan(book, plan)}


def test_what_is_taken_is_what_is_allocated():
    book, plan, found = needs()
    for code, need in found.items():
        taken = sum(a.quantity for a in plan.allocations if a.material == code and a.source != "made")
        assert need.needed == pytest.approx(taken)
        assert need.unit == book.material[code].unit


def test_stock_of_a_day_is_that_of_the_day_before_less_taken_plus_arrived():
    _, _, found = needs()
    for need in found.values():
        stock = need.opening
        for day in need.days:
            stock += day.arrives - day.needed
            assert day.stock == pytest.approx(stock, abs=1e-5)


def test_a_purchase_of_the_plan_is_proposed_in_time_for_the_day_it_is_needed():
    book, plan, found = needs()
    bought = {a.material for a in plan.allocations if a.source == "purchase"}
    assert bought
    for code in bought:
        wanted = sum(a.quantity for a in plan.allocations if a.material == code and a.source == "purchase")
        need = found[code]
        lead = datetime.timedelta(days=book.material[code].lead_days or 0)
        assert sum(order.quantity for order in need.proposed) >= wanted - 1e-6
        for order in need.proposed:
            assert order.arrives - order.order_by == lead
            assert order.serves


def test_a_price_break_worth_taking_is_taken():
    material = Material(
        code="S", name="strip", kind="strip", unit="kg", price_per_unit=Decimal(4), least_order=Measure(10, "kg")
    )
    book = replace(
        sample_book(),
        materials=(material,),
        price_breaks=(PriceBreak(material="S", from_quantity=Measure(100, "kg"), price_per_unit=Decimal("3.00")),),
    )
    terms = terms_of(book, material)
    assert order_sizes([95.0], terms).quantities == (100.0,)
    assert order_sizes([60.0], terms).quantities == (60.0,)
