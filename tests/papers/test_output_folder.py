"""The output folder: workbook, summary and papers together, whole or not at all."""

from __future__ import annotations

import dataclasses
import datetime
import io
import json
import os

import openpyxl
import pytest

from naptuft.errors import FileError
from naptuft.papers import summary_markdown, write_all, write_papers
from naptuft.papers.folder import FILES
from naptuft.papers.workbook import tables, workbook
from naptuft.planning.plan import Finding, OrderOutcome
from naptuft.planning.plan_json import plan_from_json
from sample_book import HOSTILE_NAME, sample_book
from sample_plan import sample_plan


def opened(content: bytes):
    """The workbook as another program reads it."""
    return openpyxl.load_workbook(io.BytesIO(content))


def test_the_folder_holds_every_file_and_the_plan_reads_back(tmp_path):
    """plan.json in the folder is the plan; nothing else is left lying about."""
    plan = sample_plan()
    written = write_all(sample_book(), plan, tmp_path / "out")
    assert [str(path.relative_to(tmp_path / "out")) for path in written] == [
        name.replace("/", os.sep) for name in FILES
    ]
    assert plan_from_json(json.loads((tmp_path / "out" / "plan.json").read_text("utf-8"))) == plan
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"plan.json", "plan.xlsx", "summary.md", "papers"}


def test_writing_twice_gives_the_same_bytes(tmp_path):
    """Workbook and papers carry no clock."""
    for name in ("one", "two"):
        write_all(sample_book(), sample_plan(), tmp_path / name)
    for name in FILES:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_papers_of_an_earlier_plan_do_not_stay_and_other_files_do(tmp_path):
    """A blend sheet of last week must not reach the bench; the engineer's own notes are left alone."""
    write_all(sample_book(), sample_plan(), tmp_path)
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "papers" / "labels.pdf").write_text("mine")
    write_all(sample_book(), dataclasses.replace(sample_plan(), blends=()), tmp_path)
    assert not (tmp_path / "papers" / "blends.pdf").exists()
    assert (tmp_path / "notes.txt").read_text() == "mine"
    assert (tmp_path / "papers" / "labels.pdf").read_text() == "mine"


def test_a_file_that_cannot_be_replaced_leaves_the_old_plan_whole(tmp_path):
    """A folder stands where plan.xlsx should go: the error names the folder, and every old file is as it was."""
    write_all(sample_book(), sample_plan(), tmp_path)
    before = {name: (tmp_path / name).read_bytes() for name in FILES if name != "plan.xlsx"}
    (tmp_path / "plan.json").unlink()
    (tmp_path / "plan.json").mkdir()
    (tmp_path / "plan.json" / "in the way").write_text("x")
    (tmp_path / "papers").rename(tmp_path / "papers kept")
    (tmp_path / "papers").write_text("a file where a folder should be")
    later = dataclasses.replace(sample_plan(), revision="8")
    with pytest.raises(FileError) as refused:
        write_all(sample_book(), later, tmp_path)
    assert refused.value.faults[0].place == "output folder"
    assert (tmp_path / "summary.md").read_bytes() == before["summary.md"]
    assert (tmp_path / "papers").read_text() == "a file where a folder should be"
    assert not [path for path in tmp_path.parent.iterdir() if path.name.startswith(f".{tmp_path.name}-")]


def test_a_folder_that_cannot_be_made_is_a_clear_error(tmp_path):
    """The name is taken by a file."""
    (tmp_path / "taken").write_text("x")
    with pytest.raises(FileError) as refused:
        write_papers(sample_book(), sample_plan(), tmp_path / "taken")
    assert str(tmp_path / "taken") in str(refused.value)


