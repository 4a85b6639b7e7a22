"""Kept schedules: used if they are just those of the activities, whole and possible; made again otherwise."""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import Any

import pytest

from kb.publish import kept_plans
from kb.publish.kept_plans import KeptPlans
from kb.scheduling.activities import Activity, Operator, Schedule
from kb.scheduling.plan import schedule

CREW = (Operator("a", frozenset({"press"})), Operator("b", frozenset()))
ACTIVITIES = (
    Activity("stop", 60, skill="press"),
    Activity("out", 300, needs=("stop",), uses={"crane": 1}),
    Activity("in", 420, needs=("out",), people=2, skill="press"),
    Activity("clean", 240, needs=("stop",), uses={"crane": 1}),
)
MEANS = {"crane": 1}


def made(folder: Path, activities: tuple[Activity, ...] = ACTIVITIES) -> tuple[Schedule, int]:
    """A schedule from the folder, and how many had to be solved for it."""
    kept = KeptPlans(folder)
    return kept(activities, CREW, MEANS), kept.solved


def entry(folder: Path) -> Path:
    """The only entry of a folder."""
    (path,) = folder.iterdir()
    return path


def test_what_was_solved_is_not_solved_again(tmp_path: Path) -> None:
    """The first call solves, the second reads; both give the schedule of the solver, field by field."""
    first, second = made(tmp_path), made(tmp_path)
    assert (first[1], second[1]) == (1, 0)
    assert first[0] == second[0] == schedule(ACTIVITIES, CREW, MEANS)


def test_other_work_has_its_own_entry(tmp_path: Path) -> None:
    """A step that takes a second longer is another plan."""
    made(tmp_path)
    longer = (Activity("stop", 61, skill="press"), *ACTIVITIES[1:])
    found, solved = made(tmp_path, longer)
    assert solved == 1
    assert found == schedule(longer, CREW, MEANS)
    assert len(list(tmp_path.iterdir())) == 2


def cut(text: str) -> str:
    """An entry of which half is lost."""
    return text[: len(text) // 2]


def foreign(_: str) -> str:
    """Something else under the same name."""
    return '{"schedule": [], "check": "", "starts": null}'


def deep(_: str) -> str:
    """More brackets than a reader can follow."""
    return "[" * 100_000


def changed(text: str) -> str:
    """A start that somebody edited."""
    record = json.loads(text)
    record["schedule"]["starts"]["in"] += 60
    return json.dumps(record)


@pytest.mark.parametrize("spoil", [cut, foreign, deep, changed])
def test_a_spoilt_entry_is_made_again(tmp_path: Path, spoil: Any) -> None:
    """A corrupt or foreign entry is ignored, solved again and replaced by a good one."""
    made(tmp_path)
    path = entry(tmp_path)
    good = path.read_text(encoding="utf-8")
    path.write_text(spoil(good), encoding="utf-8")
    found, solved = made(tmp_path)
    assert solved == 1
    assert found == schedule(ACTIVITIES, CREW, MEANS)
    assert path.read_text(encoding="utf-8") == good
    assert made(tmp_path)[1] == 0


def test_an_impossible_schedule_is_not_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An entry whose check is right and whose people are not able is no plan."""
    made(tmp_path)
    path = entry(tmp_path)
    record = json.loads(path.read_text(encoding="utf-8"))
    record["schedule"]["who"]["stop"] = ["b"]
    monkeypatch.setattr(kept_plans, "_check", lambda *_: record["check"])
    path.write_text(json.dumps(record), encoding="utf-8")
    assert made(tmp_path)[1] == 1


def test_a_folder_that_cannot_be_written_costs_time_alone(tmp_path: Path) -> None:
    """Where a file is in the place of the folder, every plan is solved and none kept."""
    blocked = tmp_path / "plans"
    blocked.write_text("", encoding="utf-8")
    for _ in range(2):
        found, solved = made(blocked)
        assert solved == 1
        assert found == schedule(ACTIVITIES, CREW, MEANS)


def test_two_at_once(tmp_path: Path) -> None:
    """Several that solve and keep the same plan at once all get it, and leave one good entry."""
    found: list[Schedule] = []
    workers = [threading.Thread(target=lambda: found.append(made(tmp_path)[0])) for _ in range(4)]
    for one in workers:
        one.start()
    for one in workers:
        one.join()
    assert found == [schedule(ACTIVITIES, CREW, MEANS)] * 4
    assert made(tmp_path)[1] == 0
