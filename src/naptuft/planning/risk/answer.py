"""What replays tell: the odds of each target, bands of its finish, what makes it late, what buffer buys most."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from naptuft.errors import DesignError, Fault
from naptuft.planning.problem import Crew, Problem, SharedStore
from naptuft.planning.risk.model import Goods, Model, Scatter, Target, model_of
from naptuft.planning.risk.replays import replays, traced

TRACED = 200
TRIED = 8
DAY = 1440.0
BAND = 0.9


@dataclass(frozen=True)
class Odds:
    """What becomes of one target.

    on_time        share of replays in which it is finished when due
    error          standard error of that share
    early, middle, late     finish that few, half and most of the replays keep within, by the band asked for [minute]
    late_minutes   mean minutes late
    """

    name: str
    due: float
    weight: float
    on_time: float
    error: float
    early: float
    middle: float
    late: float
    late_minutes: float


@dataclass(frozen=True)
class Share:
    """A machine's share of the weighted lateness: of the chain of work and waits that ends in each late target,
    the part of its machine minutes that runs there, weighed by how late the target is.
    """

    machine: str
    share: float


@dataclass(frozen=True)
class Buffer:
    """What one buffer buys, from the same random numbers with it and without.

    what           in words
    kind           hour: the machine stays open an hour longer each day; rack: one rack more;
                   day: deliveries come a day sooner
    saved          weighted late minutes saved, mean over the replays
    error          standard error of that mean
    on_time        change of the weighted mean of the on-time odds
    """

    what: str
    kind: str
    saved: float
    error: float
    on_time: float


@dataclass(frozen=True)
class WaitOdds:
    """How often a step is reached later than the longest wait before it allows (pot life, over-coat window)."""

    job: str
    step: str
    share: float


@dataclass(frozen=True)
class RiskAnswer:
    """What a number of replays tell of a plan.

    weighted_late_minutes   mean over replays; planned: of the plan itself, nothing scattering
    all_on_time             share of replays in which every target is on time
    band                    share of replays finished by the late end of a band, and after its early end
    """

    replays: int
    seed: int
    odds: tuple[Odds, ...]
    all_on_time: float
    weighted_late_minutes: float
    planned_late_minutes: float
    shares: tuple[Share, ...]
    buffers: tuple[Buffer, ...]
    waits: tuple[WaitOdds, ...]
    band: float = BAND


def assess(
    model: Model,
    count: int = 2000,
    seed: int = 1,
    threads: int = 1,
    cluster: str | None = None,
    buffers: bool = True,
    progress: Callable[[str, float], None] | None = None,
    band: float = BAND,
) -> RiskAnswer:
    """Replay a plan and tell its odds; with `buffers`, also what an hour, a rack or a day sooner buys.

    band  share of replays finished by the late end of each band, 0.5 to 0.999
    Raises DesignError where the band is none.
    The numbers depend on the model, `count` and `seed` alone, not on threads or cluster.
    """
    import numpy as np

    if not 0.5 <= band <= 0.999:
        raise DesignError(Fault("odds", band, "0.5 to 0.999", "ask for 0.9, say"))
    tell = progress or _untold
    ran = replays(model, count, seed, threads, cluster, lambda done: tell("replays", done / count))
    finish = ran.finish
    due = np.array([target.due for target in model.targets])
    weight = np.array([target.weight for target in model.targets])
    lateness = np.maximum(0.0, finish - due)
    odds = tuple(_odds(target, finish[:, k], band) for k, target in enumerate(model.targets))
    quiet = model_of(
        model.problem,
        model.sequence,
        Scatter(goods=tuple(replace(goods, late=None) for goods in model.scatter.goods)),
        model.targets,
    )
    planned = np.maximum(0.0, traced(quiet, seed, 1).finish[0] - due)
    shares = lateness_shares(model, seed, min(count, TRACED))
    bought = _buffers(model, shares, count, seed, threads, cluster, lateness @ weight, tell) if buffers else ()
    waits = tuple(
        WaitOdds(
            model.problem.jobs[placed.job].name,
            model.problem.jobs[placed.job].operations[placed.index].name or f"step {placed.index + 1}",
            int(broken) / count,
        )
        for placed, broken in zip(model.sequence, ran.waits_broken, strict=True)
        if broken
    )
    return RiskAnswer(
        count,
        seed,
        odds,
        float((lateness <= 0).all(axis=1).mean()) if model.targets else 1.0,
        float((lateness @ weight).mean()) if model.targets else 0.0,
        float(planned @ weight) if model.targets else 0.0,
        shares,
        bought,
        tuple(sorted(waits, key=lambda wait: (-wait.share, wait.job, wait.step))),
        band,
    )


def _untold(_what: str, _done: float) -> None:
    """Progress nobody asked for."""


def _odds(target: Target, finish: Any, band: float) -> Odds:
    import numpy as np

    share = float((finish <= target.due).mean())
    early, middle, late = (float(value) for value in np.quantile(finish, (1.0 - band, 0.5, band)))
    return Odds(
        target.name,
        target.due,
        target.weight,
        share,
        (share * (1 - share) / len(finish)) ** 0.5,
        early,
        middle,
        late,
        float(np.maximum(0.0, finish - target.due).mean()),
    )


def lateness_shares(model: Model, seed: int, count: int) -> tuple[Share, ...]:
    """Each machine's share of the weighted lateness over so many replays, the greatest first; empty if none is late."""
    trace = traced(model, seed, count)
    sums = [0.0] * len(model.problem.machines)
    last = _last_of_jobs(model)
    for row in range(count):
        ends, causes = trace.ends[row], trace.causes[row]
        for k, target in enumerate(model.targets):
            late = float(trace.finish[row, k]) - target.due
            if late <= 0 or not target.jobs:
                continue
            chain = max((last[job] for job in target.jobs), key=lambda pair: ends[pair[0]] + pair[1])[0]
            on_machine = _chain_minutes(model, trace.starts[row], ends, causes, chain)
            total = sum(on_machine.values())
            for machine, minutes in on_machine.items():
                sums[machine] += target.weight * late * minutes / total if total else 0.0
    whole = sum(sums)
    found = [
        Share(machine.name, part / whole)
        for machine, part in zip(model.problem.machines, sums, strict=True)
        if part > 0
    ]
    return tuple(sorted(found, key=lambda share: (-share.share, share.machine)))


