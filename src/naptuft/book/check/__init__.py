"""How the records of a book fit together: every fault with its sheet, row and column, in one pass.

A row with a fault of its own still counts as there, and a name that is a slip for a known one counts as
that one, so that one mistake is told once.
"""

from __future__ import annotations

from itertools import chain

from naptuft.book.check.designs import check_designs, work_out_designs
from naptuft.book.check.pins import check_pins
from naptuft.book.check.plant import check_plant
from naptuft.book.check.products import check_products
from naptuft.book.check.references import check_references
from naptuft.book.check.routes import check_routes
from naptuft.book.check.spreads import check_spreads
from naptuft.book.check.stock import check_stock
from naptuft.book.entry import Reading, capped, reading_of
from naptuft.book.model import Book
from naptuft.errors import Fault

__all__ = ["check", "faults_of"]


def check(reading: Reading) -> tuple[Fault, ...]:
    """Everything wrong between the records of a book that were read; empty when they fit together."""
    outcomes = work_out_designs(reading)
    found = chain(
        check_references(reading),
        check_plant(reading),
        check_stock(reading),
        check_designs(reading, outcomes),
        check_products(reading, outcomes),
        check_routes(reading, outcomes),
        check_spreads(reading),
        check_pins(reading),
    )
    return tuple(capped(found))


def faults_of(book: Book) -> tuple[Fault, ...]:
    """Everything wrong between the records of a book in memory, its rows numbered as `write_book` writes them."""
    return check(reading_of(book))
