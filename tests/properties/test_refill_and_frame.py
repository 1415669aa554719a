"""Finishing, frame and whole sheets: mass kept, limits kept, what grows with what, and faults named all at once."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.errors import DesignError
from naptuft.roller import CLIP, FLUFF, FRAME_FIT, SPIN, TOLERANCE, WHOLE_FRAME, WHOLE_REFILL
from naptuft.roller.clip import slope_factor
from naptuft.roller.finishing import spin_limits
from naptuft.roller.frame_fit import cap_loads, clearances
from naptuft.roller.frame_sheet import FrameChoice
from naptuft.roller.refill_sheet import RefillChoice
from naptuft.roller.solvents import SOLVENT_PROOF, SolventPart
from naptuft.roller.tolerance import Link, stack_up

share = st.floats(0.05, 0.95)


@given(st.floats(30, 600), st.floats(5, 30), share, share, st.floats(0, 20))
def test_pile_fibre_is_kept_cut_or_brushed_out(length, pile, cut, bevel, out):
    given_ = {
        **FLUFF.example(),
        "length": length,
        "pile_height": pile,
        "depth": pile / 5,
        "wire_length": 60,
        "bevel": min(60, bevel * length / 2),
        "bevel_cut": cut * pile,
        "brushed_out": out,
    }
    result = FLUFF.answer(given_)
    whole = FLUFF.answer({**given_, "bevel": 0, "brushed_out": 0})
    assert result["kept"] + result["cut_away"] + result["pulled"] == pytest.approx(whole["kept"], rel=1e-9)
    assert result["lint"] * result["cycle"] == pytest.approx(result["cut_away"] + result["pulled"], rel=1e-9)


@settings(deadline=None)
@given(st.floats(60, 2000), st.floats(15, 80), st.floats(1.01, 5))
def test_a_speed_over_the_limit_is_refused_with_one_that_is_not(length, core, over):
    base = {**SPIN.example(), "length": length, "core_diameter": core, "core_wall": 1.2, "speed": 1}
    record, _ = SPIN.read(base)
    highest = spin_limits(record).highest * 60
    assert SPIN.answer({**base, "speed": highest})["highest_speed"] * 60 == pytest.approx(highest)
    if highest * over <= 20000:
        with pytest.raises(DesignError) as caught:
            SPIN.answer({**base, "speed": highest * over})
        (fault,) = caught.value.faults
        assert fault.place == "speed"
        assert f"at most {highest:.0f} 1/min" in fault.allowed


link = st.builds(
    Link,
    name=st.just("x"),
    sense=st.sampled_from([-1.0, 1.0, 0.5]),
    nominal=st.floats(0, 0.3),
    plus=st.floats(0, 1e-3),
    minus=st.none() | st.floats(0, 1e-3),
)


@given(st.lists(link, min_size=1, max_size=8), st.data())
def test_no_chain_strays_past_its_worst_case(links, data):
    gap = stack_up(links)
    assert gap.statistical <= gap.worst + 1e-15
    actual = sum(one.sense * (one.nominal + data.draw(st.floats(-one.below, one.plus), label="stray")) for one in links)
    assert gap.middle - gap.worst - 1e-12 <= actual <= gap.middle + gap.worst + 1e-12


@given(st.floats(8.2, 9.5), st.floats(0.01, 0.5), st.sampled_from(["PP", "HDPE", "PA66", "ABS", "PS"]))
def test_a_thicker_pin_runs_freer(pin, more, resin):
    def clear(diameter):
        record, _ = FRAME_FIT.read({**FRAME_FIT.example(), "resin": resin, "pin_diameter": diameter})
        return clearances(record)

    (least, widest), (freer, wider) = clear(pin), clear(pin + more)
    assert least <= widest
    assert freer > least
    assert wider > widest


@given(st.floats(1, 100), st.floats(0, 0.5), st.floats(0.5, 1))
def test_end_caps_carry_the_whole_push(load, place, span):
    near, far = cap_loads(load, place, span)
    assert near + far == pytest.approx(load)
    assert far * span == pytest.approx(load * place)


@given(st.floats(0.05, 0.7), st.floats(0.1, 1.4), st.floats(0.01, 0.1))
def test_a_steeper_slope_asks_more_force(friction, angle, steeper):
    assert slope_factor(friction, angle) <= slope_factor(friction, angle + steeper)


def test_a_hot_bearing_held_from_outside_closes_and_a_free_one_opens():
    def widest(held, hot):
        given_ = {**FRAME_FIT.example(), "held": held, "coldest": "19 degC", "hottest": hot}
        return FRAME_FIT.answer(given_)

    assert widest("held", "80 degC")["clearance_least"] < widest("held", "25 degC")["clearance_least"]
    assert widest("free", "80 degC")["clearance_widest"] > widest("free", "25 degC")["clearance_widest"]


def test_all_faults_of_a_brushed_refill_are_named_at_once():
    wrong = {**FLUFF.example(), "depth": "13 mm", "bevel": "60 mm", "length": "100 mm", "bevel_cut": "14 mm"}
    with pytest.raises(DesignError) as caught:
        FLUFF.answer(wrong)
    assert {fault.place for fault in caught.value.faults} == {"depth", "wire length", "bevel", "bevel cut"}


def test_a_brush_above_its_mark_fails():
    result = FLUFF.answer({**FLUFF.example(), "brush_speed": "4000 1/min"})
    assert "speed of the brush against its mark" in {check.label for check in result.checks if not check.passed}


def test_a_stout_arm_is_refused():
    with pytest.raises(DesignError, match="half the length"):
        CLIP.answer({**CLIP.example(), "thickness": "5 mm"})


def test_a_link_that_adds_nothing_and_crossed_limits_are_both_named():
    with pytest.raises(DesignError) as caught:
        TOLERANCE.answer(
            {"links": "a | 0 | 10 mm | 0.1 mm; b | 1 | 5 mm | 0.1 mm", "least_gap": "3 mm", "widest_gap": "2 mm"}
        )
    assert [fault.place for fault in caught.value.faults] == ["links, row 1, sense", "widest gap"]


def test_a_solvent_not_in_the_table_says_which_data_are_missing_and_how_to_give_them():
    with pytest.raises(DesignError) as caught:
        SOLVENT_PROOF.answer({"solvents": "limonene | 40 %; xylene | 60 %; ester mix | 10 % | 16"})
    first, second = caught.value.faults
    assert "missing: dispersion, polar, hydrogen-bond part" in first.mend
    assert "'limonene | 40 % | dispersion | polar | hydrogen-bond'" in first.mend
    assert "missing: polar, hydrogen-bond part" in second.mend
    given_ = SOLVENT_PROOF.answer({"solvents": "limonene | 40 % | 17.2 | 1.8 | 4.3; xylene | 60 %"})
    assert given_["red_polystyrene"] > 0


@given(st.floats(0.01, 0.99))
def test_a_solvent_given_by_its_parameters_acts_as_the_one_in_the_table(part):
    known = SOLVENT_PROOF.inputs(
        solvents=(SolventPart(solvent="toluene", volume=part), SolventPart(solvent="acetone", volume=1 - part))
    )
    spelt = SOLVENT_PROOF.inputs(
        solvents=(
            SolventPart(solvent="own", volume=part, dispersion=18.0e3, polar=1.4e3, hydrogen=2.0e3),
            SolventPart(solvent="acetone", volume=1 - part),
        )
    )
    assert SOLVENT_PROOF.run(known)["red_rigid_pvc"] == pytest.approx(SOLVENT_PROOF.run(spelt)["red_rigid_pvc"])


@pytest.mark.parametrize("sheet", [WHOLE_REFILL, WHOLE_FRAME], ids=["refill", "frame"])
def test_the_example_is_a_sheet_a_setter_would_accept(sheet):
    design = sheet.answer(sheet.example())
    assert design.result.passed
    assert len(design.headline) == len(sheet.headline)
    assert all(view.svg.startswith("<svg") for view in design.views)
    assert design.result.cautions


@pytest.mark.parametrize("sheet", [WHOLE_REFILL, WHOLE_FRAME], ids=["refill", "frame"])
def test_what_is_left_out_follows_from_what_is_asked(sheet):
    asked = {field.name: field.example for field in sheet.fields if field.required}
    assert sheet.answer(asked).result.passed


def test_a_refill_on_a_core_of_44_mm():
    """Common practice: a strip of about 73 mm on a core of 44 mm winds at about 32° with a lead of some 86 mm."""
    design = WHOLE_REFILL.answer(WHOLE_REFILL.example())
    winding = design.part("Winding")
    assert winding.record.strip_width == pytest.approx(0.073)
    assert winding["lead"] == pytest.approx(0.086, abs=0.001)
    assert design.part("Spinning").record.speed * 60 <= 3500


def test_a_mini_refill_and_its_frame():
    refill = WHOLE_REFILL.answer(
        {
            "length": "100 mm",
            "core_diameter": "16 mm",
            "surface": "very smooth",
            "paint": "water-borne",
            "sheen": "gloss",
        }
    )
    outside = refill.part("Refill in use")["outside_diameter"]
    frame = WHOLE_FRAME.answer(
        {
            "refill_length": "100 mm",
            "core_diameter": "16 mm",
            "core_wall": "1.2 mm",
            "outside_diameter": f"{outside * 1e3} mm",
            "push": "15 N",
        }
    )
    assert refill.result.passed, [check for check in refill.result.checks if not check.passed]
    assert frame.result.passed, [check for check in frame.result.checks if not check.passed]
    assert frame.part("Rod").record.rod_diameter == 0.005


def test_too_fast_a_spin_is_refused_on_the_sheet_with_the_part_named():
    with pytest.raises(DesignError, match="Spinning: speed") as caught:
        WHOLE_REFILL.answer({**WHOLE_REFILL.example(), "spin_speed": "4200 1/min"})
    assert "at most 3500 1/min, the highest safe speed" in str(caught.value)


def test_faults_of_several_parts_are_named_in_one_pass():
    wrong = {**WHOLE_REFILL.example(), "spin_speed": "4200 1/min", "bevel_cut": "20 mm", "strip_width": "200 mm"}
    with pytest.raises(DesignError) as caught:
        WHOLE_REFILL.answer(wrong)
    parts = {fault.place.split(":")[0] for fault in caught.value.faults}
    assert parts == {"Winding", "Refill in use", "Brushing and bevelling", "Spinning"}


def test_paint_with_solvents_must_name_them():
    with pytest.raises(DesignError, match="safety data sheet"):
        WHOLE_REFILL.answer({**WHOLE_REFILL.example(), "paint": "solvent-borne", "solvents": None})
    design = WHOLE_REFILL.answer(
        {**WHOLE_REFILL.example(), "paint": "solvent-borne", "solvents": "white spirit | 100 %", "core": "rigid PVC"}
    )
    assert design.part("Solvents").result.passed


lengths = st.floats(0.06, 0.5)


@settings(deadline=None, max_examples=40)
@given(
    lengths,
    st.floats(0.012, 0.08),
    st.sampled_from(["smooth", "semi-rough", "rough"]),
    st.sampled_from(["gloss", "matt"]),
)
def test_any_refill_is_answered_or_refused_with_a_place(length, core, surface, sheen):
    chosen = RefillChoice(
        length=length, core_diameter=core, surface=surface, sheen=sheen, paint="water-borne", refills_per_day=100
    )
    found = _headings_or_faults(chosen)
    assert found == ["Winding", *found[1:]] or all(found)


def _headings_or_faults(chosen):
    """Headings of the parts, or of each fault whether it says where and how to mend."""
    try:
        return [part.heading for part in WHOLE_REFILL.compose(chosen)]
    except DesignError as error:
        return [bool(fault.place and fault.mend) for fault in error.faults]


@settings(deadline=None, max_examples=60)
@given(lengths, st.floats(0.014, 0.08), st.floats(0.004, 0.03), st.floats(5, 80))
def test_any_frame_carries_its_refill_square_and_centred(length, core, pile, push):
    chosen = FrameChoice(refill_length=length, core_diameter=core, outside_diameter=core + 2 * pile, push=push)
    rod = WHOLE_FRAME.compose(chosen)[0]
    checks = {check.label: check.passed for check in rod.result.checks}
    assert checks["cage out of square with the handle"]
    if length > 0.12:
        assert checks["cage's middle off the handle's line"]
