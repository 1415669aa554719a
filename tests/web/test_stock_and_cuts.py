"""Sheets 3 and 4: materials with their orders, blends and cut lists with their drawings."""

from __future__ import annotations

from naptuft import services
from naptuft.web.ledger import Ledger


def shown(user, marker: str) -> str:
    (part,) = user.find(marker=marker).elements
    return part.content


def rows_of(user, marker: str) -> list[str]:
    (ledger,) = user.find(kind=Ledger, marker=marker).elements
    return [key for key, _ in ledger.rows]


async def test_every_material_the_plan_takes_has_a_line(user, demo_desk):
    await user.open("/stock")
    taken = {a.material for a in demo_desk.plan.allocations if a.source != "made"} & set(demo_desk.book.material)
    assert taken <= set(rows_of(user, "materials"))


async def test_a_material_opens_with_its_stock_its_orders_and_its_lots(user, demo_desk):
    need = next(n for n in services.material_plan(demo_desk.book, demo_desk.plan) if n.proposed)
    await user.open(f"/stock?material={need.material}")
    detail = shown(user, "detail")
    assert "<svg" in detail
    assert "Proposed orders" in detail
    assert all(lot.code in detail for lot in demo_desk.book.lots if lot.material == need.material)


async def test_every_blend_and_cut_list_has_a_line_and_opens(user, demo_desk):
    plan = demo_desk.plan
    await user.open("/blends")
    assert len(rows_of(user, "blends-and-cuts")) == len(plan.blends) + len(plan.cut_lists)
    blend, cut = plan.blends[0], next(cut for cut in plan.cut_lists if cut.kind == "tube")
    await user.open(f"/blends?of={blend.work_order}")
    detail = shown(user, "detail")
    assert all(line.lot in detail for line in blend.lots)
    assert detail.count('class="allowed"') == len(blend.profile)
    await user.open(f"/blends?of={cut.work_order}")
    detail = shown(user, "detail")
    assert detail.count("× ") >= len(cut.patterns)
    assert "to scale" not in detail or "<svg" in detail


async def test_before_a_plan_the_sheets_say_where_to_begin(newcomer):
    for path in ("/stock", "/blends"):
        await newcomer.open(path)
        await newcomer.should_see("Nothing is planned yet")
