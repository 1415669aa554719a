"""Worked examples of capillary rise, and flow along filaments solved outright.

Sap in trees (a physics school-book exercise, several editions): r 2.5e-5 m, T 7.28e-2 N/m, θ 0: 0.6 m. Water in a
tree's tube of 0.0026 mm at a contact angle of 15° (Çengel & Cimbala, Fluid Mechanics, ch. 2 exercise): 11.03 m.
OpenStax College Physics, ch. 11: sap of 1050 kg/m³ to 100 m needs 1.41e-7 m (from memory).
"""

from math import log, pi, radians, sqrt

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from naptuft.brush.capillary import along_permeability, bundle_permeability, jurin_height, open_permeability


@pytest.mark.parametrize(
    ("angle", "radius", "density", "height", "digits"),
    [(0, 2.5e-5, 1000, 0.59, 0.005), (15, 1.3e-6, 1000, 11.03, 0.005), (0, 1.41e-7, 1050, 100.0, 0.4)],
)
def test_sap_rises_as_in_the_worked_examples(angle, radius, density, height, digits):
    assert jurin_height(0.0728, radians(angle), radius, density) == pytest.approx(height, abs=digits)


def _flow_along(packing, across):
    """Mean of w, ∇²w = −1 between discs of radius 1 on a hexagonal lattice, by differences on half its cell."""
    side = sqrt(2 * pi / (sqrt(3) * packing))
    wide, high = side / 2, side * sqrt(3) / 2
    step, rows = wide / across, round(high / (wide / across))
    rise = high / rows
    x, y = np.meshgrid((np.arange(across) + 0.5) * step, (np.arange(rows) + 0.5) * rise, indexing="ij")
    wet = (x**2 + y**2 > 1) & ((x - wide) ** 2 + (y - high) ** 2 > 1)
    number = np.full(wet.shape, -1)
    number[wet] = np.arange(wet.sum())
    i, j = np.nonzero(wet)
    here, weight = number[i, j], np.zeros(wet.sum())
    entries = []
    for di, dj, pull in ((1, 0, step**-2), (-1, 0, step**-2), (0, 1, rise**-2), (0, -1, rise**-2)):
        a, b = i + di, j + dj
        inside = (a >= 0) & (a < across) & (b >= 0) & (b < rows)
        weight[here[inside]] += pull
        beside = np.where(inside, number[np.clip(a, 0, across - 1), np.clip(b, 0, rows - 1)], -1)
        linked = beside >= 0
        entries.append((here[linked], beside[linked], np.full(linked.sum(), -pull)))
    entries.append((np.arange(len(weight)), np.arange(len(weight)), weight))
    row, column, value = (np.concatenate(part) for part in zip(*entries, strict=True))
    matrix = coo_matrix((value, (row, column)), shape=(len(weight), len(weight))).tocsc()
    return float(spsolve(matrix, np.ones(len(weight))).sum()) / (across * rows)


def _solved(packing):
    """Two meshes, carried on to a mesh without end (the error goes as the step)."""
    return 2 * _flow_along(packing, 120) - _flow_along(packing, 60)


@pytest.mark.parametrize("packing", [0.4, 0.5, 0.62, 0.7])
def test_the_series_for_open_bundles_is_the_solved_flow(packing):
    """Drummond & Tahir (1984), hexagonal lattice: within 3 % up to a packing of 0.7."""
    assert open_permeability(1.0, packing) == pytest.approx(_solved(packing), rel=0.03)


@pytest.mark.parametrize("packing", [0.45, 0.62, 0.74, 0.8, 0.85])
def test_the_permeability_of_a_bundle_is_the_solved_flow_at_any_packing(packing):
    assert bundle_permeability(1.0, packing) == pytest.approx(_solved(packing), rel=0.2)


def test_gebarts_constant_holds_for_dense_packing_only():
    """c = 8(1 − V)³R²/(V²K): 53 as printed at a packing of 0.85, twice that at 0.6 (solved)."""

    def constant(packing):
        return 8 * (1 - packing) ** 3 / packing**2 / _solved(packing)

    assert constant(0.85) == pytest.approx(53, rel=0.06)
    assert constant(0.6) == pytest.approx(2 * 53, rel=0.06)
    assert along_permeability(1.0, 0.6) == pytest.approx(2 * bundle_permeability(1.0, 0.6), rel=0.06)


KOZENY = [(0.4, 3.44), (0.5, 3.67), (0.6, 3.96), (0.7, 4.42), (0.8, 5.23), (0.9, 7.31)]


@pytest.mark.parametrize(("void", "printed"), KOZENY)
def test_kozenys_constant_along_cylinders_is_that_of_happel_and_brenner(void, printed):
    """Happel & Brenner, Low Reynolds Number Hydrodynamics, table 8-4.2 (from memory): k = R²ε³/(4V²K).

    Of a round cell, K = R²/(4V)·(−ln V − 3/2 + 2V − V²/2), to the digit but for 3.44, where it gives 3.46; the
    hexagonal lattice takes 1.4979 for 3/2, which tells most where the flow is tightest.
    """
    packing = 1 - void
    cell = (-log(packing) - 1.5 + 2 * packing - packing**2 / 2) / (4 * packing)
    assert void**3 / (4 * packing**2 * cell) == pytest.approx(printed, rel=0.0065)
    kozeny = void**3 / (4 * packing**2 * open_permeability(1.0, packing))
    assert kozeny == pytest.approx(printed, rel=0.07)
