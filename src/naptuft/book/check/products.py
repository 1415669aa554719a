"""Products and what goes into each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from naptuft.book.check.designs import Outcome
from naptuft.book.check.facts import BLEND, BLENDED_KINDS, CUT_LIST, Facts, facts_of, fits, wrong_kind
from naptuft.book.check.references import names_meant
from naptuft.book.designs import DESIGN_OF
from naptuft.book.entry import Reading, Row
from naptuft.book.sheets import SETTINGS
from naptuft.boxing.code import valid_gtin
from naptuft.calculation import Calculation, Result, nearest
from naptuft.errors import Fault
from naptuft.quantity import kind_of, show

_SHOWN_LOOP = 12


def check_products(reading: Reading, outcomes: Mapping[str, Outcome]) -> Iterator[Fault]:
    """Everything wrong with products and their parts, beyond names that lead nowhere."""
    facts = facts_of(reading)
    if "Products" in reading.present and not reading["Products"]:
        yield Fault("Products", "no rows", "at least one product", "add what the plant makes")
    for row in reading["Products"]:
        yield from _product(row)
    yield from _codes_on_products(reading)
    yield from _unmade(reading)
    for row in reading["Parts"]:
        yield from _part(facts, row, outcomes)
    yield from _blends(reading, facts)
    yield from _tubes(reading, facts, outcomes)
    yield from _loops(reading)
    yield from _used_in_time(reading)


def _product(row: Row) -> Iterator[Fault]:
    unit = row.values.get("unit")
    least, most = row.values.get("least_batch"), row.values.get("most_batch")
    for column in ("least_batch", "most_batch"):
        yield from wrong_kind(row, column, unit)
        batch = row.values.get(column)
        if unit == "pcs" and batch is not None and not batch.unit and not float(batch.number).is_integer():
            yield Fault(row.place(column), str(batch), "a whole number of pieces", "write a whole number")
    if unit and least and most and fits(row, "least_batch", unit) and fits(row, "most_batch", unit):
        yield from _batch_sizes(row, least.si(unit), most.si(unit))


def _batch_sizes(row: Row, least: float, most: float) -> Iterator[Fault]:
    if least > most * (1 + 1e-9):
        allowed = f"not above the most in one batch, {row.values['most_batch']}"
        yield Fault(
            row.place("least_batch"), str(row.values["least_batch"]), allowed, "raise the most or lower the least"
        )


def _codes_on_products(reading: Reading) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for row in reading["Products"]:
        gtin = row.values.get("gtin")
        if not gtin:
            continue
        if not valid_gtin(gtin):
            allowed = "8, 12, 13 or 14 digits, the last one their check digit"
            yield Fault(row.place("gtin"), gtin, allowed, "copy it again, without spaces; or leave it empty")
        elif gtin in seen:
            yield Fault(
                row.place("gtin"), gtin, f"each GTIN once; row {seen[gtin]} has it already", "correct one of the two"
            )
        else:
            seen[gtin] = row.number


def _unmade(reading: Reading) -> Iterator[Fault]:
    """Products without parts or without a route."""
    for sheet, what in (("Parts", "what goes into it"), ("Routes", "the steps that make it")):
        if sheet not in reading.present:
            continue
        known = names_meant(reading, sheet, "product")
        for row in reading["Products"]:
            code = row.values.get("code")
            if code and code not in known:
                yield Fault(row.place("code"), code, f"a product with {what}", f"add {what} to the sheet {sheet}")


def _part(facts: Facts, row: Row, outcomes: Mapping[str, Outcome]) -> Iterator[Fault]:
    product, part = row.values.get("product", ""), row.values.get("part", "")
    yield from wrong_kind(row, "quantity", facts.units.get(part))
    if row.record is None:
        return
    figure = row.record.from_design
    if row.record.quantity is None and not figure:
        allowed = "a quantity, or the name of a design figure in the column from design"
        yield Fault(row.place("quantity"), "", allowed, "write one of the two")
    elif row.record.quantity is not None and figure:
        yield Fault(row.place("from_design"), figure, "empty where a quantity is written", "delete one of the two")
    elif figure == CUT_LIST:
        if facts.lines.get(product, "refill") != "refill" or facts.is_not(part, "stock tube"):
            allowed = "cut list only where the product is a refill and the part a stock tube"
            yield Fault(row.place("from_design"), figure, allowed, "write the quantity, or the name of a design figure")
    elif figure == BLEND:
        if facts.lines.get(product, "filling") != "filling" or facts.is_not(part, *BLENDED_KINDS):
            allowed = "blend only where the product is a filling and the part a bristle or filament"
            yield Fault(row.place("from_design"), figure, allowed, "write the quantity, or the name of a design figure")
    elif figure and product in facts.lines:
        wanted, outcome = facts.counted_as(part), outcomes.get(product)
        yield from lacking_figure(row, figure, facts.lines[product], outcome, wanted, (CUT_LIST, BLEND))


def _blends(reading: Reading, facts: Facts) -> Iterator[Fault]:
    """A filling that is blended, and what it is blended from, are counted by weight."""
    blended: dict[str, None] = {}
    for row in reading["Parts"]:
        if row.values.get("from_design") == BLEND:
            blended |= dict.fromkeys(name for column in ("product", "part") if (name := row.values.get(column)))
    for sheet in ("Products", "Materials"):
        for row in reading[sheet]:
            code = row.values.get("code")
            if code not in blended or facts.counted_as(code) in ("", "a mass"):
                continue
            if facts.kinds.get(code, "filling") in ("filling", *BLENDED_KINDS):
                yield Fault(
                    row.place("unit"), row.values["unit"], "g or kg, as it is blended by weight", "write g or kg"
                )


def lacking_figure(
    row: Row, figure: str, line: str, outcome: Outcome | None, wanted: str, others: tuple[str, ...] = ()
) -> Iterator[Fault]:
    """A fault where the design of the row's product has no such figure, or one of another kind."""
    if not isinstance(DESIGN_OF.get(line), Calculation):
        words = "".join(f", or {word}" for word in others)
        allowed = f"empty{words}, as no figures are worked out for the line {line}"
        yield Fault(row.place("from_design"), figure, allowed, "write the figure itself instead")
    elif outcome is not None and outcome.result is not None:
        kinds = {value.name: kind_of(value.unit) for value in outcome.result.values}
        if figure not in kinds:
            fitting = [name for name, kind in kinds.items() if kind == wanted or not wanted]
            near = nearest(figure, (*fitting, *others))
            allowed = "a figure of the design of the product" + (f" that is {wanted}" if wanted else "")
            yield Fault(row.place("from_design"), figure, allowed, near)
        elif wanted and kinds[figure] != wanted:
            mend = nearest("", [name for name, kind in kinds.items() if kind == wanted])
            yield Fault(
                row.place("from_design"), figure, f"a figure that is {wanted}; {figure} is {kinds[figure]}", mend
            )


