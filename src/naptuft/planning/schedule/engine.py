"""The same functions twice: as plain Python, ready at once, and compiled to machine code.

Compiling takes seconds the first time on a machine (it is kept on disk afterwards), so the first plan
is made by the plain functions while a thread compiles.
"""

from __future__ import annotations

import hashlib
import inspect
import threading
import types
from functools import cache
from typing import Any

from naptuft.planning.schedule import (
    anneal,
    critical,
    decode,
    dispatch,
    draft,
    fold,
    moves,
    quick,
    retime,
    ruled,
    state,
)

MODULES = (fold, state, ruled, decode, quick, dispatch, draft, moves, anneal, retime, critical)
# Functions that make no arrays are compiled without reference counting, which costs more than they do.
MAKE_ARRAYS = frozenset(
    {
        "anneal",
        "decode",
        "dispatch",
        "even_scales",
        "fresh_machines",
        "fresh_plan",
        "fresh_stores",
        "is_timed",
        "lines",
        "order_by_start",
        "place_tied",
        "quick_rows",
        "sort_timed",
        "start_draft",
        "start_timed",
        "start_walk",
        "settle",
        "sort_by_start",
        "tabu",
        "take",
        "tails",
    }
)
# Functions written out where they are called: a call with a dozen arrays takes longer than they do.
WRITTEN_OUT = frozenset(
    {"first_of", "fit", "hold", "mark", "place", "place_item", "room_from", "run_from", "step", "wait_for_store"}
)
PLAIN = types.SimpleNamespace(decode=decode.decode, measure=decode.measure, dispatch=dispatch.dispatch)

_compiling = threading.Lock()


@cache
def _compile() -> Any:
    from numba import njit

    # numba keeps machine code by the file of each function alone; the stamp makes it new when another changes
    sources = "".join(inspect.getsource(module) for module in MODULES)
    sources += "".join(sorted(MAKE_ARRAYS)) + "".join(sorted(WRITTEN_OUT))
    stamp = hashlib.sha256(sources.encode()).hexdigest()[:12]
    compile_one: Any = njit
    space: dict[str, Any] = {"__builtins__": __builtins__}
    mine: dict[str, types.FunctionType] = {}
    for module in MODULES:
        for name, value in vars(module).items():
            if isinstance(value, types.FunctionType) and value.__module__ == module.__name__:
                mine[name] = value
            else:
                space[name] = value
    for name, function in mine.items():
        twin = types.FunctionType(function.__code__, space, name, function.__defaults__)
        twin.__module__ = function.__module__
        twin.__qualname__ = f"{name}_{stamp}"
        inline = "always" if name in WRITTEN_OUT else "never"
        space[name] = compile_one(cache=True, nogil=True, _nrt=name in MAKE_ARRAYS, inline=inline)(twin)
    return types.SimpleNamespace(**{name: space[name] for name in mine})


def compiled() -> Any:
    """The compiled functions, by name. Each is compiled for its arguments on its first call."""
    with _compiling:
        return _compile()
