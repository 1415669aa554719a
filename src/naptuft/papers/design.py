"""A whole design on paper: its drawings to scale, its head figures, and every part with its reasons."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from naptuft.calculation import Result, write_value
from naptuft.design_sheet import Part, WholeDesign, design_as_json
from naptuft.papers.folder import put_files
from naptuft.papers.press import printed
from naptuft.papers.setting import check_words, figure_words, fitted
from naptuft.papers.traveller import warning
from naptuft.papers.wording import TITLE_LETTERS, shortened, unit_word
from naptuft.quantity import from_si, show_number

ROOM = (170.0, 95.0)
"""Width and height one drawing of a design may take. [mm of paper]"""


def design_paper(design: WholeDesign, plant: str = "") -> bytes:
    """A design as PDF: a sheet for the whole, then one for each part."""
    return printed("design", design_data(design, plant))


def design_data(design: WholeDesign, plant: str = "") -> dict[str, Any]:
    """Data of the design template."""
    whole = design.result
    drawn = design.views[: len(design.views) - _part_views(design)]
    return {
        "block": {
            "plant": shortened(plant or "of no plant's book", 32),
            "kind": "design",
            "second-name": "units",
            "second": "mm, g, min unless written",
        },
        "parts": [
            {
                **_head(design, design.sheet.title, ""),
                "about": design.sheet.about,
                "views": [_view(view.title, view.svg) for view in drawn],
                "chosen": _chosen(design),
                **_body(whole),
                "steps": [],
            },
            *(_part(design, part) for part in design.parts),
        ],
    }


def _part_views(design: WholeDesign) -> int:
    return sum(part.calculation.draw is not None for part in design.parts)


def _head(design: WholeDesign, title: str, calculation: str) -> dict[str, str]:
    return {
        "number": design.sheet.name,
        "title": shortened(title, TITLE_LETTERS),
        "name": title,
        "remark-name": "worked out by" if calculation else "verdict",
        "remark": calculation or ("every check passes" if design.result.passed else "some checks fail"),
    }


def _part(design: WholeDesign, part: Part) -> dict[str, Any]:
    svg = part.calculation.draw(part.record, part.result) if part.calculation.draw else ""
    return {
        **_head(design, part.heading, part.calculation.name),
        "about": part.calculation.about,
        "views": [_view("", svg)] if svg else [],
        "chosen": [],
        **_body(part.result),
        "steps": [
            {
                "label": step.label,
                "formula": step.formula,
                "value": show_number(from_si(step.value, step.unit)),
                "unit": unit_word(step.unit),
                "source": step.source,
            }
            for step in part.result.steps
        ],
    }


def _body(result: Result) -> dict[str, Any]:
    return {
        "figures": figure_words(result),
        "checks": [check_words(check) for check in result.ordered_checks()],
        "remarks": list(result.remarks),
        "caution": warning(result.cautions),
    }


def _view(title: str, svg: str) -> dict[str, Any]:
    width, words = fitted(svg, ROOM)
    return {"title": title, "drawing": svg, "width": width, "reduced": words}


def _chosen(design: WholeDesign) -> list[dict[str, str]]:
    """The top-level choice as it was read, and which of it was taken as usual."""
    rows = []
    for field in design.sheet.fields:
        written = write_value(field, getattr(design.record, field.name))
        left_out = field.name in design.defaults
        if written is None or written == "":
            written = "derived" if left_out else "none"
            unit = ""
        else:
            unit = unit_word(field.unit) if field.kind in ("quantity", "whole") else ""
        label = f"{field.label}, as usual" if left_out and written != "derived" else field.label
        rows.append({"label": label, "value": str(written), "unit": unit})
    return rows


def write_design(design: WholeDesign, folder: Path, plant: str = "") -> tuple[Path, ...]:
    """Write design.json, design.pdf and each drawing into a folder; all of them or none.

    Raises FileError when the folder cannot be written.
    """
    made = {
        "design.json": json.dumps(design_as_json(design), ensure_ascii=False, indent=1).encode(),
        "design.pdf": design_paper(design, plant),
        **{f"{_file_name(view.title)}.svg": view.svg.encode() for view in design.views},
    }
    return put_files(folder, made, tuple(made))


def _file_name(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")
