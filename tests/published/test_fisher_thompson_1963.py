"""Six jobs on six machines, the oldest benchmark of job-shop scheduling.

H. Fisher, G. L. Thompson, Probabilistic learning combinations of local job-shop scheduling rules, in Muth and
Thompson (eds), Industrial Scheduling, 1963, as ft06 (mt06) in the public OR-Library: the least length is 55.
Here each machine is a member of the crew with a skill of their own.
"""

from __future__ import annotations

from kb.scheduling.activities import Activity, Operator
from kb.scheduling.plan import schedule
from tests.scheduling.feasible import broken, serial_schedule

FT06 = """
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
"""
MACHINES = tuple(Operator(f"m{i}", frozenset({f"s{i}"})) for i in range(6))


def works() -> tuple[Activity, ...]:
    """Machine and time of each operation, one after the other in each job."""
    found = []
    for job, row in enumerate(FT06.strip().splitlines()):
        numbers = [int(one) for one in row.split()]
        for step, (machine, time) in enumerate(zip(numbers[::2], numbers[1::2], strict=True)):
            needs = (f"{job}.{step - 1}",) if step else ()
            found.append(Activity(f"{job}.{step}", time, needs, skill=f"s{machine}"))
    return tuple(found)


def test_optimum() -> None:
    """The jobs take 55, and no less."""
    found = schedule(works(), MACHINES, {})
    assert (found.length, found.bound) == (55, 55)
    assert broken(found, works(), MACHINES, {}) == []


def test_the_rule_gives_no_less() -> None:
    """By rule they take 55 or more."""
    assert serial_schedule(works(), MACHINES, {}).length >= 55


def test_members_for_machines_or_equipment_for_machines() -> None:
    """The same jobs with the machines as equipment take as long."""
    jobs = tuple(Activity(w.id, w.seconds, w.needs, people=0, uses={w.skill: 1}) for w in works())
    assert schedule(jobs, (), {f"s{i}": 1 for i in range(6)}).length == 55
