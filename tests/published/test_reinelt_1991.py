"""A round trip of 17 places where there and back are not the same, from a public library of such problems.

G. Reinelt, TSPLIB, A traveling salesman problem library, ORSA Journal on Computing 3 (1991) 376-384: problem
br17 (17 city problem, Repetto), whose shortest round trip is 39. Here the first place is what runs before the
week and after it, and the other sixteen are its runs.
"""

from __future__ import annotations

from kb.scheduling.sequence import EFFORT, Batch, OrderComparison, best_order

BR17 = """
-- 3 5 48 48 8 8 5 5 3 3 0 3 5 8 8 5
3 -- 3 48 48 8 8 5 5 0 0 3 0 3 8 8 5
5 3 -- 72 72 48 48 24 24 3 3 5 3 0 48 48 24
48 48 74 -- 0 6 6 12 12 48 48 48 48 74 6 6 12
48 48 74 0 -- 6 6 12 12 48 48 48 48 74 6 6 12
8 8 50 6 6 -- 0 8 8 8 8 8 8 50 0 0 8
8 8 50 6 6 0 -- 8 8 8 8 8 8 50 0 0 8
5 5 26 12 12 8 8 -- 0 5 5 5 5 26 8 8 0
5 5 26 12 12 8 8 0 -- 5 5 5 5 26 8 8 0
3 0 3 48 48 8 8 5 5 -- 0 3 0 3 8 8 5
3 0 3 48 48 8 8 5 5 0 -- 3 0 3 8 8 5
0 3 5 48 48 8 8 5 5 3 3 -- 3 5 8 8 5
3 0 3 48 48 8 8 5 5 0 0 3 -- 3 8 8 5
5 3 0 72 72 48 48 24 24 3 3 5 3 -- 48 48 24
8 8 50 6 6 0 0 8 8 8 8 8 8 50 -- 0 8
8 8 50 6 6 0 0 8 8 8 8 8 8 50 0 -- 8
5 5 26 12 12 8 8 0 0 5 5 5 5 26 8 8 --
"""
ROWS = [row.split() for row in BR17.strip().splitlines()]
STOPS = {(str(i), str(k)): int(one) for i, row in enumerate(ROWS) for k, one in enumerate(row) if one != "--"}


def found(effort: float = EFFORT) -> OrderComparison:
    """The round trip as a week."""
    jobs = [Batch(number, str(number), 60, None) for number in range(1, 17)]
    return best_order(jobs, STOPS, running="0", then="0", effort=effort)


def test_optimum() -> None:
    """The shortest round trip is 39, and proven; in the order of the numbers it is longer."""
    one = found()
    assert (one.best.lost, one.proven) == (39, True)
    assert one.given.lost == sum(STOPS[str(i), str((i + 1) % 17)] for i in range(17)) > 39
    assert sorted(placed.batch.number for placed in one.best.placed) == list(range(1, 17))


def test_without_a_search() -> None:
    """By exchange alone the round trip is no shorter than 39, and nothing is called proven."""
    one = found(effort=0)
    assert one.best.lost >= 39
    assert not one.proven