def _tubes(reading: Reading, facts: Facts, outcomes: Mapping[str, Outcome]) -> Iterator[Fault]:
    """Refills cut from a stock tube: they must fit in it, and the tube must be cut somewhere."""
    trims = [row.values["end_trim"] for row in reading[SETTINGS] if "end_trim" in row.values]
    trim = trims[0] if trims else 0.0
    cut = {row.values.get("product") for row in reading["Routes"] if row.values.get("stage") == "cut"}
    told: set[str] = set()
    for row in reading["Parts"]:
        if row.values.get("from_design") != CUT_LIST:
            continue
        product, part = row.values.get("product", ""), row.values.get("part", "")
        refill, tube = _result(outcomes, product), _result(outcomes, part)
        if refill is not None and tube is not None and "length" in refill and "core_length" in tube:
            useful = tube["core_length"] - 2 * trim
            if refill["length"] > useful + 1e-9:
                allowed = f"a stock tube that holds a refill of {show(refill['length'], 'mm')}; {part} has {show(useful, 'mm')} to cut"
                yield Fault(row.place("part"), part, allowed, "choose a longer stock tube")
        if (
            part not in told
            and part not in cut
            and facts.lines.get(part) == "stock tube"
            and "Routes" in reading.present
        ):
            told.add(part)
            mend = f"add a step of the stage cut for {part} to the sheet Routes"
            yield Fault(row.place("part"), part, "a stock tube whose route has a step of the stage cut", mend)


def _result(outcomes: Mapping[str, Outcome], product: str) -> Result | None:
    outcome = outcomes.get(product)
    return outcome.result if outcome else None


def _used_in_time(reading: Reading) -> Iterator[Fault]:
    """At most one part of a product must be used within a time, and none that is cut to a joint list."""
    hurried = {row.values.get("code") for row in reading["Products"] if row.values.get("use_within") is not None}
    first: dict[str, Row] = {}
    for row in reading["Parts"]:
        product, part = row.values.get("product"), row.values.get("part")
        if part not in hurried or not product:
            continue
        if row.values.get("from_design") == CUT_LIST:
            allowed = "a stock tube that keeps: a joint cut list serves several work orders"
            yield Fault(row.place("part"), part, allowed, f"empty use within of {part} on the sheet Products")
        elif product in first:
            allowed = f"one part that must be used within a time; row {first[product].number} has one already"
            yield Fault(row.place("part"), part, allowed, "empty use within of one of the two on the sheet Products")
        else:
            first[product] = row


def _loops(reading: Reading) -> Iterator[Fault]:
    """Products that, through their parts, go into themselves: one fault a loop, with the chain."""
    made = {row.values.get("code") for row in reading["Products"]}
    below: dict[str, list[tuple[str, Row]]] = {}
    for row in reading["Parts"]:
        product, part = row.values.get("product"), row.values.get("part")
        if product in made and part in made and product and part:
            below.setdefault(product, []).append((part, row))
    done: set[str] = set()
    for first in below:
        chain = [first]
        stack = [iter(below[first])] if first not in done else []
        on_chain = {first}
        while stack:
            part, row = next(stack[-1], ("", None))
            if row is None:
                stack.pop()
                done.add(chain[-1])
                on_chain.discard(chain.pop())
            elif part in on_chain:
                loop = [*chain[chain.index(part) :], part]
                shown = loop if len(loop) <= _SHOWN_LOOP else [*loop[: _SHOWN_LOOP - 2], "…", loop[-1]]
                mend = "take one of these parts out of its product"
                yield Fault(row.place("part"), " > ".join(shown), "parts that do not lead back to their product", mend)
            elif part not in done and part in below:
                chain.append(part)
                on_chain.add(part)
                stack.append(iter(below[part]))
