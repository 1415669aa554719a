"""What lies on the desk of one server: the book, the plan made from it, and the planning under way.

One plant works from one book, so all who open the pages see the same desk; what each visitor filters,
opens or types stays with their page.
"""

from __future__ import annotations

import datetime
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from naptuft import services
from naptuft.errors import Fault, NaptuftError

if TYPE_CHECKING:
    from naptuft.book.model import Book
    from naptuft.planning.plan import Plan

BROKE_OFF = Fault(
    "planning", "broken off", "a book that can be planned", "the server's log tells why; please report it"
)


@dataclass
class Planning:
    """One run of the planner as the pages see it.

    stage   what is being done, in words; done its share of the whole (0..1)
    best    the best answer so far, in words
    passed  the stages left behind, with the seconds each took
    """

    stage: str = "opening the book"
    done: float = 0.0
    best: str = ""
    passed: list[tuple[str, float]] = field(default_factory=list)
    stopping: bool = False
    _begun: float = field(default_factory=time.monotonic)
    _stage_begun: float = field(default_factory=time.monotonic)
    _halt: threading.Event = field(default_factory=threading.Event)

    @property
    def seconds(self) -> float:
        """Seconds since it began."""
        return time.monotonic() - self._begun

    def hear(self, report: Any) -> None:
        """Take in a report of progress."""
        if report.stage != self.stage:
            now = time.monotonic()
            self.passed.append((self.stage, now - self._stage_begun))
            self.stage, self._stage_begun = report.stage, now
        self.done = report.done
        self.best = report.best

    def stop(self) -> None:
        """Ask the planner to end with the best answer so far."""
        self.stopping = True
        self._halt.set()

    def halted(self) -> bool:
        """True once somebody asked to stop."""
        return self._halt.is_set()


@dataclass
class Run(Planning):
    """One piece of work on the plan of the desk, with its best answer so far.

    asked    what was asked, in words
    told     grows with every answer, so that an open page knows when to draw it anew
    over     True once nothing better will come
    """

    stage: str = "reading the plan"
    asked: str = ""
    answer: Any = None
    faults: tuple[Fault, ...] = ()
    told: int = 0
    over: bool = False

    def at(self, stage: str, done: float) -> None:
        """Tell where the work is."""
        if stage != self.stage:
            self.stage, self._stage_begun = stage, time.monotonic()
        self.done = done

    def offer(self, answer: Any, best: str = "") -> None:
        """Tell the best answer so far."""
        self.answer, self.best = answer, best or self.best
        self.told += 1


class Desk:
    """The book and the plan, and what is being done with them.

    effort   candidate plans the planner tries; None: as many as its usual time allows
    version  grows with every change, so that an open page knows when to draw itself anew
    kept     what was made from the plan for the pages, until the desk changes
    """

    def __init__(self, effort: int | None = None) -> None:
        self.effort = effort
        self.version = 0
        self.book: Book | None = None
        self.book_name = ""
        self.book_file: bytes | None = None
        self.faults: tuple[Fault, ...] = ()
        self.faulty_name = ""
        self.plan: Plan | None = None
        self.plan_made: datetime.datetime | None = None
        self.plan_seconds = 0.0
        self.planning: Planning | None = None
        self.kept: dict[str, Any] = {}
        self.runs: dict[str, Run] = {}
        self._lock = threading.Lock()

    def _changed(self) -> None:
        self.kept = {}
        for run in self.runs.values():
            run.stop()
        self.runs = {}
        self.version += 1

    def lay(self, book: Book, name: str, file: bytes | None = None) -> None:
        """Lay a checked book on the desk; the plan of the last one goes."""
        with self._lock:
            if self.planning is not None:
                self.planning.stop()
            self.book, self.book_name, self.book_file = book, name, file
            self.faults, self.faulty_name = (), ""
            self.plan, self.plan_made, self.planning = None, None, None
            self._changed()

    def read(self, name: str, file: bytes) -> tuple[Fault, ...]:
        """Read and check a workbook; lay it down when it is clean, else keep its faults and answer with them."""
        suffix = Path(name).suffix or ".xlsx"
        with tempfile.TemporaryDirectory(prefix="naptuft-") as folder:
            path = Path(folder) / f"book{suffix}"
            path.write_bytes(file)
            try:
                book = services.read_book(path)
            except NaptuftError as error:
                faults = error.faults
            else:
                self.lay(book, name, file)
                return ()
        with self._lock:
            self.faults, self.faulty_name = faults, name
            self._changed()
        return faults

    def dismiss_faults(self) -> None:
        """Put the list of faults away."""
        with self._lock:
            self.faults, self.faulty_name = (), ""
            self._changed()

    def keep(self, plan: Plan, seconds: float) -> None:
        """Keep a plan of the book on the desk; seconds is how long it took to make."""
        self.plan, self.plan_seconds = plan, seconds
        self.plan_made = datetime.datetime.now().astimezone()
        self.planning = None
        self._changed()

    def adopt(self, book: Book, plan: Plan, seconds: float) -> None:
        """Keep a changed plan and the book it answers."""
        with self._lock:
            self.book, self.book_file = book, None
            self.keep(plan, seconds)

    def begin(self, name: str, asked: str, work: Callable[[Run], Any]) -> Run:
        """Have a piece of work done in a thread of its own; answers with the one under way where there is one.

        work  called with the run; what it returns is its last answer
        """
        with self._lock:
            under_way = self.runs.get(name)
            if under_way is not None and not under_way.over:
                return under_way
            run = self.runs[name] = Run(asked=asked)
        threading.Thread(target=self._do, args=(run, work), daemon=True, name=name).start()
        return run

    def _do(self, run: Run, work: Callable[[Run], Any]) -> None:
        run.faults = (BROKE_OFF,)
        try:
            run.offer(work(run))
            run.faults = ()
        except NaptuftError as error:
            run.faults = error.faults
        finally:
            run.over = True
            run.told += 1

    def begin_planning(self) -> Planning:
        """Plan the book on the desk in a thread of its own; answers with the run under way."""
        with self._lock:
            if self.planning is not None:
                return self.planning
            if self.book is None:
                raise ValueError("no book lies on the desk")
            planning = self.planning = Planning()
            self._changed()
        threading.Thread(target=self._work, args=(planning, self.book), daemon=True, name="planning").start()
        return planning

    def _work(self, planning: Planning, book: Book) -> None:
        plan, faults = None, (BROKE_OFF,)
        try:
            plan = services.plan_book(book, progress=planning.hear, stop=planning.halted, effort=self.effort)
        except NaptuftError as error:
            faults = error.faults
        finally:
            self._end(planning, plan, faults)
        if plan is not None:
            self._prepare(book, plan)

    def _prepare(self, book: Book, plan: Plan) -> None:
        """Work out what pages of this plan would have to wait for."""
        needs = services.material_plan(book, plan)
        with self._lock:
            if self.plan is plan:
                self.kept["needs"] = needs

    def _end(self, planning: Planning, plan: Plan | None, faults: tuple[Fault, ...]) -> None:
        with self._lock:
            if self.planning is not planning:
                return
            if plan is not None:
                self.keep(plan, planning.seconds)
                return
            self.planning = None
            self.faults, self.faulty_name = faults, self.book_name
            self._changed()
