"""What can hurt someone, step by step through the making of a brush, the usual measure and the public rule."""

from __future__ import annotations

from naptuft.calculation import Caution

BRISTLE_CAUTION = Caution(
    "Raw bristle and hair carry dust and may carry disease, anthrax among them",
    "take only boiled or otherwise disinfected bristle with its certificate, refuse bloodstained lots; exhaust at the "
    "mixer and comber, respirator, gloves, wash before eating",
    "9 CFR 95.18 and 95.19, and 29 CFR 1910.134",
)
FILAMENT_CAUTION = Caution(
    "Filament ends and dust",
    "eye protection at the mixer and trimmer, exhaust, keep the floor swept",
    "29 CFR 1910.133 and the combustible dust rules",
)
TRIMMING_CAUTION = Caution(
    "Combing, trimming and flagging machines cut, throw ends and are loud",
    "guard knives and nips, lock out before clearing a jam, eye and ear protection",
    "29 CFR 1910.212, 1910.147 and 1910.95",
)
PRESS_CAUTION = Caution(
    "Press and cutting edges",
    "guard the point of operation, lock out before setting the tool, wear cut-proof gloves for blanks; "
    "keep the burr side inside",
    "29 CFR 1910.212, 1910.217 and 1910.147",
)
NOISE_CAUTION = Caution(
    "Presses and seaming heads are loud",
    "measure the noise at the place of work; ear protection, enclosure or damping where the day's dose nears its limit",
    "29 CFR 1910.95",
)
EPOXY_CAUTION = Caution(
    "Epoxy resin and hardener sensitise skin and lungs",
    "nitrile gloves, sleeves, local exhaust; never mix more than the pot life allows, as a large mass heats itself",
    "29 CFR 1910.1200 and 1910.94",
)
EXOTHERM_CAUTION = Caution(
    "A large mass of mixed epoxy heats itself, fumes and can burn",
    "mix small batches, spread them thin, never leave a pot standing; carry a hot pot outdoors",
    "29 CFR 1910.1200 and the maker's safety data sheet",
)
OVEN_CAUTION = Caution(
    "A cure oven burns hands and drives vapour off the glue",
    "exhaust the oven, let brushes cool before handling, gloves against heat",
    "29 CFR 1910.94 and 1910.1200",
)
NAILING_CAUTION = Caution(
    "Nailing and pressing heads together",
    "guard the ram and the nail feed, two-hand control or light curtain, eye and ear protection",
    "29 CFR 1910.212, 1910.133 and 1910.95",
)
SOLVENT_CAUTION = Caution(
    "Trial paints and solvents give off vapour that burns and harms",
    "exhaust, no ignition source, a closed bin for rags, gloves",
    "29 CFR 1910.122 to 1910.126 and 1910.1200",
)
