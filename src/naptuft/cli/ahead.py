"""Commands that look ahead: capacity, materials, what more of one aim costs, and what-if books side by side."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from naptuft.cli.options import AsJson, Seed
from naptuft.cli.printing import table
from naptuft.cli.root import app
from naptuft.quantity import unit_sign

if TYPE_CHECKING:
    from rich.console import Console

    from naptuft.book.model import Book

BookFile = Annotated[Path, typer.Argument(help="The book: a workbook (.xlsx) or a folder of CSV files.")]
PlanFolder = Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")]


def _console() -> Console:
    from rich.console import Console

    return Console()


@app.command()
def capacity(
    book: BookFile,
    days: Annotated[int, typer.Option(help="Days in a period.", min=1, max=366)] = 7,
    periods: Annotated[int, typer.Option(help="Periods ahead.", min=1, max=104)] = 12,
    product: Annotated[str, typer.Option(help="Also what a steady rate of this product asks for.")] = "",
    per_week: Annotated[float, typer.Option(help="Good units of it a week.", min=0.001)] = 1000.0,
    as_json: AsJson = False,
) -> None:
    """Tell the load of each work centre and crew in periods ahead, and what a rate of a product needs."""
    from naptuft.services import needs_at_rate, read_book, rough_load

    read = read_book(book)
    loads = rough_load(read, days=days, periods=periods)
    needs = needs_at_rate(read, product, per_week) if product else None
    if as_json:
        told = [{**dataclasses.asdict(load), "utilisation": _finite(load.utilisation)} for load in loads]
        rate = None if needs is None else dataclasses.asdict(needs)
        typer.echo(json.dumps({"loads": told, "rate": rate}, ensure_ascii=False, indent=1, default=str))
        return
    starts = sorted({load.start for load in loads if load.run_minutes + load.setup_minutes > 0})
    made = table(
        "work centre, % of open time", *(f"{start.day} {start:%b}" for start in starts), "crew, people at most"
    )
    crew = {centre.code: centre.crew for centre in read.work_centres}
    for column in made.columns[1:-1]:
        column.justify = "right"
    for centre in read.work_centres:
        own = {load.start: load for load in loads if load.work_centre == centre.code}
        if own:
            most = max(load.people for load in own.values())
            made.add_row(
                centre.code, *(_share(own[start].utilisation) for start in starts), f"{crew[centre.code]} {most:.1f}"
            )
    console = _console()
    console.print(made)
    if needs is not None:
        unit = read.product[product].unit
        made = table(f"{per_week:,.0f} {unit} of {product} a week", "in use", "machines", "has", "people")
        for each in needs.centres:
            made.add_row(
                each.work_centre, f"{each.utilisation:.1%}", str(each.machines), str(each.has), f"{each.people:.2f}"
            )
        for rack in needs.racks:
            made.add_row(f"racks {rack.rack}", "", str(rack.needed), str(rack.has), "")
        for cavity in needs.cavities:
            made.add_row(f"cavities {cavity.product}", "", str(cavity.needed), str(cavity.has), "")
        console.print(made)
        console.print(
            f"The bottleneck is {needs.bottleneck}: at most {needs.most:,.0f} {unit} a week, making nothing else."
        )


def _finite(share: float) -> float | None:
    return share if share != float("inf") else None


def _share(share: float) -> str:
    return "closed" if share == float("inf") else f"{100 * share:.0f}"


@app.command()
def materials(book: BookFile, plan: PlanFolder, as_json: AsJson = False) -> None:
    """Tell the net needs of a plan by day and the orders that meet them at least cost, with what they serve."""
    from naptuft.services import material_plan, read_book, read_plan

    read = read_book(book)
    needs, currency = material_plan(read, read_plan(plan)), read.settings.currency
    if as_json:
        told = [dataclasses.asdict(need) for need in needs]
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1, default=str))
        return
    made = table("order by", "material", "quantity", "there", "price", "serves")
    proposed = [(need, order) for need in needs for order in need.proposed]
    for need, order in sorted(proposed, key=lambda each: each[1].order_by):
        quantity = f"{order.quantity:,.10g} {unit_sign(need.unit)}"
        made.add_row(
            str(order.order_by),
            need.name,
            quantity,
            str(order.arrives),
            f"{order.cost:,.2f} {currency}",
            ", ".join(order.serves),
        )
    console = _console()
    console.print(made)
    made = table("day", "material", "taken", "arrives", "left")
    for column in made.columns[2:]:
        column.justify = "right"
    for need in needs:
        for day in need.days:
            amounts = (f"{amount:,.6g} {unit_sign(need.unit)}" for amount in (day.needed, day.arrives, day.stock))
            made.add_row(str(day.day), need.name, *amounts)
    console.print(made)
    saving = sum(need.saving for need in needs)
    console.print(
        f"These orders cost {saving:,.2f} {currency} less than the plan's own purchases in price, ordering and keeping."
    )


@app.command()
def trade(
    book: BookFile,
    plan: PlanFolder,
    seconds: Annotated[float, typer.Option(help="Time for each emphasis.", min=0.1, max=86400)] = 5.0,
    seed: Seed = 1,
    as_json: AsJson = False,
) -> None:
    """Schedule a plan's work again under other emphases: what more of one aim costs in the others."""
    from naptuft.services import read_book, read_plan, trade_offs

    points = trade_offs(read_book(book), read_plan(plan), seconds=seconds, seed=seed)
    if as_json:
        told = [{"name": p.name, "how": p.how, **vars(p.measures), "beaten_by": list(p.beaten_by)} for p in points]
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    made = table(
        "plan",
        "late, h",
        "changed over, h",
        "work begun",
        "waits, h",
        "overtime, h",
        "age, d",
        "uneven, %",
    )
    for column in made.columns[1:]:
        column.justify = "right"
    for point in points:
        of = point.measures
        made.add_row(
            point.name,
            f"{of.late_minutes / 60:,.0f}",
            f"{of.changeover_minutes / 60:,.1f}",
            f"{of.jobs_in_progress:.1f}",
            f"{of.waiting_minutes / 60:,.0f}",
            f"{of.overtime_minutes / 60:,.1f}",
            f"{of.material_age_days:.1f}",
            f"{100 * of.unevenness:.1f}",
        )
    console = _console()
    console.print(made)
    console.print(
        "late: weighted; work begun: work orders on the floor at a time; age: of material when used; uneven: spread of the "
        "daily load of machines."
    )


