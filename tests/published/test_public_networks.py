"""Two small projects from public pages.

Eight activities A to H of a public exercise page on project networks: A 7, B 5, C 3 after A, D 5 after B, E
4 after C, F 4 after C and D, G 3 after E and F, H 1 after G. Its length is derived here: A, C, F, G, H take
18.

A house with a crew of three, the sample of a public test suite of project scheduling: site 3 days with two,
permit 2 with one, frame 4 with two after site, wire 2 with one after permit, inspect 1 with one after both:
8 days.
"""

from __future__ import annotations

from kb.scheduling.activities import Activity, Operator
from kb.scheduling.plan import schedule
from tests.scheduling.feasible import shortest

EIGHT = tuple(
    Activity(name, time, tuple(needs), people=0)
    for name, time, needs in (
        ("A", 7, ""),
        ("B", 5, ""),
        ("C", 3, "A"),
        ("D", 5, "B"),
        ("E", 4, "C"),
        ("F", 4, "CD"),
        ("G", 3, "EF"),
        ("H", 1, "G"),
    )
)
HOUSE = (
    Activity("site", 3, people=2),
    Activity("permit", 2),
    Activity("frame", 4, ("site",), people=2),
    Activity("wire", 2, ("permit",)),
    Activity("inspect", 1, ("frame", "wire")),
)
CREW = tuple(Operator(name, frozenset()) for name in "abc")


def test_eight_activities() -> None:
    """They take 18; all of them are critical, B and D beside A and C."""
    found = schedule(EIGHT, (), {})
    assert found.length == 18
    assert all(slot.critical for slot in found.slots)


def test_house() -> None:
    """The building takes 8 days with people, and as long with the crew counted as equipment."""
    found = schedule(HOUSE, CREW, {})
    assert (found.length, found.proven) == (8, True)
    assert shortest(HOUSE, CREW, {}) == 8
    counted = tuple(Activity(w.id, w.seconds, w.needs, people=0, uses={"crew": w.people}) for w in HOUSE)
    assert schedule(counted, (), {"crew": 3}).length == 8
