"""What share of brushes will be inside, and which tolerance matters most."""

import pytest

from naptuft.brush import BRUSH, TOLERANCE
from naptuft.errors import DesignError


def study(**given):
    return TOLERANCE.answer({**TOLERANCE.example(), **given})


def test_the_same_seed_gives_the_same_brushes_and_another_nearly_the_same_share():
    assert study() == study()
    other = study(seed="7")
    assert other["inside"] == pytest.approx(study()["inside"], abs=6 * study()["sampling_error"])


def test_more_scatter_leaves_fewer_inside():
    shares = [study(weight_scatter=scatter)["inside"] for scatter in ("1 %", "2 %", "4 %", "8 %")]
    assert shares == sorted(shares, reverse=True)


def test_nothing_scattering_leaves_every_brush_inside():
    still = dict.fromkeys(("weight_scatter", "diameter_scatter", "width_scatter", "thickness_scatter"), "0 %")
    result = study(**still)
    assert result["inside"] == 1.0
    assert result["packing_spread"] == pytest.approx(0.0, abs=1e-12)


def test_length_out_matters_most_to_stiffness():
    """Stiffness goes as the third power of the length, less what the setting holds."""
    result = study()
    assert "clear length" in result.remarks[0]
    assert result["clear_length on head_stiffness"] == pytest.approx(-0.029, abs=0.001)


def test_picking_by_weight_makes_the_count_follow_the_diameter():
    """One per cent of diameter is two per cent of filaments; the spread of both together is √(2² + 6²) %."""
    result = study()
    count = BRUSH.answer(BRUSH.example())["filament_count"]
    assert result["count_spread"] / count == pytest.approx((0.02**2 + 0.06**2) ** 0.5, rel=0.03)


def test_limits_the_wrong_way_round_are_refused():
    with pytest.raises(DesignError, match="least packing"):
        study(least_packing="0.7", most_packing="0.6")
