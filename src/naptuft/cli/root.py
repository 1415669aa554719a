"""The command line's root: groups, version, and faults as lines."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from naptuft import __version__
from naptuft.cli.printing import print_faults
from naptuft.errors import NaptuftError

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


def run() -> None:
    """Run the command line; faults become lines on standard error and exit code 1."""
    try:
        app()
    except NaptuftError as error:
        print_faults(error.faults)
        sys.exit(1)


@app.callback(invoke_without_command=True)
def start(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    """Engineering, planning and papers for a plant that makes painting tools."""
    if version:
        typer.echo(f"naptuft {__version__}")
        raise typer.Exit
