"""Commands for a plan on the floor: change it, promise from it, relieve it, replay it."""

from __future__ import annotations

import dataclasses
import datetime
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from naptuft.cli.options import AsJson, Seed
from naptuft.cli.printing import table
from naptuft.cli.root import app
from naptuft.errors import DesignError, Fault

if TYPE_CHECKING:
    from naptuft.planning.replan import Replanned


@app.command()
def replan(
    book: Annotated[Path, typer.Argument(help="The book the plan was made from.")],
    plan: Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")],
    happened: Annotated[Path, typer.Argument(help="What happened: CSV or JSON, a row each.")],
    at: Annotated[str, typer.Option(help="Time of replanning, by the plant's clock: 2026-12-01 10:30")],
    out: Annotated[Path, typer.Option(help="Folder for the changed plan, its papers and the changed book.")],
    seconds: Annotated[float, typer.Option(help="Time to look for better than the repair.", min=0.1, max=3600)] = 1.0,
    seed: Seed = 1,
    most_moved: Annotated[
        str, typer.Option(help="Share of the operations ahead that may move, where such a plan is found.")
    ] = "10 %",
    as_json: AsJson = False,
) -> None:
    """Change a plan by what happened: started work stays, nothing moves that need not. Lists what changed."""
    from rich.console import Console
    from rich.text import Text

    from naptuft.services import change_plan, read_book, read_happened, read_plan, share_moved, write_book, write_plan

    answer = change_plan(
        read_book(book), read_plan(plan), _moment(at), read_happened(happened), seconds=seconds, seed=seed,
        most_moved=share_moved(most_moved),
    )  # fmt: skip
    written = write_plan(answer.plan, answer.book, out)
    write_book(answer.book, out / "book.xlsx")
    if as_json:
        told = [dataclasses.asdict(change) for change in answer.changes]
        freer = None if answer.freer is None else _weighed(answer.freer)
        figures = {**_weighed(answer), "ahead": answer.ahead, "may_move": answer.most, "beyond": answer.beyond}
        typer.echo(json.dumps({**figures, "freer": freer, "changes": told}, ensure_ascii=False, indent=1))
        return
    made = table("changed", "what", "before", "now", "why")
    for change in answer.changes:
        made.add_row(*(Text(words) for words in (change.kind, change.place, change.before, change.after, change.why)))
    console = Console()
    console.print(made)
    console.print(Text(f"{answer.moved} of {answer.ahead} operations ahead moved. {_checked(len(answer.plan.checks))}"))
    if answer.beyond:
        console.print(Text(f"More moved than were to: {answer.beyond}."))
    if answer.freer is not None:
        made = table("", "operations moved", "late, weighted min", "changeover, min")
        for name, one in (("this plan", answer), ("were all allowed to move", answer.freer)):
            quality = one.plan.quality
            late, changeover = f"{quality.weighted_late_minutes:,.0f}", f"{quality.changeover_minutes:,}"
            made.add_row(name, f"{one.moved} of {one.ahead}", late, changeover)
        console.print(made)
        console.print(Text("The other one: --most-moved '100 %'."))
    console.print(Text(f"Wrote {len(written)} files and book.xlsx in {out}."))


def _weighed(answer: Replanned) -> dict[str, float]:
    quality = answer.plan.quality
    return {
        "moved": answer.moved,
        "late_minutes_weighted": quality.weighted_late_minutes,
        "changeover_minutes": quality.changeover_minutes,
    }


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

    read = read_book(book)
    answers = reliefs(read, read_plan(plan))
    if as_json:
        told = [dataclasses.asdict(answer) for answer in answers]
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1, default=str))
        return
    console = Console()
    if not answers:
        console.print("No order is late.")
    for answer in answers:
        console.print(Text(f"{answer.order}: late {answer.late_minutes / 60:.1f} h", style="bold"))
        made = table("the chain, last first", "machine", "waited", "because")
        for link in answer.chain:
            if link.waited:
                made.add_row(
                    f"{link.work_order} {link.operation}", link.machine, f"{link.waited / 60:.1f} h", link.reason
                )
        console.print(made)
        made = table("relief tried", "then late", "others, weighted late min", "extra cost")
        for tried in answer.tried[:8]:
            cost = "ask" if tried.cost is None else f"{tried.cost:,.2f} {read.settings.currency}"
            late = "on time" if tried.enough else f"{tried.late_minutes / 60:.1f} h"
            made.add_row(tried.words, late, f"{tried.others:+,.0f}", cost)
        console.print(made)


@app.command()
def risk(
    book: Annotated[Path, typer.Argument(help="The book the plan was made from; its spreads are replayed.")],
    plan: Annotated[Path, typer.Argument(help="Folder of the plan, or its plan.json.")],
    replays: Annotated[int, typer.Option(help="How many times the plan is replayed.", min=10, max=10_000_000)] = 2000,
    odds: Annotated[
        float, typer.Option(help="Share of the replays by which the bands end, as 0.95", min=0.5, max=0.999)
    ] = 0.9,
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
    answer = assess_risk(read_book(book), made, replays=replays, seed=seed, threads=threads, cluster=cluster, odds=odds)
    told = risk_as_json(made, answer)
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    made = table("order", "due", "on time", "±", f"{100 * answer.band:g} % by", "half by", "mean late")
    for each in sorted(told["odds"], key=lambda one: one["on_time"]):
        made.add_row(
            each["name"],
            each["due"][:16].replace("T", " "),
            f"{each['on_time']:.1%}",
            f"{each['error']:.1%}",
            each["late"][:16].replace("T", " "),
            each["middle"][:16].replace("T", " "),
            f"{each['late_minutes'] / 60:.1f} h",
        )
    console = Console()
    console.print(made)
    console.print(
        Text(
            f"{answer.replays:,} replays, seed {answer.seed}: every order on time in {answer.all_on_time:.1%}; weighted late "
            f"minutes {answer.weighted_late_minutes:,.0f} expected, {answer.planned_late_minutes:,.0f} on paper."
        )
    )
    made = table("a buffer of", "saves, weighted late min", "±", "on-time odds")
    for buffer in answer.buffers:
        made.add_row(buffer.what, f"{buffer.saved:,.0f}", f"{buffer.error:,.0f}", f"{buffer.on_time:+.2%}")
    console.print(made)
    made = table("makes late", "share")
    for share in answer.shares[:10]:
        made.add_row(share.machine, f"{share.share:.1%}")
    console.print(made)
    for wait in answer.waits[:10]:
        console.print(Text(f"{wait.job} {wait.step}: reached too late in {wait.share:.1%} of the replays."))
