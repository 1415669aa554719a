"""The whole problem as one CP-SAT model, for problems small enough to prove.

One worker, a fixed seed and a deterministic limit: the same answer every time.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from naptuft.planning.problem import Operation, Placement, Problem, Schedule
from naptuft.planning.schedule.rules import beyond_exact, counts_more, pinned_mode


@dataclass(frozen=True)
class Proof:
    """What the exact solver found.

    placements  the best plan it has; None: none found
    figures     the two figures of that plan
    bound       proven lower bound of the first figure
    proven      whether both figures are proven optimal
    """

    placements: tuple[Placement, ...] | None
    figures: tuple[float, float]
    bound: float
    proven: bool


def weight_scale(problem: Problem) -> int | None:
    """A power of ten that makes every weight whole; None where up to a million does not."""
    for scale in (1, 10, 100, 1000, 10_000, 100_000, 1_000_000):
        if all(abs(job.weight * scale - round(job.weight * scale)) < 1e-9 for job in problem.jobs):
            return scale
    return None


@dataclass
class _Step:
    start: Any
    end: Any
    changeover: Any
    chosen: dict[int, Any]


class Model:
    """A problem as CP-SAT variables; crews, batches and transfer batches are not in it."""

    def __init__(self, problem: Problem, horizon: int, scale: int):
        from ortools.sat.python import cp_model

        self.cp = cp_model
        self.problem = problem
        self.horizon = horizon
        self.model = cp_model.CpModel()
        self.steps: list[list[_Step]] = []
        self.circuits: list[tuple[list[_Step], int, list[tuple[int, int, Any]]]] = []
        self.on_machine: list[list[tuple[Operation, _Step, Any]]] = [[] for _ in problem.machines]
        for job in problem.jobs:
            self.steps.append([self._step(operation) for operation in job.operations])
        self._jobs()
        for machine in range(len(problem.machines)):
            self._machine(machine)
        self._stores()
        self._figures(scale)

    def _step(self, operation: Operation) -> _Step:
        model, horizon = self.model, self.horizon
        step = _Step(
            model.new_int_var(0, horizon, ""),
            model.new_int_var(0, horizon, ""),
            model.new_int_var(0, 0, ""),
            {},
        )
        families = any(self.problem.changeovers.get(mode.machine) for mode in operation.modes)
        if families and operation.family is not None:
            longest = max(
                (max(self.problem.changeovers.get(m.machine, {}).values(), default=0) for m in operation.modes),
                default=0,
            )
            step.changeover = model.new_int_var(0, longest, "")
        for index, mode in enumerate(operation.modes):
            literal = model.new_bool_var("")
            step.chosen[index] = literal
            self._calendar(operation, step, mode.machine, mode.duration, literal)
            self.on_machine[mode.machine].append((operation, step, literal))
        model.add_exactly_one(step.chosen.values())
        pinned = pinned_mode(operation)
        if pinned is not None and operation.pinned is not None:
            model.add(step.chosen[pinned] == 1)
            model.add(step.start == operation.pinned[1])
        return step

    def _calendar(self, operation: Operation, step: _Step, machine: int, minutes: int, literal: Any) -> None:
        model, cp = self.model, self.cp
        stretches = self.problem.machines[machine].open
        if stretches is None:
            model.add(step.end == step.start + minutes).only_enforce_if(literal)
            return
        if not operation.pauses:
            model.add(step.end == step.start + minutes).only_enforce_if(literal)
            fits = [[opens, closes - minutes] for opens, closes in stretches if closes - opens >= minutes]
            domain = cp.Domain.from_intervals(fits)
            model.add_linear_expression_in_domain(step.start, domain).only_enforce_if(literal)
            return
        # open minutes before the start and before the end; each end of the operation lies in one stretch
        before = [0]
        for opens, closes in stretches:
            before.append(before[-1] + closes - opens)
        starts_in = [model.new_bool_var("") for _ in stretches]
        ends_in = [model.new_bool_var("") for _ in stretches]
        worked = model.new_int_var(0, before[-1], "")
        model.add(sum(starts_in) == 1).only_enforce_if(literal)
        model.add(sum(ends_in) == 1).only_enforce_if(literal)
        for k, (opens, closes) in enumerate(stretches):
            model.add(step.start == worked + (opens - before[k])).only_enforce_if(literal, starts_in[k])
            model.add(step.start >= opens).only_enforce_if(literal, starts_in[k])
            model.add(step.start <= closes - 1).only_enforce_if(literal, starts_in[k])
            model.add(step.end == worked + (minutes + opens - before[k])).only_enforce_if(literal, ends_in[k])
            model.add(step.end >= (opens if minutes == 0 else opens + 1)).only_enforce_if(literal, ends_in[k])
            model.add(step.end <= closes).only_enforce_if(literal, ends_in[k])

    def _jobs(self) -> None:
        numbers = {job.name: number for number, job in enumerate(self.problem.jobs)}
        for job, steps in zip(self.problem.jobs, self.steps, strict=True):
            self.model.add(steps[0].start >= job.release)
            for operation, step, follows in zip(job.operations, steps, steps[1:], strict=False):
                self.model.add(follows.start >= step.end + operation.min_wait)
                if operation.max_wait is not None:
                    self.model.add(follows.start <= step.end + operation.max_wait)
            for name in job.after:
                self.model.add(steps[0].start >= self._finish(numbers[name]))

    def _finish(self, job: int) -> Any:
        return self.steps[job][-1].end + self.problem.jobs[job].operations[-1].min_wait

    def _machine(self, machine: int) -> None:
        model, horizon = self.model, self.horizon
        changes = {pair: minutes for pair, minutes in self.problem.changeovers.get(machine, {}).items() if minutes}
        set_for = self.problem.machines[machine].set_for
        intervals = []
        for operation, step, literal in self.on_machine[machine]:
            if not operation.pauses and not changes:
                minutes = min(mode.duration for mode in operation.modes if mode.machine == machine)
                if sum(mode.machine == machine for mode in operation.modes) == 1:
                    intervals.append(model.new_optional_fixed_size_interval_var(step.start, minutes, literal, ""))
                    continue
            begins = model.new_int_var(0, horizon, "")
            model.add(begins == step.start - step.changeover)
            size = model.new_int_var(0, 2 * horizon, "")
            intervals.append(model.new_optional_interval_var(begins, size, step.end, literal, ""))
        model.add_no_overlap(intervals)
        if not changes:
            for operation, step, literal in self.on_machine[machine]:
                if operation.family is not None:
                    model.add(step.changeover == 0).only_enforce_if(literal)
            return
        told = [entry for entry in self.on_machine[machine] if entry[0].family is not None]
        names = [str(operation.family) for operation, _, _ in told]
        none = model.new_bool_var("")
        arcs: list[tuple[int, int, Any]] = [(0, 0, none)]
        for a, (_, step, literal) in enumerate(told, 1):
            model.add_implication(none, literal.negated())
            arcs.append((a, a, literal.negated()))
            first = model.new_bool_var("")
            arcs.append((0, a, first))
            at_first = changes.get((set_for, names[a - 1]), 0) if set_for is not None else 0
            model.add(step.changeover == at_first).only_enforce_if(first)
            model.add(step.start >= at_first).only_enforce_if(first)
            arcs.append((a, 0, model.new_bool_var("")))
            for b, (_, follows, _) in enumerate(told, 1):
                if a == b:
                    continue
                arc = model.new_bool_var("")
                arcs.append((a, b, arc))
                minutes = changes.get((names[a - 1], names[b - 1]), 0)
                model.add(follows.changeover == minutes).only_enforce_if(arc)
                model.add(follows.start >= step.end + minutes).only_enforce_if(arc)
        model.add_circuit(arcs)
        self.circuits.append(([step for _, step, _ in told], machine, arcs))

    def _stores(self) -> None:
        for number, store in enumerate(self.problem.stores):
            intervals, units = [], []
            for job, steps in zip(self.problem.jobs, self.steps, strict=True):
                for operation, step in zip(job.operations, steps, strict=True):
                    if operation.store == number and operation.units > 0:
                        size = self.model.new_int_var(0, self.horizon + operation.min_wait, "")
                        intervals.append(
                            self.model.new_interval_var(step.start, size, step.end + operation.min_wait, "")
                        )
                        units.append(operation.units)
            if intervals:
                self.model.add_cumulative(intervals, units, store.capacity)

    def _figures(self, scale: int) -> None:
        model, problem = self.model, self.problem
        if problem.objective == "makespan":
            self.first = model.new_int_var(0, self.horizon, "")
            model.add_max_equality(self.first, [self._finish(job) for job in range(len(problem.jobs))])
            self.second = None
            return
        late = []
        for number, job in enumerate(problem.jobs):
            if job.due is not None and job.weight:
                minutes = model.new_int_var(0, self.horizon, "")
                model.add(minutes >= self._finish(number) - job.due)
                late.append(round(job.weight * scale) * minutes)
        self.first = sum(late) if late else 0
        self.second = sum(step.changeover for steps in self.steps for step in steps)

    def hint(self, placements: Sequence[Placement]) -> None:
        """Start the solver from a plan: times, machines and what follows what on machines that are changed over."""
        self.model.clear_hints()
        at = {}
        for placement in placements:
            step = self.steps[placement.job][placement.index]
            at[id(step)] = placement
            self.model.add_hint(step.start, placement.start)
            self.model.add_hint(step.end, placement.end)
            if self.problem.objective != "makespan":
                self.model.add_hint(step.changeover, placement.changeover)
            modes = self.problem.jobs[placement.job].operations[placement.index].modes
            for index, literal in step.chosen.items():
                self.model.add_hint(literal, modes[index].machine == placement.machine)
        for steps, machine, arcs in self.circuits:
            there = [(at[id(step)], number) for number, step in enumerate(steps, 1) if at[id(step)].machine == machine]
            there.sort(key=lambda pair: (pair[0].start, pair[0].end))
            visits = [0, *(number for _, number in there), 0]
            taken = set(pairwise(visits))
            for before, after, literal in arcs:
                if before != after or before == 0:
                    self.model.add_hint(literal, (before, after) in taken)

    def placements(self, solver: Any) -> tuple[Placement, ...]:
        found = []
        for job, steps in enumerate(self.steps):
            for index, step in enumerate(steps):
                mode = next(k for k, literal in step.chosen.items() if solver.value(literal))
                found.append(
                    Placement(
                        job,
                        index,
                        self.problem.jobs[job].operations[index].modes[mode].machine,
                        solver.value(step.start),
                        solver.value(step.end),
                        solver.value(step.changeover),
                    )
                )
        return tuple(found)


def solved(
    model: Any, *, work: float, seconds: float | None = None, stop: Callable[[], bool] | None = None
) -> tuple[Any, Any]:
    """Status and solver of a CP-SAT model solved with one worker and a fixed seed, in so much deterministic time.

    seconds  wall time besides; with it the answer may not repeat
    stop     polled; ends the search
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = work
    if seconds is not None:
        solver.parameters.max_time_in_seconds = max(0.05, seconds)
    status: list[Any] = []
    thread = threading.Thread(target=lambda: status.append(solver.solve(model)), daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(0.05)
        if stop is not None and stop():
            solver.stop_search()
            thread.join()
    return status[0], solver


def prove(
    problem: Problem,
    incumbent: Sequence[Placement],
    figures: tuple[float, float],
    *,
    work: float,
    seconds: float | None = None,
    stop: Callable[[], bool] | None = None,
) -> Proof | None:
    """Solve the whole problem from a plan at hand. None where its weights have too many digits.

    work     CP-SAT's deterministic time for each of the two figures
    seconds  wall time besides; with it the answer may not repeat
    stop     polled; ends the search
    """
    scale = 1 if problem.objective == "makespan" else weight_scale(problem)
    if scale is None:
        return None
    from ortools.sat.python import cp_model

    horizon = max(placement.end for placement in incumbent)
    horizon += max((operation.min_wait for job in problem.jobs for operation in job.operations), default=0)
    if problem.objective != "makespan":
        horizon += _room_to_move(problem)
    built = Model(problem, horizon, scale)
    best, best_figures = tuple(incumbent), figures
    bound = 0.0

    def solve() -> tuple[Any, Any]:
        built.hint(best)
        return solved(built.model, work=work, seconds=seconds, stop=stop)

    built.model.minimize(built.first)
    status, solver = solve()
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Proof(None, figures, 0.0, False)
    first = solver.value(built.first)
    bound = solver.best_objective_bound / scale
    if (first / scale, 0.0) < best_figures:
        best = built.placements(solver)
    best_figures = (first / scale, float(sum(p.changeover for p in best)) if built.second is not None else 0.0)
    if status != cp_model.OPTIMAL:
        return Proof(best, best_figures, bound, False)
    if built.second is None:
        return Proof(best, best_figures, bound, True)
    built.model.add(built.first <= first)
    built.model.minimize(built.second)
    status, solver = solve()
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Proof(best, best_figures, bound, False)
    best = built.placements(solver)
    best_figures = (best_figures[0], float(solver.value(built.second)))
    return Proof(best, best_figures, bound, status == cp_model.OPTIMAL)


def _room_to_move(problem: Problem) -> int:
    """Minutes beyond a plan's end within which some optimal plan ends.

    With due times a plan may do better by ending later; no plan that starts as early as it can ends
    beyond all the work, waits, changeovers and closings put one after another.
    """
    work = sum(
        max(mode.duration for mode in operation.modes) + operation.min_wait
        for job in problem.jobs
        for operation in job.operations
    )
    longest = max((max(changes.values(), default=0) for changes in problem.changeovers.values()), default=0)
    changes = longest * sum(len(job.operations) for job in problem.jobs)
    closed = 0
    for machine in problem.machines:
        if machine.open:
            closed = max(closed, machine.open[-1][1])
    return work + changes + closed


def is_small(problem: Problem) -> bool:
    """Whether the exact solver knows all rules and aims of the problem and has a fair chance on the whole of it."""
    if beyond_exact(problem) or counts_more(problem):
        return False
    choices = sum(len(operation.modes) for job in problem.jobs for operation in job.operations)
    told = [0] * len(problem.machines)
    for job in problem.jobs:
        for operation in job.operations:
            for mode in operation.modes:
                if operation.family is not None and problem.changeovers.get(mode.machine):
                    told[mode.machine] += 1
    stretches = max((len(machine.open or ()) for machine in problem.machines), default=0)
    pausing = sum(operation.pauses for job in problem.jobs for operation in job.operations)
    return choices <= 120 and sum(count * count for count in told) <= 1500 and pausing * stretches <= 1000


def plain_figures(
    problem: Problem, start: Schedule, *, seconds: float, threads: int, hinted: bool
) -> tuple[float, ...] | None:
    """What CP-SAT alone finds for the first figure in a time, with the second of that plan. None: no plan.

    The peer our search is measured against; `start` gives the horizon, and the hint where `hinted`.
    """
    from ortools.sat.python import cp_model

    scale = 1 if problem.objective == "makespan" else weight_scale(problem)
    if scale is None:
        return None
    horizon = 2 * max(placement.end for placement in start.placements) + 1
    built = Model(problem, horizon, scale)
    if hinted:
        built.hint(start.placements)
    built.model.minimize(built.first if built.second is None else built.first * 1000 + built.second)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = threads
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = seconds
    if solver.solve(built.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    first = solver.value(built.first) / scale
    return (first,) if built.second is None else (first, float(solver.value(built.second)))
