"""Tables and results as the terminal shows them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from naptuft.errors import Fault

if TYPE_CHECKING:
    from naptuft.calculation import Calculation, Result
    from naptuft.design_sheet import DesignSheet


def table(*heads: str):
    """An empty ruled table with these heads."""
    from rich import box
    from rich.table import Table

    ruled = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for head in heads:
        ruled.add_column(head, overflow="fold")
    return ruled


def print_faults(faults: tuple[Fault, ...]) -> None:
    """Faults as a table on standard error."""
    from rich.console import Console
    from rich.text import Text

    console = Console(stderr=True)
    made = table("where", "found", "allowed", "mend")
    for fault in faults[:200]:
        found = fault.value if isinstance(fault.value, str) else repr(fault.value)
        made.add_row(*(Text(part) for part in (fault.place, found[:80], fault.allowed, fault.mend)))
    console.print(made)
    more = ", the first 200 shown" if len(faults) > 200 else ""
    console.print(Text(f"{len(faults)} fault{'s' if len(faults) != 1 else ''}{more}."))


def fault_json(fault: Fault) -> dict[str, str]:
    """A fault as plain JSON values."""
    return {"place": fault.place, "value": str(fault.value), "allowed": fault.allowed, "mend": fault.mend}


def print_inputs(declared: Calculation | DesignSheet) -> None:
    """The inputs of a calculation or a whole design, and what is allowed."""
    from rich.console import Console

    made = table("input", "allowed", "when left out", "what it is", "example")
    for field in declared.fields:
        left_out = "must be given" if field.required else "derived" if field.default is None else _default_words(field)
        made.add_row(field.name, field.allowed, left_out, field.help, field.example)
    Console().print(made)


def _default_words(field) -> str:
    from naptuft.calculation import write_value
    from naptuft.quantity import unit_sign

    return f"{write_value(field, field.default)} {unit_sign(field.unit)}".rstrip()


def print_result(title: str, result: Result) -> None:
    """Figures, checks, reasons, remarks, defaults and cautions of a result."""
    from rich.console import Console
    from rich.text import Text

    from naptuft.quantity import show

    console = Console()
    console.print(Text(title, style="bold"))
    made = table("figure", "value")
    made.columns[1].justify = "right"
    for value in result.values:
        made.add_row(value.label, str(value))
    console.print(made)
    if result.checks:
        made = table("check", "value", "limit", "margin", "", "mend")
        for check in result.ordered_checks():
            made.add_row(
                check.label,
                show(check.value, check.unit),
                f"{check.sense} {show(check.limit, check.unit)}",
                f"{check.margin:.0%}",
                "kept" if check.passed else "FAILS",
                "" if check.passed else check.mend,
            )
        console.print(made)
    if result.steps:
        made = table("because", "formula", "value", "source")
        for step in result.steps:
            made.add_row(step.label, step.formula, show(step.value, step.unit), step.source)
        console.print(made)
    for remark in result.remarks:
        console.print(Text(f"Note: {remark}"))
    if result.defaults:
        console.print(Text("Taken as usual, not given: " + ", ".join(result.defaults)))
    for caution in result.cautions:
        console.print(Text(f"Caution: {caution}"))


def print_beside(first: Result, second: Result) -> None:
    """Two results side by side."""
    from rich.console import Console

    from naptuft.design_sheet import compare
    from naptuft.quantity import show

    made = table("side by side", "first", "second", "difference")
    for column in made.columns[1:]:
        column.justify = "right"
    for row in compare(first, second):
        figures = ("–" if value is None else show(value, row.unit) for value in (row.first, row.second))
        made.add_row(row.label, *figures, "–" if row.difference is None else f"{row.difference:+.1%}")
    limits = [result.limiting for result in (first, second)]
    made.add_row("closest limit", *(f"{c.label} {c.margin:+.0%}" if c else "–" for c in limits), "")
    Console().print(made)


def print_matters(declared: Calculation | DesignSheet, given: dict[str, object], result: Result) -> None:
    """Which input each figure follows, the strongest first."""
    from rich.console import Console

    from naptuft.services import what_matters

    inputs = {field.name: field.label for field in declared.fields}
    figures = {value.name: value.label for value in result.values}
    made = table("what follows what", "one per cent more of", "changes it by")
    made.columns[2].justify = "right"
    for each in what_matters(declared, given)[:40]:
        made.add_row(figures[each.figure], inputs[each.input], f"{each.per_cent:+.2f} %")
    Console().print(made)
