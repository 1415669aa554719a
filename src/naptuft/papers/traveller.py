"""What a traveller says: the paper that goes with one work order from machine to machine."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from naptuft.book.model import Book
from naptuft.calculation import Caution
from naptuft.papers import qr
from naptuft.papers.wording import TITLE_LETTERS, amount, duration, moment, shortened, unit_word
from naptuft.planning.plan import Allocation, DesignOutcome, Plan, PlannedOperation, WorkOrder
from naptuft.plant.hazard import cautions_of
from naptuft.quantity import from_si, show_number, unit_sign

STAGES = {"make": "", "cut": "cut to the joint list"}
SOURCES = {"stock": "stock", "purchase": "on order", "made": "made here"}


def block(plan: Plan, kind: str) -> dict[str, str]:
    """Fields of the title block that hold for a whole paper."""
    return {
        "plant": plan.plant,
        "kind": kind,
        "revision": plan.revision,
        "start": f"{moment(plan.start)} {plan.start.year}",
    }


def travellers(book: Book, plan: Plan, numbers: Iterable[str] | None = None) -> dict[str, Any]:
    """Data of the travellers template: every work order of the plan, or those numbered, by start.

    numbers  numbers of the work orders wanted; None: all
    """
    wanted = None if numbers is None else set(numbers)
    steps: dict[str, list[PlannedOperation]] = defaultdict(list)
    for operation in plan.operations:
        steps[operation.work_order].append(operation)
    taken: dict[str, list[Allocation]] = defaultdict(list)
    for allocation in plan.allocations:
        taken[allocation.work_order].append(allocation)
    designs = {design.product: design for design in plan.designs}
    goes_with = _goes_with(plan)
    chosen = [order for order in plan.work_orders if wanted is None or order.number in wanted]
    return {
        "block": block(plan, "traveller"),
        "parts": [
            _part(
                book,
                order,
                sorted(steps[order.number], key=lambda step: step.step),
                taken[order.number],
                designs.get(order.product),
                goes_with.get(order.number, ""),
            )
            for order in sorted(chosen, key=lambda order: (order.start, order.number))
        ],
    }


def _goes_with(plan: Plan) -> Mapping[str, str]:
    sheets: dict[str, list[str]] = defaultdict(list)
    for blend in plan.blends:
        sheets[blend.work_order].append("blend sheet")
    for cut in plan.cut_lists:
        sheets[cut.work_order].append("cut list")
    return {number: ", ".join(dict.fromkeys(names)) for number, names in sheets.items()}


def _part(
    book: Book,
    order: WorkOrder,
    steps: Sequence[PlannedOperation],
    taken: Sequence[Allocation],
    design: DesignOutcome | None,
    goes_with: str,
) -> dict[str, Any]:
    return {
        "number": order.number,
        "title": shortened(order.product_name, TITLE_LETTERS),
        "remark-name": "product",
        "remark": order.product,
        "name": order.product_name,
        "stage": STAGES[order.stage],
        "qr": list(qr.picture(order.number)),
        "quantity": amount(order.quantity, order.unit),
        "started": amount(order.started, order.unit),
        "unit": unit_word(order.unit),
        "start": moment(order.start),
        "finish": moment(order.finish),
        "due": moment(order.due),
        "late": order.finish > order.due,
        "serves": ", ".join(
            f"{serving.order}/{serving.line} ({amount(serving.quantity, order.unit)})" for serving in order.serves
        ),
        "after": ", ".join(order.needs),
        "goes-with": goes_with,
        "materials": [_material(row) for row in taken],
        "figures": [] if design is None or order.stage == "cut" else _figures(design),
        "warnings": [] if design is None or order.stage == "cut" else _design_faults(design),
        "steps": _steps(book, steps),
    }


def _material(row: Allocation) -> dict[str, str]:
    return {
        "name": row.material_name,
        "code": row.material,
        "lot": row.lot,
        "source": SOURCES[row.source],
        "quantity": amount(row.quantity, row.unit),
        "unit": unit_word(row.unit),
    }


def _figures(design: DesignOutcome) -> list[dict[str, str]]:
    return [
        {"label": value.label, "value": show_number(from_si(value.value, value.unit)), "unit": unit_sign(value.unit)}
        for value in design.result.values
    ]


def _design_faults(design: DesignOutcome) -> list[str]:
    """A line for each check the design does not keep, so that the floor does not make it unaware."""
    return [
        f"the design does not keep {check.label}: {show_number(from_si(check.value, check.unit))} where {check.sense} "
        f"{show_number(from_si(check.limit, check.unit))} {unit_sign(check.unit)} is wanted".rstrip()
        + "; ask the engineer before starting."
        for check in design.failed
    ]


def _steps(book: Book, steps: Sequence[PlannedOperation]) -> list[dict[str, Any]]:
    centres = {centre.code: centre.name for centre in book.work_centres}
    machines = {machine.code: machine.name for machine in book.machines}
    first: dict[str, int] = {}
    written = []
    for step in steps:
        name = machines.get(step.machine, "")
        written.append(
            {
                "step": str(step.step),
                "name": step.name,
                "machine": f"{step.machine} {name}".rstrip(),
                "place": centres.get(step.work_centre, step.work_centre),
                "family": step.family,
                "start": moment(step.start),
                "end": moment(step.end),
                "quantity": amount(step.quantity, step.unit),
                "unit": unit_word(step.unit),
                "run": duration(step.run_minutes),
                "changeover": duration(step.changeover_minutes) if step.changeover_minutes else "",
                "instruction": step.instruction,
                "cautions": _cautions(step, first),
                "wait": _wait(step),
            }
        )
    return written


def _cautions(step: PlannedOperation, first: dict[str, int]) -> list[str]:
    """The cautions in full where a hazard first comes up on the traveller, then a pointer back to them."""
    cautions: tuple[Caution, ...] = cautions_of(step.hazard)
    if not cautions:
        return []
    if step.hazard in first:
        return [f"{step.hazard}: as at step {first[step.hazard]}."]
    first[step.hazard] = step.step
    return [str(caution) for caution in cautions]


def _wait(step: PlannedOperation) -> str:
    if not step.wait_minutes:
        return ""
    until = step.end + datetime.timedelta(minutes=step.wait_minutes)
    racks = f" on {step.racks} of {step.rack}" if step.rack else ""
    return f"{duration(step.wait_minutes)}{racks}, until {moment(until)}"
