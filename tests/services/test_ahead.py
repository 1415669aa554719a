"""Commands that look ahead: capacity, materials, trade-offs, what-if books, and a plan for what is expected."""

from __future__ import annotations

import dataclasses
import json
from decimal import Decimal

import pytest
from typer.testing import CliRunner

from naptuft import services
from naptuft.cli import app
from small_plants import scraper_plant


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """The demo book in a folder, and the folder of a quick plan of it."""
    root = tmp_path_factory.mktemp("ahead")
    services.write_demo_book(root / "book")
    book = services.demo_book()
    plan = services.plan_book(book, effort=1)
    (root / "weeks").mkdir()
    (root / "weeks" / "plan.json").write_text(services.plan_text(plan))
    return root, book, plan


def run(*words: object):
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_capacity_tells_each_work_centre_and_what_a_rate_needs(planned):
    root, book, _ = planned
    told = json.loads(run("capacity", root / "book", "--periods", 4, "--product", "B-WALL100", "--json"))
    assert {load["work_centre"] for load in told["loads"]} == {centre.code for centre in book.work_centres}
    assert told["rate"]["bottleneck"] == services.needs_at_rate(book, "B-WALL100", 1000).bottleneck
    shown = run("capacity", root / "book", "--periods", 4, "--product", "B-WALL100")
    assert all(centre.code in shown for centre in book.work_centres)
    assert "The bottleneck is" in shown


def test_materials_tell_what_is_taken_and_what_to_order(planned):
    root, book, plan = planned
    told = {need["material"]: need for need in json.loads(run("materials", root / "book", root / "weeks", "--json"))}
    for need in services.material_plan(book, plan):
        assert sum(day["needed"] for day in told[need.material]["days"]) == pytest.approx(need.needed)
        assert [order["quantity"] for order in told[need.material]["proposed"]] == [o.quantity for o in need.proposed]
    shown = " ".join(run("materials", root / "book", root / "weeks").split())
    assert "EUR less than the plan's own purchases" in shown
    amount = next(day.needed for need in services.material_plan(book, plan) for day in need.days if need.unit == "kg")
    assert f"{amount:,.6g} kg" in shown


def test_trade_measures_the_plan_at_hand_and_others(planned):
    root, _, plan = planned
    told = json.loads(run("trade", root / "book", root / "weeks", "--seconds", 0.2, "--json"))
    assert told[0]["name"] == "the plan at hand"
    assert told[0]["late_minutes"] == pytest.approx(plan.quality.weighted_late_minutes)
    assert told[0]["changeover_minutes"] == sum(o.changeover_minutes for o in plan.operations)
    assert len({point["name"] for point in told}) == len(told) > 3
    shown = run("trade", root / "book", root / "weeks", "--seconds", 0.1)
    assert all(word in shown for word in ("even", "load", "overtime", "uneven"))


def test_what_if_books_are_planned_side_by_side(tmp_path):
    book = scraper_plant()
    fewer = dataclasses.replace(book, machines=tuple(m for m in book.machines if m.code != "B-2"))
    pressed = dataclasses.replace(
        fewer,
        orders=tuple(
            dataclasses.replace(order, quantity=20_000, due=order.due.replace(day=order.due.day - 7))
            for order in fewer.orders
        ),
    )
    for name, each in (("as is", book), ("pressed", pressed)):
        services.write_book(each, tmp_path / f"{name}.xlsx")
    told = json.loads(run("what-if", tmp_path / "as is.xlsx", tmp_path / "pressed.xlsx", "--effort", 20, "--json"))
    first, second = told
    assert first["late"] == first["late_minutes"] == 0
    assert second["late"] + second["short"] >= 1
    assert Decimal(first["cost"]) > 0
    assert first["findings"] == second["findings"] == 0
    shown = run("what-if", tmp_path / "pressed.xlsx", "--effort", 5)
    assert "pressed" in shown
    assert shown.count("EUR") == 2
    assert "clean" in shown


def test_a_plan_for_what_is_expected_is_clean(tmp_path):
    book = scraper_plant()
    services.write_book(book, tmp_path / "book.xlsx")
    told = json.loads(
        run("plan", tmp_path / "book.xlsx", "--out", tmp_path / "out", "--effort", 20, "--expected", "--json")
    )
    assert told["checks"] == []
    assert (tmp_path / "out" / "plan.json").is_file()
