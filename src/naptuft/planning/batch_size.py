"""How large a batch may be, and how large it must be for getting ready to be worth it."""

from __future__ import annotations

from naptuft.book.model import Book, Product, RouteStep
from naptuft.planning.design import Designs, seconds_each, unit_need
from naptuft.plant.work_centre import changeover_minutes
from naptuft.quantity import from_si

CUT_LIST = "cut list"


def least_run(book: Book, product: Product, designs: Designs) -> float:
    """The least of a product of which getting ready takes no more than the book's share of the time, at every step.

    With set-up s and time for one t, s / (s + n t) <= share. 0 where the book asks for none. [product's unit]
    """
    share = book.settings.setting_up
    if share is None:
        return 0.0
    least = 0.0
    for step in book.route_of[product.code]:
        if step.stage == "make" and (each := seconds_each(designs, step)) > 0:
            least = max(least, getting_ready(book, step) * (1 / share - 1) / each * (1 - product.scrap))
    return least


def getting_ready(book: Book, step: RouteStep) -> float:
    """What getting ready for a step takes: its set-up, and a changeover from another family, on the mean. [s]"""
    others = {
        other.family
        for other in book.routes
        if other.work_centre == step.work_centre and other.family not in ("", step.family)
    }
    if not step.family or not others:
        return step.setup
    minutes = [changeover_minutes(book.changeovers, step.work_centre, other, step.family) for other in sorted(others)]
    return step.setup + 60 * sum(minutes) / len(minutes)


def most_at_once(book: Book, product: Product, designs: Designs) -> float:
    """The most of a product that is made at once: by its own largest batch, racks, ovens, and what must be used in time."""
    most = float("inf")
    if product.most_batch is not None:
        most = from_si(product.most_batch.si(product.pint_unit), product.pint_unit)
    capacity = {rack.code: rack.capacity for rack in book.racks}
    for step in book.route_of[product.code]:
        if step.rack and step.per_rack:
            most = min(most, float(int(capacity[step.rack] * step.per_rack * (1 - product.scrap) + 1e-9)))
        takes = [machine.takes for machine in book.machines_of.get(step.work_centre, ())]
        if step.per_load and takes and all(takes):
            loads = max(room for room in takes if room)
            most = min(most, float(int(loads * step.per_load * (1 - product.scrap) + 1e-9)))
    for part in book.parts_of.get(product.code, ()):
        made = book.product.get(part.part)
        if made is not None and made.use_within is not None and part.from_design != CUT_LIST:
            started = most_at_once(book, made, designs) / unit_need(book, designs, part)
            if started < float("inf"):
                started = float(int(started + 1e-9)) if product.unit == "pcs" else started
                most = min(most, started * (1 - product.scrap))
    return max(1.0, float(int(most + 1e-9))) if product.unit == "pcs" and most < float("inf") else most
