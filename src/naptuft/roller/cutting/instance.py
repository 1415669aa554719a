"""Published cutting-stock and bin-packing instances, solved as plain numbers."""

from __future__ import annotations

from collections.abc import Mapping
from numbers import Real
from typing import Any

from naptuft.errors import DesignError, Fault


def solve_instance(instance: Mapping[str, Any], seconds: float, nodes: int = 100_000) -> dict[str, Any]:
    """Solve one instance: the fewest stock pieces, with the proof as far as it goes.

    instance  `name`, `stock_length`, `lengths` and `demands` (whole numbers, one demand a length);
              anything else in it is left alone
    seconds   limit for this instance; nodes: the same as a work limit, which repeats exactly

    Returns name, rolls, lower_bound, proven_optimal and patterns, each with `pieces` ([length, how many] pairs)
    and `count`. Raises DesignError with every fault of the instance.

    >>> answer = solve_instance({"name": "two", "stock_length": 10, "lengths": [6, 4], "demands": [2, 2]}, 5.0)
    >>> answer["rolls"], answer["proven_optimal"], answer["patterns"]
    (2, True, [{'pieces': [[6, 1], [4, 1]], 'count': 2}])
    """
    name, stock_length, lengths, demands = _read(instance)
    wanted: dict[int, int] = {}
    for length, demand in zip(lengths, demands, strict=True):
        if demand:
            wanted[length] = wanted.get(length, 0) + demand
    ordered = sorted(wanted, reverse=True)
    if not ordered:
        return {"name": name, "rolls": 0, "lower_bound": 0, "proven_optimal": True, "patterns": []}
    from naptuft.roller.cutting.fewest import cut_on_grid

    cut = cut_on_grid(
        lengths=ordered,
        quantities=[wanted[length] for length in ordered],
        usable=stock_length,
        kerf=0,
        kept=0,
        nodes=nodes,
        seconds=seconds,
        tidy=False,
    )
    return {
        "name": name,
        "rolls": cut.rolls,
        "lower_bound": cut.bound,
        "proven_optimal": cut.rolls == cut.bound,
        "patterns": [
            {
                "pieces": [[length, n] for length, n in zip(ordered, pattern.pieces, strict=True) if n],
                "count": pattern.count,
            }
            for pattern in cut.patterns
        ],
    }


def _read(instance: Mapping[str, Any]) -> tuple[str, int, list[int], list[int]]:
    faults = []
    missing = [key for key in ("name", "stock_length", "lengths", "demands") if key not in instance]
    if missing:
        raise DesignError(
            *(Fault("instance", key, "name, stock_length, lengths and demands", f"add {key}") for key in missing)
        )
    name = str(instance["name"])
    stock_length, lengths, demands = instance["stock_length"], instance["lengths"], instance["demands"]
    if not _whole(stock_length) or stock_length < 1:
        raise DesignError(
            Fault(f"{name}, stock_length", stock_length, "a whole number of at least 1", "scale the lengths")
        )
    if not isinstance(lengths, list) or not isinstance(demands, list) or len(lengths) != len(demands):
        raise DesignError(Fault(f"{name}, demands", demands, "one demand for each length", "make the lists as long"))
    for row, (length, demand) in enumerate(zip(lengths, demands, strict=True), start=1):
        if not _whole(length) or not 1 <= length <= stock_length:
            faults.append(
                Fault(f"{name}, length {row}", length, f"a whole number from 1 to {stock_length}", "correct the length")
            )
        if not _whole(demand) or demand < 0:
            faults.append(Fault(f"{name}, demand {row}", demand, "a whole number of at least 0", "correct the demand"))
    if faults:
        raise DesignError(*faults)
    return name, int(stock_length), [int(length) for length in lengths], [int(demand) for demand in demands]


def _whole(value: object) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool) and float(value).is_integer()
