"""The earliest date a new order can be promised for: put into the plan as it stands, moving nothing that is planned."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from naptuft.book.model import Book
from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.planning.plan import OrderOutcome, Plan
from naptuft.planning.replan import Charge, Happening, replan

NAME = "ASKED"
"""What the order asked for is called while it has no number."""

NEVER_MOVE = Charge(now=1e7, least=1e6)
LIGHT = 1e-3


@dataclass(frozen=True)
class Promise:
    """When a new order would be ready.

    finish        firm: on paper, every time as planned
    odds          asked share of replays in which it is ready by `with_odds`; None where no odds were asked
    with_odds     the date those odds give; None likewise
    outcome       the order line as the plan has it, its reason for not being ready sooner included
    work_orders   what would be made for it
    plan          the plan with the order in it
    """

    finish: datetime.datetime
    odds: float | None
    with_odds: datetime.datetime | None
    outcome: OrderOutcome
    work_orders: tuple[str, ...]
    book: Book
    plan: Plan


def earliest_promise(
    book: Book,
    plan: Plan,
    product: str,
    quantity: int,
    at: datetime.datetime,
    *,
    odds: float | None = None,
    replays: int = 1000,
    seconds: float = 1.0,
    effort: int | None = None,
    seed: int = 1,
    stop: Callable[[], bool] | None = None,
) -> Promise:
    """Put an order into a plan where there is room, and tell when it is ready.

    at     when it is asked; nothing of it starts before
    odds   share of replays it must be ready in, 0.5 to 0.999; None: on paper only
    Raises DesignError where the product is not in the book or the odds are not of that range; Infeasible where its material cannot come in time.
    """
    if odds is not None and not 0.5 <= odds <= 0.999:
        raise DesignError(Fault("odds", odds, "0.5 to 0.999", "ask for 0.9, say"))
    asked = Happening(
        kind="order added",
        order=NAME,
        line=1,
        customer="asked",
        product=product,
        quantity=quantity,
        due=at.replace(tzinfo=None),
        weight=LIGHT,
    )
    answer = replan(book, plan, at, (asked,), seconds=seconds, effort=effort, seed=seed, charge=NEVER_MOVE, stop=stop)
    outcome = next(order for order in answer.plan.orders if order.order == NAME)
    if outcome.finish is None or outcome.short_quantity > 0:
        raise Infeasible(
            Fault(
                f"{quantity:,} of {product}", outcome.reason, "material that arrives inside the horizon", "ask for less"
            )
        )
    with_odds = None
    if odds is not None:
        with_odds = _with_odds(answer.book, answer.plan, odds, replays, seed)
    return Promise(outcome.finish, odds, with_odds, outcome, outcome.work_orders, answer.book, answer.plan)


def _with_odds(book: Book, plan: Plan, odds: float, replays: int, seed: int) -> datetime.datetime:
    import numpy as np

    from naptuft.planning.risk.of_plan import model_of_plan
    from naptuft.planning.risk.replays import replays as replayed
    from naptuft.plant.calendar import moment_at

    model = model_of_plan(book, plan)
    place = next(k for k, target in enumerate(model.targets) if target.name.startswith(f"{NAME}/"))
    finish = replayed(model, replays, seed).finish[:, place]
    return moment_at(plan.start, int(np.ceil(np.quantile(finish, odds))))
