"""Every error keeps all its faults, between processes too."""

from __future__ import annotations

import pickle

import pytest

from naptuft.errors import BookError, DesignError, Fault, FileError, Infeasible, NotFound, UnitError

FAULTS = tuple(Fault(f"row {n}", n, "another", "write another") for n in range(4))


@pytest.mark.parametrize("kind", [UnitError, BookError, DesignError, Infeasible, FileError, NotFound])
def test_every_fault_is_kept_and_survives_pickling(kind):
    for count in range(1, 5):
        error = kind(*FAULTS[:count])
        assert error.faults == FAULTS[:count]
        assert pickle.loads(pickle.dumps(error)).faults == FAULTS[:count]
        assert str(error).count("\n") == count - 1
