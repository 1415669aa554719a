"""Problems from outside, through the command line."""

from __future__ import annotations

import json
import subprocess
import sys


def naptuft(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "naptuft", *words], capture_output=True, text=True, check=False)


def test_a_file_of_cutting_problems_is_solved_line_by_line(tmp_path):
    file = tmp_path / "cuts.jsonl"
    problems = [
        {"name": "halves", "stock_length": 10, "lengths": [5], "demands": [4]},
        {"name": "mixed", "stock_length": 10, "lengths": [6, 4], "demands": [2, 2]},
    ]
    file.write_text("\n".join(json.dumps(problem) for problem in problems))
    done = naptuft("cut", str(file), "--seconds", "5", "--json")
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert [(a["name"], a["rolls"], a["lower_bound"], a["proven_optimal"]) for a in answers] == [
        ("halves", 2, 2, True),
        ("mixed", 2, 2, True),
    ]
    for answer, problem in zip(answers, problems, strict=True):
        made = dict.fromkeys(problem["lengths"], 0)
        for pattern in answer["patterns"]:
            assert sum(length * count for length, count in pattern["pieces"]) <= problem["stock_length"]
            for length, count in pattern["pieces"]:
                made[length] += count * pattern["count"]
        assert all(made[length] >= want for length, want in zip(problem["lengths"], problem["demands"], strict=True))


def test_a_line_that_is_no_problem_is_named(tmp_path):
    file = tmp_path / "cuts.jsonl"
    file.write_text('{"name": "x"\n')
    done = naptuft("cut", str(file))
    assert done.returncode == 1
    assert "cuts.jsonl, line 1" in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr


def test_a_two_machine_flow_shop_is_solved_and_checked(tmp_path):
    """Two jobs on two machines; by Johnson's rule (1954) the shorter first operation goes first: makespan 7 (by hand)."""
    jobs = [("A", 2, 3), ("B", 3, 2)]
    problem = {
        "name": "flow",
        "objective": "makespan",
        "machines": [{"name": "m1", "open": None}, {"name": "m2", "open": None}],
        "changeovers": [],
        "jobs": [
            {
                "name": name,
                "release": 0,
                "due": None,
                "weight": 1,
                "operations": [
                    {"modes": [{"machine": "m1", "duration": first}]},
                    {"modes": [{"machine": "m2", "duration": second}]},
                ],
            }
            for name, first, second in jobs
        ],
    }
    (tmp_path / "flow.json").write_text(json.dumps(problem))
    done = naptuft("schedule", str(tmp_path / "flow.json"), "--out", str(tmp_path / "out.json"), "--seconds", "5")
    assert done.returncode == 0, done.stderr
    assert "Nothing held against it" in done.stdout
    assert json.loads((tmp_path / "out.json").read_text())["objective"][0] == 7
