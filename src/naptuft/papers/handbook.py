"""The handbook: one page a calculation, written from its declaration and its worked example."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from naptuft.calculation import Calculation, write_value
from naptuft.quantity import show, unit_sign


def handbook_page(calculation: Calculation) -> str:
    """One calculation as Markdown: what it answers, its inputs, the example worked with formulas and sources.

    >>> from naptuft.brush import FERRULE
    >>> handbook_page(FERRULE).splitlines()[0] == f"# {FERRULE.title}"
    True
    """
    result = calculation.answer(calculation.example())
    lines = [f"# {calculation.title}", "", calculation.about, ""]
    lines += [f"`naptuft work out {calculation.name} --example`", "", "## Inputs", ""]
    lines += ["| input | what it is | allowed | when left out | example |", "|---|---|---|---|---|"]
    for field in calculation.fields:
        default = write_value(field, field.default)
        usual = "derived" if default is None else f"{default} {unit_sign(field.unit)}".rstrip()
        left_out = "must be given" if field.required else usual
        lines.append(_row(field.name, field.help, field.allowed, left_out, field.example))
    lines += ["", "## The example worked", "", "| figure | value |", "|---|---|"]
    lines += [_row(value.label, str(value)) for value in result.values]
    if result.checks:
        lines += ["", "| check | value | limit | margin | source |", "|---|---|---|---|---|"]
        lines += [
            _row(
                check.label,
                show(check.value, check.unit),
                f"{check.sense} {show(check.limit, check.unit)}",
                f"{check.margin:.0%}",
                check.source,
            )
            for check in result.ordered_checks()
        ]
    lines += ["", "## Because", "", "| step | formula | value | source |", "|---|---|---|---|"]
    lines += [_row(step.label, step.formula, show(step.value, step.unit), step.source) for step in result.steps]
    if result.cautions:
        lines += ["", "## Cautions", ""] + [f"- {caution}" for caution in result.cautions]
    return "\n".join(lines) + "\n"


def _row(*cells: str) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"


def write_handbook(calculations: Iterable[Calculation], folder: Path) -> tuple[Path, ...]:
    """Write the handbook into a folder: a page a calculation and an index by product line."""
    folder.mkdir(parents=True, exist_ok=True)
    written, index, line = [], ["# Handbook", ""], ""
    for calculation in calculations:
        page = folder / f"{calculation.name}.md"
        page.write_text(handbook_page(calculation), encoding="utf-8")
        written.append(page)
        if calculation.line != line:
            line = calculation.line
            index += ["", f"## {line.capitalize()}", ""]
        index.append(f"- [{calculation.title}]({page.name}): {calculation.about}")
    contents = folder / "README.md"
    contents.write_text("\n".join(index) + "\n", encoding="utf-8")
    return (contents, *written)
