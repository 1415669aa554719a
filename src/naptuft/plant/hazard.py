"""The hazards of a work centre, the usual measure against each, and the public rule to read.

The rules named are those of the United States, free to read by anyone; the plant's own law decides.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from naptuft.calculation import Caution

CAUTIONS: Mapping[str, tuple[Caution, ...]] = MappingProxyType(
    {
        "none": (),
        "press": (
            Caution(
                "Hands in the press",
                "run only with the point of operation guarded and both hands on the controls; feed and clear with a"
                " tool, never with fingers",
                "29 CFR 1910.217",
            ),
            Caution(
                "Press moving during die change",
                "stop, lock out and block the slide before reaching between the dies",
                "29 CFR 1910.147",
            ),
        ),
        "hot plastic": (
            Caution(
                "Hot plastic under pressure",
                "close the gate and the purge guard before injecting; stand aside from the nozzle, wear gloves, sleeves"
                " and a face shield when purging",
                "ANSI/PLASTICS B151.1",
            ),
            Caution(
                "Moving platens",
                "lock out and bleed the hydraulics before reaching between the mould halves",
                "29 CFR 1910.147",
            ),
        ),
        "solvent vapour": (
            Caution(
                "Solvent vapour: fire",
                "keep the exhaust running until the last rack is dry; no flame, spark or hot surface; earth vat and"
                " racks; keep vapour below a quarter of its lower flammable limit",
                "29 CFR 1910.122 to 1910.126",
            ),
            Caution(
                "Solvent vapour: breathing and skin",
                "work upwind of the vat with local exhaust, solvent gloves and eye protection",
                "29 CFR 1910.94 and 1910.1200",
            ),
        ),
        "epoxy": (
            Caution(
                "Epoxy sensitises the skin",
                "nitrile gloves, sleeves and eye protection; change gloves after a spill, wash with soap, never with"
                " solvent; exhaust over the cure racks",
                "29 CFR 1910.1200",
            ),
            Caution(
                "Epoxy heats in the pot",
                "mix no more than is used within the pot life; set a smoking pot outdoors and leave it",
                "the safety data sheet, 29 CFR 1910.1200",
            ),
        ),
        "bristle dust": (
            Caution(
                "Bristle dust",
                "local exhaust at the comb and trimmer, a fitted filter mask when cleaning; vacuum, never blow down; wash"
                " hands before eating",
                "29 CFR 1910.94 and 1910.1000",
            ),
        ),
        "spinning": (
            Caution(
                "Parts flung from a spinner",
                "lid closed and locked before it turns and until it stands; load in balance; stay below the marked speed",
                "29 CFR 1910.212",
            ),
        ),
        "cutting": (
            Caution(
                "Blades",
                "guard the blade, push work with a block, wear cut-resistant gloves when changing blades and with the"
                " power locked out",
                "29 CFR 1910.212 and 1910.147",
            ),
        ),
        "noise": (
            Caution(
                "Noise",
                "wear hearing protection where the day's average is 85 dBA or more; keep covers shut",
                "29 CFR 1910.95",
            ),
        ),
        "nailing": (
            Caution(
                "Nails and pins driven by machine",
                "eye protection; hands clear of the driver, which must not fire unless the work is clamped; disconnect"
                " the air before clearing a jam",
                "29 CFR 1910.212 and 1910.147",
            ),
        ),
    }
)
"""Hazard word of a work centre -> what its papers warn of."""


def cautions_of(hazard: str) -> tuple[Caution, ...]:
    """What to warn of at a work centre with this hazard; none for "none".

    hazard  a word of `work_centre.HAZARDS`; any other raises KeyError

    >>> [caution.rule for caution in cautions_of("noise")], cautions_of("none")
    (['29 CFR 1910.95'], ())
    """
    return CAUTIONS[hazard]
