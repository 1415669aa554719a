"""The plan in a page of Markdown: what the engineer reads first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from naptuft.costing.margin import order_margins
from naptuft.papers.ordering import ATTENTION, counts, design_faults, duration_hours, quality
from naptuft.papers.wording import amount, day, moment, money, share, state, unit_word
from naptuft.planning.plan import CostLine, Plan

BUSIEST = 5
"""Work centres named as the busiest."""


def summary_markdown(plan: Plan) -> str:
    """The plan in a page: orders with reasons, busiest work centres, what to buy, yield, money, findings."""
    parts = [
        f"# {_plain(plan.plant)}: {plan.horizon_days} days from {moment(plan.start)} {plan.start.year}",
        _headline(plan),
        quality(plan),
        _orders(plan),
        _loads(plan),
        _purchases(plan),
        _yield(plan),
        _money(plan),
        _designs(plan),
        _findings(plan),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _plain(words: str) -> str:
    """A text that Markdown shows as it stands, on one line."""
    flat = " ".join(words.split())
    return "".join(f"\\{letter}" if letter in "\\`*_{}[]<>#|!~$" else letter for letter in flat)


def _table(heads: Sequence[str], aligns: str, rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table; aligns has l or r for each column."""
    rules = ["---:" if align == "r" else "---" for align in aligns]
    lines = [heads, rules, *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _headline(plan: Plan) -> str:
    found = counts(plan)
    stock = sum(order.state == "from stock" for order in plan.orders)
    return (
        f"**{len(plan.orders)} order line{'s' * (len(plan.orders) != 1)}: {found['on time']} on time ({stock} from stock), "
        f"{found['late']} late, {found['short']} short.** "
        f"{len(plan.work_orders)} work orders, {len(plan.operations)} operations."
    )


def _orders(plan: Plan) -> str:
    lines = [
        f"- **{_plain(order.name)} {state(order)}**: {order.quantity:,} of "
        f"{_plain(f'{order.product_name} ({order.product})')} for {_plain(order.customer)}, "
        f"due {moment(order.due)}, because {_plain(order.reason)}"
        for order in plan.orders
        if order.state in ATTENTION
    ]
    return "## Late or short\n\n" + ("\n".join(lines) or "None.")


def _loads(plan: Plan) -> str:
    busiest = sorted(plan.loads, key=lambda load: (-load.share, load.work_centre))[:BUSIEST]
    if not busiest:
        return ""
    rows = [
        (
            _plain(f"{load.name} ({load.work_centre})"),
            str(load.machines),
            share(load.share),
            duration_hours(load.run_minutes),
            duration_hours(load.changeover_minutes),
            duration_hours(load.open_minutes),
        )
        for load in busiest
    ]
    heads = ("work centre", "machines", "in use", "running", "changing over", "open")
    return "## Busiest work centres\n\n" + _table(heads, "lrrrrr", rows)


def _purchases(plan: Plan) -> str:
    if not plan.purchases:
        return "## To buy\n\nNothing."
    ordered = sorted(plan.purchases, key=lambda purchase: (purchase.order_by, purchase.number))
    rows = [
        (
            purchase.number,
            _plain(f"{purchase.material_name} ({purchase.material})"),
            f"{amount(purchase.quantity, purchase.unit).removesuffix('.000')} {unit_word(purchase.unit)}",
            day(purchase.order_by),
            moment(purchase.arrives),
            money(purchase.cost),
        )
        for purchase in ordered
    ]
    total = money(sum((purchase.cost for purchase in plan.purchases), Decimal(0)), plan.currency)
    heads = ("number", "material", "quantity", "order by", "arrives", plan.currency)
    return f"## To buy: {total}\n\n" + _table(heads, "llrllr", rows)


def _yield(plan: Plan) -> str:
    lines = []
    tubes = [cut for cut in plan.cut_lists if cut.kind == "tube"]
    length = sum(cut.rolls * cut.stock_length_mm for cut in tubes)
    if length:
        used = sum(cut.yield_share * cut.rolls * cut.stock_length_mm for cut in tubes) / length
        proven = sum(cut.proven_optimal for cut in tubes)
        lines.append(
            f"- Stock tubes: {sum(cut.rolls for cut in tubes):,} cut, {share(used)} of their length in pieces; "
            f"{proven} of {len(tubes)} cut lists proven the fewest."
        )
    taken = sum(line.grams for blend in plan.blends for line in blend.lots)
    if taken:
        combings = sum(blend.combings_grams for blend in plan.blends)
        proven = sum(blend.proven_optimal for blend in plan.blends)
        lines.append(
            f"- Fillings: {taken / 1000:,.1f} kg weighed out, {share(combings / taken)} combed out; "
            f"{proven} of {len(plan.blends)} blends proven the cheapest."
        )
    own = [cost for cost in plan.costs if cost.of == "work order"]
    spent = sum((cost.total for cost in own), Decimal(0))
    if spent:
        scrap = sum((cost.scrap for cost in own), Decimal(0))
        credit = -sum((cost.regrind_credit for cost in own), Decimal(0))
        lines.append(
            f"- Scrap: {money(scrap, plan.currency)}, {share(float(scrap / spent))} of what is spent; "
            f"{money(credit, plan.currency)} back for web and runners."
        )
    return "## Yield and scrap\n\n" + "\n".join(lines) if lines else ""


def _money(plan: Plan) -> str:
    own = [cost for cost in plan.costs if cost.of == "work order"]
    if not own:
        return ""
    kinds = ("material", "machine", "labour", "energy", "overhead", "scrap", "regrind_credit", "total")
    rows = [(kind.replace("_", " "), money(_sum(own, kind))) for kind in kinds]
    delivered = order_margins(plan.orders, plan.costs)
    value = sum((line.value for line in delivered), Decimal(0))
    cost = sum((line.cost for line in delivered), Decimal(0))
    words = (
        f"What is delivered is worth {money(value, plan.currency)} and costs {money(cost, plan.currency)}: "
        f"{money(value - cost, plan.currency)} over."
        if delivered
        else "No prices are known."
    )
    return "## Money\n\n" + words + "\n\n" + _table(("work orders", plan.currency), "lr", rows)


def _sum(costs: Sequence[CostLine], kind: str) -> Decimal:
    return sum((getattr(cost, kind) for cost in costs), Decimal(0))


def _designs(plan: Plan) -> str:
    faults = design_faults(plan)
    if not faults:
        return ""
    rows = [
        tuple(map(_plain, (f"{fault['name']} ({fault['product']})", fault["check"], fault["figures"], fault["mend"])))
        for fault in faults
    ]
    return "## Design checks not kept\n\n" + _table(("product", "check", "has · wanted", "mend"), "llll", rows)


def _findings(plan: Plan) -> str:
    if not plan.checks:
        return "## Independent check\n\nNothing held against the plan."
    lines = [f"- **{_plain(f.rule)}**, {_plain(f.place)}: {_plain(f.message)}" for f in plan.checks]
    return f"## Independent check: {len(lines)} found\n\n" + "\n".join(lines)
