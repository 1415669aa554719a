"""The solver of linear and whole-number programmes, set to be quiet, single-threaded and repeatable."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import highspy


def quiet_solver(**options: bool | float | int | str) -> highspy.Highs:
    """An empty model that prints nothing and answers the same each time; options by the solver's own names."""
    import highspy

    class Quiet(highspy.Highs):
        def __init__(self):
            # The wrapper's own constructor installs callbacks, which print a banner before it can be silenced.
            super(highspy.Highs, self).__init__()

    model = Quiet()
    for option, value in {"output_flag": False, "threads": 1, "random_seed": 1, **options}.items():
        model.setOptionValue(option, value)
    return model


def add_rows(model: highspy.Highs, lower: np.ndarray, upper: np.ndarray) -> None:
    """Add empty rows with these bounds, to be filled by columns."""
    count = len(lower)
    model.addRows(count, lower, upper, 0, np.zeros(count, dtype=np.int32), np.zeros(0, dtype=np.int32), np.zeros(0))


def add_columns(
    model: highspy.Highs, block: np.ndarray, cost: np.ndarray, upper: np.ndarray, *, whole: bool = False
) -> None:
    """Add columns, one a line of `block` (shape (columns, rows)), each at least 0; `whole` makes them integers."""
    import highspy

    before = model.getNumCol()
    at, index = np.nonzero(block)
    starts = np.searchsorted(at, np.arange(len(block))).astype(np.int32)
    model.addCols(
        len(block),
        cost,
        np.zeros(len(block)),
        upper,
        len(index),
        starts,
        index.astype(np.int32),
        block[at, index].astype(float),
    )
    if whole:
        made = np.arange(before, before + len(block), dtype=np.int32)
        model.changeColsIntegrality(len(made), made, np.array([highspy.HighsVarType.kInteger] * len(made)))
