"""Kept schedules: used if they are just those of the activities, whole and possible; made again otherwise."""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from kb import cache as entries
from kb.scheduling import kept
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


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of its own for each test; the entries are in its folder `plans`."""
    monkeypatch.setenv(entries.FOLDER, str(tmp_path))
    monkeypatch.delenv(entries.DAYS, raising=False)
    return tmp_path


def made(activities: tuple[Activity, ...] = ACTIVITIES) -> tuple[Schedule, int]:
    """A schedule from the cache, and how many had to be solved for it."""
    solved = []

    def counted(*of: Any, **how: Any) -> Schedule:
        solved.append(of)
        return schedule(*of, **how)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kept, "schedule", counted)
        return kept.kept_schedule(activities, CREW, MEANS), len(solved)


def entry(cache: Path) -> Path:
    """The only entry of a cache."""
    (path,) = (cache / "plans").iterdir()
    return path


def test_what_was_solved_is_not_solved_again() -> None:
    """The first call solves, the second reads; both give the schedule of the solver, field by field."""
    first, second = made(), made()
    assert (first[1], second[1]) == (1, 0)
    assert first[0] == second[0] == schedule(ACTIVITIES, CREW, MEANS)


def test_other_work_has_its_own_entry(cache: Path) -> None:
    """A step that takes a second longer is another plan."""
    made()
    longer = (Activity("stop", 61, skill="press"), *ACTIVITIES[1:])
    found, solved = made(longer)
    assert solved == 1
    assert found == schedule(longer, CREW, MEANS)
    assert len(list((cache / "plans").iterdir())) == 2


def cut(text: str) -> str:
    """An entry of which half is lost."""
    return text[: len(text) // 2]


def foreign(_: str) -> str:
    """Something else under the same name."""
    return '{"content": [], "check": "", "starts": null}'


def deep(_: str) -> str:
    """More brackets than a reader can follow."""
    return "[" * 100_000


def changed(text: str) -> str:
    """A start that somebody edited."""
    record = json.loads(text)
    record["content"]["starts"]["in"] += 60
    return json.dumps(record)


def huge(text: str) -> str:
    """More than any schedule takes."""
    return text + " " * entries.LARGEST


def resealed(alter: Callable[[dict[str, Any]], Any]) -> Callable[[str], str]:
    """An entry that somebody altered, with a check that is right again."""

    def spoil(text: str) -> str:
        content = json.loads(text)["content"]
        alter(content)
        name = kept.fingerprint(ACTIVITIES, CREW, MEANS, kept.EFFORT)
        return json.dumps({"content": content, "check": entries.digest([name, content])})

    return spoil


RESEALED = {
    "nobody able": resealed(lambda said: said["who"].update(stop=["b"])),
    "a stranger": resealed(lambda said: said["who"].update(clean=["z"])),
    "one in two places": resealed(lambda said: said["starts"].update(clean=said["starts"]["in"])),
    "one for two": resealed(lambda said: said["who"].update({"in": ["a"]})),
    "before its need": resealed(lambda said: said["starts"].update({"in": 0})),
    "equipment used twice": resealed(lambda said: said["starts"].update(out=60, clean=60)),
    "no number": resealed(lambda said: said["starts"].update({"in": "soon"})),
    "a day late": resealed(lambda said: said["starts"].update({"in": 86_400})),
    "longer bound": resealed(lambda said: said.update(bound=10**6)),
    "no bound": resealed(lambda said: said.update(bound=float("nan"))),
    "other method": resealed(lambda said: said.update(method="a guess")),
    "no people": resealed(lambda said: said.update(who=None)),
}


NAMES = {one: name for name, one in RESEALED.items()}


@pytest.mark.parametrize(
    "spoil",
    [*(cut, foreign, deep, changed, huge), *(pytest.param(one, id=name) for name, one in RESEALED.items())],
)
def test_a_spoilt_entry_is_made_again(cache: Path, spoil: Any) -> None:
    """A corrupt, foreign, infeasible or forged entry is ignored, solved again and replaced by a good one."""
    made()
    path = entry(cache)
    good = path.read_text(encoding="utf-8")
    path.write_text(spoil(good), encoding="utf-8")
    found, solved = made()
    assert solved == 1
    assert found == schedule(ACTIVITIES, CREW, MEANS)
    assert path.read_text(encoding="utf-8") == good
    assert made()[1] == 0


def test_an_entry_of_other_people_at_the_lock_is_not_used(cache: Path) -> None:
    """Who releases must be who isolated: an entry that says otherwise is solved again."""
    crew = (Operator("a", frozenset()), Operator("b", frozenset()))
    pair = (Activity("isolate", 60), Activity("release", 60, needs=("isolate",), same_people_as=("isolate",)))
    right = kept.kept_schedule(pair, crew, {})
    path = entry(cache)
    content = json.loads(path.read_text(encoding="utf-8"))["content"]
    (other,) = {"a", "b"} - set(content["who"]["release"])
    content["who"]["release"] = [other]
    name = kept.fingerprint(pair, crew, {}, kept.EFFORT)
    path.write_text(
        json.dumps({"content": content, "check": entries.digest([name, content])}), encoding="utf-8"
    )
    assert kept.kept_schedule(pair, crew, {}) == right


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes in the file system")
def test_a_pipe_in_place_of_an_entry_does_not_hang(cache: Path) -> None:
    """A named pipe that nobody writes to is no entry."""
    made()
    path = entry(cache)
    path.unlink()
    os.mkfifo(path)
    assert made()[1] == 1
    assert made()[1] == 0


def test_a_folder_that_cannot_be_written_costs_time_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a file is in the place of the folder, every plan is solved and none kept."""
    blocked = tmp_path / "blocked"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv(entries.FOLDER, str(blocked))
    for _ in range(2):
        found, solved = made()
        assert solved == 1
        assert found == schedule(ACTIVITIES, CREW, MEANS)


