"""E. Falkenauer, A Hybrid Grouping Genetic Algorithm for Bin Packing, Journal of Heuristics 2 (1996) 5-30.

A few instances of his collection, as published (lengths of the triplets times ten, so that all are whole).
Every triplet instance was made so that its pieces fill n/3 stock pieces without waste: that is the optimum.
"""

import json
from pathlib import Path

import pytest

from naptuft.roller.cutting.instance import solve_instance

INSTANCES = [json.loads(line) for line in Path(__file__).with_name("falkenauer_some.jsonl").read_text().splitlines()]


@pytest.mark.parametrize("instance", INSTANCES, ids=[instance["name"] for instance in INSTANCES])
def test_published_optimum_is_reached_and_proven(instance):
    answer = solve_instance(instance, seconds=60.0)
    assert answer["rolls"] == instance["published_rolls"]
    assert answer["lower_bound"] == instance["published_rolls"]
    assert answer["proven_optimal"]
    cut = [0] * len(instance["lengths"])
    for pattern in answer["patterns"]:
        assert sum(length * n for length, n in pattern["pieces"]) <= instance["stock_length"]
        for length, n in pattern["pieces"]:
            cut[instance["lengths"].index(length)] += n * pattern["count"]
    assert cut == instance["demands"]
    assert sum(pattern["count"] for pattern in answer["patterns"]) == answer["rolls"]
