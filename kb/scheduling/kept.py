"""Schedules kept in the user's cache folder and in a file of a book, by what determines them.

An entry is used only if it is a feasible schedule of just these activities. Any other is solved and written
again. The file of a book holds schedules of a long search; its entries name the problem alone.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

from kb.cache import cache_folder, digest, keep_entry, made_by, read_entry
from kb.errors import SizebookError
from kb.scheduling.activities import Activity, Network, Operator, Schedule, Slot, network
from kb.scheduling.critical_path import Assignment, with_float
from kb.scheduling.heuristic import TRIES
from kb.scheduling.plan import EFFORT, schedule

LONGEST = 10**9
"""No time of a schedule is longer [s]."""


class BadPlans(SizebookError):  # noqa: N818 - printed in one line
    """The file of kept plans cannot be read."""


class BookPlans:
    """The schedules that a book keeps in one file, each on a line of its own.

    An entry has the starts [s] and the operators of the activities, in their order, and a bound [s] that the
    search proved. Start and people are checked on each use; the bound is taken as it is.

    Args:
        path: the file; it need not exist.

    Raises:
        BadPlans: if the file is not a JSON object.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._entries: dict[str, Any] = {}
        try:
            found = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}
        except (OSError, ValueError) as error:
            raise BadPlans(f"{path.name} is not valid JSON: restore it, or delete it") from error
        if not isinstance(found, dict):
            raise BadPlans(f"{path.name} is not a JSON object: restore it, or delete it")
        self._entries = found

    def get(
        self, activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int]
    ) -> Schedule | None:
        """The schedule of some activities; None where none is kept, or the entry is not one of them."""
        entry = self._entries.get(_problem(activities, crew, equipment))
        if entry is None:
            return None
        net = network(activities, crew, equipment)
        try:
            starts = {one.id: start for one, start in zip(activities, entry["starts"], strict=True)}
            who = {
                one.id: [crew[place].id for place in some]
                for one, some in zip(activities, entry["who"], strict=True)
            }
            content = {"starts": starts, "who": who, "bound": entry["bound"], "method": "solver"}
        except (LookupError, TypeError, ValueError):
            return None
        return _schedule_of(content, net)

    def add(
        self,
        activities: Sequence[Activity],
        crew: Sequence[Operator],
        equipment: Mapping[str, int],
        made: Schedule,
    ) -> None:
        """Keep a schedule, unless the one that is kept is as short and proven as far."""
        before = self.get(activities, crew, equipment)
        if made.method == "rule" or (before and (before.length, -before.bound) <= (made.length, -made.bound)):
            return
        bound = max(made.bound, before.bound if before else 0)
        at = {slot.id: slot for slot in made.slots}
        places = {one.id: place for place, one in enumerate(crew)}
        self._entries[_problem(activities, crew, equipment)] = {
            "bound": bound,
            "starts": [at[one.id].start for one in activities],
            "who": [[places[who] for who in at[one.id].who] for one in activities],
        }

    def write(self) -> None:
        """Write the file, all of it or nothing."""
        lines = (
            f'"{name}":{json.dumps(one, separators=(",", ":"))}'
            for name, one in sorted(self._entries.items())
        )
        scratch = self.path.with_name(f"{self.path.name}.{os.getpid()}")
        try:
            scratch.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")
            scratch.replace(self.path)
        except OSError as error:
            scratch.unlink(missing_ok=True)
            raise BadPlans(f"{self.path} cannot be written: {error.strerror}") from error


def _problem(activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int]) -> str:
    """The name of a problem, 64 hexadecimal digits: the same for each effort and each solver."""
    return digest(
        {
            "activities": [asdict(one) for one in activities],
            "crew": [[one.id, sorted(one.skills)] for one in crew],
            "equipment": dict(equipment),
        }
    )


def kept_schedule(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    *,
    effort: float = EFFORT,
    known: Sequence[Slot] = (),
    plans: BookPlans | None = None,
) -> Schedule:
    """The schedule that `kb.scheduling.plan.schedule` makes of some activities, kept or solved.

    It has the fewest moves that were found at its length. With `known`, a schedule of the same activities, it
    is only searched for a shorter one, from there on. A schedule of `plans` is taken as it is, or searched on
    from there with more than the usual effort.

    Raises:
        NoPlan: if crew and equipment cannot do the activities.
        NoSolver: if a search is needed and the solver is not installed.
    """
    longest = max((slot.end for slot in known), default=LONGEST)
    of_book = plans.get(activities, crew, equipment) if plans and effort > 0 else None
    if of_book and of_book.length <= longest:
        if of_book.proven or effort <= EFFORT:
            return of_book
        return schedule(
            activities,
            crew,
            equipment,
            effort=effort,
            known=of_book.slots,
            bound=of_book.bound,
            fewest_moves=True,
        )
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
        if any(mine & people[k] for k in net.checked[i]):
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
