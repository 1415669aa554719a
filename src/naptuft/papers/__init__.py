"""Papers of a plan: travellers, cut lists, blend sheets, the order summary, the workbook and the summary page."""

from __future__ import annotations

from naptuft.papers.folder import paper, traveller_paper, write_all, write_papers
from naptuft.papers.summary import summary_markdown

__all__ = ["paper", "summary_markdown", "traveller_paper", "write_all", "write_papers"]
