"""Works on equal machines, as in the classic papers on what a list of priorities can lose.

R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM Journal on Applied Mathematics 17 (1969)
416-429: with three machines, works of 5, 5, 4, 4, 3, 3, 3 take 11 by longest first and 9 at best (from
memory, high confidence; 27 over 3 is 9). Nine works with needs on three machines take 12 at best; a list
gives as much, and without the needs, or with a fourth machine, or all works shorter by one, the same list
gives 16, 15 and 13 (as retold on the public encyclopedia page on list scheduling).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from kb.scheduling.activities import Activity, Operator
from kb.scheduling.plan import schedule
from tests.scheduling.feasible import shortest

NINE = (
    Activity("T1", 3),
    Activity("T2", 2),
    Activity("T3", 2),
    Activity("T4", 2),
    *[Activity(f"T{n}", 4, ("T4",)) for n in (5, 6, 7, 8)],
    Activity("T9", 9, ("T1",)),
)


def machines(count: int) -> tuple[Operator, ...]:
    """Equal machines."""
    return tuple(Operator(f"m{i}", frozenset()) for i in range(count))


def test_equal_machines() -> None:
    """Seven works on three machines take 9, not the 11 of longest first."""
    works = tuple(Activity(f"w{i}", time) for i, time in enumerate((5, 5, 4, 4, 3, 3, 3)))
    found = schedule(works, machines(3), {})
    assert (found.length, found.proven) == (9, True)


def test_nine_works() -> None:
    """Nine works on three machines take 12, which T1 and T9 take already."""
    found = schedule(NINE, machines(3), {})
    assert (found.length, found.proven) == (12, True)


@pytest.mark.parametrize(
    ("works", "count", "by_list"),
    [
        (tuple(replace(work, needs=()) for work in NINE), 3, 16),
        (NINE, 4, 15),
        (tuple(replace(work, seconds=work.seconds - 1) for work in NINE), 3, 13),
    ],
    ids=["without needs", "four machines", "shorter"],
)
def test_no_anomaly(works: tuple[Activity, ...], count: int, by_list: int) -> None:
    """With fewer needs, more machines or shorter works the schedule is no longer, unlike that of a list."""
    found = schedule(works, machines(count), {})
    assert found.length <= 12 < by_list
    assert found.proven


def test_the_anomaly_is_there_to_be_avoided() -> None:
    """Done strictly in the order of the list, four machines do take the 15 of the source."""
    free, ends = [0] * 4, {}
    left = list(NINE)
    clock = 0
    while left:
        ready = [w for w in left if all(ends.get(need, clock + 1) <= clock for need in w.needs)]
        idle = [i for i, at in enumerate(free) if at <= clock]
        for work, machine in zip(ready, idle, strict=False):
            free[machine] = ends[work.id] = clock + work.seconds
            left.remove(work)
        clock = min((at for at in free if at > clock), default=clock)
    assert max(ends.values()) == 15


def test_first_four_of_the_nine() -> None:
    """A few of the works by trying all orders: the same as by the schedule."""
    few = NINE[:4]
    assert schedule(few, machines(2), {}).length == shortest(few, machines(2), {}) == 5
