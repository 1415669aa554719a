"""A calculation's result as markup: drawing, margin gauges, figures, because, cautions, remarks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from math import floor, log10

from naptuft.calculation import Caution, Check, Field, Result, write_value
from naptuft.design_sheet import Sensitivity, View, WholeDesign, compare
from naptuft.quantity import from_si, show, unit_sign
from naptuft.web.marks import THIN, mark, number_html

GAUGE_WIDTH = 280.0
_EDGE = 10.0


def figures_html(result: Result) -> str:
    """The figures as a ruled list, numbers to the right, units in pale ink."""
    rows = "".join(
        f'<tr data-figure="{escape(value.name)}"><th scope="row">{escape(value.label)}</th>'
        f'<td class="number">{number_html(from_si(value.value, value.unit), value.unit)}</td></tr>'
        for value in result.values
    )
    return f'<table class="figures"><tbody>{rows}</tbody></table>'


def gauges_html(result: Result) -> str:
    """A margin gauge for each check, the limiting one first."""
    if not result.checks:
        return '<p class="aside">Nothing is checked here: the figures stand without a limit.</p>'
    gauges = []
    for place, check in enumerate(result.ordered_checks()):
        words = f"margin {check.margin * 100:.0f}{THIN}%" if check.passed else _failure(check)
        state = "right" if check.passed else "wrong"
        source = f'<span class="aside">{escape(check.source)}</span>' if check.source else ""
        gauges.append(
            f'<li class="gauge {state}{" limiting" if place == 0 else ""}">{gauge_svg(check)}'
            f'<div><b>{escape(check.label)}</b> <span class="{state}">{mark(state)}{words}</span>{source}</div></li>'
        )
    hatch = (
        '<svg width="0" height="0" style="position:absolute" aria-hidden="true"><pattern id="forbidden" width="4" height="4" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="rule-out" d="M0 0V4"/></pattern></svg>'
    )
    return f'{hatch}<ol class="gauges">{"".join(gauges)}</ol>'


def _compared(check: Check) -> str:
    return f"{show(check.value, check.unit)}, {check.sense} {show(check.limit, check.unit)}"


def _failure(check: Check) -> str:
    mend = f". {escape(check.mend)}" if check.mend else ""
    return f"fails by {-check.margin * 100:.0f}{THIN}%{mend}"


def gauge_svg(check: Check) -> str:
    """A short ruled scale with the limit marked, the forbidden side hatched and the value as a notch."""
    value, limit = from_si(check.value, check.unit), from_si(check.limit, check.unit)
    low, high = _scale(value, limit)
    width = GAUGE_WIDTH - 2 * _EDGE

    def at(figure: float) -> float:
        return _EDGE + width * (min(max(figure, low), high) - low) / (high - low)

    step = _step(high - low)
    ticks = "".join(
        f'<path class="tick" d="M{at(count * step):.1f} 25v{-6 if count % 5 == 0 else -3}"/>'
        for count in range(round(low / step), round(high / step) + 1)
        if low - 1e-9 <= count * step <= high + 1e-9
    )
    edge = at(limit)
    if check.sense == "at most":
        start, span = edge, GAUGE_WIDTH - _EDGE - edge
    else:
        start, span = _EDGE, edge - _EDGE
    forbidden = f'<rect class="forbidden" x="{start:.1f}" y="18" width="{max(span, 0):.1f}" height="7"/>'
    beyond = "→" if value > high else "←" if value < low else ""
    x = at(value)
    anchor = "start" if x < 60 else "end" if x > GAUGE_WIDTH - 60 else "middle"
    limit_anchor = "start" if edge < 40 else "end" if edge > GAUGE_WIDTH - 40 else "middle"
    words = escape(f"{show(check.value, check.unit, 3)} {beyond}".strip())
    return (
        f'<svg class="gauge-scale" viewBox="0 0 {GAUGE_WIDTH:g} 44" width="{GAUGE_WIDTH:g}" height="44" '
        f'role="img" aria-label="{escape(check.label)}: {escape(_compared(check))}">'
        f'{forbidden}<path class="rule" d="M{_EDGE} 25H{GAUGE_WIDTH - _EDGE}"/>{ticks}'
        f'<path class="limit" d="M{edge:.1f} 15v15"/>'
        f'<text class="limit-words" x="{edge:.1f}" y="41" text-anchor="{limit_anchor}">'
        f"{'at most' if check.sense == 'at most' else 'at least'} {escape(show(check.limit, check.unit, 3))}</text>"
        f'<path class="notch" d="M{x:.1f} 25l-5.5-9h11z"/>'
        f'<text class="value-words" x="{x:.1f}" y="12" text-anchor="{anchor}">{words}</text></svg>'
    )


def _scale(value: float, limit: float) -> tuple[float, float]:
    """Ends of a gauge's scale: zero where it can be seen, both figures inside unless one dwarfs the other."""
    low, high = min(value, limit, 0.0), max(value, limit, 0.0)
    if limit > 0 and value > 2.6 * limit:
        high = 2.2 * limit
    if limit < 0 and value < 2.6 * limit:
        low = 2.2 * limit
    close = abs(value - limit)
    if low == 0 and close < 0.08 * high and close > 0:
        low = max(0.0, min(value, limit) - 6 * close)
    room = (high - low) * 0.18 or 1.0
    return (low - room if low < 0 else low), high + room


