"""The scheduling problem and its answer, in whole minutes from the start of the plan.

Nouns only: the scheduler reads a `Problem` and returns a `Schedule`; the independent checker reads
both. Neither knows the other.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class Machine:
    """One machine and when it is open.

    open     stretches [from, to) in minutes, in order and apart; None: always open
    set_for  the family it is set for at minute 0, from which the first changeover counts; None: not set yet
    takes    what it takes at one time (an oven, a vat): operations of one family, as long as each other, that
             start together and fill no more than this; None: one operation at a time
    overtime those parts of its open stretches that are overtime, in order and apart
    """

    name: str
    open: tuple[tuple[int, int], ...] | None = None
    set_for: str | None = None
    takes: int | None = None
    overtime: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Crew:
    """People who share a skill: those needed at one time never exceed `people`.

    open  stretches [from, to) in minutes when they are there; None: whenever a machine is open
    """

    name: str
    people: float
    open: tuple[tuple[int, int], ...] | None = None


@dataclass(frozen=True)
class Need:
    """People an operation needs while it runs.

    It runs only while they are there and its machine is open; where it pauses they are free for others.
    Operations together in one machine need them once.

    crew        index of the crew
    people      how many of them, a part of one for who minds several machines
    changeover  True: for its changeover as well
    """

    crew: int
    people: float
    changeover: bool = False


@dataclass(frozen=True)
class SharedStore:
    """A store of fixed size (hanging racks, cure racks): units held at one time never exceed `capacity`."""

    name: str
    capacity: int


@dataclass(frozen=True)
class Mode:
    """One way to do an operation.

    machine   index of the machine
    duration  minutes it takes there
    setup     how many of them come before the first piece
    penalty   what choosing it counts, in minutes of changeover; 0 for the preferred way
    """

    machine: int
    duration: int
    setup: int = 0
    penalty: int = 0


@dataclass(frozen=True)
class Operation:
    """One step of a job; exactly one of its modes is chosen.

    modes     the machines that can do it
    family    what the machine is set for; None changes nothing and leaves the machine set as it was
    min_wait  clock minutes that must pass after it before the job's next operation starts (or, after the
              last one, before the job counts as finished); runs in closed time too
    max_wait  the most that may pass before the next operation starts; None: no limit
    store     index of the shared store it holds from its start until its end + min_wait; None: none
    units     how many units it holds
    name      what is done, for words only
    pauses    True: it may stop while its machine is closed and go on when it opens;
              False: it runs without pause inside one open stretch
    pinned    index of the machine and minute at which it starts, exactly there; None: free
    needs     people it needs
    load      what it fills of a machine that takes several operations at one time
    transfers equal batches it is handed on in: the next operation may start when the first is done and has
              waited, and ends no sooner than the last has waited and been worked on there; 1: all at once
    """

    modes: tuple[Mode, ...]
    family: str | None = None
    min_wait: int = 0
    max_wait: int | None = None
    store: int | None = None
    units: int = 0
    pauses: bool = False
    name: str = ""
    pinned: tuple[int, int] | None = None
    needs: tuple[Need, ...] = ()
    load: int = 0
    transfers: int = 1


@dataclass(frozen=True)
class Job:
    """Operations done in the order given.

    release  earliest start [minute]
    due      when it should be finished; None: no due time
    weight   what a late minute counts
    after    names of jobs that must be finished (their last wait included) before this one starts
    """

    name: str
    operations: tuple[Operation, ...]
    release: int = 0
    due: int | None = None
    weight: float = 1.0
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Aims:
    """What a plan is judged by besides late minutes, in minutes of changeover; a minute of changeover counts 1.

    overtime  what a minute worked in overtime counts
    waiting   what a minute counts that a job waits between two of its steps, after the least wait asked of it
    late      what a weighted late minute counts; None: late minutes come first, whatever the rest comes to
    """

    overtime: int = 0
    waiting: float = 0.0
    late: float | None = None


@dataclass(frozen=True)
class Problem:
    """Machines, crews, stores, jobs and changeovers.

    changeovers  machine index -> {(family before, family after): minutes}; 0 where a pair is not listed
                 and before the first operation of a machine that is not set. A changeover occupies the machine just before the
                 operation it is for; it may lie partly in closed time, the operation may not. None begins
                 before minute 0.
    origin       when minute 0 is, for words only; None: times are told as day and time, the first day being 1
    objective    makespan; or first the sum over jobs of weight x late minutes, then what else `aims` counts:
                 changeover minutes, penalties of the ways chosen, overtime, waiting
    """

    machines: tuple[Machine, ...]
    jobs: tuple[Job, ...]
    stores: tuple[SharedStore, ...] = ()
    changeovers: Mapping[int, Mapping[tuple[str, str], int]] = field(default_factory=dict)
    objective: Literal["makespan", "weighted_tardiness_then_changeover"] = "weighted_tardiness_then_changeover"
    origin: datetime.datetime | None = None
    crews: tuple[Crew, ...] = ()
    aims: Aims = Aims()

    @property
    def keys(self) -> list[tuple[int, int]]:
        """Job and index of every operation, job by job.

        >>> step = Operation((Mode(0, 5),))
        >>> Problem((Machine("press"),), (Job("a", (step, step)), Job("b", (step,)))).keys
        [(0, 0), (0, 1), (1, 0)]
        """
        return [(job, index) for job, work in enumerate(self.jobs) for index in range(len(work.operations))]


@dataclass(frozen=True)
class Placement:
    """One operation on a machine at a time.

    job, index  indices into Problem.jobs and Job.operations
    start, end  minutes; `end` includes closed time an operation paused over
    changeover  minutes the machine was changed over just before `start`
    reason      why it does not start earlier, in words that name the machine, job, wait, crew or store
    """

    job: int
    index: int
    machine: int
    start: int
    end: int
    changeover: int = 0
    reason: str = ""


@dataclass(frozen=True)
class Schedule:
    """A plan for every operation, with what is known of its quality.

    placements  one per operation, by job and index
    objective   (makespan,) or (weighted late minutes, what else is counted: changeover minutes alone by default)
    bound       a proven lower bound on the first figure; None where none was proven
    status      optimal only when proven
    effort      candidate plans tried
    order       job and index of what the scheduler placed, in the order it placed them; those that must follow
                closely are placed with the first of them
    """

    placements: tuple[Placement, ...]
    objective: tuple[float, ...]
    bound: float | None
    status: Literal["optimal", "feasible"]
    effort: int = 0
    trail: tuple[tuple[int, float], ...] = ()
    order: tuple[tuple[int, int], ...] = ()