def test_progress_tells_what_is_made_and_never_goes_back(tmp_path):
    """From nothing to all, in order."""
    told: list[tuple[str, float]] = []
    write_all(sample_book(), sample_plan(), tmp_path, lambda what, share: told.append((what, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert any("travellers" in what for what, _ in told)


def test_every_sheet_has_a_frozen_head_a_filter_and_as_many_rows_as_the_plan():
    """Twelve sheets; heads carry units."""
    plan = sample_plan()
    book = opened(workbook(plan))
    assert book.sheetnames == [table.name for table in tables(plan)]
    for table in tables(plan):
        sheet = book[table.name]
        assert sheet.freeze_panes == "B2"
        assert sheet.auto_filter.ref is not None
        assert sheet.max_row == len(table.rows) + 1
    heads = [cell.value for cell in book["Operations"][1]]
    assert {"run [min]", "changeover [min]", "wait after [min]"} <= set(heads)
    assert "cost [EUR]" in [cell.value for cell in book["Allocations"][1]]


def test_cells_are_typed_times_as_times_money_as_numbers():
    """What can be sorted and summed is no text."""
    book = opened(workbook(sample_plan()))
    head = [cell.value for cell in book["Orders"][1]]
    row = dict(zip(head, (cell.value for cell in book["Orders"][3]), strict=True))
    assert row["due"] == datetime.datetime(2026, 12, 4, 12, 0)
    assert row["late [min]"] == 10
    assert row["value [EUR]"] == 1050
    costs = [row for row in book["Costs"].iter_rows(min_row=2, values_only=True) if row[0] == "work order"]
    total = sum(float(str(row[-1])) for row in costs)
    assert total == pytest.approx(float(sum(c.total for c in sample_plan().costs if c.of == "work order")))


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "@SUM(A1)", "http://harm.invalid", HOSTILE_NAME, "x" * 40_000])
def test_a_name_that_looks_like_a_formula_or_link_stays_text(name):
    """Nothing in a plan runs when the workbook is opened; a text too long for a cell is cut, not lost."""
    plan = sample_plan()
    order = dataclasses.replace(plan.orders[0], customer=name)
    book = opened(workbook(dataclasses.replace(plan, orders=(order,))))
    cell = book["Orders"]["C2"]
    assert cell.value == name[:32_767]
    assert (cell.data_type, cell.hyperlink) == ("s", None)


def test_the_summary_names_every_late_and_short_line_with_its_reason():
    """Read first, so it must say all that needs someone."""
    plan = sample_plan()
    text = summary_markdown(plan)
    assert "5 order lines: 3 on time (1 from stock), 1 late, 1 short" in text
    for order in plan.orders:
        assert (order.name in text) == (order.state in ("late", "short"))
    assert "late 10 min" in text
    assert "short 120" in text
    assert "give this plan again" in text
    assert "41 racks held, 40 there are" in text
    assert all(purchase.number in text for purchase in plan.purchases)


def test_the_summary_says_so_when_the_plan_may_not_repeat_and_when_nothing_is_wrong():
    """Honest both ways."""
    plan = sample_plan()
    calm = dataclasses.replace(
        plan,
        orders=tuple(o for o in plan.orders if o.state not in ("late", "short")),
        quality=dataclasses.replace(plan.quality, repeats=False),
        checks=(),
    )
    text = summary_markdown(calm)
    assert "may not repeat" in text
    assert "Nothing held against the plan." in text
    assert "## Late or short\n\nNone." in text


def test_the_money_of_the_summary_is_that_of_the_cost_lines():
    """Total of the work orders to the cent."""
    plan = sample_plan()
    total = sum(cost.total for cost in plan.costs if cost.of == "work order")
    assert f"| total | {total:,.2f} |" in summary_markdown(plan)


@pytest.mark.parametrize("words", ["a|b", "line\nbreak", "<script>", "*bold*", "# head"])
def test_a_name_cannot_break_the_summary(words):
    """A bar, a line break or markup in a name stays words in its own line."""
    plan = sample_plan()
    late: OrderOutcome = dataclasses.replace(plan.orders[1], customer=words)
    finding = Finding("rule", words, words)
    text = summary_markdown(dataclasses.replace(plan, orders=(late,), checks=(finding,)))
    (row,) = [line for line in text.splitlines() if line.startswith("- **S-1001/2")]
    assert all(word in row.replace("\\", "") for word in words.split())
    assert not [line for line in text.splitlines() if line.startswith(("# head", "break", "|b"))]
    assert "*bold*" not in text.replace("\\*", "")
    assert "<script>" not in text.replace("\\<", "")


def test_an_empty_plan_still_has_a_summary_and_a_workbook():
    """A book without orders is no error."""
    plan = sample_plan()
    empty = dataclasses.replace(
        plan, orders=(), work_orders=(), operations=(), allocations=(), blends=(), cut_lists=(), purchases=(),
        designs=(), costs=(), loads=(), checks=(),
    )  # fmt: skip
    assert "0 order lines" in summary_markdown(empty)
    assert opened(workbook(empty))["Orders"].max_row == 1