def _step(span: float) -> float:
    """A round step that gives between ten and thirty ticks."""
    power = 10 ** floor(log10(span / 10))
    return max(factor * power for factor in (1, 2, 5) if factor * power <= span / 10)


def because_html(result: Result) -> str:
    """The reasoning: what, by which formula, from which source, with its value."""
    if not result.steps:
        return ""
    rows = "".join(
        f'<tr><th scope="row">{escape(step.label)}</th><td class="formula">{escape(step.formula)}</td>'
        f'<td class="number">{number_html(from_si(step.value, step.unit), step.unit)}</td>'
        f'<td class="source">{escape(step.source)}</td></tr>'
        for step in result.steps
    )
    return (
        '<table class="because"><thead><tr><th scope="col">what</th><th scope="col">formula</th>'
        f'<th scope="col" class="number">value</th><th scope="col">source</th></tr></thead><tbody>{rows}</tbody></table>'
    )


def cautions_html(cautions: Iterable[Caution]) -> str:
    """Each caution in a box with a heavy left rule."""
    return "".join(
        f'<div class="caution" role="note"><b>Caution</b> <span>{escape(str(caution))}</span></div>'
        for caution in cautions
    )


def remarks_html(result: Result, fields: Iterable[Field]) -> str:
    """Remarks, and the defaults that were used, so that nothing is assumed in silence."""
    items = [f"<li>{escape(remark)}</li>" for remark in result.remarks]
    by_name = {field.name: field for field in fields}
    used = [_default_words(by_name[name]) for name in result.defaults if name in by_name]
    if used:
        items.append(f'<li class="defaults"><b>Taken as usual:</b> {", ".join(used)}.</li>')
    return f'<ul class="remarks">{"".join(items)}</ul>' if items else ""


def _default_words(field: Field) -> str:
    if field.default is None:
        return f"{escape(field.label)} derived"
    written = write_value(field, field.default)
    shown = "none" if written in ("", None) else f"{written} {unit_sign(field.unit)}".rstrip()
    return f"{escape(field.label)} {escape(shown)}"


def result_html(result: Result, fields: Iterable[Field], views: Iterable[View] = ()) -> dict[str, str]:
    """All parts of a result's markup by name."""
    return {
        "drawing": "".join(
            f'<figure class="drawn">{view.svg}'
            + (f"<figcaption>{escape(view.title)}</figcaption>" if view.title else "")
            + "</figure>"
            for view in views
        ),
        "gauges": gauges_html(result),
        "figures": figures_html(result),
        "because": because_html(result),
        "cautions": cautions_html(result.cautions),
        "remarks": remarks_html(result, fields),
    }


def parts_html(design: WholeDesign) -> str:
    """Each part of a whole design, folded: its figures, reasons and what it took as usual."""
    folded = []
    for part in design.parts:
        state = "right" if part.result.passed else "wrong"
        words = "every check passes" if part.result.passed else "a check fails"
        folded.append(
            f'<details class="one-part" data-part="{escape(part.heading)}"><summary>{escape(part.heading)} '
            f'<span class="{state}">{mark(state)}{words}</span></summary>{figures_html(part.result)}'
            f"{because_html(part.result)}{remarks_html(part.result, part.calculation.fields)}</details>"
        )
    return "".join(folded)


def beside_html(first: Result, second: Result) -> str:
    """The figures held and the present ones side by side, with the difference."""
    rows = []
    for row in compare(first, second):
        cells = "".join(
            f'<td class="number">{"–" if value is None else number_html(from_si(value, row.unit), row.unit)}</td>'
            for value in (row.first, row.second)
        )
        difference = "–" if row.difference is None else f"{100 * row.difference:+.1f}{THIN}%"
        rows.append(
            f'<tr><th scope="row">{escape(row.label)}</th>{cells}<td class="number aside">{difference}</td></tr>'
        )
    limits = (
        "–" if check is None else f"{escape(check.label)} {100 * check.margin:+.0f}{THIN}%"
        for check in (first.limiting, second.limiting)
    )
    closest = "".join(f'<td class="number">{words}</td>' for words in limits)
    return (
        '<table class="because beside"><thead><tr><th scope="col">figure</th><th scope="col" class="number">held</th>'
        '<th scope="col" class="number">now</th><th scope="col" class="number">difference</th></tr></thead>'
        f'<tbody>{"".join(rows)}<tr><th scope="row">closest limit</th>{closest}<td></td></tr></tbody></table>'
    )


MOST_ROWS = 24


def matters_html(found: Sequence[Sensitivity], fields: Iterable[Field], result: Result) -> str:
    """Which input each figure follows, the strongest first."""
    inputs = {field.name: field.label for field in fields}
    figures = {value.name: value.label for value in result.values}
    if not found:
        return '<p class="aside">No figure here follows an input that may be moved a little.</p>'
    rows = "".join(
        f'<tr><th scope="row">{escape(figures[each.figure])}</th><td>{escape(inputs[each.input])}</td>'
        f'<td class="number">{each.per_cent:+.2f}{THIN}%</td></tr>'
        for each in found[:MOST_ROWS]
    )
    return (
        '<h2>What matters most</h2><table class="because"><thead><tr><th scope="col">this figure</th>'
        '<th scope="col">for one per cent more of</th><th scope="col" class="number">changes by</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )
