"""Why an order is late: the fewest things that, were they otherwise, would have it on time.

The operations that end in an order are followed alone, first on an empty floor, then held up where the plan holds
them up. Where that ends after the due time, the largest loss along the last chain is named and taken away, and they
are followed again. `causes.without` takes a cause out of the problem, so that a new search can tell whether it was
true.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

from naptuft.planning.among_others import InTheWay, Others, Visitor
from naptuft.planning.causes import Cause, CauseKind, without
from naptuft.planning.outcome import late_words
from naptuft.planning.problem import Job, Placement, Problem
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import FAR, Floor, Shifter
from naptuft.planning.schedule.held_back import batch_key, batches_of, crew_in_the_way, mindings_of
from naptuft.planning.schedule.reasons import clock

TRIES = 25

Loss: TypeAlias = tuple[CauseKind, int, int]
"""What a loss is to: its kind, then the machine, crew or store by number, or the job and operation."""


class LateWork:
    """A plan read once, to ask it about many orders.

    waits_for  for a job released late, what it waits for, in words
    """

    def __init__(
        self, problem: Problem, placements: Sequence[Placement], waits_for: Mapping[str, str] | None = None
    ) -> None:
        self.problem = problem
        self.waits_for = waits_for or {}
        self.placed = {(p.job, p.index): p for p in placements}
        self.number = {job.name: number for number, job in enumerate(problem.jobs)}
        self.batches = batches_of(problem, placements)
        self.mindings = mindings_of(problem, placements)
        self.before: dict[Key, Placement] = {}
        last: dict[int, tuple[Placement | None, Placement]] = {}
        for placed in sorted(placements, key=lambda p: (p.start, p.end, p.job, p.index)):
            earlier, latest = last.get(placed.machine, (None, None))
            if latest is not None and (latest.start != placed.start or problem.machines[placed.machine].takes is None):
                earlier = latest
            if earlier is not None:
                self.before[placed.job, placed.index] = earlier
            last[placed.machine] = earlier, placed

    def of(self, jobs: Iterable[str], due: int) -> tuple[Cause, ...]:
        """Why the last of some jobs is finished after a minute, the largest cause first; empty where it is not.

        With them taken away (`without`) the jobs could be finished in time, all else moving as it must; where only a
        later due time helps, the one cause says so.
        """
        order = _Order(self, [self.number[name] for name in jobs], due)
        if order.finish(order.planned) <= due:
            return ()
        needed = order.needed()
        return (order.too_long(),) if needed is None else order.named(needed)

    def with_more(self, jobs: Iterable[str], due: int) -> tuple[Cause, ...]:
        """The causes, and those to take away besides for the jobs to be in time with all else staying where it is."""
        order = _Order(self, [self.number[name] for name in jobs], due)
        if order.finish(order.planned) <= due:
            return ()
        needed = order.needed()
        return (order.too_long(),) if needed is None else order.named(order.among_others(needed))


class _Order:
    """The operations that end in an order, by themselves: jobs are numbered within it, makers first."""

    def __init__(self, plan: LateWork, direct: Sequence[int], due: int) -> None:
        self.plan, self.due = plan, due
        self.whole = _with_makers(plan, direct)
        place = {number: k for k, number in enumerate(self.whole)}
        self.direct = [place[number] for number in direct]
        self.problem = replace(plan.problem, jobs=tuple(plan.problem.jobs[number] for number in self.whole))
        self.operation = {
            (job, index): operation
            for job, made in enumerate(self.problem.jobs)
            for index, operation in enumerate(made.operations)
        }
        self.planned = {(job, index): plan.placed[self.whole[job], index] for job, index in self.operation}
        self.held = self._held()

    def finish(self, placed: Mapping[Key, Placement], problem: Problem | None = None) -> int:
        """When the last of the order is finished, its last wait included. [minute]"""
        jobs = (problem or self.problem).jobs
        lasts = ((job, jobs[job].operations) for job in self.direct)
        return max(placed[job, len(steps) - 1].end + steps[-1].min_wait for job, steps in lasts)

    def needed(self) -> dict[Loss, int] | None:
        """The losses that must go to finish in time, first on an empty floor, then where the plan holds it up."""
        alone = self.least({}, {})
        return None if alone is None else self.least(alone, self.held)

    def named(self, losses: Mapping[Loss, int]) -> tuple[Cause, ...]:
        """Losses as causes, the largest first."""
        return tuple(sorted((self.cause(*item) for item in losses.items()), key=lambda c: (-c.minutes, c.words)))

    def least(self, known: Mapping[Loss, int], held: Mapping[Key, Mapping[Loss, int]]) -> dict[Loss, int] | None:
        """The fewest losses found, with those known, that must go to finish in time; None: none will do.

        held  what the plan holds each operation up by, and for how long; empty: the floor is empty
        """
        lost = dict(known)
        while True:
            finish, losses = self._follow(lost, held)
            if finish <= self.due:
                break
            if not losses:
                return None
            worst = max(losses, key=lambda loss: (losses[loss], loss))
            lost[worst] = losses[worst]
        for loss in sorted((loss for loss in lost if loss not in known), key=lambda loss: lost[loss]):
            fewer = {other: minutes for other, minutes in lost.items() if other != loss}
            if self._follow(fewer, held)[0] <= self.due:
                lost = fewer
        return lost

    def among_others(self, known: Mapping[Loss, int]) -> dict[Loss, int]:
        """Losses known, and those that must go as well for it to finish in time among work that stays as planned."""
        others = Others(self.plan.problem, self.plan.placed.values(), self.whole)
        lost = dict(known)
        while True:
            finish, losses = self._visit(others, lost)
            if finish <= self.due or not losses:
                return lost
            worst = max(losses, key=lambda loss: (losses[loss], loss))
            lost[worst] = losses[worst]

    def _visit(self, others: Others, lost: Mapping[Loss, int]) -> tuple[int, Mapping[Loss, int]]:
        """When the order is finished among the others without some losses, and what is still lost on its last chain."""
        problem = without(self.problem, [self.cause(loss, minutes) for loss, minutes in lost.items()])
        shifter = Shifter(Floor(problem, 0, {}))
        left_out = InTheWay(
            frozenset(number for kind, number, _ in lost if kind == "machine busy"),
            frozenset(number for kind, number, _ in lost if kind == "crew too few"),
            frozenset(number for kind, number, _ in lost if kind == "racks full"),
        )
        earliest: dict[Key, int] = {}
        put_off: dict[Key, dict[Loss, int]] = defaultdict(lambda: defaultdict(int))
        placed, losses, tied = self._visited(Visitor(others, left_out), shifter, lost, earliest)
        for _ in range(TRIES):
            if tied is None:
                break
            key, over = tied
            earliest[key] = placed[key].start + over
            for loss in losses[key[0], key[1] + 1]:
                put_off[key][loss] += over
            placed, losses, tied = self._visited(Visitor(others, left_out), shifter, lost, earliest)
        total: dict[Loss, int] = defaultdict(int)
        for key in self._chain(problem, placed):
            for loss, minutes in (*losses[key].items(), *put_off[key].items()):
                total[loss] += minutes
        return self.finish(placed, problem), total

    def _visited(
        self, visitor: Visitor, shifter: Shifter, lost: Mapping[Loss, int], earliest: Mapping[Key, int]
    ) -> tuple[dict[Key, Placement], dict[Key, Mapping[Loss, int]], tuple[Key, int] | None]:
        """Where the operations find room, what they lose, and the first that is too far ahead of its follower."""
        placed: dict[Key, Placement] = {}
        losses: dict[Key, Mapping[Loss, int]] = {}
        tied = None
        for key, operation in shifter.operation.items():
            own, minutes = self._way(shifter.problem, key)
            planned = self.planned[key].machine
            ready, no_sooner = shifter.ready(key, own, minutes, placed)
            ready = max(ready, earliest.get(key, 0))
            spent: dict[Loss, int] = defaultdict(int)
            while True:
                always = ("closed hours", planned, 0) in lost
                found, by = visitor.find(key, operation, planned, minutes, ready, always)
                for (kind, number), least in by.items():
                    spent[kind, number, 0] += least
                if found.end >= no_sooner or found.start >= FAR:
                    break
                ready = found.start + no_sooner - found.end
            visitor.put(operation, found)
            placed[key] = replace(found, machine=own)
            losses[key] = spent
            before = key[0], key[1] - 1
            if key[1] and (longest := shifter.operation[before].max_wait) is not None and tied is None:
                over = found.start - placed[before].end - longest
                tied = (before, over) if over > 0 else None
        return placed, losses, tied

    def _follow(
        self, lost: Mapping[Loss, int], held: Mapping[Key, Mapping[Loss, int]]
    ) -> tuple[int, Mapping[Loss, int]]:
        """When the order is finished without some losses, and what is still lost along the chain that ends it."""
        problem = without(self.problem, [self.cause(loss, minutes) for loss, minutes in lost.items()])
        shifter = Shifter(Floor(problem, 0, {}))
        placed: dict[Key, Placement] = {}
        losses: dict[Key, dict[Loss, int]] = {}
        for key in self.operation:
            machine, minutes = self._way(problem, key)
            ready, no_sooner = shifter.ready(key, machine, minutes, placed)
            start, end = _run(shifter, key, machine, ready, no_sooner, minutes)
            if problem.machines[machine].open is not None:
                closed = "closed hours", self.planned[key].machine, 0
                losses[key] = {closed: start - ready + end - start - minutes}
            else:
                losses[key] = {}
            still = {loss: least for loss, least in held.get(key, {}).items() if loss not in lost}
            if still and self.planned[key].start > start:
                over = self.planned[key].start - start
                start, end = _run(shifter, key, machine, self.planned[key].start, no_sooner, minutes)
                total = sum(still.values())
                losses[key] = {loss: max(1, over * least // total) for loss, least in still.items()}
            elif held:
                losses[key] = {}
            placed[key] = Placement(*key, machine, start, end)
        chain = self._chain(problem, placed)
        found: dict[Loss, int] = defaultdict(int)
        for key in chain:
            for loss, minutes in losses[key].items():
                found[loss] += minutes
            if not held:
                found["drying or curing", *key] += problem.jobs[key[0]].operations[key[1]].min_wait
        if chain and not held:
            first = chain[-1][0]
            found["material comes late", first, 0] += problem.jobs[first].release
        return self.finish(placed, problem), {loss: minutes for loss, minutes in found.items() if minutes > 0}

    def _way(self, problem: Problem, key: Key) -> tuple[int, int]:
        """Machine and minutes of an operation: as planned, or on the machine of its own."""
        modes = problem.jobs[key[0]].operations[key[1]].modes
        own = [mode for mode in modes if mode.machine >= len(self.problem.machines)]
        able = own or [mode for mode in modes if mode.machine == self.planned[key].machine]
        best = min(able, key=lambda mode: mode.duration)
        return best.machine, best.duration

    def _chain(self, problem: Problem, placed: Mapping[Key, Placement]) -> list[Key]:
        """The operations that end the order, the last first, back along whichever was last of what each waited for."""
        jobs, number = problem.jobs, {job.name: place for place, job in enumerate(problem.jobs)}

        def done(job: int) -> int:
            return placed[job, len(jobs[job].operations) - 1].end + jobs[job].operations[-1].min_wait

        chain: list[Key] = []
        job: int | None = max(self.direct, key=done)
        while job is not None:
            chain += [(job, index) for index in reversed(range(len(jobs[job].operations)))]
            last = max((number[name] for name in jobs[job].after), key=done, default=None)
            job = last if last is not None and done(last) >= jobs[job].release else None
        return chain

    def _held(self) -> dict[Key, dict[Loss, int]]:
        """What holds up each operation in the plan besides its own job and its machine's hours. [min]"""
        shifter = Shifter(Floor(self.problem, 0, {}))
        held = {}
        for key, planned in self.planned.items():
            minutes = self._way(self.problem, key)[1]
            ready, no_sooner = shifter.ready(key, planned.machine, minutes, self.planned)
            start, _ = _run(shifter, key, planned.machine, ready, no_sooner, minutes)
            if planned.start > start:
                held[key] = self._losses(shifter, key, start)
        return held

    def _losses(self, shifter: Shifter, key: Key, could: int) -> dict[Loss, int]:
        """By what an operation is held up that could start at a minute."""
        operation, planned = self.operation[key], self.planned[key]
        own = self.whole[key[0]], key[1]
        if operation.pinned is not None:
            return {("pinned", *key): planned.start - could}
        losses: dict[Loss, int] = {}
        busy: Loss = "machine busy", planned.machine, 0
        before = self.plan.before.get(own)
        free = self._changeover(planned) + (before.end if before else 0)
        if free > could:
            minutes = self._way(self.problem, key)[1]
            free = min(planned.start, shifter.run(operation, planned.machine, free, minutes)[0])
            losses[busy] = free - could
        rest = planned.start - max(could, free)
        if rest <= 0:
            return losses
        follows = key[0], key[1] + 1
        if operation.max_wait is not None and follows in self.operation:
            ready = planned.end - rest + operation.min_wait
            minutes = self._way(self.problem, follows)[1]
            start, _ = shifter.run(self.operation[follows], self.planned[follows].machine, ready, minutes)
            if self.planned[follows].start > start:
                return losses | self._losses(shifter, follows, start)
        real = self.plan.placed[own]
        crew = crew_in_the_way(self.plan.problem, real, self.plan.mindings)
        if crew is not None:
            losses["crew too few", crew[0], 0] = rest
        elif operation.store is not None and operation.units and not self._joined(real):
            losses["racks full", operation.store, 0] = rest
        else:
            losses[busy] = losses.get(busy, 0) + rest
        return losses

    def _joined(self, placed: Placement) -> bool:
        return len(self.plan.batches.get(batch_key(self.plan.problem, placed), ())) > 1

    def _changeover(self, placed: Placement) -> int:
        mates = self.plan.batches.get(batch_key(self.plan.problem, placed), (placed,))
        return sum(mate.changeover for mate in mates)

    def cause(self, loss: Loss, minutes: int) -> Cause:
        """A loss in words, with the operations it is removed from."""
        kind, number, index = loss
        lost = late_words(max(1, minutes))
        job = self.problem.jobs[number] if number < len(self.problem.jobs) else None
        match kind:
            case "machine busy" | "closed hours":
                name = self.problem.machines[number].name
                steps = [key for key, placed in self.planned.items() if placed.machine == number]
                words = f"{name} is closed for {lost} while it could be worked on"
                if kind == "machine busy":
                    words = f"{name} is busy with other work for {lost} when it could start there{self._behind(number)}"
            case "crew too few":
                crew = self.problem.crews[number]
                name, steps = crew.name, [key for key, held in self.held.items() if loss in held]
                words = f"{name}, {crew.people:g} in all, are at other work for {lost} when it could start"
            case "racks full":
                name = self.problem.stores[number].name
                steps = [key for key, held in self.held.items() if loss in held]
                words = f"no room in {name} for {lost} when it could go there"
            case "material comes late":
                assert job is not None
                name, steps = job.name, [(number, 0)]
                when = clock(job.release, self.problem.origin)
                what = self.plan.waits_for.get(job.name)
                words = f"{what} arrives {when}" if what else f"{job.name} is not released before {when}"
            case "drying or curing":
                assert job is not None
                name, steps = job.name, [(number, index)]
                words = f"{job.name} dries or cures for {lost} after {_step(job, index)}"
            case "pinned":
                assert job is not None
                name, steps = job.name, [(number, index)]
                words = f"{job.name} {_step(job, index)} is pinned {lost} after it could start"
            case "route too long":
                name, steps, words = "", [], ""
        return Cause(
            kind,
            name,
            minutes,
            words,
            tuple((self.problem.jobs[k].name, at, self.planned[k, at].machine) for k, at in steps),
        )

    def _behind(self, machine: int) -> str:
        """The work the longest held up operation of a machine stands behind."""
        held = [key for key, losses in self.held.items() if ("machine busy", machine, 0) in losses]
        worst = max(held, key=lambda key: self.held[key]["machine busy", machine, 0], default=None)
        if worst is None or self.planned[worst].machine != machine:
            return ""
        job = self.problem.jobs[worst[0]]
        before = self.plan.before.get((self.whole[worst[0]], worst[1]))
        behind = ""
        if before is not None:
            other = self.plan.problem.jobs[before.job]
            behind = f" is behind {other.name} ({_step(other, before.index)})"
        return f"; {job.name} {_step(job, worst[1])}{behind}" if behind else ""

    def too_long(self) -> Cause:
        """The cause where nothing that can be taken away is enough."""
        everything: dict[Loss, int] = {}
        while True:
            finish, losses = self._follow(everything, {})
            if not losses:
                break
            everything |= losses
        words = (
            f"its work takes {late_words(finish)} one step after the other, without a stop or a wait; "
            f"only a later due time helps"
        )
        return Cause("route too long", "", finish - self.due, words)


def _with_makers(plan: LateWork, direct: Sequence[int]) -> list[int]:
    """Some jobs and every job they need, makers first."""
    found: dict[int, None] = {}
    todo = [(number, False) for number in direct]
    while todo:
        number, ready = todo.pop()
        if ready:
            found.setdefault(number)
        elif number not in found:
            todo.append((number, True))
            todo += [(plan.number[name], False) for name in plan.problem.jobs[number].after]
    return list(found)


def _run(shifter: Shifter, key: Key, machine: int, ready: int, no_sooner: int, minutes: int) -> tuple[int, int]:
    """Start and end of an operation that may not end before a minute. [minute]"""
    start, end = shifter.run(shifter.operation[key], machine, ready, minutes)
    while end < no_sooner:
        start, end = shifter.run(shifter.operation[key], machine, start + no_sooner - end, minutes)
    return start, end


def _step(job: Job, index: int) -> str:
    return job.operations[index].name or f"step {index + 1}"
