"""A plan changed by what happened: started work stays, nothing moves that need not."""

from naptuft.planning.replan.changes import Change
from naptuft.planning.replan.charge import Charge
from naptuft.planning.replan.happenings import Happening, happenings_csv, read_happenings
from naptuft.planning.replan.replanning import MOST_MOVED, Replanned, replan

__all__ = ["MOST_MOVED", "Change", "Charge", "Happening", "Replanned", "happenings_csv", "read_happenings", "replan"]
