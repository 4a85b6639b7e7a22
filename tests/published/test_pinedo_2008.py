"""Five jobs on one machine with due dates, a textbook's example of least total tardiness.

M. Pinedo, Scheduling, Theory, Algorithms, and Systems, 3rd edition, 2008, example 3.4.5: processing times
121, 79, 147, 83, 130 and due dates 260, 266, 266, 336, 337; the best orders 1, 2, 4, 5, 3 and 2, 1, 4, 5, 3
are late by 370 in all (from memory, high confidence; both sums done by hand, and all 120 orders counted
below).
"""

from __future__ import annotations

from itertools import accumulate, permutations

from kb.scheduling.sequence import Batch, best_order

TIMES = (121, 79, 147, 83, 130)
DUE = (260, 266, 266, 336, 337)


def tardiness(order: tuple[int, ...]) -> int:
    """How late the jobs are in all, counted by hand."""
    ends = accumulate(TIMES[job - 1] for job in order)
    return sum(max(0, end - DUE[job - 1]) for end, job in zip(ends, order, strict=True))


def test_the_source_adds_up() -> None:
    """Both orders of the source are late by 370, and no other order by less."""
    assert tardiness((1, 2, 4, 5, 3)) == tardiness((2, 1, 4, 5, 3)) == 370
    assert min(tardiness(order) for order in permutations(range(1, 6))) == 370


def test_least_lateness() -> None:
    """The week of these runs is late by 370 min in one of the two orders of the source."""
    jobs = [
        Batch(i, "f", 60 * time, 60 * due) for i, (time, due) in enumerate(zip(TIMES, DUE, strict=True), 1)
    ]
    found = best_order(jobs, {}, running="f")
    assert (found.best.lateness, found.best.lost, found.proven) == (370, 0, True)
    assert tuple(one.batch.number for one in found.best.placed) in {(1, 2, 4, 5, 3), (2, 1, 4, 5, 3)}
