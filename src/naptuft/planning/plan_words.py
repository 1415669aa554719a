"""What every key of `plan.json` means, with its unit: the words of its schema."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_DESIGN_NUMBER: Mapping[str, Any] = {
    "anyOf": [{"type": "number"}, {"enum": ["infinite", "minus infinite", "not known"]}],
}


def _text(description: str) -> dict[str, Any]:
    return {"type": "string", "description": description}


def _figure(description: str) -> dict[str, Any]:
    return {**_DESIGN_NUMBER, "description": description}


def _record(description: str, properties: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "description": description,
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _list(description: str, items: Mapping[str, Any]) -> dict[str, Any]:
    return {"type": "array", "description": description, "items": items}


RESULT_SCHEMA: dict[str, Any] = _record(
    "what a design calculation answers",
    {
        "passed": {"type": "boolean", "description": "true when every check is kept"},
        "limiting": {
            "anyOf": [{"type": "string"}, {"type": "null"}],
            "description": "label of the check with the least margin; null when nothing is checked",
        },
        "values": _list(
            "figures of the design",
            _record(
                "one figure",
                {
                    "name": _text("name of the figure, for programs"),
                    "label": _text("name of the figure, for people"),
                    "value": _figure("the figure in `unit`, to ten digits"),
                    "unit": _text("unit of `value`; empty: a plain number"),
                    "si": _figure("the same figure in SI base units, exact"),
                },
            ),
        ),
        "checks": _list(
            "limits the design must keep",
            _record(
                "one limit",
                {
                    "label": _text("what is checked"),
                    "value": _figure("what the design has, in `unit`"),
                    "sense": {
                        "enum": ["at least", "at most"],
                        "description": "on which side of the limit the value must be",
                    },
                    "limit": _figure("the limit, in `unit`"),
                    "unit": _text("unit of value and limit; empty: a plain number"),
                    "passed": {"type": "boolean", "description": "true when the limit is kept"},
                    "margin": _figure("how far inside the limit, as a share of it; negative when it is not kept"),
                    "source": _text("where the limit comes from"),
                    "mend": _text("what to change when it is not kept"),
                    "value_si": _figure("the value in SI base units, exact"),
                    "limit_si": _figure("the limit in SI base units, exact"),
                },
            ),
        ),
        "because": _list(
            "the reasoning, step by step",
            _record(
                "one step",
                {
                    "label": _text("what is worked out"),
                    "formula": _text("the formula as printed"),
                    "value": _figure("its value, in `unit`"),
                    "unit": _text("unit of the value; empty: a plain number"),
                    "source": _text("where the formula comes from"),
                    "si": _figure("the value in SI base units, exact"),
                },
            ),
        ),
        "cautions": _list(
            "hazards of making it so",
            _record(
                "one hazard; follow local codes and licensed practice",
                {
                    "hazard": _text("what can hurt"),
                    "measure": _text("the usual measure against it"),
                    "rule": _text("the public rule to read; may be empty"),
                },
            ),
        ),
        "remarks": _list("sentences worth reading, such as a value outside a formula's range", {"type": "string"}),
        "defaults": _list("names of inputs that were not given and took their default", {"type": "string"}),
    },
)

_ORDER = {
    "order": "order number",
    "line": "line of the order",
}

MEANING: Mapping[str, Mapping[str, str]] = {
    "Plan": {
        "": "the whole answer to one book of plant, products, stock and orders",
        "plant": "name of the plant",
        "revision": "revision of the book the plan was made from",
        "currency": "the money of every amount (ISO 4217)",
        "start": "when the plan starts",
        "horizon_days": "days planned from the start",
        "quality": "how good the schedule is known to be",
        "orders": "what becomes of each order line",
        "work_orders": "batches to be made",
        "operations": "every operation on its machine at its time",
        "allocations": "what each work order takes from stock, purchases and other work orders",
        "blends": "fillings mixed from lots",
        "cut_lists": "how tubes and coils are cut",
        "purchases": "what to buy, and when to order it",
        "designs": "the engineering of each product",
        "costs": "planned cost of work orders, order lines and one unit of each product",
        "loads": "how busy each work centre is",
        "checks": "what the independent checker holds against the plan; empty when clean",
    },
    "Quality": {
        "": "how good the schedule is known to be",
        "weighted_late_minutes": "minutes late, each times the weight of its order, summed [min]",
        "changeover_minutes": "minutes of changeover in all [min]",
        "bound": "no schedule has fewer weighted late minutes than this, proven [min]; null: nothing was proven",
        "status": "optimal only when proven",
        "effort": "candidate schedules tried",
        "seed": "seed of the search",
        "repeats": "true when the same book, seed and effort give the same plan to the byte",
    },
    "OrderOutcome": {
        "": "what becomes of one order line",
        **_ORDER,
        "customer": "who ordered",
        "product": "code of the product",
        "product_name": "name of the product",
        "product_line": "kind of product",
        "quantity": "how many were ordered, in the unit the product is counted in",
        "due": "when it must be ready",
        "finish": "when the last of what can be delivered is ready; null when nothing can be",
        "late_minutes": "minutes after it was due [min]; 0 when on time",
        "short_quantity": "how many cannot be delivered inside the horizon",
        "from_stock": "how many are served from stock",
        "state": "on time, late, short, or from stock alone",
        "reason": "why it is late or short; empty when on time",
        "work_orders": "numbers of the work orders that make it directly",
        "value": "price of the line; null where no price is known",
        "cost": "planned cost of what is delivered: its share of every work order below it, and lots it is served from",
    },
    "Serving": {
        "": "the share of a work order that ends in one order line",
        **_ORDER,
        "quantity": "how much of the work order, in its unit",
    },
    "WorkOrder": {
        "": "one batch of one product",
        "number": "number of the work order",
        "product": "code of the product",
        "product_name": "name of the product",
        "product_line": "kind of product",
        "stage": "make, or cut: the cutting of stock tubes to a joint cut list",
        "quantity": "good units wanted, in `unit`",
        "started": "units started, what is expected to be lost included, in `unit`",
        "unit": "unit of both quantities",
        "release": "earliest start: when its bought material is there",
        "due": "when it should be finished for the most pressing order it serves",
        "start": "when its first operation starts",
        "finish": "when its last operation and the wait after it end",
        "serves": "order lines it ends in, directly or inside something else",
        "needs": "numbers of work orders that must be finished first",
        "parts": "how many work orders the batch is split into, this one among them",
        "note": "why it is split, and what that saves; empty where it is not",
    },
    "PlannedOperation": {
        "": "one operation on one machine at a time",
        "work_order": "number of the work order",
        "step": "number of the step in the route",
        "name": "what is done",
        "work_centre": "code of the work centre",
        "machine": "code of the machine",
        "start": "when the operation starts",
        "end": "when it ends; closed time it pauses over lies between",
        "run_minutes": "minutes of work in it, set-up included [min]",
        "changeover_minutes": "minutes the machine is changed over just before the start [min]",
        "wait_minutes": "clock minutes of drying or curing after it, before the next step [min]",
        "quantity": "how much goes through it, in `unit`",
        "unit": "unit of the quantity",
        "family": "what the machine is set for; empty: nothing",
        "rack": "code of the racks held until the wait is over; empty: none",
        "racks": "racks held",
        "product_line": "kind of product",
        "hazard": "hazard word of the work centre; none: no hazard",
        "instruction": "what the operator should know",
        "earliest_start_reason": "why it does not start earlier",
        "overtime_minutes": "minutes of its work and changeover that are in overtime [min]",
    },
    "Allocation": {
        "": "what one work order takes from one lot, one purchase or one other work order",
        "work_order": "number of the work order, or order/line where an order is served from stock",
        "material": "code of the material or product taken",
        "material_name": "its name",
        "lot": "number of the lot, of the purchase, or of the work order it is made in",
        "source": "stock, purchase or made",
        "quantity": "how much, in `unit`",
        "unit": "unit of the quantity",
        "cost": "money for this quantity; 0 for what is made on the way",
    },
    "PlannedBlend": {
        "": "the filling mixed for one work order; the lots together weigh wanted + combings, to the gram",
        "work_order": "number of the work order",
        "product": "code of the filling",
        "lots": "lots mixed",
        "wanted_grams": "filling wanted [g]",
        "combings_grams": "what the comber takes out [g]",
        "profile": "length profile asked and got",
        "cost": "money for the lots taken",
        "proven_optimal": "true when no cheaper blend keeps the profile, proven",
        "bound": "no blend costs less than this, proven",
    },
    "BlendLine": {
        "": "what a blend takes of one lot",
        "lot": "number of the lot, or code of a material yet to be bought",
        "material": "code of the material",
        "grams": "moist weight as weighed out [g]",
    },
    "ProfileBar": {
        "": "one length class of a blend",
        "length_mm": "length of the class [mm]",
        "asked": "share of the weight asked for, 0 to 1",
        "tolerance": "how far the share may differ from what is asked, 0 to 1",
        "got": "share of the weight the blend has, 0 to 1",
    },
    "PlannedCutList": {
        "": "how stock tubes or a coil are cut for one work order",
        "work_order": "number of the cutting work order (tubes) or of the one that uses the coil",
        "kind": "tube: one list over several refills; coil: blanks from one lot",
        "material": "code of what is cut",
        "lot": "number of the lot cut; empty for tubes",
        "stock_length_mm": "length of one stock piece [mm]",
        "kerf_mm": "width lost at each cut [mm]",
        "end_trim_mm": "cut off each end of a stock piece [mm]",
        "patterns": "ways to cut, and how often",
        "rolls": "stock pieces cut",
        "lower_bound": "fewest stock pieces any cut list could do with, proven",
        "proven_optimal": "true when `rolls` equals the bound",
        "offcut_mm": "length left over in all [mm]",
        "yield_share": "share of the stock length that ends in pieces wanted, 0 to 1",
        "rolls_apart": "stock pieces if every due day were cut by itself; 0: not asked",
        "piece_days": "pieces times the days they wait because several due days are cut together",
    },
    "CutPattern": {
        "": "one way to cut a stock piece",
        "pieces": "pieces cut from it",
        "count": "how many stock pieces are cut this way",
        "offcut_mm": "left over of one stock piece [mm]",
    },
    "CutPiece": {
        "": "pieces of one length in a pattern",
        "work_order": "number of the work order they are for",
        "name": "what they become",
        "length_mm": "length of one piece [mm]",
        "count": "pieces in one stock piece",
    },
    "Purchase": {
        "": "something to buy",
        "number": "number of the purchase",
        "material": "code of the material",
        "material_name": "its name",
        "quantity": "how much to buy, in `unit`",
        "unit": "unit of the quantities",
        "order_by": "last day to order for it to be there in time",
        "arrives": "when it is there if ordered on that day",
        "cost": "price of the whole quantity",
        "needed": "how much of it this plan uses, in `unit`",
        "serves": "order lines that wait for it, as order/line",
    },
    "DesignOutcome": {
        "": "the engineering of one product",
        "product": "code of the product",
        "product_name": "its name",
        "product_line": "kind of product",
        "calculation": "name of the calculation",
        "result": "its figures, checks and reasoning",
    },
    "CostLine": {
        "": "planned cost of one thing by kind; the kinds add up to the total exactly",
        "of": "product: one unit of it, everything below it included; work order: its own cost; order: its share of"
        " every work order below it, and of lots it is served from",
        "name": "code, number or order/line; `for stock` carries what is made for no order",
        "quantity": "units costed, in `unit`",
        "unit": "unit of the quantity",
        "material": "material that ends in good units",
        "machine": "machine hours at their rate, changeovers included",
        "labour": "people at their wage",
        "energy": "power while running",
        "overhead": "added to machine and labour",
        "scrap": "what was spent, of every kind, on units that are lost",
        "regrind_credit": "worth of clean scrap, 0 or negative",
        "total": "all kinds together",
    },
    "Load": {
        "": "how busy one work centre is inside the horizon, all its machines together",
        "work_centre": "code of the work centre",
        "name": "what is done there",
        "machines": "how many machines",
        "open_minutes": "minutes they are open [min]",
        "run_minutes": "minutes they run [min]",
        "changeover_minutes": "minutes they are changed over [min]",
    },
    "Finding": {
        "": "something the independent checker holds against the plan",
        "rule": "the rule that is broken",
        "place": "where",
        "message": "what is wrong",
    },
}
"""Record of `plan.py` -> key ("" for the record itself) -> what it means."""
