"""The second and third person of an activity have skills of their own, each another person."""

from __future__ import annotations

from itertools import permutations

import pytest

from kb.scheduling.activities import Activity, NoPlan, Operator, network
from kb.scheduling.plan import schedule

CREW = (
    Operator("both", frozenset({"fit", "prove"})),
    Operator("fit", frozenset({"fit"})),
    Operator("none", frozenset()),
)


def test_each_skill_is_that_of_another_person() -> None:
    """One who has both skills does not count twice: of a pair with two skills each has one."""
    pair = Activity("pair", 60, people=2, skill="fit", others=("prove",))
    found = schedule((pair,), CREW, {})
    assert set(found.slots[0].who) == {"both", "fit"}
    able = {one.id: one.skills for one in CREW}
    assert any("fit" in able[a] and "prove" in able[b] for a, b in permutations(found.slots[0].who))


def test_the_only_one_with_a_skill_makes_others_wait() -> None:
    """Work that takes the second skill waits for the one who has it; the bound knows that."""
    work = (
        Activity("prove", 300, skill="prove"),
        Activity("pair", 60, people=2, skill="fit", others=("prove",)),
    )
    found = schedule(work, CREW, {})
    assert found.length == 360
    assert found.proven


def test_a_crew_with_one_for_two_skills_cannot() -> None:
    """A crew in which one person alone has both skills has no plan, and the reason names the skills."""
    pair = Activity("pair", 60, people=2, skill="fit", others=("prove",))
    with pytest.raises(NoPlan, match="fit, prove, each of another"):
        network((pair,), (CREW[0], CREW[2]), {})


def test_more_skills_than_people_is_refused() -> None:
    """An activity of one person cannot take a second person's skill."""
    with pytest.raises(NoPlan, match="fewer than the skills"):
        network((Activity("one", 60, skill="fit", others=("prove",)),), CREW, {})


def test_work_of_the_same_people_never_overlaps() -> None:
    """Works that one fitter does are one after the other, which the bound proves."""
    work = (
        Activity("open", 60, skill="fit"),
        Activity("x", 300, needs=("open",), same_people_as=("open",), skill="fit"),
        Activity("y", 300, needs=("open",), same_people_as=("open",), skill="fit"),
    )
    found = schedule(work, CREW, {}, effort=0)
    assert (found.length, found.bound) == (660, 660)
