"""Materials, lots and the length profiles of bristle."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from naptuft.book.check.facts import BLEND, facts_of, wrong_kind
from naptuft.book.entry import Reading, Row
from naptuft.book.model import Lot
from naptuft.errors import Fault

LEAST_HAIR, MOST_HAIR = 30e-6, 600e-6
WETTEST_HAIR = 0.26
"""Water in keratin at saturation as a share of its whole mass: regain about 33 to 35 % (Morton & Hearle, from memory)."""

SHARES_CLOSE = 0.005
"""How far the shares of a length profile may add up to more or less than the whole."""


def check_stock(reading: Reading) -> Iterator[Fault]:
    """Everything wrong with materials and lots, beyond names that lead nowhere."""
    units = facts_of(reading).units
    for row in reading["Materials"]:
        for column in ("least_order", "order_multiple", "safety_stock"):
            yield from wrong_kind(row, column, units.get(row.values.get("code", "")))
    for row in reading["Price breaks"]:
        yield from wrong_kind(row, "from_quantity", units.get(row.values.get("material", "")))
    for row in reading["Lots"]:
        yield from wrong_kind(row, "quantity", units.get(row.values.get("material", "")))
        yield from _lot_dates(row)
    yield from _profiles(reading)
    yield from _blended_lots(reading)


def _lot_dates(row: Row) -> Iterator[Fault]:
    received, expires, arrives = (row.values.get(column) for column in ("received", "expires", "arrives"))
    if received and expires and expires < received:
        yield Fault(
            row.place("expires"),
            str(expires),
            f"not before it was received, {received}",
            "correct one of the two dates",
        )
    elif expires and arrives and expires < arrives.date():
        yield Fault(
            row.place("expires"),
            str(expires),
            f"not before it arrives, {arrives.date()}",
            "correct one of the two dates",
        )


def _profiles(reading: Reading) -> Iterator[Fault]:
    bars: dict[str, list[Row]] = defaultdict(list)
    for row in reading["Lot lengths"]:
        if "lot" in row.values:
            bars[row.values["lot"]].append(row)
    for lot, rows in bars.items():
        if not all("share" in row.values for row in rows):
            continue
        total = sum(row.values["share"] for row in rows)
        if abs(total - 1) > SHARES_CLOSE:
            allowed = f"shares of the lot {lot} that add up to 100 %"
            numbers = ", ".join(str(row.number) for row in rows)
            yield Fault(
                rows[0].place("share"), f"{total * 100:.4g} %", allowed, f"correct the shares in the rows {numbers}"
            )


def _blended_lots(reading: Reading) -> Iterator[Fault]:
    """A lot that a filling may be blended from must have been measured, and the figures be those of hair."""
    blended = {row.values.get("part") for row in reading["Parts"] if row.values.get("from_design") == BLEND}
    measured = {row.values.get("lot") for row in reading["Lot lengths"]}
    for row in reading["Lots"]:
        if row.values.get("material") not in blended or row.values.get("state") == "held":
            continue
        code = row.values.get("code")
        if code and code not in measured and "Lot lengths" in reading.present:
            mend = "add its length classes to the sheet Lot lengths, or hold the lot until it is measured"
            yield Fault(row.place("code"), code, "a lot with a length profile, as fillings are blended from it", mend)
        if row.record is not None:
            yield from _hair(row, row.record)


def _hair(row: Row, lot: Lot) -> Iterator[Fault]:
    if lot.diameter is None:
        mend = "measure it, or hold the lot until it is measured"
        yield Fault(row.place("diameter"), "", "a diameter, as fillings are blended from the lot", mend)
    elif not LEAST_HAIR <= lot.diameter <= MOST_HAIR:
        allowed = f"{LEAST_HAIR * 1e6:.0f} to {MOST_HAIR * 1e6:.0f} µm, as bristle and filament are"
        mend = "check its unit, or hold the lot until it is measured again"
        yield Fault(row.place("diameter"), f"{lot.diameter * 1e6:.4g} µm", allowed, mend)
    if lot.moisture is not None and lot.moisture > WETTEST_HAIR:
        allowed = f"at most {WETTEST_HAIR:.0%}, more than which hair cannot hold"
        mend = "dry the lot and measure it again, or hold it"
        yield Fault(row.place("moisture"), f"{lot.moisture:.1%}", allowed, mend)
