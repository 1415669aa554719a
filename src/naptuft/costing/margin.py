"""What each order line earns over its cost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from naptuft.planning.plan import CostLine, OrderOutcome

CENT = Decimal("0.01")


@dataclass(frozen=True)
class OrderMargin:
    """Money of what can be delivered of one order line.

    value   price of what is delivered
    cost    its planned cost
    """

    order: str
    product: str
    value: Decimal
    cost: Decimal

    @property
    def margin(self) -> Decimal:
        """Value less cost."""
        return self.value - self.cost

    @property
    def share(self) -> float:
        """Margin as a share of the value; 0 where nothing is delivered.

        >>> OrderMargin("S-1/1", "B-1", Decimal("100.00"), Decimal("60.00")).share
        0.4
        """
        return float(self.margin / self.value) if self.value else 0.0


def order_margins(orders: Iterable[OrderOutcome], costs: Iterable[CostLine]) -> tuple[OrderMargin, ...]:
    """The margin of every order line that has a price, in the order of `orders`.

    An order line short of some units counts for the share delivered.
    """
    spent = {line.name: line.total for line in costs if line.of == "order"}
    return tuple(
        OrderMargin(
            outcome.name,
            outcome.product,
            (outcome.value * (outcome.quantity - outcome.short_quantity) / outcome.quantity).quantize(CENT),
            spent.get(outcome.name, Decimal(0)),
        )
        for outcome in orders
        if outcome.value is not None
    )
