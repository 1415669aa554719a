"""Scheduling problems and plans as JSON values, for published and own instances."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from naptuft.errors import Fault, Infeasible
from naptuft.planning.problem import Aims, Crew, Job, Machine, Mode, Need, Operation, Problem, Schedule, SharedStore


def read_instance(instance: Mapping[str, Any]) -> Problem:
    """The problem a JSON value describes.

    Machines with a `capacity` are shared stores. Raises Infeasible with every name that is not declared.

    >>> problem = read_instance({
    ...     "machines": [{"name": "dip", "open": None}, {"name": "racks", "open": None, "capacity": 4}],
    ...     "jobs": [{"name": "W1", "operations": [{"modes": [{"machine": "dip", "duration": 6}],
    ...               "min_wait": 30, "holds": {"machine": "racks", "units": 2}}]}],
    ...     "objective": "makespan"})
    >>> problem.stores[0].capacity, problem.jobs[0].operations[0].units
    (4, 2)
    """
    machines = [machine for machine in instance["machines"] if machine.get("capacity") is None]
    stores = [machine for machine in instance["machines"] if machine.get("capacity") is not None]
    machine_of = {machine["name"]: index for index, machine in enumerate(machines)}
    store_of = {store["name"]: index for index, store in enumerate(stores)}
    crews = instance.get("crews") or ()
    crew_of: dict[str, int] = {crew["name"]: index for index, crew in enumerate(crews)}
    faults: list[Fault] = []
    what_under = {"machine": "machines", "shared store": "machines, with a capacity,", "crew": "crews"}

    def find(known: Mapping[str, int], name: str, place: str, what: str) -> int:
        if name not in known:
            faults.append(
                Fault(
                    place,
                    name,
                    f"the name of a {what}",
                    f"declare it under {what_under[what]} or name one of {', '.join(known) or 'none'}",
                )
            )
            return 0
        return known[name]

    def operation(job: str, index: int, value: Mapping[str, Any]) -> Operation:
        place = f"{job}, step {index + 1}"
        holds = value.get("holds")
        return Operation(
            modes=tuple(
                Mode(
                    find(machine_of, mode["machine"], place, "machine"),
                    int(mode["duration"]),
                    int(mode.get("setup") or 0),
                    int(mode.get("penalty") or 0),
                )
                for mode in value["modes"]
            ),
            family=value.get("family"),
            min_wait=int(value.get("min_wait") or 0),
            max_wait=None if value.get("max_wait") is None else int(value["max_wait"]),
            store=None if not holds else find(store_of, holds["machine"], place, "shared store"),
            units=int(holds["units"]) if holds else 0,
            pauses=bool(value.get("pauses", False)),
            name=str(value.get("name") or ""),
            pinned=None
            if not (pinned := value.get("pinned"))
            else (find(machine_of, pinned["machine"], place, "machine"), int(pinned["start"])),
            needs=tuple(
                Need(
                    find(crew_of, need["crew"], place, "crew"),
                    float(need["people"]),
                    bool(need.get("changeover", False)),
                )
                for need in value.get("needs") or ()
            ),
            load=int(value.get("load") or 0),
            transfers=int(value.get("transfers") or 1),
        )

    jobs = tuple(
        Job(
            name=str(job["name"]),
            operations=tuple(
                operation(str(job["name"]), index, value) for index, value in enumerate(job["operations"])
            ),
            release=int(job.get("release") or 0),
            due=None if job.get("due") is None else int(job["due"]),
            weight=float(1 if job.get("weight") is None else job["weight"]),
            after=tuple(job.get("after") or ()),
        )
        for job in instance["jobs"]
    )
    changeovers: dict[int, dict[tuple[str, str], int]] = {}
    for change in instance.get("changeovers") or ():
        machine = find(machine_of, change["machine"], "changeovers", "machine")
        changeovers.setdefault(machine, {})[change["from"], change["to"]] = int(change["duration"])
    if faults:
        raise Infeasible(*faults)
    return Problem(
        machines=tuple(
            Machine(
                machine["name"],
                _stretches(machine.get("open")),
                machine.get("set_for"),
                None if machine.get("takes") is None else int(machine["takes"]),
                _stretches(machine.get("overtime")) or (),
            )
            for machine in machines
        ),
        jobs=jobs,
        stores=tuple(SharedStore(store["name"], int(store["capacity"])) for store in stores),
        changeovers=changeovers,
        objective=instance["objective"],
        crews=tuple(Crew(crew["name"], float(crew["people"]), _stretches(crew.get("open"))) for crew in crews),
        aims=_aims(instance.get("aims") or {}),
    )


def _aims(given: Mapping[str, Any]) -> Aims:
    late = given.get("late")
    return Aims(
        int(given.get("overtime") or 0), float(given.get("waiting") or 0), None if late is None else float(late)
    )


def _stretches(given: Any) -> tuple[tuple[int, int], ...] | None:
    return None if given is None else tuple((int(opens), int(closes)) for opens, closes in given)


def solution_json(problem: Problem, plan: Schedule, name: str = "") -> dict[str, Any]:
    """The plan as a JSON value: name, operations by job and machine name, objective."""
    return {
        "name": name,
        "operations": [
            {
                "job": problem.jobs[placement.job].name,
                "index": placement.index,
                "machine": problem.machines[placement.machine].name,
                "start": placement.start,
                "end": placement.end,
            }
            for placement in plan.placements
        ],
        "objective": list(plan.objective),
    }
