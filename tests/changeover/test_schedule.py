from __future__ import annotations

import sys
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.changeover.model import Hand, NoPlan, Work
from kb.changeover.network import bounds, network
from kb.changeover.rule import by_rule
from kb.changeover.schedule import schedule
from kb.changeover.work import tasks_of, works_of
from tests.changeover import small
from tests.changeover.keeps import broken, shortest

TWO = (Hand("a", frozenset({"x"})), Hand("b", frozenset({"x", "y"})))
RIGS = {"rig": 2}


@st.composite
def jobs(draw: st.DrawFn, most: int) -> tuple[tuple[Work, ...], tuple[Hand, ...]]:
    """Works that need each other, skills and rigs, and a crew that has all skills."""
    skills = st.frozensets(st.sampled_from("xyz"))
    hands = (
        Hand("all", frozenset("xyz")),
        *[Hand(f"h{i}", draw(skills)) for i in range(draw(st.integers(0, 2)))],
    )
    works: list[Work] = []
    for i in range(draw(st.integers(1, most))):
        people = draw(st.integers(0, len(hands)))
        before = [work.id for work in works]
        needs = draw(st.sets(st.sampled_from(before), max_size=3)) if works else set()
        entry = draw(st.sets(st.sampled_from(before), max_size=2)) if works and draw(st.booleans()) else set()
        same = draw(st.sets(st.sampled_from(before), max_size=1)) if works and draw(st.booleans()) else set()
        works.append(
            Work(
                id=f"w{i}",
                seconds=draw(st.integers(0, 7)) * 30,
                needs=tuple(sorted(needs)),
                people=people,
                skill=draw(st.sampled_from(["", "x", "y", "z"])),
                uses={"rig": draw(st.integers(1, 2))} if draw(st.booleans()) else {},
                where=draw(st.sampled_from(["", "here", "there"])),
                same_people_as=tuple(sorted(same)),
                entry=tuple(sorted(entry)),
                entry_seconds=draw(st.sampled_from([0, 30, 60])),
            )
        )
    return tuple(works), hands


@settings(max_examples=60)
@given(jobs(most=9))
def test_every_rule_is_kept(case: tuple[tuple[Work, ...], tuple[Hand, ...]]) -> None:
    """Nobody is in two places, nothing begins before its needs, nothing is used that is not there."""
    works, hands = case
    assert broken(schedule(works, hands, RIGS, effort=0.02), works, hands, RIGS) == []


@settings(max_examples=60)
@given(jobs(most=9))
def test_never_worse_than_the_rule(case: tuple[tuple[Work, ...], tuple[Hand, ...]]) -> None:
    """What the solver finds is no longer than what the rule gives, and its bound no lower."""
    works, hands = case
    solved, ruled = schedule(works, hands, RIGS, effort=0.02), by_rule(works, hands, RIGS)
    assert ruled.bound <= solved.bound <= solved.length <= ruled.length


@settings(max_examples=60)
@given(jobs(most=4))
def test_few_works_are_done_in_the_shortest_time(case: tuple[tuple[Work, ...], tuple[Hand, ...]]) -> None:
    """The length is proven, and is what trying every order gives."""
    works, hands = case
    found = schedule(works, hands, RIGS)
    assert found.proven
    assert found.length == shortest(works, hands, RIGS)


@settings(max_examples=60)
@given(jobs(most=4))
def test_the_bound_is_a_bound(case: tuple[tuple[Work, ...], tuple[Hand, ...]]) -> None:
    """Neither the length nor any head and tail promise more time than the shortest schedule takes."""
    works, hands = case
    limits = bounds(network(works, hands, RIGS))
    least = shortest(works, hands, RIGS)
    assert limits.length <= least
    for head, tail, work in zip(limits.heads, limits.tails, works, strict=True):
        assert head + work.seconds + tail <= least


@settings(max_examples=25)
@given(jobs(most=8))
def test_same_works_same_schedule(case: tuple[tuple[Work, ...], tuple[Hand, ...]]) -> None:
    """Asked twice the answer is the same to the last member."""
    works, hands = case
    assert schedule(works, hands, RIGS, effort=0.02) == schedule(works, hands, RIGS, effort=0.02)


@settings(max_examples=25)
@given(jobs(most=7), st.integers(2, 9))
def test_scale(case: tuple[tuple[Work, ...], tuple[Hand, ...]], factor: int) -> None:
    """Where everything takes some times as long, so does all of it."""
    works, hands = case
    longer = tuple(
        replace(work, seconds=work.seconds * factor, entry_seconds=work.entry_seconds * factor)
        for work in works
    )
    one, other = schedule(works, hands, RIGS), schedule(longer, hands, RIGS)
    assert one.proven
    assert other.length == factor * one.length


