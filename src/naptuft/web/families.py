"""How product lines look on the week board: an Okabe-Ito colour and a hatch each, never colour alone.

Colours: Okabe and Ito, Color Universal Design, 2008. Hatch by kind: brushes and their parts plain,
refills diagonal, frames dotted, trays crossed, boxed sets ruled upright, moulded parts ruled level.
"""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.web.marks import THIN


@dataclass(frozen=True)
class Look:
    """Colour and hatch of one product line."""

    colour: str
    hatch: str


LOOKS = {
    "brush": Look("#E69F00", "plain"),
    "filling": Look("#F0E442", "plain"),
    "ferrule": Look("#999999", "plain"),
    "handle": Look("#CC79A7", "plain"),
    "moulded part": Look("#CC79A7", "level"),
    "stock tube": Look("#56B4E9", "diagonal"),
    "refill": Look("#0072B2", "diagonal"),
    "frame": Look("#009E73", "dots"),
    "tray": Look("#D55E00", "cross"),
    "boxed set": Look("#F0E442", "upright"),
    "other": Look("#999999", "level"),
}

_PATTERNS = {
    "plain": "",
    "diagonal": '<path d="M-2 6L6-2M2 14L22-6M10 16L26 0M18 18L30 6" />',
    "dots": "".join(f'<circle cx="{x}" cy="{y}" r="1.1"/>' for x in (4, 10, 16, 22) for y in (4, 10)),
    "cross": '<path d="M-2 6L6-2M2 14L22-6M10 16L26 0M18 18L30 6M0 8L8 16M0-2L16 14M8-4L26 14M18-4L30 8"/>',
    "upright": '<path d="M5 0V14M10 0V14M15 0V14M20 0V14"/>',
    "level": '<path d="M0 4H26M0 8H26M0 12H26"/>',
}


def swatch(line: str) -> str:
    """A small sample of a line's colour and hatch, for the legend."""
    look = LOOKS.get(line, LOOKS["other"])
    return (
        f'<svg class="swatch" viewBox="0 0 26 14" aria-hidden="true" style="--hue: {look.colour}">'
        f'<rect class="ground" width="26" height="14"/><g class="hatching {look.hatch}">{_PATTERNS[look.hatch]}</g>'
        '<rect class="edge" x=".5" y=".5" width="25" height="13"/></svg>'
    )


def legend_html(lines: list[str]) -> str:
    """The legend of the week board: the lines planned, then what is common to all."""
    common = (
        ("changeover", '<rect width="26" height="14" fill="var(--ink)"/>'),
        ("waits", '<path d="M0 11H26M26 8v6" stroke="var(--ink)" stroke-width="1.2" fill="none"/>'),
        ("closed", '<rect width="26" height="14" class="closed-shade"/>'),
        (
            "late work order",
            '<path d="M26 0V9L17 0Z" fill="var(--accent)"/><path d="M0 13.5H26" stroke="var(--rule)"/>',
        ),
    )
    items = [f"<li>{swatch(line)}{THIN}{line}</li>" for line in lines]
    items += [
        f'<li><svg class="swatch" viewBox="0 0 26 14" aria-hidden="true">{shape}</svg>{THIN}{words}</li>'
        for words, shape in common
    ]
    return f'<ul class="legend">{"".join(items)}</ul>'
