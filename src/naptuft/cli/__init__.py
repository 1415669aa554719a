"""The command line: thin commands over `services`. Heavy imports happen inside the commands."""

from naptuft.cli import plans, designs, floor, ahead, engines  # noqa: I001  the order in which help lists the commands
from naptuft.cli.root import app, run

__all__ = ["ahead", "app", "designs", "engines", "floor", "plans", "run"]