def _last_of_jobs(model: Model) -> dict[int, tuple[int, int]]:
    """The place in sequence of each job's last operation, and the wait after it."""
    found: dict[int, tuple[int, int]] = {}
    for k, placed in enumerate(model.sequence):
        operations = model.problem.jobs[placed.job].operations
        if placed.index == len(operations) - 1:
            found[placed.job] = k, operations[-1].min_wait
    return found


def _chain_minutes(model: Model, starts: Any, ends: Any, causes: Any, last: int) -> dict[int, float]:
    """Minutes run and changed over on each machine along the chain that ends in an operation."""
    minutes: dict[int, float] = {}
    k = last
    while k >= 0:
        placed = model.sequence[k]
        minutes[placed.machine] = minutes.get(placed.machine, 0.0) + float(ends[k] - starts[k]) + placed.changeover
        k = int(causes[k])
    return minutes


def _buffers(
    model: Model,
    shares: Sequence[Share],
    count: int,
    seed: int,
    threads: int,
    cluster: str | None,
    late_before: Any,
    tell: Callable[[str, float], None],
) -> tuple[Buffer, ...]:
    """What each buffer buys, the most first: hours on the machines with the largest shares, every store, deliveries."""
    import numpy as np

    weight = np.array([target.weight for target in model.targets])
    due = np.array([target.due for target in model.targets])
    tries = variants(model, [share.machine for share in shares[:TRIED]])
    before = replays(model, count, seed, threads, cluster).finish <= due
    found = []
    for number, (what, kind, varied) in enumerate(tries):
        tell(f"trying {what}", number / len(tries))
        finish = replays(varied, count, seed, threads, cluster).finish
        saved = late_before - np.maximum(0.0, finish - due) @ weight
        more = ((finish <= due).mean(axis=0) - before.mean(axis=0)) @ weight / max(1e-12, weight.sum())
        error = float(saved.std(ddof=1) / len(saved) ** 0.5) if len(saved) > 1 else 0.0
        found.append(Buffer(what, kind, float(saved.mean()), error, float(more)))
    return tuple(sorted(found, key=lambda buffer: (-buffer.saved, buffer.what)))


def variants(model: Model, machines: Sequence[str]) -> list[tuple[str, str, Model]]:
    """The same plan with one buffer more each: (in words, kind, model)."""
    problem, scatter = model.problem, model.scatter
    tries: list[tuple[str, str, Model]] = []
    for number, machine in enumerate(problem.machines):
        if machine.name in machines and machine.open is not None:
            longer = replace(
                problem,
                machines=_swapped(problem.machines, number, replace(machine, open=_an_hour_longer(machine.open))),
                crews=_people_stay(problem, number),
            )
            tries.append((f"{machine.name} open an hour longer each day", "hour", _with(model, longer, scatter)))
    for number, store in enumerate(problem.stores):
        wider = replace(problem, stores=_swapped(problem.stores, number, SharedStore(store.name, store.capacity + 1)))
        tries.append((f"one rack more in {store.name}", "rack", _with(model, wider, scatter)))
    if scatter.goods:
        sooner = replace(scatter, goods=tuple(_a_day_sooner(goods) for goods in scatter.goods))
        tries.append(("every delivery ordered a day sooner", "day", _with(model, problem, sooner)))
    return tries


def _with(model: Model, problem: Problem, scatter: Scatter) -> Model:
    """The model with more room: the plan's sequence, its held starts kept."""
    from naptuft.planning.risk.floor import NOT_BEFORE
    from naptuft.planning.risk.model import arrays_of

    varied = replace(model, problem=problem, scatter=scatter)
    arrays = arrays_of(varied)
    arrays[1][:, NOT_BEFORE] = model.arrays[1][:, NOT_BEFORE]
    return replace(varied, arrays=arrays)


def _swapped(things: tuple[Any, ...], number: int, thing: Any) -> tuple[Any, ...]:
    return (*things[:number], thing, *things[number + 1 :])


def _a_day_sooner(goods: Goods) -> Goods:
    return replace(goods, arrives=max(0.0, goods.arrives - DAY))


def _people_stay(problem: Problem, machine: int) -> tuple[Crew, ...]:
    """The crews, those needed on a machine there an hour longer each day too."""
    asked = {
        need.crew
        for job in problem.jobs
        for operation in job.operations
        if any(mode.machine == machine for mode in operation.modes)
        for need in operation.needs
    }
    return tuple(
        replace(crew, open=_an_hour_longer(crew.open)) if number in asked and crew.open is not None else crew
        for number, crew in enumerate(problem.crews)
    )


def _an_hour_longer(opened: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Open stretches with an hour more after the last of each day, or until the next begins.

    >>> _an_hour_longer(((0, 240), (250, 480), (1440, 1920)))
    ((0, 240), (250, 540), (1440, 1980))
    """
    stretches = list(opened)
    for k, (opens, closes) in enumerate(stretches):
        following = stretches[k + 1][0] if k + 1 < len(stretches) else None
        if following is None or following // 1440 > (closes - 1) // 1440:
            stretches[k] = opens, closes + 60 if following is None else min(closes + 60, following)
    return tuple(stretches)
