from __future__ import annotations

import pytest

from kb.changeover.model import Hand, Work
from kb.changeover.rule import by_rule
from kb.changeover.work import tasks_of, works_of
from tests.changeover import small
from tests.changeover.keeps import broken

ONE, TWO = (Hand("a", frozenset()),), (Hand("a", frozenset()), Hand("b", frozenset()))


def test_the_longest_tail_goes_first() -> None:
    """Of two works for one member the one with more to follow goes first."""
    works = (Work("short", 60), Work("long", 60), Work("after", 600, ("long",), people=0))
    found = by_rule(works, ONE, {})
    assert [slot.id for slot in found.slots] == ["long", "short", "after"]
    assert found.length == 660
    assert found.proven


def test_gaps_are_filled() -> None:
    """A member who would wait does other work meanwhile."""
    works = (Work("run-out", 300, people=0), Work("isolate", 60, ("run-out",)), Work("kit", 240))
    assert by_rule(works, ONE, {}).length == 360


def test_it_says_that_it_is_by_rule() -> None:
    """Proven or not, the schedule is told as the rule's."""
    assert by_rule((Work("a", 60),), ONE, {}).method == "rule"


def test_other_starting_orders_make_it_no_longer() -> None:
    """More tries never give a longer schedule."""
    works = works_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    lengths = [by_rule(works, small.CREW, small.EQUIPMENT, tries=tries).length for tries in (1, 4, 12)]
    assert lengths == sorted(lengths, reverse=True)


@pytest.mark.parametrize("tries", [1, 5])
def test_a_whole_stop_keeps_every_rule(tries: int) -> None:
    """A stop of more than a hundred works is feasible and the same each time."""
    works = works_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    found = by_rule(works, small.CREW, small.EQUIPMENT, tries=tries)
    assert broken(found, works, small.CREW, small.EQUIPMENT) == []
    assert found == by_rule(works, small.CREW, small.EQUIPMENT, tries=tries)


def test_who_stands_there_goes_on() -> None:
    """Of two members alike the one who is at the machine does its next work."""
    works = (
        Work("out-1", 60, where="1"),
        Work("out-2", 60, where="2"),
        Work("in-1", 60, ("out-1", "out-2"), where="1"),
        Work("in-2", 60, ("out-1", "out-2"), where="2"),
    )
    who = {slot.id: slot.who for slot in by_rule(works, TWO, {}).slots}
    assert (who["out-1"], who["out-2"]) == (who["in-1"], who["in-2"])
