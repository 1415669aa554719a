"""Commands that design and work out: whole designs, single calculations, the handbook."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from naptuft.cli.options import AsJson, Beside, Matters
from naptuft.cli.printing import print_beside, print_inputs, print_matters, print_result, table
from naptuft.cli.root import app, work_app
from naptuft.errors import DesignError, Fault

if TYPE_CHECKING:
    from naptuft.calculation import Calculation, Result
    from naptuft.design_sheet import DesignSheet


@app.command()
def design(
    name: Annotated[str | None, typer.Argument(help="What to design; leave out to list what there is.")] = None,
    inputs: Annotated[list[str] | None, typer.Argument(help="key=value, such as width='2 1/2 in'")] = None,
    example: Annotated[bool, typer.Option("--example", help="Use the example value of each input not given.")] = False,
    inputs_only: Annotated[bool, typer.Option("--inputs", help="Show the inputs and what is allowed.")] = False,
    out: Annotated[Path | None, typer.Option(help="Folder for design.json, design.pdf and the drawings.")] = None,
    beside: Beside = None,
    sensitivity: Matters = False,
    parts: Annotated[bool, typer.Option("--parts", help="Print every part with its reasons, too.")] = False,
    as_json: AsJson = False,
) -> None:
    """Design a whole brush, refill, frame, handle or tray from one choice: every part, margin and drawing."""
    from naptuft.design_sheet import design_as_json
    from naptuft.services import SHEETS, find_sheet, write_design

    if name is None:
        from rich.console import Console

        made = table("design", "what is designed")
        for sheet in SHEETS.values():
            made.add_row(sheet.name, f"{sheet.title}. {sheet.about}")
        Console().print(made)
        return
    sheet = find_sheet(name)
    if inputs_only:
        print_inputs(sheet)
        return
    given = _given(sheet, inputs, example)
    whole = sheet.answer(given)
    second = sheet.answer(given | _pairs(beside)) if beside else None
    written = write_design(whole, out) if out is not None else ()
    if as_json:
        answer = design_as_json(whole)
        if second is not None:
            answer["beside"] = design_as_json(second)
        if sensitivity:
            answer["sensitivity"] = _matters_json(sheet, given)
        typer.echo(json.dumps(answer, ensure_ascii=False, indent=1))
        return
    if parts:
        for part in whole.parts:
            print_result(part.heading, part.result)
    print_result(sheet.title, whole.result)
    if second is not None:
        print_beside(whole.result, second.result)
    if sensitivity:
        print_matters(sheet, given, whole.result)
    if written:
        typer.echo(f"Wrote {', '.join(path.name for path in written)} in {out}.")


@work_app.command("list")
def list_calculations(as_json: AsJson = False) -> None:
    """List the engineering calculations."""
    from naptuft.services import CALCULATIONS

    if as_json:
        rows = [{"name": c.name, "title": c.title, "line": c.line, "about": c.about} for c in CALCULATIONS.values()]
        typer.echo(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    from rich.console import Console

    made = table("calculation", "line", "what it answers")
    for calculation in CALCULATIONS.values():
        made.add_row(calculation.name, calculation.line, f"{calculation.title}. {calculation.about}")
    Console().print(made)


@work_app.command("out")
def work_out(
    name: Annotated[str, typer.Argument(help="Calculation, from: naptuft work list")],
    inputs: Annotated[list[str] | None, typer.Argument(help="key=value, such as width='2 1/2 in'")] = None,
    as_json: AsJson = False,
    example: Annotated[bool, typer.Option("--example", help="Use the example value of each input not given.")] = False,
    inputs_only: Annotated[bool, typer.Option("--inputs", help="Show the inputs and what is allowed.")] = False,
    beside: Beside = None,
    sensitivity: Matters = False,
    drawing: Annotated[Path | None, typer.Option(help="Write the drawing to this SVG file.")] = None,
) -> None:
    """Work out a calculation: its figures, checks with margins, reasons and cautions."""
    from naptuft.calculation import result_as_json
    from naptuft.services import find_calculation

    calculation = find_calculation(name)
    if inputs_only:
        print_inputs(calculation)
        return
    given = _given(calculation, inputs, example)
    result = calculation.answer(given)
    if drawing is not None:
        _write_drawing(calculation, given, result, drawing)
    second = calculation.answer(given | _pairs(beside)) if beside else None
    if as_json:
        answer = {"calculation": name, **result_as_json(result)}
        if second is not None:
            answer["beside"] = result_as_json(second)
        if sensitivity:
            answer["sensitivity"] = _matters_json(calculation, given)
        typer.echo(json.dumps(answer, ensure_ascii=False, indent=1))
        return
    print_result(calculation.title, result)
    if second is not None:
        print_beside(result, second)
    if sensitivity:
        print_matters(calculation, given, result)


@work_app.command("handbook")
def handbook(folder: Annotated[Path, typer.Argument(help="Folder for the pages.")]) -> None:
    """Write the handbook: a page a calculation, with inputs, a worked example, formulas and sources."""
    from naptuft.services import write_handbook

    pages = write_handbook(folder)
    typer.echo(f"Wrote {len(pages)} pages in {folder}.")


def _pairs(items: list[str] | None) -> dict[str, object]:
    given: dict[str, object] = {}
    faults = []
    for item in items or []:
        key, equals, value = item.partition("=")
        if not equals:
            faults.append(Fault("input", item, "key=value", "write it as width=63mm"))
        given[key.strip().replace("-", "_")] = value.strip()
    if faults:
        raise DesignError(*faults)
    return given


def _given(declared: Calculation | DesignSheet, inputs: list[str] | None, example: bool) -> dict[str, object]:
    return (dict(declared.example()) if example else {}) | _pairs(inputs)


def _matters_json(declared: Calculation | DesignSheet, given: dict[str, object]) -> list[dict[str, object]]:
    from naptuft.services import what_matters

    return [
        {"input": each.input, "figure": each.figure, "per_cent": round(each.per_cent, 6)}
        for each in what_matters(declared, given)
    ]


def _write_drawing(calculation: Calculation, given: dict[str, object], result: Result, path: Path) -> None:
    if calculation.draw is None:
        raise DesignError(Fault("drawing", calculation.name, "a calculation with a drawing", "leave --drawing out"))
    record, _ = calculation.read(given)
    path.write_text(calculation.draw(record, result), encoding="utf-8")
