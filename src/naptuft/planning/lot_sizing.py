"""How much to buy and when: the least cost of ordering, price and keeping, for needs known day by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

from naptuft.errors import DesignError, Fault, Infeasible


@dataclass(frozen=True)
class Terms:
    """On what terms a material is bought and kept.

    breaks            price of one unit by quantity ordered, as pairs (from quantity, price), the first from 0
    order_cost        cost of placing one order; one figure, or one for each period
    keeping_cost      cost of keeping one unit from one period to the next
    least, multiple   smallest order and the multiple it is sold in; 0: none
    keeps             periods it keeps after it arrives; None: for ever
    """

    breaks: tuple[tuple[float, float], ...] = ((0.0, 0.0),)
    order_cost: float | tuple[float, ...] = 0.0
    keeping_cost: float = 0.0
    least: float = 0.0
    multiple: float = 0.0
    keeps: int | None = None

    def __post_init__(self) -> None:
        starts = [start for start, _ in self.breaks]
        if not starts or starts[0] != 0 or starts != sorted(set(starts)):
            raise DesignError(
                Fault("price breaks", str(starts), "rising quantities, the first 0", "put them in order, each once")
            )

    def cost_of_order(self, period: int) -> float:
        """Cost of placing an order in a period."""
        return self.order_cost if isinstance(self.order_cost, float | int) else self.order_cost[period]

    def price(self, quantity: float) -> float:
        """Price of one unit when so many are ordered.

        >>> Terms(breaks=((0, 11.0), (10_000, 10.0))).price(12_000)
        10.0
        """
        return next(price for start, price in reversed(self.breaks) if quantity >= start - 1e-9)


@dataclass(frozen=True)
class OrderSizes:
    """What to order to arrive at the start of each period.

    quantities  by period
    stock       left at the end of each period
    spoiled     of the stock, what is past its keeping and thrown away in each period
    cost        of orders, prices and keeping together
    bound       proven least cost
    proven      whether the cost is the least there is
    """

    quantities: tuple[float, ...]
    stock: tuple[float, ...]
    spoiled: tuple[float, ...]
    cost: float
    bound: float
    proven: bool


def economic_quantity(demand: float, order_cost: float, keeping_cost: float) -> float:
    """Order quantity that costs least under steady demand, √(2DK/h). [units]

    demand: units a period; order_cost: of one order; keeping_cost: of one unit for one period.
    Raises DesignError unless all are above 0. Source: Harris, How Many Parts to Make at Once, 1913.

    >>> round(economic_quantity(8000, 12000, 0.30))
    25298
    """
    for name, value in (("demand", demand), ("order cost", order_cost), ("keeping cost", keeping_cost)):
        if not 0 < value < inf:
            raise DesignError(Fault(name, value, "above 0", "give a positive figure"))
    return sqrt(2 * demand * order_cost / keeping_cost)


def economic_quantity_with_breaks(demand: float, terms: Terms) -> tuple[float, float]:
    """Order quantity and cost a period that are least under steady demand and all-units price breaks.

    For each price the best quantity at which it holds, then the least of them. Cost: DK/Q + Dc + hQ/2.
    Raises DesignError as `economic_quantity`. Source: Hillier and Lieberman, Introduction to Operations
    Research, inventory theory, EOQ with quantity discounts (from memory).

    >>> quantity, cost = economic_quantity_with_breaks(
    ...     8000, Terms(((0, 11.0), (10_000, 10.0), (80_000, 9.5)), order_cost=12_000.0, keeping_cost=0.30))
    >>> round(quantity), round(cost)
    (25298, 87589)
    """
    setup = terms.cost_of_order(0)
    free = economic_quantity(demand, setup, terms.keeping_cost)
    ends = [*(start for start, _ in terms.breaks[1:]), inf]
    offers = []
    for (start, price), end in zip(terms.breaks, ends, strict=True):
        quantity = max(free, start)
        if quantity < end:
            cost = demand * setup / quantity + demand * price + terms.keeping_cost * quantity / 2
            offers.append((cost, quantity))
    cost, quantity = min(offers)
    return quantity, cost


def order_sizes(needs: Sequence[float], terms: Terms, *, on_hand: float = 0.0, seconds: float = 5.0) -> OrderSizes:
    """Orders, arriving at the start of a period, that meet the needs of every period at least cost.

    needs    of each period
    on_hand  stock at the start, which keeps
    Every unit left at a period's end costs its keeping; what is left after the last period has its price
    spent. With no price breaks, least order or multiple it is the dynamic lot size of Wagner and Whitin,
    Dynamic Version of the Economic Lot Size Model, Management Science 5 (1958) 89.

    Raises Infeasible when needs cannot be met in time (the first period, where nothing keeps that long).

    >>> order_sizes([10, 0, 20], Terms(order_cost=50.0, keeping_cost=1.0)).quantities
    (30.0, 0.0, 0.0)
    >>> order_sizes([10, 0, 20], Terms(order_cost=30.0, keeping_cost=1.0)).quantities
    (10.0, 0.0, 20.0)
    """
    if any(need < 0 for need in needs):
        raise DesignError(Fault("needs", min(needs), "nothing below 0", "give what is needed as a positive quantity"))
    net = _net(needs, on_hand)
    if not any(net):
        stock = _run_down(needs, on_hand)
        return OrderSizes((0.0,) * len(needs), stock, (0.0,) * len(needs), terms.keeping_cost * sum(stock), 0.0, True)
    return _programme(net, needs, terms, on_hand, seconds)


def _net(needs: Sequence[float], on_hand: float) -> list[float]:
    net = []
    for need in needs:
        used = min(need, on_hand)
        on_hand -= used
        net.append(need - used)
    return net


def _run_down(needs: Sequence[float], on_hand: float) -> tuple[float, ...]:
    stock = []
    for need in needs:
        on_hand = max(0.0, on_hand - need)
        stock.append(on_hand)
    return tuple(stock)


def _programme(net: list[float], needs: Sequence[float], terms: Terms, on_hand: float, seconds: float) -> OrderSizes:
    """The plant-location form: how much of each need comes from which order, at which price; its relaxation is tight."""
    from naptuft.programme import UNBOUNDED, Programme

    wanted = [t for t, need in enumerate(net) if need > 0]
    arrivals = wanted if isinstance(terms.order_cost, float | int) else list(range(len(net)))
    most = sum(net) + max(terms.least, terms.multiple, terms.breaks[-1][0])
    cost: list[float] = []
    high: list[float] = []
    whole: list[bool] = []

    def column(price: float, upper: float, is_whole: bool = False) -> int:
        cost.append(price)
        high.append(upper)
        whole.append(is_whole)
        return len(cost) - 1

    offers = []
    for s in arrivals:
        for k, (_, price) in enumerate(terms.breaks):
            order = column(terms.cost_of_order(s), 1.0, True)
            served = {
                t: column(price + (t - s) * terms.keeping_cost, net[t])
                for t in wanted
                if t >= s and (terms.keeps is None or t - s <= terms.keeps)
            }
            kept = len(net) - s if terms.keeps is None else min(len(net) - s, terms.keeps)
            over = column(price + kept * terms.keeping_cost, most)
            lots = column(0.0, most / terms.multiple + 1, True) if terms.multiple else None
            offers.append((s, k, order, served, over, lots))
    model = Programme(cost, [0.0] * len(cost), high, whole)
    for t in wanted:
        served_by = [served[t] for _, _, _, served, _, _ in offers if t in served]
        model.row(served_by, [1.0] * len(served_by), net[t], net[t])
    for s in arrivals:
        orders = [order for at, _, order, _, _, _ in offers if at == s]
        model.row(orders, [1.0] * len(orders), 0.0, 1.0)
    ends = [*(start for start, _ in terms.breaks[1:]), inf]
    for _, k, order, served, over, lots in offers:
        for t, share in served.items():
            model.row([share, order], [1.0, -net[t]], -UNBOUNDED, 0.0)
        model.row([over, order], [1.0, -most], -UNBOUNDED, 0.0)
        quantity = [*served.values(), over]
        model.row([*quantity, order], [1.0] * len(quantity) + [-max(terms.breaks[k][0], terms.least)], 0.0, UNBOUNDED)
        if ends[k] < inf:
            model.row([*quantity, order], [1.0] * len(quantity) + [-ends[k]], -UNBOUNDED, 0.0)
        if lots is not None:
            model.row([*quantity, lots], [1.0] * len(quantity) + [-terms.multiple], 0.0, 0.0)
    answer = model.solve(seconds)
    if answer.values is None:
        raise Infeasible(
            Fault(
                "order sizes",
                f"needs {', '.join(f'{need:g}' for need in net)}",
                "orders that arrive in time and keep long enough",
                "a smaller least order, or a longer keeping",
            )
        )
    bought, spare = [0.0] * len(net), [0.0] * len(net)
    stock = list(_run_down(needs, on_hand))
    for s, _, _, served, over, _ in offers:
        for t, share in served.items():
            amount = float(answer.values[share])
            bought[s] += amount
            for period in range(s, t):
                stock[period] += amount
        left = float(answer.values[over])
        bought[s] += left
        kept_until = len(net) if terms.keeps is None else min(len(net), s + terms.keeps)
        for period in range(s, kept_until):
            stock[period] += left
        if kept_until < len(net):
            spare[kept_until] += left
    bought = [round(quantity, 6) for quantity in bought]
    keeping = terms.keeping_cost * sum(stock)
    total = keeping + sum(terms.price(q) * q + terms.cost_of_order(t) for t, q in enumerate(bought) if q)
    base = terms.keeping_cost * sum(_run_down(needs, on_hand))
    return OrderSizes(
        tuple(bought),
        tuple(round(each, 6) for each in stock),
        tuple(round(each, 6) for each in spare),
        total,
        answer.bound + base,
        answer.status == "optimal",
    )
