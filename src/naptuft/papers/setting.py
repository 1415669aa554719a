"""What a setting sheet says: the drawing of a product to scale, its figures, and how far inside its limits it is."""

from __future__ import annotations

import math
import re
from typing import Any

from naptuft.book.designs import DESIGN_OF
from naptuft.book.model import Book
from naptuft.calculation import Calculation, Check
from naptuft.papers.traveller import block, figure_words, warning
from naptuft.papers.wording import TITLE_LETTERS, shortened, unit_word
from naptuft.planning.plan import DesignOutcome, Plan
from naptuft.quantity import from_si, show_number

ROOM = (170.0, 215.0)
"""Width and height a drawing may take on its sheet. [mm of paper]"""

_SIZE = re.compile(r'viewBox="0 0 (?P<width>[0-9.]+) (?P<height>[0-9.]+)"')


def settings(book: Book, plan: Plan) -> dict[str, Any]:
    """Data of the setting sheet template: one part for each product with a design that the plan makes."""
    made = {order.product for order in plan.work_orders if order.stage == "make"}
    return {
        "block": block(plan, "setting sheet"),
        "parts": [_part(book, design) for design in plan.designs if design.product in made],
    }


def drawing(book: Book, design: DesignOutcome) -> str:
    """The picture of a product as SVG, to scale; empty where its design draws none."""
    calculation = DESIGN_OF.get(design.product_line)
    if not isinstance(calculation, Calculation) or calculation.draw is None or design.product not in book.designs:
        return ""
    return calculation.draw(book.designs[design.product], design.result)


def _part(book: Book, design: DesignOutcome) -> dict[str, Any]:
    svg = drawing(book, design)
    width, reduced = fitted(svg, ROOM)
    return {
        "number": design.product,
        "title": shortened(design.product_name, TITLE_LETTERS),
        "name": design.product_name,
        "remark-name": "worked out by",
        "remark": design.calculation,
        "drawing": svg,
        "width": width,
        "reduced": reduced,
        "figures": figure_words(design.result),
        "checks": [check_words(check) for check in design.result.ordered_checks()],
        "remarks": list(design.result.remarks),
        "caution": warning(design.result.cautions),
    }


def fitted(svg: str, room: tuple[float, float]) -> tuple[float, str]:
    """Width a drawing takes on paper where so much room is [mm], and what to say when it had to be reduced.

    >>> fitted('<svg viewBox="0 0 340 100">', (170.0, 200.0))
    (170.0, 'Drawing reduced to 50 %: read sizes from the dimensions or the scale bar.')
    """
    size = _SIZE.search(svg)
    if size is None:
        return 0.0, ""
    width, height = float(size["width"]), float(size["height"])
    reduced = min(1.0, room[0] / width, room[1] / height)
    words = f"Drawing reduced to {100 * reduced:.0f} %: read sizes from the dimensions or the scale bar."
    return width * reduced, words if reduced < 0.999 else ""


def check_words(check: Check) -> dict[str, Any]:
    """One check with its gauge: a scale from 0 to twice the limit, the notch where the value stands."""
    unit = unit_word(check.unit)
    place = check.value / (2 * check.limit) if check.limit else 0.5 + math.copysign(0.25, check.value)
    return {
        "label": check.label,
        "words": f"{show_number(from_si(check.value, check.unit))} {unit}".rstrip(),
        "limit": f"{check.sense} {show_number(from_si(check.limit, check.unit))} {unit}".rstrip(),
        "margin": _margin(check),
        "notch": min(1.0, max(0.0, place)) if math.isfinite(place) else 1.0,
        "above": check.sense == "at least",
        "kept": check.passed,
        "mend": "" if check.passed else check.mend,
    }


def _margin(check: Check) -> str:
    if not check.passed:
        return "not kept"
    return "amply kept" if check.margin > 10 else f"{100 * check.margin:.0f} % to spare"
