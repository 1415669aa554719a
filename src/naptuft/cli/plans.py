"""Commands that plan a book, and check or write one."""

from __future__ import annotations

import json
import signal
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from naptuft.cli.options import AsJson, Effort, Expected, Seconds, Seed
from naptuft.cli.printing import fault_json, print_faults
from naptuft.cli.root import app, book_app, schema_app
from naptuft.errors import Fault

if TYPE_CHECKING:
    from rich.console import Console

    from naptuft.book.model import Book
    from naptuft.services import Progress


@app.command()
def plan(
    book: Annotated[Path, typer.Argument(help="The book: a workbook (.xlsx) or a folder of CSV files.")],
    out: Annotated[Path, typer.Option(help="Folder for plan.json, plan.xlsx, summary.md and papers.")],
    seconds: Seconds = None,
    seed: Seed = 1,
    effort: Effort = None,
    expected: Expected = False,
    as_json: AsJson = False,
) -> None:
    """Plan a book: designs, lots, blends, cut lists, schedule, costs and papers. Ctrl-C keeps the best plan so far."""
    from naptuft.services import read_book

    _plan(read_book(book), out, seconds, seed, effort, expected, as_json)


@app.command()
def demo(
    out: Annotated[Path, typer.Option(help="Folder for the answer.")] = Path("quillbeck"),
    seconds: Seconds = None,
    seed: Seed = 1,
    effort: Effort = None,
    expected: Expected = False,
    as_json: AsJson = False,
) -> None:
    """Plan four weeks of the invented plant Quillbeck Brush & Nap."""
    from naptuft.services import demo_book

    _plan(demo_book(), out, seconds, seed, effort, expected, as_json)


def _plan(
    book: Book, out: Path, seconds: float | None, seed: int, effort: int | None, expected: bool, as_json: bool
) -> None:
    from rich.console import Console
    from rich.markdown import Markdown

    from naptuft.services import plan_book, plan_text, summary, write_plan

    asked = threading.Event()

    def stop_at_best(_number: int, _frame: object) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()

    notes = Console(stderr=True)
    before = signal.signal(signal.SIGINT, stop_at_best)
    try:
        with _ProgressLine(notes, quiet=as_json) as tell:
            made = plan_book(
                book, seed=seed, seconds=seconds, effort=effort, expected=expected, progress=tell, stop=asked.is_set
            )
    finally:
        signal.signal(signal.SIGINT, before)
    if asked.is_set():
        notes.print("Stopped: this is the best plan so far.")
    files = write_plan(made, book, out)
    if as_json:
        typer.echo(plan_text(made), nl=False)
        return
    console = Console()
    console.print(Markdown(summary(made)))
    console.print(
        f"{len(files)} files in {out}: " + ", ".join(sorted(str(f.relative_to(out)) for f in files)[:8]),
        highlight=False,
    )


class _ProgressLine:
    """A ruled line with the stage, the share done and the best answer so far; in a log, a line a stage."""

    def __init__(self, console: Console, quiet: bool):
        from rich import progress

        self.console, self.quiet, self.stage = console, quiet, ""
        self.bar = progress.Progress(
            progress.TextColumn("{task.description}"),
            progress.BarColumn(bar_width=30),
            progress.TimeElapsedColumn(),
            progress.TextColumn("{task.fields[best]}"),
            console=console,
            transient=True,
            disable=quiet or not console.is_terminal,
        )

    def __enter__(self):
        self.bar.start()
        self.task = self.bar.add_task("starting", total=1.0, best="")
        return self.tell

    def tell(self, state: Progress) -> None:
        """Show where the work is."""
        self.bar.update(self.task, description=state.stage, completed=state.done, best=state.best)
        if state.stage != self.stage and not self.quiet and not self.console.is_terminal:
            self.stage = state.stage
            self.console.print(f"{state.stage} {state.best}".rstrip(), highlight=False)

    def __exit__(self, *_: object) -> None:
        self.bar.stop()


@book_app.command("new")
def new_book(
    file: Annotated[Path, typer.Argument(help="Workbook to write (.xlsx); with --demo also a folder for CSV files.")],
    demo: Annotated[bool, typer.Option("--demo", help="Write the Quillbeck book instead of a blank one.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over what is there.")] = False,
) -> None:
    """Write a blank book with headings, help, units, drop-down lists and a worked row, or the demo book."""
    from naptuft.errors import FileError
    from naptuft.services import write_blank_book, write_demo_book

    if file.exists() and not force:
        raise FileError(Fault("file", str(file), "a name not taken yet", "choose another name or add --force"))
    (write_demo_book if demo else write_blank_book)(file)
    typer.echo(f"Wrote {file}. Fill it in, then: naptuft book check {file}")


@book_app.command("check")
def check(
    file: Annotated[Path, typer.Argument(help="The book: a workbook (.xlsx) or a folder of CSV files.")],
    as_json: AsJson = False,
) -> None:
    """Check a book and report every fault at once; exit code 1 when there is any."""
    from naptuft.services import check_book

    faults = check_book(file)
    if as_json:
        typer.echo(json.dumps([fault_json(fault) for fault in faults], ensure_ascii=False, indent=1))
    elif faults:
        print_faults(faults)
    else:
        typer.echo(f"{file}: no faults. Plan it with: naptuft plan {file} --out plan")
    if faults:
        raise typer.Exit(1)


@schema_app.command("plan")
def schema_plan() -> None:
    """Print the JSON Schema of plan.json."""
    from naptuft.services import plan_schema

    typer.echo(json.dumps(plan_schema(), ensure_ascii=False, indent=1))
