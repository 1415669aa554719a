"""The command line explains itself and turns faults into lines."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import typer.main

from naptuft.cli import app
from naptuft.services import SHEETS

ROOT = Path(__file__).parents[2]


def naptuft(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "naptuft", *words], capture_output=True, text=True, check=False)


def commands(group: Any = None, path: tuple[str, ...] = ()):
    group = group or typer.main.get_command(app)
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, (*path, name))
        else:
            yield (*path, name), command


COMMANDS = dict(commands())


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_command_and_option_is_explained(words):
    command = COMMANDS[words]
    assert command.help
    for parameter in command.params:
        assert getattr(parameter, "help", "shown in usage"), parameter.name


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_command_stands_in_the_guide(words):
    assert f"naptuft {' '.join(words)}" in (ROOT / "README.md").read_text()


def test_help_loads_nothing_heavy():
    code = "import sys, naptuft.cli; print([m for m in ('pint','numpy','scipy','numba','nicegui','ortools','polars') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_calculation_is_worked_out_in_inches():
    done = naptuft("work", "out", "brush", "--example", "clear_length=2 1/2 in", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["calculation"] == "brush"


def test_a_fault_is_a_line_with_its_mend_and_exit_code_1():
    done = naptuft("work", "out", "brush", "--example", "clear_length=50 g", "--json")
    assert done.returncode == 1
    assert "clear length wants a length; '50 g' is a mass" in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr


def test_an_unknown_calculation_suggests_the_nearest():
    done = naptuft("work", "out", "brosh")
    assert done.returncode == 1
    assert "did you mean brush" in " ".join(done.stderr.split())


def test_a_book_that_is_not_there_is_named():
    done = naptuft("book", "check", "nowhere.xlsx")
    assert done.returncode == 1
    assert "nowhere.xlsx" in done.stdout + done.stderr
    assert "Traceback" not in done.stderr


def test_a_whole_design_is_written_with_its_drawings_and_stands_beside_another(tmp_path):
    name = next(iter(SHEETS))
    done = naptuft("design", name, "--example", "--out", str(tmp_path / "sheet"), "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["design"] == name
    assert json.loads((tmp_path / "sheet" / "design.json").read_text()) == told
    assert (tmp_path / "sheet" / "design.pdf").read_bytes().startswith(b"%PDF")
    assert len(list((tmp_path / "sheet").glob("*.svg"))) == len(SHEETS[name].answer(SHEETS[name].example()).views)


def test_two_calculations_stand_side_by_side():
    done = naptuft("work", "out", "stock-tube", "--example", "--beside", "strip_width=80 mm", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    leads = [{v["name"]: v["value"] for v in answer["values"]}["lead"] for answer in (told, told["beside"])]
    assert leads[1] > leads[0]


def test_an_unknown_design_suggests_the_nearest():
    done = naptuft("design", "brosh")
    assert done.returncode == 1
    assert "did you mean brush" in " ".join(done.stderr.split())
