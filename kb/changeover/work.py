"""The library's steps at the machines of one changeover: tasks, and the works they are for the schedule.

A step becomes a task at every machine at which it is called for. Beside the needs the library writes, tasks
keep the order that safety asks for: clear, then isolate, then hands in, then release; restart comes last.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from kb.book.records_changeover import Phase, Step
from kb.changeover.model import Change, Difference, NoPlan, Station, Task, Work

Part = Literal["before", "stop", "after"]

PARTS: dict[Phase, Part] = {"before": "before", "after": "after"}
"""Where a phase is not inside the stop."""


def part_of(step: Step) -> Part:
    """Whether a step is done before the stop, inside it or after it.

    Args:
        step: a step of the library.

    Returns:
        The part of the changeover.
    """
    return PARTS.get(step.phase, "stop")


# --- which tasks ------------------------------------------------------------------------------


def tasks_of(steps: Sequence[Step], difference: Difference) -> dict[str, Task]:
    """The steps that a difference calls for, at each machine where it does.

    Hands never go into a machine without its isolation: where some step does, the steps that isolate and
    release it are called for too, whatever parts they name.

    Args:
        steps: the library.
        difference: what differs.

    Returns:
        Tasks by id, station by station in line order within each step; none where nothing differs.

    Raises:
        NoPlan: if hands go into a machine that runs, or that no step isolates or releases; if the library
            needs a step that it does not have.
    """
    if not difference.moved and not any(station.changes for station in difference.stations):
        return {}
    hands_at = {
        station.id
        for step in steps
        if step.hands_in
        for station in _stations(step, difference)
        if _called(step, station)
    }
    found = [task for step in steps for task in _tasks_of_step(step, difference, hands_at)]
    _guarded(found, hands_at)
    needs = _Needs(steps, found)
    return {task.id: replace(task, needs=needs.of(task)) for task in found}


def _stations(step: Step, difference: Difference) -> list[Station]:
    return [station for station in difference.stations if station.kind == step.machine]


def _all(station: Station) -> tuple[Change, ...]:
    return (*station.changes, *station.gauges)


def _called(step: Step, station: Station) -> bool:
    if step.because_of:
        return any(change.id in step.because_of for change in _all(station))
    return bool(station.changes)


def _tasks_of_step(step: Step, difference: Difference, hands_at: set[str]) -> Iterator[Task]:
    if step.machine is None:
        changes = [change for station in difference.stations for change in _all(station)]
        because = tuple(dict.fromkeys(change.name for change in changes if change.id in step.because_of))
        if because or not step.because_of:
            yield Task(step.id, step, "", "", None, because)
        return
    for station in _stations(step, difference):
        guards = step.phase in ("isolate", "release") and station.id in hands_at
        if not _called(step, station) and not guards:
            continue
        names = step.because_of or tuple(change.id for change in station.changes)
        because = tuple(dict.fromkeys(change.name for change in _all(station) if change.id in names))
        at = f"{step.id}@{station.id}"
        if step.each:
            for number in range(1, station.count + 1):
                yield Task(f"{at}#{number}", step, station.id, station.title, number, because)
        else:
            yield Task(at, step, station.id, station.title, None, because)


def _guarded(tasks: Sequence[Task], hands_at: set[str]) -> None:
    for task in tasks:
        if task.step.hands_in and part_of(task.step) != "stop":
            raise NoPlan(f"step {task.step.id} puts hands into a machine while the line runs")
    for station in sorted(hands_at):
        there = {task.step.phase for task in tasks if task.station == station}
        for phase in ("isolate", "release"):
            if phase not in there:
                raise NoPlan(f"hands go into {station}, and no step of the phase {phase} is done there")


# --- in which order ---------------------------------------------------------------------------


class _Needs:
    """What tasks need of each other: by the library, and for safety."""

    def __init__(self, steps: Sequence[Step], tasks: Sequence[Task]) -> None:
        self.library = {step.id: step for step in steps}
        self.by_step: dict[str, list[Task]] = {}
        self.at: dict[str, list[Task]] = {}
        for task in tasks:
            self.by_step.setdefault(task.step.id, []).append(task)
            self.at.setdefault(task.station, []).append(task)
        stopped = [task for task in tasks if part_of(task.step) == "stop" and task.step.phase != "restart"]
        written = {need.id for task in stopped for need in self._written(task)}
        self.last = [task for task in stopped if task.id not in written]

    def of(self, task: Task) -> tuple[str, ...]:
        """Ids of all tasks that a task needs, each once."""
        found = [*self._written(task), *self._for_safety(task)]
        if task.step.phase == "restart":
            found += self.last
        return tuple(dict.fromkeys(need.id for need in found))

    def _written(self, task: Task) -> Iterator[Task]:
        todo, seen = list(task.step.needs), set[str]()
        while todo:
            name = todo.pop(0)
            if name in seen:
                continue
            seen.add(name)
            if name not in self.library:
                raise NoPlan(f"step {task.step.id} needs {name}, which the library does not have")
            if name in self.by_step:
                yield from _linked(task, self.by_step[task.step.id], self.by_step[name])
            else:
                todo += self.library[name].needs

    def _for_safety(self, task: Task) -> Iterator[Task]:
        if not task.station:
            return
        phase = task.step.phase
        for other in self.at[task.station]:
            before = other.step.phase
            if other.number is not None and task.number is not None and other.number != task.number:
                continue
            if (
                (_hands(task) and before == "isolate")
                or (phase == "release" and (_hands(other) or before == "isolate"))
                or (phase == "isolate" and before == "clear" and not other.step.hands_in)
            ):
                yield other


def _hands(task: Task) -> bool:
    return task.step.hands_in and task.step.phase not in ("isolate", "release")


def _linked(task: Task, like: Sequence[Task], needed: Sequence[Task]) -> Iterator[Task]:
    """Of the tasks of a needed step those at the same machines; all of them where none is nearer.

    Groups with as many machines each are taken as one behind the other, number by number.
    """
    near = [other for other in needed if other.station == task.station] or needed
    paired = [other.number for other in near] == [one.number for one in like if one.station == task.station]
    for other in near:
        if not paired or other.number == task.number:
            yield other


# --- for the schedule -------------------------------------------------------------------------


def works_of(tasks: Mapping[str, Task], *, part: Part) -> tuple[Work, ...]:
    """The works of one part of the changeover, with all they need of each other.

    What one part does is done when the next begins, so needs do not reach into another part.

    Args:
        tasks: all tasks of the changeover.
        part: before the stop, inside it or after it.

    Returns:
        Works in the order of the tasks.
    """
    return tuple(_work(task, tasks, part) for task in tasks.values() if part_of(task.step) == part)


def _work(task: Task, tasks: Mapping[str, Task], part: Part) -> Work:
    needs: dict[str, None] = {}
    todo, seen = list(task.needs), set[str]()
    while todo:
        name = todo.pop()
        if name in seen:
            continue
        seen.add(name)
        if part_of(tasks[name].step) == part:
            needs[name] = None
        else:
            todo += tasks[name].needs
    step = task.step
    return Work(
        id=task.id,
        seconds=max(1, round(float(step.time.typical))),
        needs=tuple(sorted(needs)),
        people=step.people,
        skill=step.skill,
        uses={name: step.uses.count(name) for name in sorted(set(step.uses))},
        where=task.station if task.number is None else f"{task.station}#{task.number}",
    )