def test_no_work() -> None:
    """Without work the schedule is empty and proven."""
    found = schedule((), TWO, {})
    assert (found.slots, found.length, found.proven) == ((), 0, True)


def test_work_without_people_needs_nobody() -> None:
    """A run-out that nobody stands at goes on beside the others, also without a crew."""
    assert schedule((Work("run-out", 60, people=0),), (), {}).length == 60


def test_a_skilled_member_and_a_helper() -> None:
    """Of two people one has the skill; two such works cannot be done at once by one skilled member."""
    hands = (*TWO, Hand("c", frozenset()), Hand("d", frozenset()))
    works = tuple(Work(f"w{i}", 60, people=2, skill="y") for i in range(2))
    found = schedule(works, hands, {})
    assert found.length == 120
    assert all("b" in slot.who for slot in found.slots)


def test_a_better_member_is_kept_for_what_only_they_can_do() -> None:
    """The work that anybody can do is left to the member with fewer skills."""
    found = schedule((Work("any", 60, skill="x"), Work("own", 60, skill="y")), TWO, {})
    assert {slot.id: slot.who for slot in found.slots} == {"any": ("a",), "own": ("b",)}


def test_shared_equipment_makes_a_queue() -> None:
    """Three works with one hoist take three times as long as one, however many people there are."""
    works = tuple(Work(f"w{i}", 60, uses={"hoist": 1}) for i in range(3))
    assert schedule(works, TWO, {"hoist": 1}).length == 180


@pytest.mark.parametrize(
    ("works", "why"),
    [
        (
            (Work("a", 60, ("b",)), Work("b", 60, ("a",))),
            "works wait for each other in a ring: a after b after a",
        ),
        ((Work("a", 60, ("gone",)),), "a needs gone, which is not to be done"),
        ((Work("a", 60, people=3),), "a takes 3 people, the crew has 2"),
        ((Work("a", 60, skill="z"),), "a takes the skill z, which nobody in the crew has"),
        ((Work("a", 60, uses={"rig": 3}),), "a uses 3 of rig, there are 2"),
        ((Work("a", 60, uses={"hoist": 1}),), "a uses 1 of hoist, there are 0"),
        ((Work("a", -1),), "a takes less than no time"),
        ((Work("a", 60, entry=("gone",)),), "a needs gone, which is not to be done"),
        (
            (Work("a", 60, skill="y"), Work("b", 60, skill="w", same_people_as=("a",))),
            "b takes the skill w, which nobody in the crew has",
        ),
        ((Work("a", 60), Work("a", 30)), "two works have the same id"),
    ],
)
def test_what_cannot_be_done_is_refused(works: tuple[Work, ...], why: str) -> None:
    """Works that ask for more than there is, or wait for each other, are refused in one line."""
    with pytest.raises(NoPlan, match=f"^{why}$"):
        schedule(works, TWO, RIGS)


def test_a_whole_stop_is_near_its_bound() -> None:
    """A stop with every machine changing, eight bodymakers among them, is within a twentieth of its bound."""
    works = works_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    found = schedule(works, small.CREW, small.EQUIPMENT)
    assert len(works) > 120
    assert broken(found, works, small.CREW, small.EQUIPMENT) == []
    assert found.length <= 1.05 * found.bound


def test_a_known_schedule_is_not_made_longer() -> None:
    """Given a schedule of longer works, the one of the shorter works is no longer."""
    works = works_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    known = schedule(works, small.CREW, small.EQUIPMENT)
    shorter = tuple(replace(work, seconds=max(1, work.seconds - 30)) for work in works)
    found = schedule(shorter, small.CREW, small.EQUIPMENT, effort=0, known=known.slots)
    assert found.length <= known.length
    assert broken(found, shorter, small.CREW, small.EQUIPMENT) == []


def test_without_the_solver_the_rule_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no solver is installed the schedule is that of the rule, says so, and keeps every rule."""
    works = works_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    solved = schedule(works, small.CREW, small.EQUIPMENT)
    monkeypatch.setitem(sys.modules, "ortools", None)
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    ruled = schedule(works, small.CREW, small.EQUIPMENT)
    assert ruled == by_rule(works, small.CREW, small.EQUIPMENT)
    assert ruled.method == "rule"
    assert solved.length <= ruled.length
    assert broken(ruled, works, small.CREW, small.EQUIPMENT) == []
