"""The REST door to what the sheets beside the week board show: odds, reasons, changes, promises, materials, capacity."""

from __future__ import annotations

import dataclasses
import datetime
import json
from collections.abc import Callable, Mapping
from decimal import Decimal
from enum import Enum
from math import isfinite
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query
from pydantic import BaseModel, Field

from naptuft import services
from naptuft.book.model import Book
from naptuft.planning.machine_time import centre_time
from naptuft.planning.plan import Plan
from naptuft.web.board_sheets.promise import promise_as_json
from naptuft.web.desk import Desk

MOST_REPLAYS = 100_000
Replays = Annotated[int, Query(ge=10, le=MOST_REPLAYS, description="how many times the plan is replayed")]
Seed = Annotated[int, Query(ge=0, le=2**31 - 1, description="repeats the same choices")]


class Happened(BaseModel):
    """What happened until a time, and how long to look for better than the repair."""

    at: datetime.datetime = Field(description="time of changing the plan, by the plant's clock")
    happenings: list[dict[str, Any]] = Field(description="what happened, an object each, as in the CSV of changes")
    seconds: float = Field(1.0, ge=0.1, le=600)
    seed: int = Field(1, ge=0, le=2**31 - 1)
    most_moved: float = Field(
        0.1, ge=0, le=1, description="share of the operations ahead that may move, where such a plan is found"
    )


class Asked(BaseModel):
    """An order asked for."""

    product: str
    quantity: int = Field(ge=1, le=10_000_000)
    at: datetime.datetime | None = Field(None, description="when it is asked; left out: when the plan starts")
    odds: float | None = Field(None, ge=0.5, le=0.999)
    replays: int = Field(1000, ge=10, le=MOST_REPLAYS)
    seed: int = Field(1, ge=0, le=2**31 - 1)


def plain(value: Any) -> Any:
    """A record of the plan as plain JSON values: money as text, moments and days in ISO 8601."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(each) for each in value]
    if isinstance(value, (datetime.datetime, datetime.date)):
        return value.isoformat()
    if isinstance(value, (Decimal, Enum)):
        return str(value)
    if isinstance(value, float) and not isfinite(value):
        return None
    return value


def create_plan_router(desk: Desk, answers: dict[int | str, dict[str, Any]]) -> APIRouter:
    """Routes about the plan on the desk.

    answers  what any of them may answer besides its own: no plan, or faults of what was asked
    """
    router = APIRouter(prefix="/plan", responses=answers)

    def laid() -> tuple[Book, Plan]:
        if desk.book is None or desk.plan is None:
            raise HTTPException(404, "nothing is planned yet: drop in a book and plan it")
        return desk.book, desk.plan

    def kept(name: str, make: Callable[[], Any]) -> Any:
        if name not in desk.kept:
            desk.kept[name] = make()
        return desk.kept[name]

    @router.get("/odds", summary="On-time odds of each order, finish bands, what makes late, what a buffer buys")
    def odds(
        replays: Replays = 1000,
        seed: Seed = 1,
        odds: Annotated[float, Query(ge=0.5, le=0.999, description="share of replays by which each band ends")] = 0.9,
    ) -> dict[str, Any]:
        book, plan = laid()
        answer = services.odds_by_steps(book, plan, replays=replays, seed=seed, odds=odds)
        return json.loads(json.dumps(services.risk_as_json(plan, answer)))

    @router.get(
        "/reasons", summary="Each late order with its chain and the reliefs tried; hours of each work centre by use"
    )
    def reasons(
        reliefs: Annotated[bool, Query(description="also try reliefs, which takes longer")] = False,
    ) -> dict[str, Any]:
        book, plan = laid()
        tried = kept("reliefs told", lambda: services.reliefs(book, plan)) if reliefs else ()
        by_order = {order.order: order for order in tried}
        return {
            "late": [
                {
                    "order": order.name,
                    "late_minutes": order.late_minutes,
                    "reason": order.reason,
                    "chain": plain(services.chain(plan, order)),
                    "reliefs": plain(by_order[order.name].tried) if order.name in by_order else None,
                }
                for order in plan.orders
                if order.late_minutes
            ],
            "work_centres": plain(centre_time(services.machine_hours(book, plan))),
        }

    @router.post("/changes", summary="The plan changed by what happened, and what changed; the desk keeps its own")
    def changes(happened: Happened) -> dict[str, Any]:
        book, plan = laid()
        found = services.happened(json.dumps(happened.happenings))
        answer = services.change_plan(
            book,
            plan,
            happened.at,
            found,
            seconds=happened.seconds,
            seed=happened.seed,
            most_moved=happened.most_moved,
        )
        freer = answer.freer
        return {
            "at": plain(answer.at),
            "moved": answer.moved,
            "ahead": answer.ahead,
            "may_move": answer.most,
            "beyond": answer.beyond,
            "freer": None if freer is None else {"moved": freer.moved, "quality": plain(freer.plan.quality)},
            "changes": plain(answer.changes),
            "findings": plain(answer.plan.checks),
            "plan": json.loads(services.plan_text(answer.plan)),
        }

    @router.post("/promise", summary="The earliest date a new order can be promised for")
    def promise(asked: Asked) -> dict[str, Any]:
        book, plan = laid()
        answer = services.promise(
            book,
            plan,
            asked.product,
            asked.quantity,
            asked.at or plan.start,
            odds=asked.odds,
            replays=asked.replays,
            seed=asked.seed,
        )
        return promise_as_json(answer)

    @router.get("/materials", summary="Needs by day, and the orders that meet them at least cost")
    def materials() -> list[dict[str, Any]]:
        book, plan = laid()
        return plain(kept("needs", lambda: services.material_plan(book, plan)))

    @router.get("/capacity", summary="Load of each work centre in periods ahead; what a rate of a product needs")
    def capacity(
        days: Annotated[int, Query(ge=1, le=366)] = 7,
        periods: Annotated[int, Query(ge=1, le=104)] = 12,
        product: Annotated[str, Query(description="also what a steady rate of this product asks for")] = "",
        per_week: Annotated[float, Query(gt=0, le=1e9, description="good units of it a week")] = 1000.0,
    ) -> dict[str, Any]:
        book, plan = laid()
        loads = services.rough_load(book, plan, days=days, periods=periods)
        return {
            "loads": [{**plain(load), "utilisation": plain(load.utilisation)} for load in loads],
            "rate": plain(services.needs_at_rate(book, product, per_week, plan)) if product else None,
        }

    @router.get(
        "/trade", summary="The work of the plan scheduled again under other emphases, each measured by everything"
    )
    def trade(
        seconds: Annotated[float, Query(ge=0.1, le=600, description="time for each emphasis")] = 1.0, seed: Seed = 1
    ) -> list[dict[str, Any]]:
        book, plan = laid()
        return [
            {
                "name": point.name,
                "how": point.how,
                "measures": plain(point.measures),
                "beaten_by": list(point.beaten_by),
            }
            for point in services.trade_offs(book, plan, seconds=seconds, seed=seed)
        ]

    return router
