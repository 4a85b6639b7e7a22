"""Schedules kept from one publish to the next in the user's cache folder, by what determines them."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from platformdirs import user_cache_path

import kb.scheduling
from kb.output.io import write_atomic
from kb.scheduling.activities import Activity, Network, Operator, Schedule, network
from kb.scheduling.critical_path import Assignment, with_float
from kb.scheduling.heuristic import length_of
from kb.scheduling.plan import EFFORT, schedule

FOLDER = "SIZEBOOK_CACHE"
"""Environment variable that names another folder."""


class KeptPlans:
    """Makes schedules as `kb.scheduling.plan.schedule` does, but none that an earlier publish has made.

    An entry is used only if it is whole, is of just these activities, and is a possible schedule of them.
    Any other is solved again and written again. A folder that cannot be written costs time, never a site.

    Attributes:
        solved: how many schedules were not kept.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder or Path(os.environ.get(FOLDER) or user_cache_path("sizebook")) / "plans"
        self.solved = 0

    def __call__(
        self,
        activities: Sequence[Activity],
        crew: Sequence[Operator],
        equipment: Mapping[str, int],
        *,
        effort: float = EFFORT,
    ) -> Schedule:
        """The schedule of some activities, kept or solved."""
        name = fingerprint(activities, crew, equipment, effort)
        path = self._folder / f"{name}.json"
        found = _kept(path, name, network(activities, crew, equipment))
        if found is None:
            self.solved += 1
            found = schedule(activities, crew, equipment, effort=effort)
            self._keep(path, name, found)
        return found

    def _keep(self, path: Path, name: str, one: Schedule) -> None:
        said = {
            "starts": {slot.id: slot.start for slot in one.slots},
            "who": {slot.id: slot.who for slot in one.slots},
            "bound": one.bound,
            "method": one.method,
        }
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            write_atomic(path, json.dumps({"schedule": said, "check": _check(name, said)}))


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
    sources = sorted(Path(kb.scheduling.__file__).parent.glob("*.py"))
    text = "".join(path.read_text(encoding="utf-8") for path in sources)
    return [version("ortools"), version("sizebook"), _digest(text)]


def _kept(path: Path, name: str, net: Network) -> Schedule | None:
    """The schedule of an entry; none where there is no entry, or none that may be used."""
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
        said = record["schedule"]
        if record["check"] != _check(name, said):
            return None
        found: Assignment = (
            [said["starts"][one.id] for one in net.activities],
            [tuple(said["who"][one.id]) for one in net.activities],
        )
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None
    slots = with_float(net, found)
    bound, length = said["bound"], length_of(net, found)
    starts = {slot.id: slot.start for slot in slots}
    if not _staffed(net, found) or starts != said["starts"] or bound > length:
        return None
    return Schedule(slots, length, bound, said["method"])


def _staffed(net: Network, found: Assignment) -> bool:
    """Whether each activity has its number of people, one of them able to do it."""
    names = {one.id: place for place, one in enumerate(net.crew)}
    for activity, who, able in zip(net.activities, found[1], net.able, strict=True):
        places = {names.get(one, -1) for one in who}
        if len(places) != activity.people or -1 in places or (who and not places & able):
            return False
    return True


def _check(name: str, said: Any) -> str:
    return _digest([name, said])


def _digest(said: Any) -> str:
    text = json.dumps(said, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()
