"""What a setter notices on the sheet of a handle, and of the calculations that feed it."""

import pytest

from naptuft.errors import DesignError
from naptuft.handle import FILLING, HANDLE_SHAPE, MOULDED_PART, RUNNER, SHEETS, THICK_SECTION, VAT

(SHEET,) = SHEETS


def design(**given):
    return SHEET.answer({**SHEET.example(), **given})


def answer(calculation, **given):
    return calculation.answer({**calculation.example(), **given})


def test_the_example_handle_passes_from_mould_to_air():
    whole = design()
    assert whole.result.passed
    assert [part.heading for part in whole.parts] == [
        "Shape",
        "Mould size",
        "Runner",
        "Filling",
        "Moulding",
        "Cooling",
        "Press",
        "Regrind",
        "Coats",
        "Draining",
        "Vat",
        "Coat line",
        "Drying air",
    ]
    assert len(whole.headline) == len(SHEET.headline)
    assert all(view.svg.startswith("<svg") for view in whole.views)


def test_a_thick_handle_takes_minutes_and_a_hollow_one_seconds():
    """Common practice: about five minutes for a thick solid handle from a melt of 205 °C; thin walls take seconds."""
    thick, hollow = design(), design(wall="2.5 mm")
    for part in ("Moulding", "Cooling"):
        assert 3 * 60 < thick.part(part)["cooling_time"] < 8 * 60
        assert hollow.part(part)["cooling_time"] < 15
    assert hollow.part("Moulding").record.cavities < thick.part("Moulding").record.cavities


def test_cavities_keep_pace_and_lie_in_two_rows():
    for pace in ("10 1/hour", "40 1/hour", "90 1/hour"):
        moulding = design(handles_per_hour=pace).part("Moulding")
        cavities = moulding.record.cavities
        assert cavities == 1 or cavities % 2 == 0
        assert cavities >= moulding["cavities_needed"]


def test_where_no_press_takes_enough_cavities_the_pace_is_told_as_missed():
    small = design(presses="press 1 | 1200 kN | 450 cm**3 | 420 mm")
    assert small.part("Press").result.passed
    missed = {check.label for check in small.result.checks if not check.passed}
    assert missed == {"Moulding: cavities against demand"}


def test_what_one_part_works_out_the_next_one_takes():
    whole = design()
    shape, runner, moulding = whole.part("Shape"), whole.part("Runner"), whole.part("Moulding")
    cavities = moulding.record.cavities
    assert moulding["shot_mass"] == pytest.approx(cavities * shape["mass"] + runner["runner_mass"], rel=1e-9)
    assert whole.part("Press").record.shot_mass == moulding["shot_mass"]
    assert moulding["pack_time"] == pytest.approx(moulding["gate_freeze_time"])
    assert whole.part("Regrind").record.regrind_share == moulding["regrind_share"]
    line, vat, air = (whole.part(name) for name in ("Coat line", "Vat", "Drying air"))
    assert air.record.solvent_rate == pytest.approx(line["volatile_rate"] + vat["solvent_lost"])


@pytest.mark.parametrize(
    "coating", ["nitrocellulose lacquer", "alkyd enamel", "polyurethane lacquer", "water-borne acrylic"]
)
def test_the_withdrawal_leaves_the_build_wanted_and_a_tenth_more(coating):
    coats = design(coating=coating, build_wanted="45 um").part("Coats")
    assert coats["dry_build"] == pytest.approx(1.1 * 45e-6, rel=1e-3)


def test_a_water_borne_coat_wants_no_air_against_fire():
    whole = design(coating="water-borne acrylic")
    assert "Drying air" not in [part.heading for part in whole.parts]
    assert "air_flow" not in {value.name for value in whole.headline}


def test_the_handles_go_under_free_of_bubbles_and_clear_of_the_bottom():
    whole = design()
    assert whole.part("Coats").record.lowering_speed < whole.part("Draining")["lowering_limit"]
    vat = whole.part("Vat")
    assert vat.record.level > vat.record.dipped_length + vat.record.level_band


def test_faults_of_the_outline_come_before_anything_is_worked_out():
    with pytest.raises(DesignError) as raised:
        design(neck_width="40 mm", head_length="79 mm", length="100 mm")
    assert {fault.place for fault in raised.value.faults} == {"neck width", "head length"}


