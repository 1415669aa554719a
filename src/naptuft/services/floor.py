"""What becomes of a plan on the floor: changed by what happened, and replayed against how things scatter."""

from __future__ import annotations

import dataclasses
import datetime
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from naptuft.book.model import Book
from naptuft.errors import DesignError, Fault, FileError
from naptuft.planning.plan import Plan
from naptuft.quantity import parse

if TYPE_CHECKING:
    from naptuft.planning.promise import Promise
    from naptuft.planning.relief import LateOrder
    from naptuft.planning.replan import Happening, Replanned
    from naptuft.planning.risk.answer import RiskAnswer


FIRST_REPLAYS = 200


def read_plan(path: Path) -> Plan:
    """A plan from its plan.json, or from the folder it lies in. Raises FileError where there is none to read."""
    from naptuft.planning.plan_json import plan_from_json

    file = path / "plan.json" if path.is_dir() else path
    try:
        given = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise FileError(Fault("plan", str(file), "a plan.json that can be read", str(error))) from None
    except ValueError as error:
        raise FileError(
            Fault("plan", str(file), "JSON as naptuft writes it", f"plan the book anew ({error})")
        ) from None
    if not isinstance(given, dict):
        raise FileError(Fault("plan", str(file), "a plan.json as naptuft writes it", "plan the book anew"))
    return plan_from_json(given)


def read_happened(path: Path) -> tuple[Happening, ...]:
    """What happened, from a CSV or JSON file. Raises DesignError with every fault, FileError where it cannot be read."""
    from naptuft.planning.replan import read_happenings

    try:
        return read_happenings(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as error:
        raise FileError(Fault("happenings", str(path), "a CSV or JSON file", str(error))) from None


def happened(text: str) -> tuple[Happening, ...]:
    """What happened, from CSV or JSON text. Raises DesignError with every fault, each with its row."""
    from naptuft.planning.replan import read_happenings

    return read_happenings(text)


def change_plan(
    book: Book,
    plan: Plan,
    at: datetime.datetime,
    happenings: tuple[Happening, ...],
    *,
    seconds: float = 1.0,
    seed: int = 1,
    stop: Callable[[], bool] | None = None,
    most_moved: float = 0.1,
) -> Replanned:
    """Change a plan by what happened until a time, cost it, and have the independent checker read it.

    most_moved  the share of the operations ahead that may move where such a plan is found; the best plan without the
                limit comes as `freer`, costed and checked once it is taken (`take_freer`)
    Raises DesignError with every happening that does not fit; Infeasible where nothing can be made of it.
    """
    from naptuft.planning.replan import replan
    from naptuft.services.plans import costed_and_checked

    answer = replan(book, plan, at, happenings, seconds=seconds, seed=seed, stop=stop, most_moved=most_moved)
    return dataclasses.replace(answer, plan=costed_and_checked(answer.book, answer.plan))


def take_freer(answer: Replanned) -> Replanned:
    """The plan in which more moves, costed and checked; the same answer where there is none better."""
    from naptuft.services.plans import costed_and_checked

    freer = answer.freer
    return answer if freer is None else dataclasses.replace(freer, plan=costed_and_checked(freer.book, freer.plan))


def share_moved(written: str) -> float:
    """The share of the operations ahead that may move, as written. Raises DesignError where it is none.

    >>> share_moved("10 %")
    0.1
    """
    share = parse(written, "%", "most moved")
    if not 0 <= share <= 1:
        raise DesignError(Fault("most moved", written, "0 to 100 %", "write 10 %, say"))
    return share


def assess_risk(
    book: Book,
    plan: Plan,
    *,
    replays: int = 2000,
    seed: int = 1,
    threads: int = 1,
    cluster: str | None = None,
    odds: float = 0.9,
    progress: Callable[[str, float], None] | None = None,
) -> RiskAnswer:
    """Replay a plan against the spreads of its book. The numbers do not depend on threads or cluster.

    odds  share of the replays finished by the late end of each band, and after its early end, 0.5 to 0.999
    """
    from naptuft.planning.risk.of_plan import risk_of_plan

    return risk_of_plan(book, plan, replays, seed, threads, cluster, progress=progress, odds=odds)


def odds_by_steps(
    book: Book,
    plan: Plan,
    *,
    replays: int = 2000,
    seed: int = 1,
    threads: int = 2,
    odds: float = 0.9,
    progress: Callable[[str, float], None] | None = None,
    offer: Callable[[RiskAnswer], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> RiskAnswer:
    """The odds of a plan, each better answer offered as it is found: few replays, all of them, then what buffers buy.

    odds  as in `assess_risk`
    stop  True ends with the last answer offered; the first is always waited for
    Raises DesignError as `assess_risk`.
    """
    from naptuft.planning.risk.answer import assess
    from naptuft.planning.risk.of_plan import model_of_plan

    model = model_of_plan(book, plan)
    answer = assess(model, min(FIRST_REPLAYS, replays), seed, threads, buffers=False, band=odds)

    def told(what: str, done: float) -> None:
        if stop is not None and stop():
            raise _StoppedError
        if progress is not None:
            progress(what, done)

    try:
        for buffers in (False, True):
            if offer is not None:
                offer(answer)
            answer = assess(model, replays, seed, threads, buffers=buffers, progress=told, band=odds)
    except _StoppedError:
        pass
    return answer


class _StoppedError(Exception):
    """Somebody asked to stop."""


def reliefs(
    book: Book,
    plan: Plan,
    progress: Callable[[str, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
    *,
    offer: Callable[[tuple[LateOrder, ...]], None] | None = None,
) -> tuple[LateOrder, ...]:
    """Every late order with what makes it late, its chain and the reliefs tried on it, the best first.

    offer  called with the answers of the plan's own sequence, before anything is searched anew
    """
    from naptuft.planning.relief import late_orders

    first: tuple[LateOrder, ...] = ()
    if offer is not None:
        first = late_orders(book, plan, progress, stop, effort=0)
        if stop is not None and stop():
            return first
        offer(first)
    found = late_orders(book, plan, progress, stop)
    known = {order.order for order in found}
    return (*found, *(order for order in first if order.order not in known))


def promise(
    book: Book,
    plan: Plan,
    product: str,
    quantity: int,
    at: datetime.datetime,
    *,
    odds: float | None = None,
    replays: int = 1000,
    seconds: float = 1.0,
    seed: int = 1,
) -> Promise:
    """The earliest date a new order can be promised for, nothing planned being moved; with `odds`, at that confidence.

    Raises DesignError or Infeasible, each naming what stands in the way.
    """
    from naptuft.planning.promise import earliest_promise

    return earliest_promise(book, plan, product, quantity, at, odds=odds, replays=replays, seconds=seconds, seed=seed)


def risk_as_json(plan: Plan, answer: RiskAnswer) -> dict[str, Any]:
    """The odds as plain JSON values; finishes as moments on the plant's clock."""
    from naptuft.planning.risk.of_plan import answer_as_json

    return answer_as_json(answer, plan.start)
