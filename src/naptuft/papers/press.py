"""Sets data in a Typst template and gives back the PDF.

Data goes in as JSON text through one input, so that nothing a user wrote is ever read as markup. Only the
Barlow fonts that come with naptuft's own dependencies are used, so that a paper looks the same anywhere.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

TEMPLATES = Path(__file__).parent / "templates"
_FONTS = ("fontpkg_barlow", "fontpkg_barlow_condensed")


@lru_cache(maxsize=1)
def fonts():
    """The faces papers are set in, scanned once."""
    import typst

    folders = [Path(spec.origin).parent / "files" for name in _FONTS if (spec := find_spec(name)) and spec.origin]
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=folders)


def printed(template: str, data: Mapping[str, Any], *, tags: bool = True) -> bytes:
    """The PDF of `data` set in a template; the same bytes for the same data.

    template  file name without its ending, in the folder `templates`
    tags      mark up tables and headings for screen readers; a long paper is four times as large with them
    """
    answer = _compiled(template, data, "pdf", tags=tags)
    assert isinstance(answer, bytes)
    return answer


def pictures(template: str, data: Mapping[str, Any], dots_per_inch: float = 96.0) -> list[bytes]:
    """The pages of `data` set in a template, as PNG."""
    answer = _compiled(template, data, "png", dots_per_inch)
    return answer if isinstance(answer, list) else [answer]


def _compiled(
    template: str,
    data: Mapping[str, Any],
    form: Literal["pdf", "png"],
    dots_per_inch: float | None = None,
    tags: bool = True,
):
    import typst

    compiler = typst.Compiler(
        input=TEMPLATES / f"{template}.typ",
        root=TEMPLATES,
        font_paths=fonts(),
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False, allow_nan=False)},
    )
    answer = compiler.compile(format=form, ppi=dots_per_inch, pdf_tags=tags)
    assert answer is not None
    return answer
