"""Schedules kept in the user's cache folder, by what determines them: each is solved once.

An entry is used only if it is whole, is of just these activities, and is a feasible schedule of them. Any
other is solved and written again. A folder that cannot be read or written costs time and no more.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from kb.scheduling.activities import Activity, Network, Operator, Schedule, network
from kb.scheduling.critical_path import Assignment, with_float
from kb.scheduling.plan import EFFORT, schedule

FOLDER = "SIZEBOOK_CACHE"
"""Environment variable that names another folder."""

DAYS = "SIZEBOOK_CACHE_DAYS"
"""Environment variable: days after its last use until an entry is removed; with 0 nothing is kept."""

USUAL_DAYS = 90.0

MOST_BYTES = 100_000_000
"""Size of all entries; the least recently used go first."""

LARGEST = 2_000_000
"""Size of an entry that is read; that of the largest demo stop is about 1 % of it."""

DAY = 86_400.0
LONGEST = 10**9
"""No time of a schedule is longer [s]."""


def kept_schedule(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    *,
    effort: float = EFFORT,
) -> Schedule:
    """The schedule that `kb.scheduling.plan.schedule` makes of some activities, kept or solved.

    Raises:
        NoPlan: if crew and equipment cannot do the activities.
        NoSolver: if a search is needed and the solver is not installed.
    """
    folder = _folder()
    if folder is None:
        return schedule(activities, crew, equipment, effort=effort)
    name = fingerprint(activities, crew, equipment, effort)
    path = folder / f"{name}.json"
    found = _read(path, name, network(activities, crew, equipment))
    if found is None:
        found = schedule(activities, crew, equipment, effort=effort)
        _write(path, name, found)
        _remove_old(folder)
    return found


def _folder() -> Path | None:
    """The folder of the entries; None where nothing is to be kept."""
    if not _days():
        return None
    named = os.environ.get(FOLDER)
    if named:
        return Path(named) / "plans"
    try:
        from platformdirs import user_cache_path  # noqa: PLC0415 - of an extra
    except ImportError:
        return None
    usual = user_cache_path("sizebook")
    return usual / "plans" if usual.is_absolute() else None  # a user without a home folder has none


def _days() -> float:
    try:
        days = float(os.environ.get(DAYS, ""))
    except ValueError:
        return USUAL_DAYS
    return days if days >= 0 else USUAL_DAYS


# --- what determines a schedule -----------------------------------------------------------------


def fingerprint(
    activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int], effort: float
) -> str:
    """The name of a schedule: all that determines it, 64 hexadecimal digits."""
    return _digest(
        {
            "activities": [asdict(one) for one in activities],
            "crew": [[one.id, sorted(one.skills)] for one in crew],
            "equipment": dict(equipment),
            "effort": effort,
            "made by": _program(),
        }
    )


@cache
def _program() -> list[str]:
    """Versions of the solver and of the program, and a digest of all that schedules."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(Path(__file__).parent.glob("*.py")))
    return [_version("ortools"), _version("sizebook"), _digest(text)]


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return ""


def _digest(content: Any) -> str:
    text = json.dumps(content, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _check(name: str, content: Any) -> str:
    return _digest([name, content])


# --- reading ------------------------------------------------------------------------------------


def _read(path: Path, name: str, net: Network) -> Schedule | None:
    """The schedule of an entry; None where there is no entry, or none that may be used."""
    try:
        if not path.is_file() or path.stat().st_size > LARGEST:  # a pipe or a device would never end
            return None
        entry = json.loads(path.read_text(encoding="utf-8"))
        content = entry["schedule"]
        if entry["check"] != _check(name, content):
            return None
        starts = [content["starts"][one.id] for one in net.activities]
        who = [tuple(content["who"][one.id]) for one in net.activities]
        bound, method = content["bound"], content["method"]
        whole = all(type(one) is int and 0 <= one <= LONGEST for one in (*starts, bound))
        if not whole or method not in ("solver", "rule") or not feasible(net, (starts, who)):
            return None
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return None
    slots = with_float(net, (starts, who))
    length = max((slot.end for slot in slots), default=0)
    if {slot.id: slot.start for slot in slots} != content["starts"] or bound > length:
        return None
    with suppress(OSError):
        if time.time() - path.stat().st_mtime > DAY:
            os.utime(path)
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
        if mine and not mine & net.able[i]:
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


# --- writing ------------------------------------------------------------------------------------


def _write(path: Path, name: str, made: Schedule) -> None:
    """Keep a schedule: a reader finds a whole entry or none."""
    content = {
        "starts": {slot.id: slot.start for slot in made.slots},
        "who": {slot.id: slot.who for slot in made.slots},
        "bound": made.bound,
        "method": made.method,
    }
    text = json.dumps({"schedule": content, "check": _check(name, content)})
    beside = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        number, beside = tempfile.mkstemp(dir=path.parent, prefix=".new-")
        with open(number, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(beside, path)
    except OSError:
        with suppress(OSError):
            os.unlink(beside)


def _remove_old(folder: Path) -> None:
    """Remove entries that nobody has used for long, and the least recently used of too many."""
    used: list[tuple[float, int, str]] = []
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.endswith(".json") or entry.name.startswith(".new-"):
                with suppress(OSError):
                    state = entry.stat(follow_symlinks=False)
                    used.append((state.st_mtime, state.st_size, entry.path))
    oldest, size = time.time() - _days() * DAY, 0
    for last, bytes_, path in sorted(used, reverse=True):
        size += bytes_
        if last < oldest or size > MOST_BYTES:
            with suppress(OSError):
                os.unlink(path)
