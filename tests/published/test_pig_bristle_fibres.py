"""Mohan, Debnath, Sarma & Talukdar, characteristics of fibres from crossbred pigs (2015), abstract.

Mean tensile strength 15.81 ± 0.65 cN/tex; thickness 267.89 µm at mid-shaft and 319.19 µm at the root.
"""

import pytest

from naptuft.materials.filament import filament_material


def test_hog_bristle_is_as_strong_as_measured():
    """1 N/tex is 1 GPa per g/cm³ of density: 0.1581 × 1.31 = 207 MPa."""
    bristle = filament_material("hog bristle")
    assert float(bristle.strength) == pytest.approx(0.1581 * float(bristle.density) * 1e6, rel=2e-3)


def test_hog_bristle_narrows_as_measured():
    """A straight taper through root and mid-shaft ends at 2 × 267.89 − 319.19 = 216.6 µm, 0.68 of the root."""
    assert float(filament_material("hog bristle").tip_ratio) == pytest.approx(216.6 / 319.19, abs=0.005)
