from __future__ import annotations

from kb.changeover.work import activities_of, tasks_of
from kb.scheduling.activities import Activity, Operator, Slot, network
from kb.scheduling.critical_path import assignment_of, idle, in_same_order, settled, with_float
from kb.scheduling.plan import schedule
from tests.changeover import small

A, B = Operator("a", frozenset()), Operator("b", frozenset())


def test_a_work_beside_a_longer_one_may_slip() -> None:
    """Ten minutes beside thirty may slip by twenty; the thirty are critical."""
    activities = (Activity("long", 1800), Activity("short", 600))
    slots = {slot.id: slot for slot in schedule(activities, (A, B), {}).slots}
    assert slots["short"].slack == 1200
    assert slots["long"].critical


def test_a_member_ties_works_together() -> None:
    """What one member does one after the other is critical though nothing needs anything."""
    found = schedule((Activity("one", 60), Activity("two", 60)), (A,), {})
    assert all(slot.critical for slot in found.slots)


def test_equipment_ties_works_together() -> None:
    """Two activities with one hoist are critical one after the other, though two members do them."""
    activities = (Activity("one", 60, uses={"hoist": 1}), Activity("two", 60, uses={"hoist": 1}))
    found = schedule(activities, (A, B), {"hoist": 1})
    assert all(slot.critical for slot in found.slots)


def test_late_slots_are_brought_forward() -> None:
    """A slot that begins later than it must is reported as early as the order lets it be."""
    activities = (Activity("one", 60), Activity("two", 60, ("one",)))
    late = (Slot("one", 0, 60, ("a",), 0), Slot("two", 500, 560, ("b",), 0))
    assert [(slot.start, slot.slack) for slot in in_same_order(activities, (A, B), {}, late)] == [
        (0, 0),
        (60, 0),
    ]


def test_a_critical_way_leads_from_start_to_end() -> None:
    """Critical activities follow each other without a gap from the first start to the last end."""
    activities = activities_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    found = schedule(activities, small.CREW, small.EQUIPMENT, effort=0)
    reached = {0}
    for slot in found.slots:
        if slot.critical and slot.start in reached:
            reached.add(slot.end)
    assert found.length in reached


def test_slipping_by_the_slack_is_free_and_by_more_is_not() -> None:
    """An activity made longer by its slack leaves the end where it is, by a second more moves it by that."""
    activities = activities_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    found = schedule(activities, small.CREW, small.EQUIPMENT, effort=0)
    for slot in found.slots[::10]:
        for extra in (0, 1):
            longer = tuple(
                Activity(w.id, w.seconds + slot.slack + extra, w.needs, w.people, w.skill, w.uses)
                if w.id == slot.id
                else w
                for w in activities
            )
            again = in_same_order(longer, small.CREW, small.EQUIPMENT, found.slots)
            assert max(one.end for one in again) == found.length + extra


def test_who_waits_when() -> None:
    """A member's idle time is what is between the activities and after the last, to the second."""
    activities = (
        Activity("first", 60),
        Activity("alone", 300, ("first",)),
        Activity("last", 60, ("alone",), people=2),
    )
    found = schedule(activities, (A, B), {})
    waits = idle(found, (A, B))
    busy = {
        operator.id: sum(slot.end - slot.start for slot in found.slots if operator.id in slot.who)
        for operator in (A, B)
    }
    assert found.length == 420
    for operator, gaps in waits.items():
        assert sum(end - start for start, end in gaps) + busy[operator] == 420


def test_who_has_no_work_waits_all_the_time() -> None:
    """A member without an activity is idle from the first start to the last end."""
    found = schedule((Activity("one", 60, skill="x"),), (Operator("x", frozenset("x")), B), {})
    assert idle(found, (B,)) == {"b": ((0, 60),)}


def test_a_settled_schedule_does_not_move() -> None:
    """Of three racks, those given back first go on; a second move to the front may find another one."""
    activities = [
        Activity("a", 2, people=0, uses={"rack": 2}),
        Activity("b", 4, people=0, uses={"rack": 1}),
        Activity("c", 4, needs=("a",), people=0, uses={"rack": 1}),
    ]
    net = network(activities, [], {"rack": 3})
    moved = with_float(net, ([4, 1, 8], [()] * 3))
    assert {slot.id: slot.start for slot in moved} == {"a": 0, "b": 0, "c": 4}
    found = settled(net, moved)
    assert {slot.id: slot.start for slot in found} == {"a": 0, "b": 0, "c": 2}
    assert with_float(net, assignment_of(net, found)) == found