@pytest.mark.parametrize("step", ["mkstemp", "replace", "utime"])
def test_a_full_or_read_only_folder_is_no_error(
    cache: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Where the disk refuses a step of keeping, the plan is as ever and no part of an entry remains."""

    def refuses(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    if step == "utime":
        made()
        os.utime(entry(cache), (0, 0))
    monkeypatch.setattr(entries.tempfile if step == "mkstemp" else entries.os, step, refuses)
    assert made()[0] == schedule(ACTIVITIES, CREW, MEANS)
    assert len(list((cache / "plans").iterdir())) == (1 if step == "utime" else 0)


def test_entries_out_of_use_are_removed(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An entry, or what a killed program left, goes after 90 days without use; one used since remains."""
    made()
    first = entry(cache)
    left = first.with_name(".new-left")
    left.write_text("half", encoding="utf-8")
    strange = first.with_name("notes.txt")
    strange.write_text("not ours", encoding="utf-8")
    old = time.time() - 91 * entries.DAY
    for one in (first, left, strange):
        os.utime(one, (old, old))
    made()
    assert time.time() - first.stat().st_mtime < entries.DAY  # its use counts
    made((Activity("other", 30),))
    assert first.exists()
    assert not left.exists()
    assert strange.exists()
    os.utime(first, (old, old))
    made((Activity("another", 30),))
    assert not first.exists()


def test_the_days_are_a_setting(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`SIZEBOOK_CACHE_DAYS` sets how long entries remain; 0 keeps nothing, a wrong value is the default."""
    monkeypatch.setenv(entries.DAYS, "0")
    assert [made()[1], made()[1]] == [1, 1]
    assert not (cache / "plans").exists()
    monkeypatch.setenv(entries.DAYS, "2")
    made()
    first = entry(cache)
    then = time.time() - 3 * entries.DAY
    os.utime(first, (then, then))
    made((Activity("other", 30),))
    assert not first.exists()
    for wrong in ("soon", "-1", "nan", ""):
        monkeypatch.setenv(entries.DAYS, wrong)
        assert entries._days() == entries.USUAL_DAYS


def test_too_many_entries_lose_the_oldest(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Above the size of all entries the least recently used go first."""
    made()
    first = entry(cache)
    then = time.time() - entries.DAY / 2
    os.utime(first, (then, then))
    monkeypatch.setattr(entries, "MOST_BYTES", first.stat().st_size + 10)
    made((Activity("other", 30),))
    assert not first.exists()
    assert entry(cache)


def test_two_at_once(cache: Path) -> None:
    """Several that solve and keep the same plan at once all get it, and leave one good entry."""
    found: list[Schedule] = []
    workers = [
        threading.Thread(target=lambda: found.append(kept.kept_schedule(ACTIVITIES, CREW, MEANS)))
        for _ in range(4)
    ]
    for one in workers:
        one.start()
    for one in workers:
        one.join()
    assert found == [schedule(ACTIVITIES, CREW, MEANS)] * 4
    assert made()[1] == 0
    assert entry(cache)


# --- the file of a book -----------------------------------------------------------------------


def of_book(folder: Path, text: str | None = None) -> kept.BookPlans:
    """The plans of a book with one schedule in its file, or with another text in it."""
    path = folder / "plans.json"
    plans = kept.BookPlans(path)
    plans.add(ACTIVITIES, CREW, MEANS, replace(schedule(ACTIVITIES, CREW, MEANS), method="solver"))
    plans.write()
    if text is not None:
        path.write_text(text, encoding="utf-8")
    return kept.BookPlans(path)


def test_a_plan_of_the_book_is_read_back(tmp_path: Path) -> None:
    """Times, people and bound come back as they were written, and nothing is solved for them."""
    first = schedule(ACTIVITIES, CREW, MEANS)
    assert of_book(tmp_path).get(ACTIVITIES, CREW, MEANS) == replace(first, method="solver")
    longer = (Activity("stop", 61, skill="press"), *ACTIVITIES[1:])
    assert of_book(tmp_path).get(longer, CREW, MEANS) is None


def test_a_plan_of_the_book_that_is_not_feasible_is_not_used(tmp_path: Path) -> None:
    """A start moved by hand makes an entry useless: the work is scheduled again."""
    text = (of_book(tmp_path).path).read_text(encoding="utf-8")
    name, entry = next(iter(json.loads(text).items()))
    entry["starts"] = [0 for _ in entry["starts"]]
    assert of_book(tmp_path, json.dumps({name: entry})).get(ACTIVITIES, CREW, MEANS) is None


def test_a_longer_plan_does_not_replace_a_shorter_one(tmp_path: Path) -> None:
    """What is kept stays, where the other schedule is longer."""
    plans = of_book(tmp_path)
    before = plans.get(ACTIVITIES, CREW, MEANS)
    assert before is not None
    late = replace(before, length=before.length + 60, bound=0)
    plans.add(ACTIVITIES, CREW, MEANS, late)
    assert plans.get(ACTIVITIES, CREW, MEANS) == before


@pytest.mark.parametrize("text", ["{", "[]", "<<<<<<< HEAD"])
def test_a_broken_file_is_named(tmp_path: Path, text: str) -> None:
    """A file that is not JSON, or half of a merge, is an error in one line and is not replaced."""
    with pytest.raises(kept.BadPlans, match=r"plans\.json"):
        of_book(tmp_path, text)
