from __future__ import annotations

import pytest

from kb.book.load import Book, load
from kb.book.records_floor import Changeover, Week
from kb.changeover.difference import OnLine
from kb.changeover.model import Plan
from kb.changeover.plan import Changeovers, Matrix, Planner, latest
from kb.changeover.week import WeekTimes, order_of_week
from kb.changeover.work import activities_of, part_of
from kb.scheduling.activities import NoPlan
from tests.conftest import MakeBook, Shelf
from tests.scheduling.feasible import broken


@pytest.fixture(scope="module")
def planners(demo: Book) -> dict[str, Planner]:
    """The demo plant's crews, planning by the rule alone."""
    library: Changeover = demo.only("changeover").record
    return Shelf({one.id: Planner(demo, one.id, effort=0) for one in library.crews})


@pytest.fixture(scope="module")
def plans(demo: Book, planners: dict[str, Planner]) -> dict[str, Plan]:
    """For every crew the changeovers from the first format of its line to each of the others, and back."""
    found = {}
    for crew, planner in planners.items():
        on_line = OnLine(demo, planner.crew.line)
        first, *others = on_line.formats()
        for other in others:
            for old, new in ((first, other), (other, first)):
                found[f"{crew}: {old} to {new}"] = planner.plan(on_line.difference(old, new))
    return Shelf(found)


def test_every_crew_can_do_every_changeover(plans: dict[str, Plan]) -> None:
    """Before, inside and after the stop each plan of the demo plant keeps every rule."""
    for name, plan in plans.items():
        for part, made in (("before", plan.before), ("stop", plan.stop), ("after", plan.after)):
            works = activities_of(plan.tasks, part=part)
            assert broken(made, works, plan.operators, plan.equipment) == [], name
        assert plan.stop.length > 0, name


def test_nothing_hands_on_outside_isolation(plans: dict[str, Plan]) -> None:
    """No hand is in a machine before its isolation has ended or once its release has begun."""
    for plan in plans.values():
        slots = {slot.id: slot for slot in plan.stop.slots}
        for task in plan.tasks.values():
            if not task.step.hands_in:
                continue
            for other in plan.tasks.values():
                here = other.station == task.station and other.number in (None, task.number)
                if here and other.step.phase == "isolate":
                    assert slots[other.id].end <= slots[task.id].start
                if here and other.step.phase == "release" and other is not task:
                    assert slots[task.id].end <= slots[other.id].start


def test_external_work_is_outside_the_stop(plans: dict[str, Plan]) -> None:
    """What is done while the line runs is in no slot of the stop."""
    for plan in plans.values():
        inside = {slot.id for slot in plan.stop.slots}
        assert inside == {task.id for task in plan.tasks.values() if part_of(task.step) == "stop"}


def test_all_is_done_by_the_stop(plans: dict[str, Plan]) -> None:
    """Each external task has a latest time before the stop, none after it, and one just at it."""
    for plan in plans.values():
        times = latest(plan)
        assert min(times.values()) == 0
        assert all(0 <= before <= plan.before.length for before in times.values())


def test_a_format_to_itself(demo: Book, planners: dict[str, Planner]) -> None:
    """From a format to the same there is nothing to do and no stop."""
    for planner in planners.values():
        on_line = OnLine(demo, planner.crew.line)
        ident = next(iter(on_line.formats()))
        plan = planner.plan(on_line.difference(ident, ident))
        assert not plan.tasks
        assert (plan.before.length, plan.stop.length, plan.after.length) == (0, 0, 0)


def test_the_same_plan_again(demo: Book, planners: dict[str, Planner], plans: dict[str, Plan]) -> None:
    """Planned again a changeover is the same to the last member, and with the solver no longer."""
    on_line = OnLine(demo, "plover")
    old, new, *_ = on_line.formats()
    one, other = (
        Planner(demo, "plover-days", effort=0.05).plan(on_line.difference(old, new)) for _ in range(2)
    )
    assert one == other
    assert one.stop.length <= plans[f"plover-days: {old} to {new}"].stop.length


