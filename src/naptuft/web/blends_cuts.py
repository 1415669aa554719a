"""Sheet 4, blends and cuts: what is mixed of which lots, and how tubes and coils are cut, to scale."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from nicegui import ui

from naptuft.book.model import Book
from naptuft.drawing import Drawing
from naptuft.papers.blending import blend_part
from naptuft.papers.cutting import cut_part
from naptuft.planning.plan import Plan, PlannedBlend, PlannedCutList
from naptuft.quantity import show_number
from naptuft.web.desk import Desk
from naptuft.web.frame import Keys, markup, named, not_planned, press, sheet
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import THIN, money_words

KEYS: Keys = (("/", "find in the table"), ("Enter", "open the blend or cut list"))
COLUMNS = (
    Column("number", "work order", width=90),
    Column("kind", "what", width=80),
    Column("name", "of", width=220),
    Column("takes", "takes", "number", 100),
    Column("used", "used", "number", 70),
    Column("proof", "proof", "state", 170),
)


def register(desk: Desk) -> None:
    """Add the page of blends and cut lists."""

    @ui.page("/blends")
    def blends_page(of: str = "") -> None:
        if desk.plan is None or desk.book is None:
            not_planned(desk, 4)
            return
        _draw(desk, desk.book, desk.plan, of)


def _draw(desk: Desk, book: Book, plan: Plan, first: str) -> None:
    found: dict[str, PlannedBlend | PlannedCutList] = {f"blend {blend.work_order}": blend for blend in plan.blends}
    found |= {f"{cut.kind} {cut.work_order} {cut.lot}".rstrip(): cut for cut in plan.cut_lists}
    first = next((key for key in found if key.split()[1] == first), first)
    with (
        sheet(desk, 4, scale="on the drawing", keys=KEYS, whole=True),
        ui.element("div").classes("ledger-sheet") as frame,
    ):

        def pick(key: str) -> None:
            detail.clear()
            frame.classes(add="open" if key in found else "", remove="" if key in found else "open")
            if key not in found:
                return
            with detail:
                press("close", "close-detail", lambda _: pick(""), kind="word-press close")
                each = found[key]
                words = _blend(book, plan, each) if isinstance(each, PlannedBlend) else _cut(book, plan, each)
                named(markup(words), "detail")

        with ui.element("div").classes("ledger-side"):
            named(
                Ledger(
                    "Blends and cut lists",
                    COLUMNS,
                    [(key, _cells(book, each)) for key, each in found.items()],
                    file_name="blends-and-cuts",
                    empty="the plan mixes nothing and cuts nothing",
                    on_open=pick,
                ),
                "blends-and-cuts",
            )
        detail = ui.element("aside").classes("ledger-detail")
        detail.props["aria-label"] = "blend or cut list"
        if first:
            pick(first)


def _cells(book: Book, each: PlannedBlend | PlannedCutList) -> tuple[Cell | str, ...]:
    proof = Cell("proven the least", state="right") if each.proven_optimal else Cell("not proven", state="late")
    if isinstance(each, PlannedBlend):
        taken = sum(line.grams for line in each.lots)
        name = book.product[each.product].name
        takes = Cell(show_number(taken / 1000), taken / 1000, "kg")
        share = each.wanted_grams / taken if taken else 0.0
        return each.work_order, "blend", name, takes, _share(share), proof
    name = book.item[each.material].name
    takes = Cell(f"{each.rolls:,}", each.rolls, "tubes" if each.kind == "tube" else "coils")
    return (
        each.work_order,
        "tube cut list" if each.kind == "tube" else "coil",
        name,
        takes,
        _share(each.yield_share),
        proof,
    )


def _share(share: float) -> Cell:
    return Cell(f"{100 * share:.1f}", share, "%")


def profile_svg(part: Mapping[str, Any]) -> str:
    """Length classes of a blend: the shares allowed as a shaded band, the share got as a bar, as SVG."""
    left, wide, row = 64.0, 300.0, 30.0
    top = part["top"]
    body = []
    for place, bar in enumerate(part["bars"]):
        y = 8 + place * row
        low, high, got = (left + wide * bar[name] / top for name in ("low", "high", "got"))
        state = "" if bar["kept"] else " wrong"
        body.append(
            f'<rect class="allowed" x="{low:.1f}" y="{y}" width="{max(high - low, 1):.1f}" height="20">'
            f"<title>asked {bar['asked-words']} %, {100 * bar['low']:.1f} to {100 * bar['high']:.1f} % allowed</title></rect>"
            f'<path class="got{state}" d="M{left} {y + 10}H{got:.1f}M{got:.1f} {y}v20"/>'
            f'<text x="{left - 8}" y="{y + 15}" text-anchor="end">{bar["length"]} mm</text>'
            f'<text x="{max(got, high) + 8:.1f}" y="{y + 15}">{bar["got-words"]} %</text>'
        )
    high = 8 + row * len(part["bars"])
    ticks = "".join(
        f'<path class="tick" d="M{left + wide * k / 4:.1f} 4V{high:.0f}"/>'
        f'<text class="foot-words" x="{left + wide * k / 4:.1f}" y="{high + 14:.0f}" text-anchor="middle">'
        f"{100 * top * k / 4:g} %</text>"
        for k in range(5)
    )
    return (
        f'<svg class="profile" viewBox="0 0 {left + wide + 70:g} {high + 20:g}" role="img" '
        f'aria-label="length profile of the blend">{ticks}{"".join(body)}</svg>'
    )


def _blend(book: Book, plan: Plan, blend: PlannedBlend) -> str:
    part = blend_part(book, plan, blend)
    rows = "".join(
        f'<tr><td>{escape(lot["lot"])}<br><span class="aside">{escape(lot["name"])}, {escape(lot["from"])}</span></td>'
        f'<td class="number">{lot["grams"]}{THIN}<span class="unit">g</span></td><td class="number">{lot["share"]}</td></tr>'
        for lot in part["lots"]
    )
    return (
        f"<h2>{escape(part['name'])}</h2><p>{_links(blend.work_order)} blend of {len(blend.lots)} lots, "
        f"{money_words(blend.cost)} {escape(plan.currency)}</p>"
        f'<figure class="drawn">{profile_svg(part)}<figcaption>share of each length by weight; shaded: what is '
        "allowed</figcaption></figure>"
        f'<h3>Weigh out, moist</h3><table class="figures parts"><tbody>{rows}</tbody></table>'
        f"<p>{escape(part['balance'])}. {escape(part['proof'])}</p>{_caution(part['caution'])}"
    )


def patterns_drawing(found: PlannedCutList, part: Mapping[str, Any]) -> str:
    """Each pattern of a cut list as a bar to scale, as SVG."""
    drawing = Drawing(f"cut list of {part['name']}")
    length = part["length"]
    high, step = length / 24, length / 24 + length / 16
    for place, pattern in enumerate(part["patterns"]):
        y = place * step
        drawing.rectangle(0, y, length, high, "outline", hint=f"stock piece, {length:g} mm")
        for piece in pattern["pieces"]:
            wide = piece["to"] - piece["from"]
            words = f"{piece['mark']}: {piece['size']} mm"
            drawing.rectangle(piece["from"], y, wide, high, "detail", hatch="diagonal", hint=words)
            drawing.text(((piece["from"] + piece["to"]) / 2, y - length / 150), piece["size"], size=2.8)
        spare = pattern["offcut-to"] - pattern["offcut-from"]
        if spare > 0:
            words = f"offcut, {pattern['offcut']} mm"
            drawing.rectangle(pattern["offcut-from"], y, spare, high, "hatch", hatch="dots", hint=words)
        drawing.text((length * 1.02, y + high * 0.75), f"× {pattern['count']}", anchor="start")
    drawing.dimension(
        (0, (len(part["patterns"]) - 1) * step + high), (length, (len(part["patterns"]) - 1) * step + high),
        f"{found.stock_length_mm:,.0f} mm", offset=9,
    )  # fmt: skip
    return drawing.svg()


def _cut(book: Book, plan: Plan, found: PlannedCutList) -> str:
    part = cut_part(book, plan, found)
    rows = "".join(
        f"<tr><td>{escape(piece['mark'])}</td><td>{escape(piece['name'])}<br><span class='aside'>{_links(piece['work-order'])}"
        f"</span></td><td class='number'>{piece['length']}{THIN}<span class='unit'>mm</span></td>"
        f"<td class='number'>{piece['count']}</td></tr>"
        for piece in part["pieces"]
    )
    facts = "".join(
        f"<dt>{escape(fact['name'])}</dt><dd>{escape(fact['value'])} {escape(fact['unit'])}</dd>"
        for fact in part["facts"]
    )
    return (
        f"<h2>{escape(part['name'])}</h2><p>{_links(found.work_order)} {'cut list' if found.kind == 'tube' else 'coil'}</p>"
        f'<figure class="drawn">{patterns_drawing(found, part)}<figcaption>{escape(part["legend"])}</figcaption></figure>'
        f'<dl class="facts">{facts}</dl>'
        '<h3>Pieces</h3><table class="figures parts"><thead><tr><th></th><th>for</th><th class="number">length</th>'
        f'<th class="number">pieces</th></tr></thead><tbody>{rows}</tbody></table>'
        f"<p>{escape(part['proof'])} {escape(part['balance'])}</p>{_caution(part['caution'])}"
    )


def _links(number: str) -> str:
    if not number.startswith("W-"):
        return escape(number)
    return f'<a href="/board?work_order={escape(number)}">{escape(number)}</a>'


def _caution(words: str) -> str:
    return f'<div class="caution" role="note"><b>Caution</b> <span>{escape(words)}</span></div>' if words else ""
