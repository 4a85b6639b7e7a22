"""A building project, the running example of a textbook's chapter on project networks.

F. S. Hillier, G. J. Lieberman, Introduction to Operations Research, 7th edition, 2001, chapter 10 (the
Reliable Construction project): activities A to N, 44 weeks. Durations but that of H as on a public page of
exercises that retells the example; H, the predecessors, 44 weeks and the floats from memory, high
confidence. Whole weeks, so nothing is tolerated.
"""

from __future__ import annotations

from kb.scheduling.activities import Activity, Schedule, network
from kb.scheduling.bounds import bounds
from kb.scheduling.plan import schedule

WEEKS = {
    "A": (2, ""),
    "B": (4, "A"),
    "C": (10, "B"),
    "D": (6, "C"),
    "E": (4, "C"),
    "F": (5, "E"),
    "G": (7, "D"),
    "H": (9, "EG"),
    "I": (7, "C"),
    "J": (8, "FI"),
    "K": (4, "J"),
    "L": (5, "J"),
    "M": (2, "H"),
    "N": (6, "KL"),
}
WORKS = tuple(Activity(name, weeks, tuple(needs), people=0) for name, (weeks, needs) in WEEKS.items())


def planned() -> Schedule:
    """The project without limits of crews."""
    return schedule(WORKS, (), {})


def test_length() -> None:
    """The project takes 44 weeks, and needs alone already say so."""
    assert (planned().length, planned().proven) == (44, True)
    assert bounds(network(WORKS, (), {})).length == 44


def test_critical_path() -> None:
    """A, B, C, E, F, J, L, N are critical and follow each other."""
    assert [slot.id for slot in planned().slots if slot.critical] == list("ABCEFJLN")


def test_floats() -> None:
    """The others may slip by these weeks."""
    floats = {slot.id: slot.slack for slot in planned().slots if slot.slack}
    assert floats == {"D": 4, "G": 4, "H": 4, "M": 4, "I": 2, "K": 1}
