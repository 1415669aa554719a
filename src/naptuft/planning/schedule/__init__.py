"""Plans in minutes: which operation on which machine when, from a `Problem` to a `Schedule`."""

from naptuft.planning.schedule.bettered import bettered
from naptuft.planning.schedule.instance import read_instance, solution_json
from naptuft.planning.schedule.search import Progress, schedule

__all__ = ["Progress", "bettered", "read_instance", "schedule", "solution_json"]
