"""Options that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

Seed = Annotated[int, typer.Option(help="Repeats the same choices.", min=0)]
Seconds = Annotated[
    float | None, typer.Option(help="Time for the schedule's search; the plan may then not repeat.", min=0.1, max=86400)
]
Effort = Annotated[
    int | None, typer.Option(help="Candidate plans to try: same book, seed and effort, same plan.", min=1)
]
Expected = Annotated[
    bool,
    typer.Option(
        "--expected", help="Fewest late minutes expected under the book's spreads, not on paper; takes longer."
    ),
]
Beside = Annotated[
    list[str] | None,
    typer.Option(help="key=value of a second design, the same but for this; repeat it. Both stand side by side."),
]
Matters = Annotated[bool, typer.Option("--sensitivity", help="Show which input each figure follows, strongest first.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON only.")]