def test_refusals(demo: Book, planners: dict[str, Planner]) -> None:
    """A crew of another line, one that is not there, and a format that the line cannot run are refused."""
    with pytest.raises(NoPlan, match=r"crew plover-day is not in changeover\.yaml; did you mean plover-days"):
        Planner(demo, "plover-day")
    heron = OnLine(demo, "heron")
    old, new, *_ = heron.formats()
    with pytest.raises(NoPlan, match="crew plover-days is a crew of line plover, not of heron"):
        planners["plover-days"].plan(heron.difference(old, new))
    foreign = heron.difference(old, next(iter(OnLine(demo, "plover").formats())))
    assert foreign.stopped_by
    with pytest.raises(NoPlan, match=f"^line heron cannot run {foreign.new}: "):
        planners["heron-days"].plan(foreign)
    assert planners["heron-days"].stop(foreign).why_not.startswith("line heron cannot run")


@pytest.fixture(scope="module")
def matrices(demo: Book) -> dict[str, Matrix]:
    """Stops of the lines of all weeks, by the rule alone."""
    weeks: list[Week] = [spec.record for spec in demo.of("week").values()]
    return Shelf({week.line: Changeovers(demo, week.line, week.crew, effort=0).matrix() for week in weeks})


def test_matrix(demo: Book, matrices: dict[str, Matrix]) -> None:
    """All ordered pairs are there with their class; like works are solved once."""
    for line, found in matrices.items():
        formats = tuple(OnLine(demo, line).formats())
        assert found.formats == formats
        assert set(found.stops) == {(a, b) for a in formats for b in formats if a != b}
        assert 0 < found.solved < len(found.stops)
        for stop in found.stops.values():
            assert stop.why_not == ""
            assert 0 <= stop.bound <= stop.seconds
            assert stop.bound > 0 or stop.kind == "settings"  # a pallet pattern changes while the line runs
            assert stop.kind not in ("", "nothing")


def test_a_label_is_quicker_than_another_diameter(matrices: dict[str, Matrix]) -> None:
    """The further a changeover reaches into the line, the longer the line is down."""
    by_kind: dict[str, list[int]] = {}
    for found in matrices.values():
        for stop in found.stops.values():
            by_kind.setdefault(stop.kind, []).append(stop.seconds)
    assert max(by_kind["label"]) < min(by_kind["diameter"])


def test_weeks_of_the_demo_plant(demo: Book, matrices: dict[str, Matrix]) -> None:
    """Each week has an order that is on time and loses less than the order given."""
    for spec in demo.of("week").values():
        week: Week = spec.record
        found = order_of_week(week, WeekTimes(matrices[week.line].seconds), effort=0.5)
        assert found.best.lateness <= found.given.lateness
        assert found.saved > 0
        assert sorted(one.batch.number for one in found.best.placed) == list(range(1, len(week.runs) + 1))


def test_a_book_that_does_not_say_how(make_book: MakeBook) -> None:
    """Without changeover.yaml there is no plan, and it is said why."""
    folder = make_book(["b202-250"])
    (folder / "changeover.yaml").unlink(missing_ok=True)
    with pytest.raises(NoPlan, match=r"^changeover\.yaml is missing or has errors"):
        Planner(load(folder, shown="book"), "heron-days")


def test_a_briefing_takes_the_whole_crew(plans: dict[str, Plan]) -> None:
    """Everyone hears the briefing, those who run the line too; nobody prepares anything meanwhile."""
    count = 0
    for name, plan in plans.items():
        for slot in plan.before.slots:
            if plan.tasks[slot.id].step.everyone:
                count += 1
                assert set(slot.who) == {one.id for one in plan.operators}, name
                others = (one for one in plan.before.slots if one.who and one.id != slot.id)
                assert all(one.end <= slot.start or slot.end <= one.start for one in others), name
    assert count
