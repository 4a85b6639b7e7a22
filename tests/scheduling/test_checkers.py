"""Nobody checks their own work: schedules, the checker of schedules, a crew with nobody left."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.scheduling.activities import Activity, NoPlan, Operator, network
from kb.scheduling.kept import feasible
from kb.scheduling.plan import schedule
from tests.scheduling.feasible import broken, shortest

BOTH = Operator("both", frozenset({"fit", "check"}))
FITTER = Operator("fitter", frozenset({"fit"}))
FIT = Activity("fit", 60, skill="fit")
CHECK = Activity("check", 60, skill="check", not_by=("fit",))


def test_the_only_checker_does_not_fit() -> None:
    """The one member who can check is kept for it, although idle while the part is fitted."""
    found = schedule((FIT, CHECK), (BOTH, FITTER), {})
    assert {slot.id: slot.who for slot in found.slots} == {"fit": ("fitter",), "check": ("both",)}
    assert found.length == 120


def test_a_check_waits_for_the_work() -> None:
    """A check begins after the work that it checks, without another need."""
    slots = {slot.id: slot for slot in schedule((CHECK, FIT), (BOTH, FITTER), {}).slots}
    assert slots["check"].start >= slots["fit"].end


def test_nobody_left_is_said() -> None:
    """Where the same member alone can do both, there is no plan, and the line names work and member."""
    with pytest.raises(NoPlan, match="check checks fit, and only both can do either"):
        schedule((FIT, CHECK), (BOTH, Operator("other", frozenset())), {})


def test_a_check_of_ones_own_work_is_not_feasible() -> None:
    """The checks of kept schedules and of the tests both refuse it."""
    crew = (BOTH, replace(BOTH, id="second"))
    net = network((FIT, CHECK), crew, {})
    assert feasible(net, ([0, 60], [("both",), ("second",)]))
    assert not feasible(net, ([0, 60], [("both",), ("both",)]))
    found = schedule((FIT, CHECK), crew, {})
    wrong = replace(found, slots=tuple(replace(slot, who=("both",)) for slot in found.slots))
    assert broken(wrong, (FIT, CHECK), crew, {}) == ["check is done by one who did fit"]


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(1, 5), st.integers(1, 2), st.booleans()), min_size=1, max_size=2),
    st.lists(st.frozensets(st.sampled_from(["fit", "check"]), min_size=1), min_size=1, max_size=2),
)
def test_few_checks_are_done_in_the_shortest_time(
    pairs: list[tuple[int, int, bool]], others: list[frozenset[str]]
) -> None:
    """With works that are checked or not, the length is that of trying every way."""
    crew = (BOTH, FITTER, *(Operator(f"h{i}", skills) for i, skills in enumerate(others)))
    activities: list[Activity] = []
    for i, (minutes, people, checked) in enumerate(pairs):
        activities.append(Activity(f"fit{i}", 60 * minutes, skill="fit", people=people))
        activities.append(Activity(f"check{i}", 60, skill="check", not_by=(f"fit{i}",) if checked else ()))
    found = schedule(activities, crew, {})
    assert broken(found, activities, crew, {}) == []
    assert found.length == shortest(activities, crew, {})
