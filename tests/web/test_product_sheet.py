"""A product's design sheet: drawing, margins, figures, parts, and the way to the bench and back."""

from html import unescape
from re import search

from naptuft.web.entry import Entry


def shown(user, marker: str) -> str:
    (part,) = user.find(marker=marker).elements
    return part.content


async def test_a_product_shows_its_drawing_margins_and_figures(user, demo_desk):
    design = next(d for d in demo_desk.plan.designs if d.product_line == "brush")
    await user.open(f"/product/{design.product}")
    await user.should_see(design.product_name)
    assert "<svg" in shown(user, "drawing")
    for check in design.result.checks:
        assert check.label in unescape(shown(user, "gauges"))
    first = shown(user, "gauges").index(design.result.limiting.label)
    assert all(first <= shown(user, "gauges").index(check.label) for check in design.result.checks)


async def test_the_parts_list_tells_the_designed_amount(user, demo_desk):
    book, plan = demo_desk.book, demo_desk.plan
    part = next(p for p in book.parts if p.from_design == "fill_weight")
    design = next(d for d in plan.designs if d.product == part.product)
    amount = next(str(v) for v in design.result.values if v.name == "fill_weight")
    await user.open(f"/product/{part.product}")
    assert amount in shown(user, "parts-list")
    assert part.part in shown(user, "parts-list")


async def test_the_bench_opens_with_the_products_own_design(user, demo_desk):
    design = next(d for d in demo_desk.plan.designs if d.product_line == "brush")
    await user.open(f"/product/{design.product}")
    verdict = next(e.content for e in user.find(kind=None, content="open on the design bench").elements)
    link = search(r'href="(/bench/[^"]+)"', verdict)
    assert link is not None
    address = unescape(link[1])
    await user.open(address)
    width = demo_desk.book.designs[design.product].width
    (entry,) = user.find(kind=Entry, marker="input-width").elements
    assert entry.value == f"{width * 1000:g} mm"
    await user.should_not_see("to be mended")


async def test_every_product_of_the_book_has_a_sheet(user, demo_desk):
    for product in demo_desk.book.products:
        await user.open(f"/product/{product.code}")
        await user.should_see(product.name)


async def test_an_unknown_product_is_said_to_be_so(user):
    await user.open("/product/NO-SUCH")
    await user.should_see("No product of the book on the desk has the code NO-SUCH")
