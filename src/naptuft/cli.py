"""The command line: thin commands over `services`. Heavy imports happen inside the commands."""

from __future__ import annotations

import dataclasses
import datetime
import json
import signal
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from naptuft import __version__
from naptuft.errors import DesignError, Fault, NaptuftError

if TYPE_CHECKING:
    from rich.console import Console

    from naptuft.book.model import Book
    from naptuft.calculation import Calculation, Result
    from naptuft.design_sheet import DesignSheet
    from naptuft.services import Progress

app = typer.Typer(
    name="naptuft",
    help="Engineering, planning and papers for a plant that makes painting tools.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
book_app = typer.Typer(help="Write a blank or demo book; check one.", no_args_is_help=True)
work_app = typer.Typer(help="Work out one engineering calculation; list them.", no_args_is_help=True)
schema_app = typer.Typer(help="Print the JSON Schema of a public format.", no_args_is_help=True)
app.add_typer(book_app, name="book")
app.add_typer(work_app, name="work")
app.add_typer(schema_app, name="schema")

Seed = Annotated[int, typer.Option(help="Repeats the same choices.", min=0)]
Seconds = Annotated[
    float | None, typer.Option(help="Time for the schedule's search; the plan may then not repeat.", min=0.1, max=86400)
]
Effort = Annotated[
    int | None, typer.Option(help="Candidate plans to try: same book, seed and effort, same plan.", min=1)
]
Beside = Annotated[
    list[str] | None,
    typer.Option(help="key=value of a second design, the same but for this; repeat it. Both stand side by side."),
]
Matters = Annotated[bool, typer.Option("--sensitivity", help="Show which input each figure follows, strongest first.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON only.")]


def run() -> None:
    """Run the command line; faults become lines on standard error and exit code 1."""
    try:
        app()
    except NaptuftError as error:
        _print_faults(error.faults)
        sys.exit(1)


@app.callback(invoke_without_command=True)
def start(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    """Engineering, planning and papers for a plant that makes painting tools."""
    if version:
        typer.echo(f"naptuft {__version__}")
        raise typer.Exit


@app.command()
def plan(
    book: Annotated[Path, typer.Argument(help="The book: a workbook (.xlsx) or a folder of CSV files.")],
    out: Annotated[Path, typer.Option(help="Folder for plan.json, plan.xlsx, summary.md and papers.")],
    seconds: Seconds = None,
    seed: Seed = 1,
    effort: Effort = None,
    as_json: AsJson = False,
) -> None:
    """Plan a book: designs, lots, blends, cut lists, schedule, costs and papers. Ctrl-C keeps the best plan so far."""
    from naptuft.services import read_book

    _plan(read_book(book), out, seconds, seed, effort, as_json)


@app.command()
def demo(
    out: Annotated[Path, typer.Option(help="Folder for the answer.")] = Path("quillbeck"),
    seconds: Seconds = None,
    seed: Seed = 1,
    effort: Effort = None,
    as_json: AsJson = False,
) -> None:
    """Plan four weeks of the invented plant Quillbeck Brush & Nap."""
    from naptuft.services import demo_book

    _plan(demo_book(), out, seconds, seed, effort, as_json)


def _plan(book: Book, out: Path, seconds: float | None, seed: int, effort: int | None, as_json: bool) -> None:
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
            made = plan_book(book, seed=seed, seconds=seconds, effort=effort, progress=tell, stop=asked.is_set)
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

        table = _table("design", "what is designed")
        for sheet in SHEETS.values():
            table.add_row(sheet.name, f"{sheet.title}. {sheet.about}")
        Console().print(table)
        return
    sheet = find_sheet(name)
    if inputs_only:
        _print_inputs(sheet)
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
            _print_result(part.heading, part.result)
    _print_result(sheet.title, whole.result)
    if second is not None:
        _print_beside(whole.result, second.result)
    if sensitivity:
        _print_matters(sheet, given, whole.result)
    if written:
        typer.echo(f"Wrote {', '.join(path.name for path in written)} in {out}.")


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
def replan(
    book: Annotated[Path, typer.Argument(help="The book the plan was made from.")],
    plan: Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")],
    happened: Annotated[Path, typer.Argument(help="What happened: CSV or JSON, a row each.")],
    at: Annotated[str, typer.Option(help="Time of replanning, by the plant's clock: 2026-12-01 10:30")],
    out: Annotated[Path, typer.Option(help="Folder for the changed plan, its papers and the changed book.")],
    seconds: Annotated[float, typer.Option(help="Time to look for better than the repair.", min=0.1, max=3600)] = 1.0,
    seed: Seed = 1,
    as_json: AsJson = False,
) -> None:
    """Change a plan by what happened: started work stays, nothing moves that need not. Lists what changed."""
    from rich.console import Console
    from rich.text import Text

    from naptuft.services import change_plan, read_book, read_happened, read_plan, write_book, write_plan

    answer = change_plan(
        read_book(book), read_plan(plan), _moment(at), read_happened(happened), seconds=seconds, seed=seed
    )
    written = write_plan(answer.plan, answer.book, out)
    write_book(answer.book, out / "book.xlsx")
    if as_json:
        told = [dataclasses.asdict(change) for change in answer.changes]
        typer.echo(
            json.dumps({"moved": answer.moved, "ahead": answer.ahead, "changes": told}, ensure_ascii=False, indent=1)
        )
        return
    table = _table("changed", "what", "before", "now", "why")
    for change in answer.changes:
        table.add_row(*(Text(words) for words in (change.kind, change.place, change.before, change.after, change.why)))
    console = Console()
    console.print(table)
    console.print(Text(f"{answer.moved} of {answer.ahead} operations ahead moved. {_checked(len(answer.plan.checks))}"))
    console.print(Text(f"Wrote {len(written)} files and book.xlsx in {out}."))


def _moment(given: str) -> datetime.datetime:
    try:
        return datetime.datetime.fromisoformat(given)
    except ValueError:
        raise DesignError(Fault("at", given, "a date and time", "write it as 2026-12-01 10:30")) from None


def _checked(findings: int) -> str:
    return f"{findings} findings of the independent checker." if findings else "The independent checker finds nothing."


@app.command()
def promise(
    book: Annotated[Path, typer.Argument(help="The book the plan was made from.")],
    plan: Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")],
    product: Annotated[str, typer.Argument(help="Code of the product asked for.")],
    quantity: Annotated[int, typer.Argument(help="How many.", min=1)],
    at: Annotated[str, typer.Option(help="When it is asked, by the plant's clock: 2026-12-01 10:30")],
    odds: Annotated[float | None, typer.Option(help="Also the date it is ready by with such odds, as 0.9")] = None,
    replays: Annotated[int, typer.Option(help="How many times the plan is replayed.", min=10, max=10_000_000)] = 2000,
    seed: Seed = 1,
    as_json: AsJson = False,
) -> None:
    """Tell the earliest date a new order can be promised for, moving nothing that is planned."""
    from naptuft.services import promise as earliest
    from naptuft.services import read_book, read_plan

    answer = earliest(
        read_book(book), read_plan(plan), product, quantity, _moment(at), odds=odds, replays=replays, seed=seed
    )
    if as_json:
        told = {
            "finish": answer.finish.isoformat(),
            "odds": answer.odds,
            "with_odds": answer.with_odds.isoformat() if answer.with_odds else None,
            "reason": answer.outcome.reason,
            "work_orders": answer.work_orders,
        }
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    typer.echo(f"{quantity:,} of {product}: ready {answer.finish:%a %d %b %Y %H:%M} on paper.")
    if answer.with_odds is not None:
        typer.echo(f"With odds of {answer.odds:.1%}: by {answer.with_odds:%a %d %b %Y %H:%M} ({replays:,} replays).")
    typer.echo(f"Not sooner because {answer.outcome.reason}" if answer.outcome.reason else "Taken from stock.")


@app.command()
def relief(
    book: Annotated[Path, typer.Argument(help="The book the plan was made from.")],
    plan: Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")],
    as_json: AsJson = False,
) -> None:
    """Tell of each late order the chain that makes it late, and what was tried to relieve it, with effect and cost."""
    from rich.console import Console
    from rich.text import Text

    from naptuft.services import read_book, read_plan, reliefs

    answers = reliefs(read_book(book), read_plan(plan))
    if as_json:
        told = [dataclasses.asdict(answer) for answer in answers]
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1, default=str))
        return
    console = Console()
    if not answers:
        console.print("No order is late.")
    for answer in answers:
        console.print(Text(f"{answer.order}: late {answer.late_minutes / 60:.1f} h", style="bold"))
        table = _table("the chain, last first", "machine", "waited", "because")
        for link in answer.chain:
            if link.waited:
                table.add_row(
                    f"{link.work_order} {link.operation}", link.machine, f"{link.waited / 60:.1f} h", link.reason
                )
        console.print(table)
        table = _table("relief tried", "then late", "others, weighted late min", "extra cost")
        for tried in answer.tried[:8]:
            cost = "ask" if tried.cost is None else f"{tried.cost:,.2f}"
            late = "on time" if tried.enough else f"{tried.late_minutes / 60:.1f} h"
            table.add_row(tried.words, late, f"{tried.others:+,.0f}", cost)
        console.print(table)


