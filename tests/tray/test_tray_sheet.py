"""What a setter notices on the sheet of a tray, and of the calculations that feed it."""

import pytest

from naptuft.errors import DesignError
from naptuft.tray import SHEETS, TRAY_COOLING, TRAY_STOCK, TRAY_WALLS, TRAY_WEB

(SHEET,) = SHEETS


def design(**given):
    return SHEET.answer({**SHEET.example(), **given})


def answer(calculation, **given):
    return calculation.answer({**calculation.example(), **given})


def test_the_250_mm_tray_passes_from_roll_to_carton():
    whole = design()
    assert whole.record.width == pytest.approx(0.250)
    assert whole.result.passed
    headings = [part.heading for part in whole.parts]
    assert headings == ["Layout", "Heating", "Forming", "Walls", "Cooling", "Web", "Stack and carton"]
    assert len(whole.headline) == len(SHEET.headline)
    assert all(view.svg.startswith("<svg") for view in whole.views)


def test_its_cycle_is_that_of_common_practice():
    """Common practice: 30 to 50 s by sheet thickness."""
    for thickness in ("1.0 mm", "1.2 mm", "1.5 mm"):
        assert 30 <= design(sheet_thickness=thickness).part("Forming")["cycle_time"] <= 50


@pytest.mark.parametrize("sheet", ["HIPS", "PET", "PP"])
def test_every_sheet_is_formed_inside_its_window(sheet):
    heating = design(sheet=sheet, heater_temperature="330 degC").part("Heating")
    failed = {check.label for check in heating.result.checks if not check.passed}
    assert not failed & {"hottest place", "coldest place"}


def test_no_gram_of_sheet_is_lost_between_layout_web_and_tray():
    whole = design()
    layout, forming, web = whole.part("Layout"), whole.part("Forming"), whole.part("Web")
    assert web.record.sheet_mass == pytest.approx(layout["sheet_area"] * 0.0012 * 1050)
    assert web["web_mass"] + forming["tray_mass"] == pytest.approx(web.record.sheet_mass)
    assert web["fed_mass"] + web["fresh_mass"] == pytest.approx(web.record.sheet_mass)
    assert layout["web_share"] == pytest.approx(web["web_share"])


def test_forming_and_walls_name_the_same_thinnest_place():
    whole = design()
    assert whole.part("Forming")["thinnest_wall"] == pytest.approx(whole.part("Walls")["thinnest_corner"])


def test_a_deeper_well_fails_at_its_corner():
    deep = design(well_depth="110 mm", floor_length="60 mm")
    assert "Walls: thinnest corner" in {check.label for check in deep.result.checks if not check.passed}


def test_a_fault_names_the_part_it_was_found_in():
    with pytest.raises(DesignError) as raised:
        design(stock="roll | 200 mm | 0 mm")
    assert {fault.place for fault in raised.value.faults} == {"Layout: sheet width"}
    with pytest.raises(DesignError) as raised:
        design(rim="70 mm", width="130 mm")
    assert {fault.place for fault in raised.value.faults} == {"rim"}


def test_the_roll_that_fits_is_chosen_and_the_others_told():
    result = answer(TRAY_STOCK)
    assert result["sheet_width"] == pytest.approx(0.560)
    assert any(remark.startswith("roll 700: web") for remark in result.remarks)
    assert any("550 mm would do" in remark for remark in result.remarks)


def test_a_cut_sheet_counts_its_ends_as_web():
    roll = answer(TRAY_STOCK, stock="roll | 560 mm | 0 mm")
    sheet = answer(TRAY_STOCK, stock="sheet | 560 mm | 1500 mm")
    assert sheet["web_share"] > roll["web_share"]
    assert sheet["trays_per_piece"] == 8


def test_stock_too_narrow_is_refused_with_what_it_wants():
    with pytest.raises(DesignError, match="at least"):
        answer(TRAY_STOCK, stock="roll | 200 mm | 0 mm")
    both = answer(TRAY_STOCK, stock="narrow | 200 mm | 0 mm; wide | 560 mm | 0 mm")
    assert any(remark.startswith("narrow does not fit") for remark in both.remarks)


def test_a_cooler_mould_frees_the_tray_sooner():
    times = [answer(TRAY_COOLING, mould_temperature=f"{t} degC")["cooling_time"] for t in (25, 45, 65)]
    assert times == sorted(times)
    assert answer(TRAY_COOLING)["cooler_mould_time"] < answer(TRAY_COOLING)["cooling_time"]


def test_firm_contact_comes_down_to_the_series():
    result = answer(TRAY_COOLING, contact="100000 W/m**2/K", air_film="1 W/m**2/K")
    assert result["cooling_time"] == pytest.approx(result["handbook_time"], rel=0.03)


def test_a_mould_warmer_than_the_release_is_refused():
    with pytest.raises(DesignError, match="release temperature"):
        answer(TRAY_COOLING, mould_temperature="90 degC")


def test_the_web_pays_back_what_it_is_worth():
    none, some = answer(TRAY_WEB, web_price_per_kg="0"), answer(TRAY_WEB)
    assert some["credit"] > 0 > none["credit"]
    assert some["net_material"] == pytest.approx(some["material"] - some["credit"])
    assert any("more than the web is worth" in remark for remark in none.remarks)


def test_a_resin_that_ages_fast_limits_what_is_fed_back():
    tired = answer(TRAY_WEB, kept_each_pass="91 %", tray_mass="60 g").limiting
    assert tired is not None
    assert not tired.passed
    assert "feed at most" in tired.mend


def test_a_thicker_sheet_is_thicker_everywhere():
    thin, thick = answer(TRAY_WALLS), answer(TRAY_WALLS, sheet_thickness="2.4 mm")
    for value in thin.values:
        if value.unit == "mm":
            assert thick[value.name] == pytest.approx(2 * value.value)


def test_a_larger_corner_radius_thickens_the_thinnest_corner():
    tight, round_ = answer(TRAY_WALLS, corner_radius="3 mm"), answer(TRAY_WALLS, corner_radius="12 mm")
    assert round_["thinnest_corner"] > 1.3 * tight["thinnest_corner"]
