"""From coil to ferrule to handle: what the press shop and the assembly bench read off."""

from math import tan

import pytest

from naptuft.brush import FERRULE, FORMING, JOINING
from naptuft.errors import DesignError


def form(**given):
    return FORMING.answer({**FORMING.example(), **given})


def join(**given):
    return JOINING.answer({**JOINING.example(), **given})


def test_a_coil_gives_what_its_length_and_the_blank_allow():
    """700 over 400 mm of 0.3 mm strip: π(0.7² − 0.4²)/(4·0.0003) = 863.9 m; less ends, over the blank, less 1 %."""
    result = form()
    blank = FERRULE.answer({name: FORMING.example()[name] for name in FERRULE.example()})
    whole = int((result["coil_length"] - 1.5) / blank["strip_length"])
    assert result["coil_length"] == pytest.approx(863.9, abs=0.1)
    assert result["ferrules_from_coil"] == int(whole * 0.99)
    assert result["coils"] == 1


def test_metal_in_is_metal_out():
    """Coil = good ferrules + skeleton + rejects + ends, by area."""
    result = form(slug="2 mm", edge_trim="1.5 mm")
    blank = FERRULE.answer({**{name: FORMING.example()[name] for name in FERRULE.example()}, "slug": "2 mm"})
    width = blank["strip_width"] + 0.0015
    coil = result["coil_length"] * width
    good = result["coil_yield"] * coil
    each = blank["strip_length"] * width
    assert good == pytest.approx(result["ferrules_from_coil"] * each * (1 - result["skeleton_share"]))
    assert good < coil


def test_slugs_edges_and_holes_go_to_the_skeleton():
    assert form(slug="3 mm")["skeleton_share"] > form()["skeleton_share"]
    assert form(nail_holes="0")["skeleton_share"] == pytest.approx(0.0, abs=1e-12)


def test_beads_stiffen_a_ferrule_and_none_leave_it_flat():
    assert form(beads="0")["bead_stiffening"] == pytest.approx(1.0)
    assert form(beads="1")["bead_stiffening"] < form(beads="2")["bead_stiffening"]
    assert form(bead_depth="0.4 mm")["bead_stiffening"] < form(bead_depth="0.8 mm")["bead_stiffening"]


def test_harder_strip_springs_back_further():
    assert form(metal="stainless steel")["sprung_radius"] > form(metal="copper")["sprung_radius"]


def test_an_oval_ferrule_is_said_to_spring_open():
    result = form(shape="oval", thickness="30 mm", width="100 mm")
    assert any("mandrel" in remark for remark in result.remarks)
    assert any("burr" in remark for remark in result.remarks)


def test_a_blank_cut_out_of_square_shows_as_a_step_at_the_seam():
    result = form(out_of_square="0.2 deg")
    assert result["seam_step"] == pytest.approx(0.2192 * tan(0.2 * 3.14159265 / 180), rel=0.01)
    assert not result.passed
    assert result.limiting is not None
    assert result.limiting.label == "step at the seam"


def test_beads_that_do_not_fit_are_refused():
    with pytest.raises(DesignError, match="beads"):
        form(beads="6", bead_depth="2 mm")
    with pytest.raises(DesignError, match="coil inner"):
        form(coil_inner="700 mm")


def test_more_nails_hold_more_and_a_slack_handle_is_named():
    assert join(nails="6")["pull_off"] == pytest.approx(1.5 * join(nails="4")["pull_off"])
    slack = join(clearance="0.6 mm")
    assert slack.limiting is not None
    assert slack.limiting.label == "handle not too loose"
    assert slack["rocking"] > join()["rocking"]


def test_nails_too_near_the_end_split_unless_bored_for():
    near = {"end_distance": "10 mm"}
    assert not join(**near).passed
    assert join(**near, prebored="yes").passed
    assert join(**near, prebored="yes")["bore"] == pytest.approx(0.9 * 1.4e-3)


def test_wood_that_dries_after_joining_comes_loose():
    dried, kept = join(moisture_gain="-4"), join(moisture_gain="0")
    assert dried["clearance_loosest"] > kept["clearance_loosest"]
    assert any("comes loose" in remark for remark in dried.remarks)


def test_a_plastic_handle_holds_by_friction_and_yields_when_too_tight():
    fair = join(stock="plastic")
    tight = join(stock="plastic", interference="0.1 mm")
    assert tight["withdrawal"] > fair["withdrawal"]
    assert fair["withdrawal_allowed"] == pytest.approx(fair["withdrawal"] / 2)
    assert any(check.label == "pressure beside a nail" and not check.passed for check in tight.checks)


def test_a_nail_longer_than_the_handle_is_thick_is_refused():
    with pytest.raises(DesignError) as caught:
        join(penetration="17 mm", end_distance="40 mm", edge_distance="60 mm")
    assert {fault.place for fault in caught.value.faults} == {"penetration", "end distance", "edge distance"}


def test_every_step_of_making_carries_its_caution():
    said = {name: " ".join(map(str, answer.cautions)) for name, answer in (("form", form()), ("join", join()))}
    assert "1910.217" in said["form"]
    assert "1910.95" in said["form"]
    assert "eye and ear protection" in said["join"]
    assert all(words.count("Follow local codes and licensed practice.") for words in said.values())


def test_a_bend_that_springs_flat_has_no_radius_to_show():
    flat = form(
        shape="round", width="140 mm", thickness="140 mm", gauge="0.1 mm", metal="brass", coil_outer="500 mm", beads="0"
    )
    assert "sprung_radius" not in flat
    assert flat["bend_kept"] == 0.0
    assert not flat.passed
