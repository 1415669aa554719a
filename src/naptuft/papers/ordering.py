"""What the order summary says: states and reasons, money, what to buy, how busy the plant is."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from naptuft.papers.traveller import block
from naptuft.papers.wording import amount, day, duration, moment, money, share, state, unit_word
from naptuft.planning.plan import OrderOutcome, Plan
from naptuft.quantity import from_si, show_number

ATTENTION = ("late", "short")


def orders(plan: Plan) -> dict[str, Any]:
    """Data of the order summary template: one part."""
    part = {
        "number": f"{plan.start:%Y-%m-%d}",
        "title": f"orders of {plan.horizon_days} days",
        "remark-name": "money",
        "remark": plan.currency,
        "facts": _facts(plan),
        "quality": quality(plan),
        "groups": [
            {"name": "Late or short", "rows": [_order(o) for o in plan.orders if o.state in ATTENTION]},
            {"name": "On time", "rows": [_order(o) for o in plan.orders if o.state not in ATTENTION]},
        ],
        "purchases": [
            {
                "number": purchase.number,
                "name": purchase.material_name,
                "material": purchase.material,
                "quantity": amount(purchase.quantity, purchase.unit).removesuffix(".000"),
                "unit": unit_word(purchase.unit),
                "order-by": day(purchase.order_by),
                "arrives": moment(purchase.arrives),
                "cost": money(purchase.cost),
                "serves": _few(purchase.serves) or "safety stock",
            }
            for purchase in sorted(plan.purchases, key=lambda purchase: (purchase.order_by, purchase.number))
        ],
        "loads": [
            {
                "name": load.name,
                "place": load.work_centre,
                "machines": f"{load.machines} machine{'s' * (load.machines != 1)}",
                "run": load.run_minutes / load.open_minutes if load.open_minutes else 0.0,
                "change": load.changeover_minutes / load.open_minutes if load.open_minutes else 0.0,
                "share": share(load.share),
                "hours": f"{duration_hours(load.run_minutes + load.changeover_minutes)} of "
                f"{duration_hours(load.open_minutes)} open",
            }
            for load in sorted(plan.loads, key=lambda load: (-load.share, load.work_centre))
        ],
        "design-faults": design_faults(plan),
        "findings": [{"rule": f.rule, "place": f.place, "message": f.message} for f in plan.checks],
    }
    return {"block": block(plan, "order summary"), "parts": [part]}


def _few(names: tuple[str, ...], most: int = 4) -> str:
    """The first few names, and how many more there are."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def duration_hours(minutes: int) -> str:
    """Minutes as whole hours.

    >>> duration_hours(19200)
    '320 h'
    """
    return f"{minutes / 60:,.0f} h"


def counts(plan: Plan) -> dict[str, int]:
    """How many order lines are on time (those from stock counted), late and short."""
    return {
        "on time": sum(order.state not in ATTENTION for order in plan.orders),
        "late": sum(order.state == "late" for order in plan.orders),
        "short": sum(order.state == "short" for order in plan.orders),
    }


def _facts(plan: Plan) -> list[dict[str, str]]:
    found = counts(plan)
    value = sum((order.value or Decimal(0) for order in plan.orders), Decimal(0))
    cost = sum((order.cost for order in plan.orders), Decimal(0))
    buying = sum((purchase.cost for purchase in plan.purchases), Decimal(0))
    return [
        {"name": "order lines", "value": f"{len(plan.orders):,}", "unit": ""},
        *({"name": name, "value": f"{number:,}", "unit": ""} for name, number in found.items()),
        {"name": "value ordered", "value": money(value), "unit": plan.currency},
        {"name": "planned cost", "value": money(cost), "unit": plan.currency},
        {"name": "to buy", "value": money(buying), "unit": plan.currency},
    ]


def quality(plan: Plan) -> str:
    """How good the schedule is known to be, and whether it repeats, in a sentence or two."""
    found = plan.quality
    late = f"Weighted lateness {duration(found.weighted_late_minutes)}"
    if found.status == "optimal":
        proof = "the least possible, proven"
    elif found.bound is None:
        proof = "no bound proven"
    else:
        proof = f"no plan can have less than {duration(found.bound)}"
    repeats = (
        f"The same book, seed {found.seed} and effort {found.effort:,} give this plan again."
        if found.repeats
        else "The search was ended by the clock or by hand: this plan may not repeat."
    )
    return f"{late}, {proof}; changeovers {duration(found.changeover_minutes)} in all. {repeats}"


def design_faults(plan: Plan) -> list[dict[str, str]]:
    """Every check a product's design does not keep, with its figures and mend."""
    return [
        {
            "product": design.product,
            "name": design.product_name,
            "check": check.label,
            "figures": f"{show_number(from_si(check.value, check.unit))} · {check.sense} "
            f"{show_number(from_si(check.limit, check.unit))} {unit_word(check.unit)}".rstrip(),
            "mend": check.mend,
        }
        for design in plan.designs
        for check in design.failed
    ]


def _order(order: OrderOutcome) -> dict[str, str]:
    return {
        "order": order.name,
        "customer": order.customer,
        "product": order.product,
        "name": order.product_name,
        "quantity": f"{order.quantity:,}",
        "due": moment(order.due),
        "finish": moment(order.finish),
        "kind": order.state,
        "state": state(order),
        "value": money(order.value),
        "cost": money(order.cost),
        "reason": order.reason,
    }
