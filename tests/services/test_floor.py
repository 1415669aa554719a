"""A plan on the floor, from the command line: changed after a breakdown, replayed against spreads."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from naptuft import services
from naptuft.cli import app


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """The demo book in a folder, and the folder of a quick plan of it."""
    root = tmp_path_factory.mktemp("floor")
    services.write_demo_book(root / "book")
    book = services.demo_book()
    plan = services.plan_book(book, effort=1)
    (root / "weeks").mkdir()
    (root / "weeks" / "plan.json").write_text(services.plan_text(plan))
    return root, plan


def run(*words: object):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_a_plan_is_changed_after_a_breakdown(planned):
    root, plan = planned
    at = plan.start.replace(hour=10, minute=0)
    broken = next(o for o in plan.operations if o.start > at and o.work_centre == "MOULDING")
    happened = root / "happened.csv"
    happened.write_text(f"kind,machine,until\nmachine down,{broken.machine},{at:%Y-%m-%d} 20:00\n")
    done = run(
        "replan",
        root / "book",
        root / "weeks",
        happened,
        "--at",
        f"{at:%Y-%m-%d %H:%M}",
        "--out",
        root / "new",
        "--json",
    )
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert 0 < told["moved"] < told["ahead"]
    new = services.read_plan(root / "new")
    assert new.checks == ()
    until = at.replace(hour=20)
    assert not any(at < o.start < until for o in new.operations if o.machine == broken.machine)
    assert services.check_book(root / "new" / "book.xlsx") == ()


def test_happenings_that_do_not_fit_are_told_all_at_once(planned):
    root, plan = planned
    happened = root / "wrong.csv"
    happened.write_text("kind,machine,lot,until\nmachine down,NOPE,,2027-01-01 10:00\nlot held,,L-0,\n")
    done = run(
        "replan", root / "book", root / "weeks", happened, "--at", f"{plan.start:%Y-%m-%d} 10:00", "--out", root / "x"
    )
    assert done.exception is not None
    places = [fault.place for fault in done.exception.faults]  # type: ignore[attr-defined]
    assert len(places) == 2
    assert not (root / "x").exists()


def test_the_odds_repeat_and_do_not_depend_on_threads(planned):
    root, _ = planned
    answers = [
        json.loads(run("risk", root / "book", root / "weeks", "--replays", 100, "--threads", n, "--json").stdout)
        for n in (1, 2)
    ]
    assert answers[0] == answers[1]
    assert answers[0]["replays"] == 100
    assert all(0 <= odds["on_time"] <= 1 and odds["early"] <= odds["late"] for odds in answers[0]["odds"])


def test_bands_for_other_odds_are_wider_and_headed_by_them(planned):
    root, _ = planned
    words = "risk", root / "book", root / "weeks", "--replays", 100
    usual, wide = (json.loads(run(*words, *more, "--json").stdout) for more in ((), ("--odds", 0.99)))
    assert all(a["late"] <= b["late"] for a, b in zip(usual["odds"], wide["odds"], strict=True))
    assert any(a["late"] < b["late"] for a, b in zip(usual["odds"], wide["odds"], strict=True))
    assert "95 % by" in run(*words, "--odds", 0.95).stdout


def test_a_plan_that_is_none_is_named(tmp_path):
    (tmp_path / "plan.json").write_text("[]")
    done = run("risk", tmp_path, tmp_path)
    assert done.exception is not None
