"""Work out the engineering of every product, and read its figures per unit made."""

from __future__ import annotations

from collections.abc import Mapping

from naptuft.book.designs import DESIGN_OF
from naptuft.book.model import Book, Part, RouteStep
from naptuft.calculation import Calculation
from naptuft.planning.plan import DesignOutcome
from naptuft.quantity import from_si

Designs = Mapping[str, DesignOutcome]


def design_products(book: Book) -> Designs:
    """The engineering of every product that has a design, by product code. Raises DesignError."""
    outcomes = {}
    for product in book.products:
        calculation = DESIGN_OF.get(product.line)
        if isinstance(calculation, Calculation) and product.code in book.designs:
            result = calculation.run(book.designs[product.code])
            outcomes[product.code] = DesignOutcome(product.code, product.name, product.line, calculation.name, result)
    return outcomes


def unit_need(book: Book, designs: Designs, part: Part) -> float:
    """How much of a part goes into one unit of its product, loss included, in the part's own unit."""
    item = book.item[part.part]
    if part.quantity is not None:
        need = from_si(part.quantity.si(item.pint_unit), item.pint_unit)
    else:
        need = from_si(designs[part.product].result[part.from_design], item.pint_unit)
    return need / (1.0 - part.loss)


def seconds_each(designs: Designs, step: RouteStep) -> float:
    """Time for one unit at a step [s], as written or from the design."""
    if step.time_each is not None:
        return step.time_each
    return designs[step.product].result[step.from_design]
