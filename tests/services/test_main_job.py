"""The main job as a newcomer does it: a book in, the weeks out."""

from __future__ import annotations

import datetime
import itertools
import json
import signal
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import jsonschema
import pytest

from naptuft.services import demo_book, plan_book, plan_schema, plan_text, write_demo_book

DATA = Path(__file__).parents[1] / "book" / "data"


def naptuft(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "naptuft", *words], capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def demo_plan():
    return plan_book(demo_book(), seed=1, effort=200)


def test_the_demo_plan_is_clean_in_the_independent_checker(demo_plan):
    assert demo_plan.checks == ()


def test_the_demo_has_something_to_say_and_says_why(demo_plan):
    states = {order.state for order in demo_plan.orders}
    assert {"on time", "late", "short"} <= states
    for order in demo_plan.orders:
        assert bool(order.reason) == (order.state in ("late", "short")), order
    assert len(demo_plan.orders) >= 100


def test_every_product_with_a_design_is_designed(demo_plan):
    designed = {design.product for design in demo_plan.designs}
    lines = {"brush", "ferrule", "handle", "moulded part", "stock tube", "refill", "frame", "tray", "boxed set"}
    assert {p.code for p in demo_book().products if p.line in lines} == designed
    assert {design.product_line for design in demo_plan.designs} == lines


def test_every_cut_list_of_the_demo_is_proven(demo_plan):
    tubes = [listed for listed in demo_plan.cut_lists if listed.kind == "tube"]
    assert tubes
    assert all(listed.proven_optimal and listed.rolls == listed.lower_bound for listed in tubes)
    assert any(listed.kind == "coil" for listed in demo_plan.cut_lists)


def test_no_two_operations_share_a_machine_at_a_time(demo_plan):
    by_machine = defaultdict(list)
    several = {machine.code for machine in demo_book().machines if machine.takes}
    for operation in demo_plan.operations:
        begin = operation.start - datetime.timedelta(minutes=operation.changeover_minutes)
        run = operation.start if operation.machine in several else begin, operation.end
        if operation.machine not in several or run not in by_machine[operation.machine]:
            by_machine[operation.machine].append(run)
    for stretches in by_machine.values():
        stretches.sort()
        assert all(end <= begin for (_, end), (begin, _) in itertools.pairwise(stretches))


def test_the_plan_follows_its_public_schema(demo_plan):
    jsonschema.Draft202012Validator(plan_schema()).validate(json.loads(plan_text(demo_plan)))


def test_the_same_book_seed_and_effort_give_the_same_files_to_the_byte(tmp_path):
    for name in ("one", "two"):
        done = naptuft(
            "plan", str(DATA / "inch_refills"), "--out", str(tmp_path / name), "--effort", "50", "--seed", "7"
        )
        assert done.returncode == 0, done.stderr
    files = sorted(path.relative_to(tmp_path / "one") for path in (tmp_path / "one").rglob("*") if path.is_file())
    assert {"plan.json", "plan.xlsx", "summary.md"} <= {str(path) for path in files}
    assert any(path.suffix == ".pdf" for path in files)
    for path in files:
        assert (tmp_path / "one" / path).read_bytes() == (tmp_path / "two" / path).read_bytes(), path


def test_a_plant_of_another_kind_in_inches_plans_clean(tmp_path):
    done = naptuft("plan", str(DATA / "inch_refills"), "--out", str(tmp_path / "out"), "--effort", "50", "--json")
    assert done.returncode == 0, done.stderr
    plan = json.loads(done.stdout)
    assert plan["checks"] == []
    assert {order["product_line"] for order in plan["orders"]} == {"refill"}


def test_the_demo_as_a_workbook_plans_like_the_demo_as_a_folder(tmp_path):
    from naptuft.services import read_book

    write_demo_book(tmp_path / "quillbeck.xlsx")
    assert read_book(tmp_path / "quillbeck.xlsx") == demo_book()


def test_a_time_limit_is_said_not_to_repeat(tmp_path):
    done = naptuft("plan", str(DATA / "inch_refills"), "--out", str(tmp_path / "out"), "--seconds", "1")
    assert done.returncode == 0, done.stderr
    assert "may not repeat" in " ".join(done.stdout.split())


@pytest.mark.skipif(sys.platform == "win32", reason="Windows delivers Ctrl-C to the whole console")
def test_ctrl_c_keeps_the_best_plan_so_far(tmp_path):
    words = [sys.executable, "-m", "naptuft", "demo", "--out", str(tmp_path / "out"), "--seconds", "600"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if "better schedule" in line:
                break
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=120)
    assert process.returncode == 0, errors
    assert "best plan so far" in errors
    assert (tmp_path / "out" / "plan.json").exists()