@app.command("what-if")
def what_if(
    books: Annotated[list[Path], typer.Argument(help="Books to plan side by side.")],
    effort: Annotated[int, typer.Option(help="Candidate plans for each, so that they can be compared.", min=1)] = 2000,
    seed: Seed = 1,
    processes: Annotated[int, typer.Option(help="Books planned at one time on this machine.", min=1, max=256)] = 1,
    cluster: Annotated[str | None, typer.Option(help="Address of a dask scheduler, to plan on many machines.")] = None,
    as_json: AsJson = False,
) -> None:
    """Plan several books with the same seed and effort: late work, changeover, cost and shortage side by side."""
    from naptuft.services import read_book, what_if

    read = [read_book(file) for file in books]
    plans = what_if(read, effort=effort, seed=seed, processes=processes, cluster=cluster)
    told = []
    for file, found, made in zip(books, read, plans, strict=True):
        told.append(
            {
                "book": str(file),
                "orders": len(made.orders),
                "late": sum(order.late_minutes > 0 for order in made.orders),
                "late_minutes": made.quality.weighted_late_minutes,
                "changeover_minutes": made.quality.changeover_minutes,
                "short": sum(order.short_quantity > 0 for order in made.orders),
                "cost": str(sum(line.total for line in made.costs if line.of == "order")),
                "buy": str(sum(purchase.cost for purchase in made.purchases)),
                "currency": _currency(found),
                "findings": len(made.checks),
            }
        )
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    shown = table(
        "book", "late orders", "late, weighted h", "changeover, h", "short orders", "cost", "to buy", "checker"
    )
    for column in shown.columns[1:]:
        column.justify = "right"
    for each in told:
        shown.add_row(
            Path(each["book"]).stem,
            f"{each['late']} of {each['orders']}",
            f"{each['late_minutes'] / 60:,.1f}",
            f"{each['changeover_minutes'] / 60:,.1f}",
            str(each["short"]),
            f"{float(each['cost']):,.2f} {each['currency']}",
            f"{float(each['buy']):,.2f} {each['currency']}",
            "clean" if not each["findings"] else f"{each['findings']} findings",
        )
    _console().print(shown)


def _currency(book: Book) -> str:
    return book.settings.currency
