"""The units kept at hand are those of the units library, and declaring inputs does not load it."""

from __future__ import annotations

import subprocess
import sys

import pytest

from naptuft.quantity import OFTEN, by_pint


@pytest.mark.parametrize("unit", OFTEN)
def test_a_unit_at_hand_is_the_librarys(unit):
    assert OFTEN[unit] == by_pint(unit)


def test_the_product_lines_declare_without_the_units_library():
    code = (
        "import sys, naptuft.brush, naptuft.handle, naptuft.roller, naptuft.tray, naptuft.boxing;"
        "print([m for m in ('pint', 'scipy', 'dask', 'ortools') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
