"""Conway & Sloane, Sphere Packings, Lattices and Groups, ch. 1, table 1.2: densest packing of equal discs 0.90690."""

import pytest

from naptuft.brush.fill import HEXAGONAL_PACKING, SQUARE_PACKING, filament_count
from naptuft.errors import DesignError


def test_hexagonal_packing_is_the_published_density():
    """Table 1.2: π/√12 = 0.90690; the square lattice π/4 = 0.78540 (from memory)."""
    assert pytest.approx(0.90690, abs=5e-6) == HEXAGONAL_PACKING
    assert pytest.approx(0.78540, abs=5e-6) == SQUARE_PACKING


def test_a_head_cannot_be_packed_tighter_than_the_densest_lattice():
    """Thue's bound: 0.9069 is allowed, 0.9070 is refused and the message says the limit."""
    assert filament_count(1e-4, 0.9068, 0.2e-3) > 0
    with pytest.raises(DesignError, match="0\\.9069"):
        filament_count(1e-4, 0.9070, 0.2e-3)


def test_filaments_of_a_lattice_counted_one_by_one_agree_with_the_formula():
    """A hexagonal lattice of touching 0.2 mm discs over a 10 mm square, counted, against packing · area / section."""
    from math import sqrt

    pitch, side = 0.2, 40.0
    rows = int(side / (pitch * sqrt(3) / 2))
    counted = sum(int(side / pitch - 0.5 * (row % 2)) for row in range(rows))
    assert filament_count((side * 1e-3) ** 2, HEXAGONAL_PACKING, 0.2e-3) == pytest.approx(counted, rel=0.01)