def test_a_melt_below_the_point_where_it_sets_is_told_with_the_outlines_faults():
    with pytest.raises(DesignError) as raised:
        design(resin="PET", melt_temperature="200 degC", neck_width="40 mm")
    assert {fault.place for fault in raised.value.faults} == {"neck width", "melt temperature"}


def test_an_odd_number_of_cavities_is_refused():
    with pytest.raises(DesignError, match="1 or an even number"):
        answer(RUNNER, cavities="3")
    assert answer(RUNNER, cavities="1")["runner_volume"] > 0


def test_closer_cavities_leave_less_runner():
    near, far = answer(RUNNER, between="10 mm"), answer(RUNNER, between="60 mm")
    assert near["runner_mass"] < far["runner_mass"]
    assert near["mould_along"] < far["mould_along"]


def test_small_parts_on_a_long_sprue_waste_too_much():
    failed = {
        check.label for check in answer(RUNNER, part_volume="1 cm**3", part_length="20 mm").checks if not check.passed
    }
    assert failed == {"runner share of the shot"}


def test_a_thin_wall_filled_slowly_sets_before_it_is_full():
    slow = answer(FILLING, wall="1.2 mm", injection_rate="40 cm**3/s")
    assert "wall set before it is full" in {check.label for check in slow.checks if not check.passed}
    quick = answer(FILLING, wall="1.2 mm", injection_rate="2000 cm**3/s", gate_width="20 mm")
    assert quick["skin_share"] < slow["skin_share"]
    assert slow["fill_time"] > slow["longest_fill"]


def test_pressure_held_after_the_gate_has_set_is_told_as_idle():
    assert any("does nothing" in remark for remark in answer(FILLING, pack_time="30 s").remarks)
    short = answer(FILLING, pack_time="1 s")
    assert {check.label for check in short.checks if not check.passed} == {"pack until the gate has set"}


def test_filling_and_packing_follow_rate_and_gate_where_no_time_is_given():
    quick = answer(MOULDED_PART, injection_rate="200 cm**3/s", gate_thickness="1 mm")
    assert quick["fill_time"] == pytest.approx(quick["shot_mass"] / 750 / 200e-6)
    assert quick["pack_time"] == quick["gate_freeze_time"]
    assert answer(MOULDED_PART, fill_time="3 s", injection_rate="200 cm**3/s")["fill_time"] == 3


def test_heat_and_water_of_a_part_agree():
    """Water that runs in one cycle, times its rise, is the heat of one part."""
    result = answer(MOULDED_PART)
    carried = result["water_each"] * 998 * 4182 * 3
    assert carried == pytest.approx(result["heat_out"])


def test_an_oval_cools_between_its_plate_and_its_rod():
    rod = answer(THICK_SECTION, section_shape="cylinder")
    plate = answer(THICK_SECTION, section_shape="plate")
    oval = answer(THICK_SECTION, section_shape="oval", width="30 mm")
    assert rod["cooling_time"] < oval["cooling_time"] < plate["cooling_time"]
    assert answer(THICK_SECTION, section_shape="oval", width="18 mm")["cooling_time"] == pytest.approx(
        rod["cooling_time"], rel=1e-6
    )
    with pytest.raises(DesignError, match="for an oval"):
        answer(THICK_SECTION, section_shape="oval")


def test_long_packing_leaves_less_to_sink():
    short, long = answer(THICK_SECTION, pack_time="5 s"), answer(THICK_SECTION, pack_time="120 s")
    assert long["unfed_shrinkage"] < short["unfed_shrinkage"]
    assert any(remark.startswith("Sink warning") for remark in short.remarks)
    assert not any(remark.startswith("Sink warning") for remark in answer(THICK_SECTION, thickness="2 mm").remarks)


def test_a_vat_too_shallow_for_the_handle_is_found():
    shallow = answer(VAT, dipped_length="210 mm")
    assert {check.label for check in shallow.checks if not check.passed} == {"dipped length against the depth"}


def test_a_handle_balances_between_its_ends():
    shape = answer(HANDLE_SHAPE)
    assert 0.3 * 0.180 < shape["balance"] < 0.7 * 0.180
    assert shape["mass"] == pytest.approx(shape["volume"] * 905)


def test_the_cooling_picture_shows_section_and_course():
    record, _ = THICK_SECTION.read(THICK_SECTION.example())
    assert THICK_SECTION.draw is not None
    picture = THICK_SECTION.draw(record, THICK_SECTION.run(record))
    assert "set skin" in picture
    assert "temperature, °C" in picture
