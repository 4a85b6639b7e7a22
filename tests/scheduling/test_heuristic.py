from __future__ import annotations

import pytest

from kb.changeover.work import activities_of, tasks_of
from kb.scheduling.activities import Activity, Operator
from tests.changeover import small
from tests.scheduling.feasible import broken, serial_schedule

ONE, TWO = (Operator("a", frozenset()),), (Operator("a", frozenset()), Operator("b", frozenset()))


def test_the_longest_tail_goes_first() -> None:
    """Of two activities for one member the one with more to follow goes first."""
    activities = (Activity("short", 60), Activity("long", 60), Activity("after", 600, ("long",), people=0))
    found = serial_schedule(activities, ONE, {})
    assert [slot.id for slot in found.slots] == ["long", "short", "after"]
    assert found.length == 660
    assert found.proven


def test_gaps_are_filled() -> None:
    """A member who would wait does another activity meanwhile."""
    activities = (
        Activity("run-out", 300, people=0),
        Activity("isolate", 60, ("run-out",)),
        Activity("kit", 240),
    )
    assert serial_schedule(activities, ONE, {}).length == 360


def test_it_says_that_it_is_by_rule() -> None:
    """Proven or not, the schedule names the rule as its method."""
    assert serial_schedule((Activity("a", 60),), ONE, {}).method == "rule"


def test_other_starting_orders_make_it_no_longer() -> None:
    """More tries never give a longer schedule."""
    activities = activities_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    lengths = [
        serial_schedule(activities, small.CREW, small.EQUIPMENT, tries=tries).length for tries in (1, 4, 12)
    ]
    assert lengths == sorted(lengths, reverse=True)


@pytest.mark.parametrize("tries", [1, 5])
def test_a_whole_stop_keeps_every_rule(tries: int) -> None:
    """A stop of more than a hundred activities is feasible and the same each time."""
    activities = activities_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    found = serial_schedule(activities, small.CREW, small.EQUIPMENT, tries=tries)
    assert broken(found, activities, small.CREW, small.EQUIPMENT) == []
    assert found == serial_schedule(activities, small.CREW, small.EQUIPMENT, tries=tries)


def test_who_is_there_goes_on() -> None:
    """Of two members alike the one who is at the machine does its next activity."""
    activities = (
        Activity("out-1", 60, where="1"),
        Activity("out-2", 60, where="2"),
        Activity("in-1", 60, ("out-1", "out-2"), where="1"),
        Activity("in-2", 60, ("out-1", "out-2"), where="2"),
    )
    who = {slot.id: slot.who for slot in serial_schedule(activities, TWO, {}).slots}
    assert (who["out-1"], who["out-2"]) == (who["in-1"], who["in-2"])
