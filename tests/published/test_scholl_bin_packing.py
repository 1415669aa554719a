"""A. Scholl, R. Klein, C. Jürgens, BISON: A fast hybrid procedure for exactly solving the one-dimensional bin packing
problem, Computers & Operations Research 24 (1997) 627-645.

One instance of their first set and two of the hard third set, as published; the optima, from memory, are those the
literature prints for them (25, 55 and 56).
"""

import json
from pathlib import Path

import pytest

from naptuft.roller.cutting.instance import solve_instance

INSTANCES = [json.loads(line) for line in Path(__file__).with_name("scholl_some.jsonl").read_text().splitlines()]


@pytest.mark.parametrize("instance", INSTANCES, ids=[instance["name"] for instance in INSTANCES])
def test_known_optimum_is_reached_and_proven(instance):
    answer = solve_instance(instance, seconds=120.0)
    assert answer["rolls"] == answer["lower_bound"] == instance["published_rolls"]
    cut = dict.fromkeys(instance["lengths"], 0)
    for pattern in answer["patterns"]:
        assert sum(length * n for length, n in pattern["pieces"]) <= instance["stock_length"]
        for length, n in pattern["pieces"]:
            cut[length] += n * pattern["count"]
    assert list(cut.values()) == instance["demands"]