@app.command()
def risk(
    book: Annotated[Path, typer.Argument(help="The book the plan was made from; its spreads are replayed.")],
    plan: Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")],
    replays: Annotated[int, typer.Option(help="How many times the plan is replayed.", min=10, max=10_000_000)] = 2000,
    seed: Seed = 1,
    threads: Annotated[
        int, typer.Option(help="Threads of this machine; the numbers stay the same.", min=1, max=256)
    ] = 2,
    cluster: Annotated[
        str | None, typer.Option(help="Address of a dask scheduler, to replay on many machines.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Replay a plan against the book's spreads: on-time odds of each order, finish bands, and which buffer buys most."""
    from rich.console import Console
    from rich.text import Text

    from naptuft.services import assess_risk, read_book, read_plan, risk_as_json

    made = read_plan(plan)
    answer = assess_risk(read_book(book), made, replays=replays, seed=seed, threads=threads, cluster=cluster)
    told = risk_as_json(made, answer)
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    table = _table("order", "due", "on time", "±", "9 in 10 by", "half by", "mean late")
    for odds in sorted(told["odds"], key=lambda each: each["on_time"]):
        table.add_row(
            odds["name"],
            odds["due"][:16].replace("T", " "),
            f"{odds['on_time']:.1%}",
            f"{odds['error']:.1%}",
            odds["late"][:16].replace("T", " "),
            odds["middle"][:16].replace("T", " "),
            f"{odds['late_minutes'] / 60:.1f} h",
        )
    console = Console()
    console.print(table)
    console.print(
        Text(
            f"{answer.replays:,} replays, seed {answer.seed}: every order on time in {answer.all_on_time:.1%}; weighted late "
            f"minutes {answer.weighted_late_minutes:,.0f} expected, {answer.planned_late_minutes:,.0f} on paper."
        )
    )
    table = _table("a buffer of", "saves, weighted late min", "±", "on-time odds")
    for buffer in answer.buffers:
        table.add_row(buffer.what, f"{buffer.saved:,.0f}", f"{buffer.error:,.0f}", f"{buffer.on_time:+.2%}")
    console.print(table)
    table = _table("makes late", "share")
    for share in answer.shares[:10]:
        table.add_row(share.machine, f"{share.share:.1%}")
    console.print(table)
    for wait in answer.waits[:10]:
        console.print(Text(f"{wait.job} {wait.step}: reached too late in {wait.share:.1%} of the replays."))


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
        typer.echo(json.dumps([_fault_json(fault) for fault in faults], ensure_ascii=False, indent=1))
    elif faults:
        _print_faults(faults)
    else:
        typer.echo(f"{file}: no faults. Plan it with: naptuft plan {file} --out plan")
    if faults:
        raise typer.Exit(1)


@work_app.command("list")
def list_calculations(as_json: AsJson = False) -> None:
    """List the engineering calculations."""
    from naptuft.services import CALCULATIONS

    if as_json:
        rows = [{"name": c.name, "title": c.title, "line": c.line, "about": c.about} for c in CALCULATIONS.values()]
        typer.echo(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    from rich.console import Console

    table = _table("calculation", "line", "what it answers")
    for calculation in CALCULATIONS.values():
        table.add_row(calculation.name, calculation.line, f"{calculation.title}. {calculation.about}")
    Console().print(table)


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
        _print_inputs(calculation)
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
    _print_result(calculation.title, result)
    if second is not None:
        _print_beside(result, second)
    if sensitivity:
        _print_matters(calculation, given, result)


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


def _print_inputs(declared: Calculation | DesignSheet) -> None:
    from rich.console import Console

    table = _table("input", "allowed", "when left out", "what it is", "example")
    for field in declared.fields:
        left_out = "must be given" if field.required else "derived" if field.default is None else _default_words(field)
        table.add_row(field.name, field.allowed, left_out, field.help, field.example)
    Console().print(table)


def _default_words(field) -> str:
    from naptuft.calculation import write_value
    from naptuft.quantity import unit_sign

    return f"{write_value(field, field.default)} {unit_sign(field.unit)}".rstrip()


def _print_result(title: str, result: Result) -> None:
    from rich.console import Console
    from rich.text import Text

    from naptuft.quantity import show

    console = Console()
    console.print(Text(title, style="bold"))
    table = _table("figure", "value")
    table.columns[1].justify = "right"
    for value in result.values:
        table.add_row(value.label, str(value))
    console.print(table)
    if result.checks:
        table = _table("check", "value", "limit", "margin", "", "mend")
        for check in result.ordered_checks():
            table.add_row(
                check.label,
                show(check.value, check.unit),
                f"{check.sense} {show(check.limit, check.unit)}",
                f"{check.margin:.0%}",
                "kept" if check.passed else "FAILS",
                "" if check.passed else check.mend,
            )
        console.print(table)
    if result.steps:
        table = _table("because", "formula", "value", "source")
        for step in result.steps:
            table.add_row(step.label, step.formula, show(step.value, step.unit), step.source)
        console.print(table)
    for remark in result.remarks:
        console.print(Text(f"Note: {remark}"))
    if result.defaults:
        console.print(Text("Taken as usual, not given: " + ", ".join(result.defaults)))
    for caution in result.cautions:
        console.print(Text(f"Caution: {caution}"))


def _print_beside(first: Result, second: Result) -> None:
    from rich.console import Console

    from naptuft.design_sheet import compare
    from naptuft.quantity import show

    table = _table("side by side", "first", "second", "difference")
    for column in table.columns[1:]:
        column.justify = "right"
    for row in compare(first, second):
        figures = ("–" if value is None else show(value, row.unit) for value in (row.first, row.second))
        table.add_row(row.label, *figures, "–" if row.difference is None else f"{row.difference:+.1%}")
    limits = [result.limiting for result in (first, second)]
    table.add_row("closest limit", *(f"{c.label} {c.margin:+.0%}" if c else "–" for c in limits), "")
    Console().print(table)


def _print_matters(declared: Calculation | DesignSheet, given: dict[str, object], result: Result) -> None:
    from rich.console import Console

    from naptuft.services import what_matters

    inputs = {field.name: field.label for field in declared.fields}
    figures = {value.name: value.label for value in result.values}
    table = _table("what follows what", "one per cent more of", "changes it by")
    table.columns[2].justify = "right"
    for each in what_matters(declared, given)[:40]:
        table.add_row(figures[each.figure], inputs[each.input], f"{each.per_cent:+.2f} %")
    Console().print(table)


@schema_app.command("plan")
def schema_plan() -> None:
    """Print the JSON Schema of plan.json."""
    from naptuft.services import plan_schema

    typer.echo(json.dumps(plan_schema(), ensure_ascii=False, indent=1))


def _table(*heads: str):
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for head in heads:
        table.add_column(head, overflow="fold")
    return table


def _fault_json(fault: Fault) -> dict[str, str]:
    return {"place": fault.place, "value": str(fault.value), "allowed": fault.allowed, "mend": fault.mend}


def _print_faults(faults: tuple[Fault, ...]) -> None:
    from rich.console import Console
    from rich.text import Text

    console = Console(stderr=True)
    table = _table("where", "found", "allowed", "mend")
    for fault in faults[:200]:
        found = fault.value if isinstance(fault.value, str) else repr(fault.value)
        table.add_row(*(Text(part) for part in (fault.place, found[:80], fault.allowed, fault.mend)))
    console.print(table)
    more = ", the first 200 shown" if len(faults) > 200 else ""
    console.print(Text(f"{len(faults)} fault{'s' if len(faults) != 1 else ''}{more}."))
