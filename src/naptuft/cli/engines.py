"""Commands that run the engines on problems of one's own, serve the pages, and compile the search."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from naptuft.cli.options import AsJson, Seed
from naptuft.cli.root import app


@app.command()
def cut(
    instances: Annotated[Path, typer.Argument(help="JSON lines: name, stock_length, lengths, demands.")],
    seconds: Annotated[float, typer.Option(help="Time limit for each instance.", min=0.05, max=86400)] = 10.0,
    as_json: AsJson = False,
) -> None:
    """Solve one-dimensional cutting problems: fewest stock pieces, with proof or bound."""
    from naptuft.services import solve_cutting

    if not as_json:
        typer.echo(f"{'name':<20} {'pieces':>7} {'bound':>7} {'proven':>7} {'seconds':>8}")
    for answer in solve_cutting(instances, seconds):
        if as_json:
            typer.echo(json.dumps(answer))
        else:
            proven = "yes" if answer["proven_optimal"] else "no"
            typer.echo(
                f"{answer['name']:<20} {answer['rolls']:>7} {answer['lower_bound']:>7} {proven:>7} {answer['seconds']:>8.2f}"
            )


@app.command()
def schedule(
    problem: Annotated[Path, typer.Argument(help="JSON: machines, jobs, changeovers, objective.")],
    out: Annotated[Path, typer.Option(help="File for the solution (JSON).")],
    seconds: Annotated[float, typer.Option(help="Time limit.", min=0.1, max=86400)] = 30.0,
    seed: Seed = 1,
    threads: Annotated[int, typer.Option(help="Searches side by side.", min=1, max=256)] = 1,
) -> None:
    """Solve a scheduling problem with the plan's own engine and checker."""
    from naptuft.services import solve_schedule

    answer, findings = solve_schedule(problem, seconds=seconds, seed=seed, threads=threads)
    out.write_text(json.dumps(answer), encoding="utf-8")
    typer.echo(f"{answer['name']}: objective {answer['objective']}, bound {answer['bound']}, {answer['status']}")
    typer.echo("; ".join(str(finding) for finding in findings) or "Nothing held against it by the independent checker.")


@app.command()
def serve(
    host: Annotated[str, typer.Option(help="Address to listen on; the default is this PC only.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.", min=1, max=65535)] = 8742,
    book: Annotated[Path | None, typer.Option(help="Open this book first; else the demo.")] = None,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the page in a browser.")] = False,
) -> None:
    """Serve the pages and the REST interface on this PC."""
    from naptuft.web.app import serve as serve_pages

    serve_pages(host=host, port=port, book_path=book, open_browser=browser)


@app.command()
def warm() -> None:
    """Compile the schedule's search once on this machine; otherwise the first plan does it."""
    from naptuft.services import warm as compile_search

    compile_search()
