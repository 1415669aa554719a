"""What goes in comes out, to the gram; more of one thing never means less of what it makes."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.brush.blend import BlendLot, FillingTarget, LengthAsked, blend_lots
from naptuft.brush.ferrule import developed_length
from naptuft.brush.fill import HEXAGONAL_PACKING, Cavity, filament_count
from naptuft.errors import Infeasible

LENGTHS = (0.076, 0.070, 0.064, 0.050)


@st.composite
def blend_lot(draw, code):
    weights = draw(st.lists(st.integers(0, 20), min_size=4, max_size=4).filter(lambda w: sum(w[:3]) > 0))
    return BlendLot(
        code=code,
        available=draw(st.integers(500, 20_000)) / 1000,
        price_per_kg=Decimal(draw(st.integers(1000, 9000))) / 100,
        lengths=tuple((length, weight / sum(weights)) for length, weight in zip(LENGTHS, weights, strict=True)),
        diameter=draw(st.integers(140, 220)) * 1e-6,
        moisture=draw(st.integers(0, 20)) / 100,
        curl=draw(st.integers(0, 25)) / 100,
    )


@settings(max_examples=25, deadline=None)
@given(data=st.data(), mass=st.integers(200, 15_000), dry=st.sampled_from([None, 0.12]))
def test_lots_taken_are_blend_and_combings_to_the_gram(data, mass, dry):
    lots = [data.draw(blend_lot(f"B-{i}")) for i in range(6)]
    rows = tuple(LengthAsked(length=length, share=1 / 3, tolerance=0.2) for length in LENGTHS[:3])
    target = FillingTarget(profile=rows, max_lots=4, moisture=dry)
    try:
        blend = blend_lots(target, lots, mass / 1000)
    except Infeasible:
        return
    grams_taken = sum(round(kg * 1000) for _, kg in blend.lots)
    grams_left = sum(round(kg * 1000) for _, kg in blend.blended)
    assert grams_taken == grams_left + round(blend.combings * 1000)
    assert all(abs(kg * 1000 - round(kg * 1000)) < 1e-6 for _, kg in blend.lots)
    stock = {lot.code: lot.available for lot in lots}
    assert all(kg <= stock[code] + 1e-9 for code, kg in blend.lots)
    assert len(blend.lots) <= 4
    assert abs(sum(got for _, _, got in blend.profile) + blend.stray - 1) < 1e-9
    if dry is None:
        assert abs(grams_left - mass) <= 2
    else:
        assert abs(blend.dry_mass * 1000 - mass * 0.88) <= 3
    assert blend.bound <= blend.cost


@given(
    packing=st.floats(0.3, HEXAGONAL_PACKING - 0.05),
    area=st.floats(1e-5, 4e-3),
    diameter=st.floats(0.05e-3, 0.5e-3),
)
def test_filaments_never_overfill_the_open_area(packing, area, diameter):
    count = filament_count(area, packing, diameter)
    filled = count * 3.141592653589793 / 4 * diameter**2 / area
    assert packing - 3.2 / 4 * diameter**2 / area <= filled <= packing + 1e-12
    assert filament_count(area, packing + 0.05, diameter) >= count


@given(
    thickness=st.floats(0.004, 0.03),
    wider=st.floats(1.0, 8.0),
    gauge=st.floats(0.1e-3, 0.6e-3),
)
def test_a_blank_lies_between_the_inside_and_the_outside_of_its_ferrule(thickness, wider, gauge):
    for shape in ("flat", "oval"):
        cavity = Cavity(shape, thickness * wider, thickness)
        around = developed_length(cavity, gauge)
        assert cavity.perimeter < around < cavity.perimeter + 2 * 3.1416 * gauge
        assert cavity.perimeter <= 2 * (cavity.width + cavity.thickness) + 1e-12
