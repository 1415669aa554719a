"""What a user notices when a tray is worked out."""

import pytest

from naptuft.errors import DesignError
from naptuft.tray import TRAY
from naptuft.tray.design import TrayDesign, tray_layout


def answer(**given):
    return TRAY.answer({**TRAY.example(), **given})


def test_the_example_tray_passes_and_carries_cautions():
    result = answer()
    assert result.passed
    assert len(result.cautions) >= 2


def test_the_sheet_is_tray_and_web_to_the_last_gram():
    result = answer()
    assert result["sheet_mass"] == pytest.approx(result["tray_mass"] + result["web_mass"], rel=1e-12)
    assert result["web_mass"] / result["sheet_mass"] == pytest.approx(result["web_share"], rel=1e-12)


@pytest.mark.parametrize("thickness", ["1.0 mm", "1.2 mm", "1.5 mm"])
def test_common_sheets_cycle_in_thirty_to_fifty_seconds(thickness):
    """Common practice: 30 to 50 s by sheet thickness."""
    assert 30 <= answer(sheet_thickness=thickness)["cycle_time"] <= 50


def test_a_thick_sheet_outside_common_practice_is_remarked():
    assert any("outside the 30 to 50 s" in remark for remark in answer(sheet_thickness="3 mm").remarks)


def test_a_deep_well_fails_its_draw_and_wall():
    result = answer(well_depth="200 mm", floor_length="60 mm", draft="5 deg")
    failed = {check.label for check in result.checks if not check.passed}
    assert {"depth over width", "thinnest wall"} <= failed


def test_a_tray_that_does_not_fit_the_sheet_is_refused_with_both_mends():
    with pytest.raises(DesignError) as raised:
        answer(sheet_width="200 mm", mould_length="200 mm")
    assert {fault.place for fault in raised.value.faults} == {"sheet width", "mould length"}


def test_walls_that_meet_are_refused():
    with pytest.raises(DesignError, match="side walls meet"):
        answer(draft="45 deg", well_depth="150 mm")


def test_the_tray_is_turned_when_that_leaves_less_web():
    record, _ = TRAY.read({**TRAY.example(), "sheet_width": "720 mm", "mould_length": "280 mm"})
    assert isinstance(record, TrayDesign)
    layout, turned = tray_layout(record)
    assert turned
    assert layout.across == 2


def test_the_drawing_names_the_index_and_the_thinnest_place():
    record, _ = TRAY.read(TRAY.example())
    assert TRAY.draw is not None
    picture = TRAY.draw(record, TRAY.run(record))
    assert "index 680 mm" in picture
    assert "thinnest about" in picture
