"""What a traveller says: the paper that goes with one work order from machine to machine."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from naptuft.book.model import Book
from naptuft.calculation import LOCAL_CODES, Caution, Result
from naptuft.papers import qr
from naptuft.papers.wording import TITLE_LETTERS, amount, duration, moment, shortened, unit_word
from naptuft.planning.plan import Allocation, DesignOutcome, Plan, PlannedOperation, WorkOrder
from naptuft.plant.hazard import cautions_of
from naptuft.quantity import from_si, show_number

STAGES = {"make": "", "cut": "cut to the joint list"}
SOURCES = {"stock": "stock", "purchase": "on order", "made": "made here"}


def block(plan: Plan, kind: str) -> dict[str, str]:
    """Fields of the title block that hold for a whole paper."""
    return {
        "plant": shortened(plan.plant, 32),
        "kind": kind,
        "second-name": "book revision · plan starts",
        "second": f"{shortened(plan.revision, 14)} · {plan.start:%Y-%m-%d %H:%M}",
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
    goes_with = _goes_with(plan, designs)
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


def _goes_with(plan: Plan, designs: Mapping[str, DesignOutcome]) -> Mapping[str, str]:
    """The other papers the operator needs, for each work order."""
    sheets: dict[str, list[str]] = defaultdict(list)
    for order in plan.work_orders:
        if order.product in designs and order.stage == "make":
            sheets[order.number].append(f"setting sheet {order.product}")
    for blend in plan.blends:
        sheets[blend.work_order].append(f"blend sheet {blend.work_order}")
    for cut in plan.cut_lists:
        sheets[cut.work_order].append(f"cut list {cut.work_order}")
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
        "late": duration((order.finish - order.due).total_seconds() / 60) if order.finish > order.due else "",
        "serves": ", ".join(
            f"{serving.order}/{serving.line} ({amount(serving.quantity, order.unit)})" for serving in order.serves
        ),
        "after": ", ".join(order.needs),
        "note": order.note,
        "goes-with": goes_with,
        "materials": [_material(row) for row in taken],
        "figures": [] if design is None or order.stage == "cut" else figure_words(design.result),
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


def figure_words(result: Result) -> list[dict[str, str]]:
    """Every figure of a design as papers write it."""
    return [
        {"label": value.label, "value": show_number(from_si(value.value, value.unit)), "unit": unit_word(value.unit)}
        for value in result.values
    ]


def _design_faults(design: DesignOutcome) -> list[str]:
    """A line for each check the design does not keep, so that the floor does not make it unaware."""
    return [
        f"the design does not keep {check.label}: {show_number(from_si(check.value, check.unit))} where {check.sense} "
        f"{show_number(from_si(check.limit, check.unit))} {unit_word(check.unit)} is wanted".rstrip()
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
                "caution": _caution(step, first),
                "wait": _wait(step),
            }
        )
    return written


def _caution(step: PlannedOperation, first: dict[str, int]) -> str:
    """The cautions in full where a hazard first comes up on the traveller, then a pointer back to them."""
    if not cautions_of(step.hazard):
        return ""
    if step.hazard in first:
        return f"{step.hazard}: as at step {first[step.hazard]}."
    first[step.hazard] = step.step
    return warning(cautions_of(step.hazard))


def warning(cautions: Iterable[Caution]) -> str:
    """Several cautions in one, the sentence about local codes once.

    >>> warning([Caution("Noise", "cover the ears"), Caution("Dust", "wear a mask", "29 CFR 1910.94")])
    'Noise: cover the ears. Dust: wear a mask. See 29 CFR 1910.94. Follow local codes and licensed practice.'
    """
    parts = [
        f"{caution.hazard}: {caution.measure.rstrip('.')}." + (f" See {caution.rule}." if caution.rule else "")
        for caution in cautions
    ]
    return " ".join([*parts, LOCAL_CODES]) if parts else ""


def _wait(step: PlannedOperation) -> str:
    if not step.wait_minutes:
        return ""
    until = step.end + datetime.timedelta(minutes=step.wait_minutes)
    racks = f" on {step.racks} of {step.rack}" if step.rack else ""
    return f"{duration(step.wait_minutes)}{racks}, until {moment(until)}"
