"""Orders into work orders and lots."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest

from naptuft.book.model import Lot, Order, PriceBreak
from naptuft.planning.allocate import allocate, cheapest_quantity, price_bought_at
from naptuft.planning.check.answer import check_costs
from naptuft.planning.design import design_products
from naptuft.planning.explode import explode
from naptuft.planning.weeks import plan_weeks
from naptuft.quantity import Measure
from small_plants import after, scraper_plant


def exploded(book, **wanted):
    asked = {order.name: float(order.quantity) for order in book.orders}
    asked.update(wanted)
    return explode(book, design_products(book), asked)


def made(explosion, product):
    return [batch for batch in explosion.batches if batch.product == product]


def test_an_order_asks_for_its_parts_all_the_way_down():
    explosion = exploded(scraper_plant())
    assert [b.quantity for b in made(explosion, "SCRAPER")] == [600]
    assert [b.quantity for b in made(explosion, "BLADE")] == [600]
    assert made(explosion, "BLADE")[0].due < made(explosion, "SCRAPER")[0].due
    steel = next(r for r in explosion.requirements if r.part == "STEEL")
    assert steel.quantity == pytest.approx(24.0)


def test_stock_of_a_product_is_taken_before_more_is_made():
    book = scraper_plant()
    blades = Lot(code="L-9", material="BLADE", quantity=Measure(250), received=datetime.date(2026, 11, 1))
    explosion = exploded(replace(book, lots=(*book.lots, blades)))
    assert [b.quantity for b in made(explosion, "BLADE")] == [350]
    assert [(t.lot, t.quantity) for t in explosion.takings] == [("L-9", 250)]


def test_a_held_lot_and_a_lot_that_expires_too_soon_stay_on_the_shelf():
    book = scraper_plant()
    held = Lot(code="L-8", material="BLADE", quantity=Measure(250), received=datetime.date(2026, 11, 1), state="held")
    stale = replace(held, code="L-7", state="free", expires=datetime.date(2026, 12, 1))
    explosion = exploded(replace(book, lots=(*book.lots, held, stale)))
    assert explosion.takings == ()


def test_lines_due_in_one_week_share_a_batch_and_later_ones_do_not():
    book = scraper_plant()
    orders = tuple(
        Order(order=f"S-{n}", line=1, customer="Mill Lane", product="SCRAPER", quantity=100, due=after(day))
        for n, day in enumerate((8, 10, 20))
    )
    batches = made(exploded(replace(book, orders=orders)), "SCRAPER")
    assert [b.quantity for b in batches] == [200, 100]


def test_a_batch_larger_than_the_largest_is_split_evenly():
    book = scraper_plant()
    small = tuple(replace(p, most_batch=Measure(250)) if p.code == "SCRAPER" else p for p in book.products)
    assert [b.quantity for b in made(exploded(replace(book, products=small)), "SCRAPER")] == [200, 200, 200]


def test_scrap_starts_more_than_is_wanted():
    book = scraper_plant()
    scrapped = tuple(replace(p, scrap=0.04) if p.code == "SCRAPER" else p for p in book.products)
    explosion = exploded(replace(book, products=scrapped))
    assert made(explosion, "SCRAPER")[0].started == 625
    assert made(explosion, "BLADE")[0].quantity == 625


def test_each_order_line_is_traced_to_every_batch_below_it():
    book = scraper_plant()
    orders = (*book.orders, replace(book.orders[0], order="S-2", quantity=200))
    explosion = exploded(replace(book, orders=orders))
    blade = made(explosion, "BLADE")[0]
    assert explosion.serves()[blade.number] == pytest.approx({"S-1/1": 600, "S-2/1": 200})


def test_the_lot_that_expires_first_is_used_first():
    book = scraper_plant()
    early = Lot(
        code="L-0",
        material="STEEL",
        quantity=Measure(10, "kg"),
        received=datetime.date(2026, 11, 20),
        expires=datetime.date(2027, 1, 1),
    )
    book = replace(book, lots=(*book.lots, early))
    taken = [a for a in allocate(book, exploded(book), {}).allocations if a.material == "STEEL"]
    assert [(a.lot, pytest.approx(a.quantity)) for a in taken] == [("L-0", 10.0), ("L-1", 14.0)]
    assert sum(a.cost for a in taken) == Decimal("48.00")


def test_what_is_missing_is_bought_in_time_and_the_batch_waits_for_it():
    book = scraper_plant()
    book = replace(book, lots=book.lots[1:])
    allocated = allocate(book, exploded(book), {})
    (purchase,) = allocated.purchases
    assert purchase.quantity == pytest.approx(24.0)
    assert purchase.serves == ("S-1/1",)
    blade = made(exploded(book), "BLADE")[0]
    assert allocated.release[blade.number] == purchase.arrives
    assert purchase.arrives >= book.start + datetime.timedelta(days=5)


def test_what_cannot_be_bought_leaves_a_gap_that_names_it():
    book = scraper_plant()
    few = tuple(replace(lot, quantity=Measure(150)) if lot.material == "GRIP" else lot for lot in book.lots)
    (gap,) = allocate(replace(book, lots=few), exploded(replace(book, lots=few)), {}).gaps
    assert gap.share == pytest.approx(0.25)
    assert "GRIP" in gap.reason
    assert "cannot be bought" in gap.reason


def test_a_batch_waits_for_a_lot_on_its_way():
    book = scraper_plant()
    coming = tuple(replace(lot, arrives=after(3)) if lot.material == "GRIP" else lot for lot in book.lots)
    book = replace(book, lots=coming)
    allocated = allocate(book, exploded(book), {})
    scraper = made(exploded(book), "SCRAPER")[0]
    assert allocated.release[scraper.number] == after(3).replace(tzinfo=book.start.tzinfo)


def test_a_price_break_is_bought_up_to_where_the_whole_purchase_costs_less():
    """80 kg are missing at 2.00 (160.00); from 100 kg a kilogram costs 1.50 (150.00), from 1,000 kg 1.40 (1,400.00)."""
    breaks = (
        PriceBreak(material="STEEL", from_quantity=Measure(1000, "kg"), price_per_unit=Decimal("1.40")),
        PriceBreak(material="STEEL", from_quantity=Measure(100, "kg"), price_per_unit=Decimal("1.50")),
    )
    book = scraper_plant(lots=(), price_breaks=breaks)
    steel = book.material["STEEL"]
    assert cheapest_quantity(book, steel, 80.0) == 100.0
    assert price_bought_at(book, steel, 100.0) == Decimal("1.50")
    # 40 kg at 2.00 are cheaper than 100 kg at 1.50, and 500 kg at 1.50 than 1,000 kg at 1.40
    assert cheapest_quantity(book, steel, 40.0) == 40.0
    assert cheapest_quantity(book, steel, 500.0) == 500.0
    # at the edge the whole next quantity costs no less: 933.4 kg at 1.50 are 1,400.10
    assert cheapest_quantity(book, steel, 933.4) == 1000.0


def test_what_is_taken_from_a_purchase_costs_what_was_paid_for_it():
    breaks = (PriceBreak(material="STEEL", from_quantity=Measure(20, "kg"), price_per_unit=Decimal("1.50")),)
    book = scraper_plant(price_breaks=breaks, lots=tuple(lot for lot in scraper_plant().lots if lot.material == "GRIP"))
    plan = plan_weeks(book, effort=50)
    (purchase,) = (purchase for purchase in plan.purchases if purchase.material == "STEEL")
    assert purchase.cost == (Decimal("1.50") * Decimal(repr(purchase.quantity))).quantize(Decimal("0.01"))
    taken = [each for each in plan.allocations if each.lot == purchase.number]
    assert sum(each.cost for each in taken) == (Decimal("1.50") * Decimal(repr(purchase.needed))).quantize(
        Decimal("0.01")
    )
    dearer = replace(plan, purchases=(replace(purchase, cost=purchase.cost * 2),))
    assert any("1.50 each" in finding.message for finding in check_costs(book, dearer))
