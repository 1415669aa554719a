"""One function per intention of the user. The command line and the pages call these and nothing below."""

from naptuft.services.books import check_book, demo_book, read_book, write_blank_book, write_book, write_demo_book
from naptuft.services.calculations import CALCULATIONS, find_calculation, write_handbook
from naptuft.services.capacity import chain, designs_of, machine_hours, needs_at_rate, rough_load, trade_offs, what_if
from naptuft.services.designs import SHEETS, blend_today, design_paper, find_sheet, what_matters, write_design
from naptuft.services.floor import (
    assess_risk,
    change_plan,
    happened,
    odds_by_steps,
    promise,
    read_happened,
    read_plan,
    reliefs,
    risk_as_json,
)
from naptuft.services.instances import solve_cutting, solve_schedule
from naptuft.services.plans import (
    Progress,
    margins,
    material_plan,
    plan_book,
    plan_schema,
    plan_text,
    summary,
    warm,
    write_plan,
)

__all__ = [
    "CALCULATIONS",
    "SHEETS",
    "Progress",
    "assess_risk",
    "blend_today",
    "chain",
    "change_plan",
    "check_book",
    "demo_book",
    "design_paper",
    "designs_of",
    "find_calculation",
    "find_sheet",
    "happened",
    "machine_hours",
    "margins",
    "material_plan",
    "needs_at_rate",
    "odds_by_steps",
    "plan_book",
    "plan_schema",
    "plan_text",
    "promise",
    "read_book",
    "read_happened",
    "read_plan",
    "reliefs",
    "risk_as_json",
    "rough_load",
    "solve_cutting",
    "solve_schedule",
    "summary",
    "trade_offs",
    "warm",
    "what_if",
    "what_matters",
    "write_blank_book",
    "write_book",
    "write_demo_book",
    "write_design",
    "write_handbook",
    "write_plan",
]
