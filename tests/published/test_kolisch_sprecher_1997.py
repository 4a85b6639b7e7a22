"""A project of 30 jobs on four scarce resources, from a public library of such problems.

R. Kolisch, A. Sprecher, PSPLIB, A project scheduling problem library, European Journal of Operational
Research 96 (1997) 205-216: set j30, problem j301_1 (file j301_1.sm): 38 by needs alone (MPM time in the
file), durations sum up to 158 (its horizon), the least length is 43 (list of optima of the set j30).
"""

from __future__ import annotations

import pytest

from kb.scheduling.activities import Activity, network
from kb.scheduling.bounds import bounds
from kb.scheduling.plan import schedule
from tests.scheduling.feasible import broken, serial_schedule

AVAILABLE = {"R1": 12, "R2": 13, "R3": 4, "R4": 12}

FOLLOWERS = """
1: 2 3 4 | 2: 6 11 15 | 3: 7 8 13 | 4: 5 9 10 | 5: 20 | 6: 30 | 7: 27 | 8: 12 19 27 | 9: 14 | 10: 16 25
11: 20 26 | 12: 14 | 13: 17 18 | 14: 17 | 15: 25 | 16: 21 22 | 17: 22 | 18: 20 22 | 19: 24 29 | 20: 23 25
21: 28 | 22: 23 | 23: 24 | 24: 30 | 25: 30 | 26: 31 | 27: 28 | 28: 31 | 29: 32 | 30: 32 | 31: 32 | 32:
"""

JOBS = """
1 0 -; 2 8 R1 4; 3 4 R1 10; 4 6 R4 3; 5 3 R1 3; 6 8 R4 8; 7 5 R1 4; 8 9 R2 1; 9 2 R1 6; 10 7 R4 1; 11 9 R2 5
12 2 R2 7; 13 6 R1 4; 14 3 R2 8; 15 9 R1 3; 16 10 R4 5; 17 6 R4 8; 18 5 R4 7; 19 3 R2 1; 20 7 R2 10; 21 2 R4 6
22 7 R1 2; 23 2 R1 3; 24 3 R2 9; 25 3 R1 4; 26 7 R3 4; 27 8 R4 7; 28 3 R2 8; 29 7 R2 7; 30 2 R2 7
31 2 R3 2; 32 0 -
"""


def works() -> tuple[Activity, ...]:
    """The jobs: nobody is needed, the four resources are."""
    needs: dict[str, list[str]] = {}
    for entry in FOLLOWERS.replace("\n", "|").split("|"):
        if ":" in entry:
            job, followers = entry.split(":")
            for follower in followers.split():
                needs.setdefault(follower, []).append(job.strip())
    found = []
    for entry in JOBS.strip().replace("\n", ";").split(";"):
        job, duration, *use = entry.split()
        uses = {use[0]: int(use[1])} if len(use) == 2 else {}
        found.append(Activity(job, int(duration), tuple(needs.get(job, ())), people=0, uses=uses))
    return tuple(found)


def test_the_problem_is_the_one_of_the_file() -> None:
    """32 jobs, with source and sink, sum up to 158; by needs alone the project takes 38."""
    jobs = works()
    assert (len(jobs), sum(job.seconds for job in jobs)) == (32, 158)
    assert schedule(tuple(Activity(j.id, j.seconds, j.needs, people=0) for j in jobs), (), {}).length == 38


def test_optimum() -> None:
    """With its resources the project takes 43, and no less, as the list of optima has it."""
    found = schedule(works(), (), AVAILABLE)
    assert (found.length, found.bound) == (43, 43)
    assert broken(found, works(), (), AVAILABLE) == []


@pytest.mark.parametrize("tries", [1, 16])
def test_rule_and_bound_are_on_either_side(tries: int) -> None:
    """The rule gives no less than 43 and what needs and workload say no more."""
    found = serial_schedule(works(), (), AVAILABLE, tries=tries)
    assert broken(found, works(), (), AVAILABLE) == []
    assert 38 <= bounds(network(works(), (), AVAILABLE)).length <= 43 <= found.length
