"""Any schedule built one operation after another is clean; any of them pulled earlier is not."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from naptuft.planning.check import check_schedule
from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem

FAMILIES = ("red", "blue", None)


@st.composite
def serial_schedules(draw):
    """Everything on one machine, in turn, with changeovers and waits kept."""
    table = {
        (before, after): draw(st.integers(0, 30))
        for before in FAMILIES[:2]
        for after in FAMILIES[:2]
        if before != after
    }
    jobs, placements, free, setting = [], [], 0, ""
    for number in range(draw(st.integers(1, 4))):
        operations, ready = [], draw(st.integers(0, 50))
        release = ready
        for index in range(draw(st.integers(1, 3))):
            family = draw(st.sampled_from(FAMILIES))
            wait, minutes = draw(st.integers(0, 40)), draw(st.integers(1, 60))
            change = table.get((setting, family), 0) if setting and family else 0
            start = max(free + change, ready)
            placements.append(Placement(number, index, 0, start, start + minutes, change))
            operations.append(Operation((Mode(0, minutes),), family=family, min_wait=wait))
            free, ready = start + minutes, start + minutes + wait
            setting = family or setting
        jobs.append(Job(f"J{number}", tuple(operations), release=release))
    return Problem((Machine("M"),), tuple(jobs), changeovers={0: table}), placements


@given(serial_schedules())
def test_a_schedule_built_in_turn_is_clean(case):
    problem, placements = case
    assert check_schedule(problem, placements) == ()


@given(serial_schedules(), st.data())
def test_a_left_out_or_shortened_operation_is_found(case, data):
    problem, placements = case
    chosen = data.draw(st.integers(0, len(placements) - 1))
    without = [placed for number, placed in enumerate(placements) if number != chosen]
    assert check_schedule(problem, without)
    shorter = [
        replace(placed, end=placed.end - 1) if number == chosen else placed for number, placed in enumerate(placements)
    ]
    assert check_schedule(problem, shorter)


@given(serial_schedules(), st.data())
def test_two_operations_at_one_time_are_found(case, data):
    problem, placements = case
    if len(placements) < 2:
        return
    chosen = data.draw(st.integers(1, len(placements) - 1))
    before = placements[chosen - 1]
    length = placements[chosen].end - placements[chosen].start
    start = before.end - 1
    spoiled = list(placements)
    spoiled[chosen] = replace(placements[chosen], start=start, end=start + length)
    assert "one at a time" in {finding.rule for finding in check_schedule(problem, spoiled)}
