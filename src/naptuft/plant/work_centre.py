"""Work centres, their machines, the crews that run them, and the racks work waits on."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from naptuft.calculation import choice, money, quantity, text, whole

HAZARDS = (
    "none",
    "press",
    "hot plastic",
    "solvent vapour",
    "epoxy",
    "bristle dust",
    "spinning",
    "cutting",
    "noise",
    "nailing",
)


@dataclass(frozen=True)
class Crew:
    """People who share a skill."""

    code: str = text("short code of the crew", example="SET")
    name: str = text("what the crew does", example="setters of brush heads")
    heads: int = whole("people on one shift", low=1, high=500, example="6", unit="pcs")
    wage_per_hour: Decimal = money("wage of one person for an hour, all costs in", example="24.50")
    calendar: str = text(
        "name of the calendar they are there by; empty: whenever their machines are open", default="", example=""
    )


@dataclass(frozen=True)
class WorkCentre:
    """A place where one kind of operation is done, with one or more machines alike."""

    code: str = text("short code of the work centre", example="SETTING")
    name: str = text("what is done there", example="brush making line")
    crew: str = text("code of the crew that runs it", example="SET")
    people: float = quantity("", "people one running machine needs", low=0, high=50, example="2")
    hazard: str = choice(HAZARDS, "the hazard that papers warn of", default="none", example="epoxy")


@dataclass(frozen=True)
class Machine:
    """One machine of a work centre."""

    code: str = text("short code of the machine", example="BL-1")
    work_centre: str = text("code of its work centre", example="SETTING")
    name: str = text("what it is", example="brush line 1")
    calendar: str = text("name of the calendar it is open by", example="two shifts")
    speed: float = quantity("", "speed against the route's times (1 = as written)", low=0.05, high=20, default=1.0)
    rate_per_hour: Decimal = money("cost of an hour run, without people and energy", example="18.00")
    power: float = quantity("kW", "power drawn while running", low=0, high=2000, default=0.0, example="4 kW")
    takes: int | None = whole(
        "loads it takes at one time (oven, vat): work orders of one family and the same time start in it together; "
        "empty: one work order at a time",
        low=1,
        high=100000,
        default=None,
    )
    penalty: float = quantity(
        "min",
        "what each operation on it counts against a plan, in minutes of changeover; 0: as good as any other",
        low=0,
        high=2880,
        default=0.0,
        example="15 min",
    )


@dataclass(frozen=True)
class Changeover:
    """Time to reset a work centre from one family to another; * stands for any family."""

    work_centre: str = text("code of the work centre", example="SETTING")
    before: str = text("family it is set for (* for any)", example="*")
    after: str = text("family it is to be set for (* for any)", example="63 mm")
    duration: float = quantity("min", "how long the change takes", low=0, high=2880, example="25 min")


@dataclass(frozen=True)
class Rack:
    """A store of fixed size that work hangs or stands on while it dries or cures."""

    code: str = text("short code of the rack store", example="HANG")
    name: str = text("what it is", example="hanging racks of the finishing line")
    capacity: int = whole("racks in all", low=1, high=100000, example="40", unit="pcs")


def changeover_minutes(changeovers: tuple[Changeover, ...], work_centre: str, before: str, after: str) -> int:
    """Whole minutes to change a work centre over; the most particular entry wins, none listed means 0.

    An entry naming both families wins over one naming the new family, then over one naming the old.

    >>> rules = (Changeover(work_centre="W", before="*", after="*", duration=600.0),
    ...          Changeover(work_centre="W", before="*", after="red", duration=1200.0))
    >>> [changeover_minutes(rules, "W", "blue", new) for new in ("red", "green", "blue")]
    [20, 10, 0]
    """
    if before == after:
        same = [c for c in changeovers if c.work_centre == work_centre and c.before == before and c.after == after]
        return -(-round(same[0].duration) // 60) if same else 0
    found = [
        ((c.before == before) + 2 * (c.after == after), c.duration)
        for c in changeovers
        if c.work_centre == work_centre and c.before in (before, "*") and c.after in (after, "*")
    ]
    return -(-round(max(found)[1]) // 60) if found else 0
