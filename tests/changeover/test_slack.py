from __future__ import annotations

from kb.changeover.model import Hand, Slot, Work
from kb.changeover.schedule import schedule
from kb.changeover.slack import idle, with_slack
from kb.changeover.work import tasks_of, works_of
from tests.changeover import small

A, B = Hand("a", frozenset()), Hand("b", frozenset())


def test_a_work_beside_a_longer_one_may_slip() -> None:
    """Ten minutes beside thirty may slip by twenty; the thirty are critical."""
    works = (Work("long", 1800), Work("short", 600))
    slots = {slot.id: slot for slot in schedule(works, (A, B), {}).slots}
    assert slots["short"].slack == 1200
    assert slots["long"].critical


def test_a_member_ties_works_together() -> None:
    """What one member does one after the other is critical though nothing needs anything."""
    found = schedule((Work("one", 60), Work("two", 60)), (A,), {})
    assert all(slot.critical for slot in found.slots)


def test_equipment_ties_works_together() -> None:
    """Two works with one hoist are critical one after the other, though two members do them."""
    works = (Work("one", 60, uses={"hoist": 1}), Work("two", 60, uses={"hoist": 1}))
    found = schedule(works, (A, B), {"hoist": 1})
    assert all(slot.critical for slot in found.slots)


def test_late_slots_are_brought_forward() -> None:
    """A slot that begins later than it must is told as early as the order lets it be."""
    works = (Work("one", 60), Work("two", 60, ("one",)))
    late = (Slot("one", 0, 60, ("a",), 0), Slot("two", 500, 560, ("b",), 0))
    assert [(slot.start, slot.slack) for slot in with_slack(works, (A, B), {}, late)] == [(0, 0), (60, 0)]


def test_a_critical_way_leads_from_start_to_end() -> None:
    """In a whole stop critical works follow each other without a gap from the first start to the last end."""
    works = works_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    found = schedule(works, small.CREW, small.EQUIPMENT, effort=0)
    reached = {0}
    for slot in found.slots:
        if slot.critical and slot.start in reached:
            reached.add(slot.end)
    assert found.length in reached


def test_slipping_by_the_slack_is_free_and_by_more_is_not() -> None:
    """A work made longer by its slack leaves the end where it is, by a second more moves it by that."""
    works = works_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    found = schedule(works, small.CREW, small.EQUIPMENT, effort=0)
    for slot in found.slots[::10]:
        for extra in (0, 1):
            longer = tuple(
                Work(w.id, w.seconds + slot.slack + extra, w.needs, w.people, w.skill, w.uses)
                if w.id == slot.id
                else w
                for w in works
            )
            again = with_slack(longer, small.CREW, small.EQUIPMENT, found.slots)
            assert max(one.end for one in again) == found.length + extra


def test_who_waits_when() -> None:
    """A member's idle time is what lies between the works and after the last, to the second."""
    works = (Work("first", 60), Work("alone", 300, ("first",)), Work("last", 60, ("alone",), people=2))
    found = schedule(works, (A, B), {})
    waits = idle(found, (A, B))
    busy = {
        hand.id: sum(slot.end - slot.start for slot in found.slots if hand.id in slot.who) for hand in (A, B)
    }
    assert found.length == 420
    for hand, gaps in waits.items():
        assert sum(end - start for start, end in gaps) + busy[hand] == 420


def test_who_has_no_work_waits_all_the_time() -> None:
    """A member without a work is idle from the first start to the last end."""
    found = schedule((Work("one", 60, skill="x"),), (Hand("x", frozenset("x")), B), {})
    assert idle(found, (B,)) == {"b": ((0, 60),)}
