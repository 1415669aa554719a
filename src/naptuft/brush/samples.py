"""Three brushes a painter would know, designed whole: for the handbook, and to hold the engine against the trade."""

from __future__ import annotations

from collections.abc import Mapping

from naptuft.brush.design import WHOLE_BRUSH
from naptuft.brush.outline import BrushChoice
from naptuft.design_sheet import WholeDesign

SAMPLES: Mapping[str, BrushChoice] = {
    "100 mm wall brush for emulsion": BrushChoice(
        shape="flat", width=0.100, medium="water-borne", handle="plastic", volume_per_week=6000
    ),
    "50 mm angled sash": BrushChoice(
        shape="angled sash", width=0.050, medium="water-borne", filling="PBT", diameter=0.17e-3, volume_per_week=4000
    ),
    "38 mm bristle varnish brush": BrushChoice(
        shape="flat",
        width=0.038,
        medium="oil or alkyd",
        filling="hog bristle",
        diameter=0.17e-3,
        trim="chisel",
        volume_per_week=2500,
    ),
}


def sample(name: str) -> WholeDesign:
    """One of `SAMPLES` worked out.

    >>> sample("50 mm angled sash").result.passed
    True
    """
    chosen = SAMPLES[name]
    return WholeDesign(WHOLE_BRUSH, chosen, WHOLE_BRUSH.compose(chosen))
