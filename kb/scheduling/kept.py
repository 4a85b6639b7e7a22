"""Schedules kept in the user's cache folder, by what determines them: each is solved once.

An entry is used only if it is a feasible schedule of just these activities. Any other is solved and written
again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

from kb.cache import cache_folder, digest, keep_entry, made_by, read_entry
from kb.scheduling.activities import Activity, Network, Operator, Schedule, Slot, network
from kb.scheduling.critical_path import Assignment, with_float
from kb.scheduling.heuristic import TRIES
from kb.scheduling.plan import EFFORT, schedule

LONGEST = 10**9
"""No time of a schedule is longer [s]."""


def kept_schedule(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    *,
    effort: float = EFFORT,
    known: Sequence[Slot] = (),
) -> Schedule:
    """The schedule that `kb.scheduling.plan.schedule` makes of some activities, kept or solved.

    It has the fewest moves that were found at its length. With `known`, a schedule of the same activities, it
    is only searched for a shorter one, from there on.

    Raises:
        NoPlan: if crew and equipment cannot do the activities.
        NoSolver: if a search is needed and the solver is not installed.
    """
    folder, name = cache_folder("plans"), fingerprint(activities, crew, equipment, effort, known)
    entry = read_entry(folder, name)
    found = None if entry is None else _schedule_of(entry, network(activities, crew, equipment))
    if found is None:
        tries = 1 if known else TRIES
        found = schedule(
            activities, crew, equipment, effort=effort, tries=tries, known=known, fewest_moves=not known
        )
        keep_entry(folder, name, _content(found))
    return found


def fingerprint(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    effort: float,
    known: Sequence[Slot] = (),
) -> str:
    """The name of a schedule: all that determines it, 64 hexadecimal digits."""
    return digest(
        {
            "activities": [asdict(one) for one in activities],
            "crew": [[one.id, sorted(one.skills)] for one in crew],
            "equipment": dict(equipment),
            "effort": effort,
            "known": [[slot.id, slot.start, slot.who] for slot in known],
            "made by": _program(),
        }
    )


@cache
def _program() -> list[str]:
    """Versions of the solver and of the program, and a digest of all that schedules."""
    return made_by(Path(__file__).parent.glob("*.py"), ("ortools", "sizebook"))


def _content(made: Schedule) -> dict[str, Any]:
    return {
        "starts": {slot.id: slot.start for slot in made.slots},
        "who": {slot.id: slot.who for slot in made.slots},
        "bound": made.bound,
        "method": made.method,
    }


def _schedule_of(content: Any, net: Network) -> Schedule | None:
    """The schedule of an entry; None if it is not a feasible one of a network."""
    try:
        starts = [content["starts"][one.id] for one in net.activities]
        who = [tuple(content["who"][one.id]) for one in net.activities]
        bound, method = content["bound"], content["method"]
        whole = all(type(one) is int and 0 <= one <= LONGEST for one in (*starts, bound))
        if not whole or method not in ("solver", "rule") or not feasible(net, (starts, who)):
            return None
    except (LookupError, TypeError, AttributeError):
        return None
    slots = with_float(net, (starts, who))
    length = max((slot.end for slot in slots), default=0)
    if {slot.id: slot.start for slot in slots} != content["starts"] or bound > length:
        return None
    return Schedule(slots, length, bound, method)


def feasible(net: Network, assignment: Assignment) -> bool:
    """Whether an assignment keeps needs, people, skills and equipment of its network."""
    starts, who = assignment
    ends = [start + seconds for start, seconds in zip(starts, net.durations(who), strict=True)]
    places = {one.id: place for place, one in enumerate(net.crew)}
    people = [{places.get(one, -1) for one in some} for some in who]
    busy: dict[tuple[str, Any], list[tuple[int, int, int]]] = defaultdict(list)
    for i, activity in enumerate(net.activities):
        mine = people[i]
        if len(mine) != activity.people or len(who[i]) != len(mine) or -1 in mine:
            return False
        if mine and not net.can_do(i, mine):
            return False
        if any(starts[i] < ends[k] for k in net.needs[i]):
            return False
        if any(not (mine <= people[k] or people[k] <= mine) for k in net.partners[i]):
            return False
        if ends[i] > starts[i]:
            for one in mine:
                busy["person", one].append((starts[i], ends[i], 1))
            for name, count in activity.uses.items():
                busy["equipment", name].append((starts[i], ends[i], count))
    return all(
        _at_once(spans) <= (1 if kind == "person" else net.equipment[name])
        for (kind, name), spans in busy.items()
    )


def _at_once(spans: Iterable[tuple[int, int, int]]) -> int:
    """Most that is in use at once."""
    changes = sorted(change for start, end, count in spans for change in ((start, count), (end, -count)))
    most = in_use = 0
    for _, count in changes:
        in_use += count
        most = max(most, in_use)
    return most
