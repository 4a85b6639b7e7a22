from __future__ import annotations

import sys
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.changeover.work import activities_of, tasks_of
from kb.scheduling.activities import Activity, NoPlan, Operator, Schedule, network
from kb.scheduling.bounds import bounds
from kb.scheduling.plan import _few_handovers, handovers, schedule
from kb.scheduling.proof import raised_bound
from kb.scheduling.solver import NoSolver
from tests.changeover import small
from tests.scheduling.feasible import broken, serial_schedule, shortest

TWO = (Operator("a", frozenset({"x"})), Operator("b", frozenset({"x", "y"})))
RIGS = {"rig": 2}


@st.composite
def batches(draw: st.DrawFn, most: int) -> tuple[tuple[Activity, ...], tuple[Operator, ...]]:
    """Works that need each other, skills and rigs, and a crew that has all skills."""
    skills = st.frozensets(st.sampled_from("xyz"))
    crew = (
        Operator("all", frozenset("xyz")),
        *[Operator(f"h{i}", draw(skills)) for i in range(draw(st.integers(0, 2)))],
    )
    activities: list[Activity] = []
    for i in range(draw(st.integers(1, most))):
        people = draw(st.integers(0, len(crew)))
        before = [activity.id for activity in activities]
        needs = draw(st.sets(st.sampled_from(before), max_size=3)) if activities else set()
        entry = (
            draw(st.sets(st.sampled_from(before), max_size=2))
            if activities and draw(st.booleans())
            else set()
        )
        same = (
            draw(st.sets(st.sampled_from(before), max_size=1))
            if activities and draw(st.booleans())
            else set()
        )
        activities.append(
            Activity(
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
    return tuple(activities), crew


@pytest.mark.slow
@settings(max_examples=60)
@given(batches(most=9))
def test_every_rule_is_kept(case: tuple[tuple[Activity, ...], tuple[Operator, ...]]) -> None:
    """Nobody is in two places, nothing begins before its needs, nothing is used that is not there."""
    activities, crew = case
    assert broken(schedule(activities, crew, RIGS, effort=0.02), activities, crew, RIGS) == []


@settings(max_examples=60)
@given(batches(most=9))
def test_never_worse_than_the_rule(case: tuple[tuple[Activity, ...], tuple[Operator, ...]]) -> None:
    """What the solver finds is no longer than what the rule gives, and its bound no lower."""
    activities, crew = case
    solved, ruled = schedule(activities, crew, RIGS, effort=0.02), serial_schedule(activities, crew, RIGS)
    assert ruled.bound <= solved.bound <= solved.length <= ruled.length


@settings(max_examples=60)
@given(batches(most=4))
def test_few_works_are_done_in_the_shortest_time(
    case: tuple[tuple[Activity, ...], tuple[Operator, ...]],
) -> None:
    """The length is proven, and is what trying every order gives."""
    activities, crew = case
    found = schedule(activities, crew, RIGS)
    assert found.proven
    assert found.length == shortest(activities, crew, RIGS)


@pytest.mark.slow
@settings(max_examples=60)
@given(batches(most=4))
def test_the_bound_is_a_bound(case: tuple[tuple[Activity, ...], tuple[Operator, ...]]) -> None:
    """Neither the length nor any head and tail promise more time than the shortest schedule takes."""
    activities, crew = case
    limits = bounds(network(activities, crew, RIGS))
    least = shortest(activities, crew, RIGS)
    assert limits.length <= least
    for head, tail, activity in zip(limits.heads, limits.tails, activities, strict=True):
        assert head + activity.seconds + tail <= least


@settings(max_examples=25)
@given(batches(most=8))
def test_same_works_same_schedule(case: tuple[tuple[Activity, ...], tuple[Operator, ...]]) -> None:
    """Asked twice the answer is the same to the last member."""
    activities, crew = case
    assert schedule(activities, crew, RIGS, effort=0.02) == schedule(activities, crew, RIGS, effort=0.02)


@settings(max_examples=25)
@given(batches(most=7), st.integers(2, 9))
def test_scale(case: tuple[tuple[Activity, ...], tuple[Operator, ...]], factor: int) -> None:
    """Where everything takes some times as long, so does all of it."""
    activities, crew = case
    longer = tuple(
        replace(activity, seconds=activity.seconds * factor, entry_seconds=activity.entry_seconds * factor)
        for activity in activities
    )
    one, other = schedule(activities, crew, RIGS), schedule(longer, crew, RIGS)
    assert one.proven
    assert other.length == factor * one.length


def test_no_work() -> None:
    """Without activities the schedule is empty and proven."""
    found = schedule((), TWO, {})
    assert (found.slots, found.length, found.proven) == ((), 0, True)


def test_work_without_people_needs_nobody() -> None:
    """A run-out without people goes on beside the others, also without a crew."""
    assert schedule((Activity("run-out", 60, people=0),), (), {}).length == 60


def test_a_skilled_member_and_a_helper() -> None:
    """Of two people one has the skill; two such activities cannot be done at once by one skilled member."""
    crew = (*TWO, Operator("c", frozenset()), Operator("d", frozenset()))
    activities = tuple(Activity(f"w{i}", 60, people=2, skill="y") for i in range(2))
    found = schedule(activities, crew, {})
    assert found.length == 120
    assert all("b" in slot.who for slot in found.slots)


def test_a_better_member_is_kept_for_what_only_they_can_do() -> None:
    """The activity that anybody can do is left to the member with fewer skills."""
    found = schedule((Activity("any", 60, skill="x"), Activity("own", 60, skill="y")), TWO, {})
    assert {slot.id: slot.who for slot in found.slots} == {"any": ("a",), "own": ("b",)}


def test_shared_equipment_makes_a_queue() -> None:
    """Three activities with one hoist take three times as long as one, however many people there are."""
    activities = tuple(Activity(f"w{i}", 60, uses={"hoist": 1}) for i in range(3))
    assert schedule(activities, TWO, {"hoist": 1}).length == 180


@pytest.mark.parametrize(
    ("activities", "why"),
    [
        (
            (Activity("a", 60, ("b",)), Activity("b", 60, ("a",))),
            "works wait for each other in a ring: a after b after a",
        ),
        ((Activity("a", 60, ("gone",)),), "a needs gone, which is not to be done"),
        ((Activity("a", 60, people=3),), "a takes 3 people, the crew has 2"),
        ((Activity("a", 60, skill="z"),), "a takes the skill z, which nobody in the crew has"),
        ((Activity("a", 60, uses={"rig": 3}),), "a uses 3 of rig, there are 2"),
        ((Activity("a", 60, uses={"hoist": 1}),), "a uses 1 of hoist, there are 0"),
        ((Activity("a", -1),), "a takes less than no time"),
        ((Activity("a", 60, entry=("gone",)),), "a needs gone, which is not to be done"),
        (
            (Activity("a", 60, skill="y"), Activity("b", 60, skill="w", same_people_as=("a",))),
            "b takes the skill w, which nobody in the crew has",
        ),
        ((Activity("a", 60), Activity("a", 30)), "two works have the same id"),
    ],
)
def test_what_cannot_be_done_is_refused(activities: tuple[Activity, ...], why: str) -> None:
    """Works that ask for more than there is, or wait for each other, are refused in one line."""
    with pytest.raises(NoPlan, match=f"^{why}$"):
        schedule(activities, TWO, RIGS)


def test_a_whole_stop_is_near_its_bound() -> None:
    """A stop with every machine changing, eight bodymakers among them, is within a twentieth of its bound."""
    activities = activities_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    found = schedule(activities, small.CREW, small.EQUIPMENT)
    assert len(activities) > 120
    assert broken(found, activities, small.CREW, small.EQUIPMENT) == []
    assert found.length <= 1.05 * found.bound


def test_a_known_schedule_is_not_made_longer() -> None:
    """Given a schedule of longer activities, the one of the shorter activities is no longer."""
    activities = activities_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    known = schedule(activities, small.CREW, small.EQUIPMENT)
    shorter = tuple(replace(activity, seconds=max(1, activity.seconds - 30)) for activity in activities)
    found = schedule(shorter, small.CREW, small.EQUIPMENT, effort=0, known=known.slots)
    assert found.length <= known.length
    assert broken(found, shorter, small.CREW, small.EQUIPMENT) == []


def test_without_the_solver_a_search_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the solver package a search is refused in one line that names it, and effort 0 still plans."""
    activities = activities_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    monkeypatch.setitem(sys.modules, "ortools", None)
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    with pytest.raises(NoSolver, match=r"^the solver package ortools is not installed; plans need it$"):
        schedule(activities, small.CREW, small.EQUIPMENT)
    by_priority = schedule(activities, small.CREW, small.EQUIPMENT, effort=0)
    assert by_priority == serial_schedule(activities, small.CREW, small.EQUIPMENT)
    assert by_priority.method == "rule"
    assert broken(by_priority, activities, small.CREW, small.EQUIPMENT) == []


# --- the proof ------------------------------------------------------------------------------------


@pytest.mark.slow
@settings(max_examples=60)
@given(batches(most=4))
def test_no_proof_refutes_the_shortest_schedule(
    case: tuple[tuple[Activity, ...], tuple[Operator, ...]],
) -> None:
    """A raised bound is never above the length that trying every order gives."""
    activities, crew = case
    net = network(activities, crew, RIGS)
    least = shortest(activities, crew, RIGS)
    limits = bounds(net)
    assert limits.length <= raised_bound(net, limits, least + 600, 0.05) <= least


def test_a_proof_sees_what_workloads_do_not() -> None:
    """Three times 100 s for two operators, nothing in parts: 200 s, where the workload says 150 s."""
    activities = tuple(Activity(f"w{i}", 100, skill="x") for i in range(3))
    net = network(activities, TWO, {})
    limits = bounds(net)
    assert limits.length == 150
    assert raised_bound(net, limits, 300, 0.05) == 200


def test_one_who_cannot_open_a_machine_always_needs_the_entry_time() -> None:
    """Where nobody with the skill can do the entry, or fewer people do it, the lock's time is always due."""
    entry = Activity("isolate", 60, skill="y")
    by_skill = Activity("look", 60, skill="z", entry=("isolate",), entry_seconds=30)
    by_two = Activity("turn", 60, people=2, entry=("isolate",), entry_seconds=30)
    by_one = Activity("fit", 60, skill="x", entry=("isolate",), entry_seconds=30)
    crew = (*TWO, Operator("c", frozenset({"z"})))
    assert network((entry, by_skill, by_two, by_one), crew, {}).least == (60, 90, 90, 60)


@pytest.mark.slow
def test_a_fixed_order_at_a_machine_keeps_every_rule() -> None:
    """The plan of a whole stop found with a fixed order at each machine breaks nothing and is no longer."""
    tasks = tasks_of(small.STEPS, small.HEIGHT)
    activities = activities_of(tasks, part="stop")
    found = schedule(activities, small.CREW, small.EQUIPMENT, effort=0.05)
    assert broken(found, activities, small.CREW, small.EQUIPMENT) == []
    assert found.bound <= found.length <= serial_schedule(activities, small.CREW, small.EQUIPMENT).length


# --- hand-overs -----------------------------------------------------------------------------------


def test_one_of_two_alike_stays_at_a_machine() -> None:
    """Where two can do all and the times allow it, each stays at one machine: no hand-over at all."""
    crew = (Operator("a", frozenset({"x"})), Operator("b", frozenset({"x"})))
    first = [Activity(f"first {at}", 60 + 30 * i, skill="x", where=at) for i, at in enumerate("mn")]
    then = [Activity(f"then {at}", 90, needs=(f"first {at}",), skill="x", where=at) for at in "mn"]
    last = Activity("last", 30, needs=("then m", "then n"), people=2)
    activities = (*first, *then, last)
    found = schedule(activities, crew, {})
    assert broken(found, activities, crew, {}) == []
    assert handovers(activities, found.slots) == 2


@settings(max_examples=40)
@given(batches(most=9))
def test_fewer_handovers_cost_no_time(
    case: tuple[tuple[Activity, ...], tuple[Operator, ...]],
) -> None:
    """People chosen for fewer hand-overs keep every rule, and the stop is no longer."""
    activities, crew = case
    net = network(activities, crew, RIGS)
    start = serial_schedule(activities, crew, RIGS)
    found = _few_handovers(net, start.slots, 0.02)
    length = max((slot.end for slot in found), default=0)
    assert broken(Schedule(found, length, 0, "rule"), activities, crew, RIGS) == []
    assert length <= start.length
    assert handovers(activities, found) <= handovers(activities, start.slots)
