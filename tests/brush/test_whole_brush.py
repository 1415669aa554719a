"""A whole brush from one choice, as the engineer reads its sheet."""

from __future__ import annotations

import pytest

from naptuft.brush import WHOLE_BRUSH
from naptuft.brush.outline import OUTLINE, BrushChoice, settled
from naptuft.brush.samples import SAMPLES, sample
from naptuft.errors import DesignError


def test_the_parts_stand_in_the_order_of_making():
    design = WHOLE_BRUSH.answer(WHOLE_BRUSH.example())
    assert [part.heading for part in design.parts] == [
        "Outline",
        "Choice of filling",
        "Filament",
        "Head",
        "Ferrule blank",
        "Forming",
        "Setting",
        "Joining",
        "At work",
        "Tolerances",
    ]


def test_every_figure_of_the_headline_is_there():
    design = WHOLE_BRUSH.answer(WHOLE_BRUSH.example())
    assert len(design.headline) == len(WHOLE_BRUSH.headline)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_check_of_a_sample_passes(name):
    assert [check.label for check in sample(name).result.checks if not check.passed] == []


def test_a_100_mm_wall_brush_for_emulsion_is_one_a_brush_maker_would_know():
    """Polyester or PBT first for latex (UFC 3-190-06, 7.5.2: synthetic for latex); the rest is common practice:
    45 to 80 g of filling, tens of thousands of filaments, 55 to 75 mm out, 10 to 40 g of paint a dip, a fifth of a
    square metre or so covered by it, 4 to 8 g of epoxy, strip of 30 to 40 mm.
    """
    design = sample("100 mm wall brush for emulsion")
    head, work = design.part("Head"), design.part("At work")
    assert settled(design.record).filling in ("PET", "PBT")
    assert 0.045 < head["fill_weight"] < 0.080
    assert 15_000 < head["filament_count"] < 45_000
    assert 0.055 <= design.part("Outline")["clear_length"] <= 0.075
    assert 0.010 < work["paint_mass"] < 0.040
    assert 0.08 < work["area"] < 0.3
    assert 0.004 < design.part("Setting")["epoxy_dose"] < 0.008
    assert 0.030 <= design.part("Ferrule blank")["strip_width"] <= 0.040
    assert 5 < work["press_force_by_width"] < 40


def test_a_50_mm_angled_sash_has_a_long_and_a_short_side_and_a_softer_head():
    """Common practice: 12 to 22 g of filling, an angle that leaves the short side more than half as long; a sash
    brush is softer by its width than a wall brush of the same paint. Slash-shaped sash brushes: UFC 3-190-06, 7.5.2.
    """
    design = sample("50 mm angled sash")
    head = design.part("Head")
    assert 0.012 < head["fill_weight"] < 0.022
    assert 0.010 < head["trim_drop"] < design.part("Outline")["clear_length"] / 2
    wall = sample("100 mm wall brush for emulsion").part("At work")["press_force_by_width"]
    assert design.part("At work")["press_force_by_width"] < wall


def test_a_38_mm_bristle_varnish_brush_is_chiselled_and_keeps_its_stiffness_in_varnish():
    """Bristle for varnish, with chiselled edges ("All flat brushes should have chiseled edges": Cyclopedia of
    Carpentry and Building, vols. 7 to 10, painting, "Society for Testing Materials"; 1907 from memory); 8 to 16 g
    of filling, 2 to 8 g of varnish a dip: common practice.
    """
    design = sample("38 mm bristle varnish brush")
    head = design.part("Head")
    assert settled(design.record).trim == "chisel"
    assert 0.008 < head["fill_weight"] < 0.016
    assert head["head_stiffness"] == pytest.approx(head["dry_head_stiffness"])
    assert 0.002 < design.part("At work")["paint_mass"] < 0.008


def test_what_is_left_out_is_listed_and_its_rule_stated():
    design = WHOLE_BRUSH.answer({"shape": "flat", "width": "75 mm", "medium": "oil or alkyd"})
    assert {"thickness", "clear_length", "filling", "trim", "handle"} <= set(design.defaults)
    rules = {step.label: step for step in design.part("Outline").result.steps}
    assert "√w" in rules["thickness"].formula
    assert "common practice" in rules["thickness"].source
    assert any("first choice" in remark for remark in design.result.remarks)


def test_what_is_chosen_is_kept():
    given = {"shape": "flat", "width": "75 mm", "medium": "oil or alkyd", "thickness": "20 mm", "filling": "ox hair"}
    outline = OUTLINE.answer(given)
    assert outline["thickness"] == pytest.approx(0.020)
    assert {step.label: step.source for step in outline.steps}["thickness"] == "the choice"
    assert settled(OUTLINE.read(given)[0]).filling == "ox hair"


def test_settling_a_settled_brush_changes_nothing():
    brush = settled(BrushChoice(shape="oval", width=0.050, medium="strong solvent"))
    assert settled(brush) == brush


def test_a_filling_is_recommended_for_each_paint_as_the_standard_says():
    """UFC 3-190-06, 7.5.2: synthetic for latex, natural for strong solvents."""
    assert settled(BrushChoice(shape="flat", width=0.05, medium="water-borne")).filling == "PET"
    assert settled(BrushChoice(shape="flat", width=0.05, medium="strong solvent")).filling == "hog bristle"


def test_an_impossible_choice_is_refused_with_every_fault():
    with pytest.raises(DesignError) as caught:
        WHOLE_BRUSH.answer(
            {
                "shape": "angled sash",
                "width": "50 mm",
                "medium": "water-borne",
                "trim": "flat",
                "diameter": "0.1 mm",
                "tip_diameter": "0.2 mm",
            }
        )
    assert {fault.place for fault in caught.value.faults} == {"trim", "tip diameter"}


def test_a_fault_in_a_part_names_the_part():
    with pytest.raises(DesignError, match="Head: centrepiece thickness"):
        WHOLE_BRUSH.answer({**WHOLE_BRUSH.example(), "centrepiece_thickness": "40 mm"})


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_is_drawn_in_plan_side_section_and_blank(name):
    views = {view.title: view.svg for view in sample(name).views}
    assert list(views)[:2] == ["Plan", "Side, cut through"]
    assert {"Head", "Ferrule blank"} <= set(views)
    for svg in views.values():
        assert svg.startswith("<svg")
    width = SAMPLES[name].width * 1e3
    assert f"{width:g} mm" in views["Plan"]
