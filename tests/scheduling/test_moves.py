"""Operators move less between places, with nobody's work exchanged and no later end."""

from __future__ import annotations

from kb.scheduling.activities import Activity, Operator, network
from kb.scheduling.critical_path import with_float
from kb.scheduling.moves import fewer_moves, moves

FITTER = (Operator("a", frozenset({"fit"})),)


def test_work_at_one_place_is_done_in_a_row() -> None:
    """Two places in turn become one after the other: one move is left of three."""
    work = tuple(Activity(f"{place}{k}", 60, where=place) for k in (1, 2) for place in "xy")
    net = network(work, FITTER, {})
    start = with_float(net, ([0, 60, 120, 180], [("a",)] * 4))
    found = fewer_moves(net, start)
    assert (moves(work, start), moves(work, found)) == (3, 1)
    assert max(slot.end for slot in found) == 240


def test_the_end_comes_before_the_moves() -> None:
    """Where work at the other place comes first in time, the operator goes there and back."""
    work = (
        Activity("x1", 60, where="x"),
        Activity("y1", 60, where="y"),
        Activity("x2", 60, where="x"),
        Activity("cool", 600, needs=("y1",), people=0),
    )
    net = network(work, FITTER, {})
    start = with_float(net, ([0, 60, 120, 120], [("a",), ("a",), ("a",), ()]))
    found = fewer_moves(net, start)
    assert max(slot.end for slot in found) == 720
    assert moves(work, found) == moves(work, start) == 2


def test_what_is_needed_first_stays_first() -> None:
    """The work between two at one place stays there if the later one needs it."""
    work = (
        Activity("x1", 60, where="x"),
        Activity("y1", 60, where="y", needs=("x1",)),
        Activity("x2", 60, where="x", needs=("y1",)),
    )
    net = network(work, FITTER, {})
    start = with_float(net, ([0, 60, 120], [("a",)] * 3))
    assert fewer_moves(net, start) == start
