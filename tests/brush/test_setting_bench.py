"""Setting the butts: depth, bond and batch."""

from naptuft.brush.setting_bench import SETTING


def setting(**given):
    return SETTING.answer({**SETTING.example(), **given})


def test_the_usual_brush_is_soaked_and_held():
    result = setting()
    assert result.passed
    assert result["soak_time"] < result["gel_time"]
    assert result["loose_filaments"] < 1


def test_five_millimetres_is_not_enough_for_a_stout_filament():
    result = setting(filling="PP", diameter="0.4 mm")
    assert result["bond_needed"] > 0.005
    assert not result.passed
    assert any("About 5 mm in the ferrule is common practice, but" in remark for remark in result.remarks)


def test_warm_glue_soaks_faster_and_gels_sooner():
    cold, warm = setting(glue_temperature="18 degC"), setting(glue_temperature="40 degC")
    assert warm["soak_time"] < cold["soak_time"]
    assert warm["gel_time"] < cold["gel_time"]
    assert warm["pot_life"] < cold["pot_life"]


def test_tight_packing_of_fine_hair_slows_the_glue():
    """Darcy: time goes as (1 − V)²/(V·d·f(V)), K = d²f(V); with f solved on a hexagonal lattice 2.96 times as long."""
    assert setting(packing="0.75", filling="ox hair", diameter="0.1 mm")["soak_time"] > 2.7 * setting()["soak_time"]


def test_uneven_butts_shed():
    even, uneven = setting(butt_scatter="0.3 mm"), setting(butt_scatter="2 mm")
    assert uneven["loose_share"] > even["loose_share"]
    assert uneven["loose_filaments"] > 100


def test_too_hot_a_cure_for_the_filling_fails():
    assert not setting(filling="PP", cure_temperature="100 degC").passed


def test_a_batch_never_exceeds_half_a_kilogram_and_the_caution_stands():
    result = setting(line_rate="60")
    assert result["batch_mass"] <= 0.5
    assert any("heats itself" in caution.hazard for caution in result.cautions)
