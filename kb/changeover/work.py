"""The library's steps at the machines of one changeover: tasks, and their activities in the schedule.

A step becomes a task at every machine that requires it. Beside the needs of the library, tasks
keep the order that safety requires: clear, isolate, hands in, release, run under power; restart comes last.
Hands go into a numbered machine one task at a time, and nobody's are in a machine that is moved by hand.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from kb.book.records_floor import Duration, Phase, Step
from kb.changeover.model import Difference, ItemChange, StationChanges, Task
from kb.checks.consistency.isolation import goes_before
from kb.scheduling.activities import Activity, NoPlan

Part = Literal["before", "stop", "after"]

PARTS: dict[Phase, Part] = {"before": "before", "after": "after"}
"""Where a phase is not inside the stop."""


def part_of(step: Step) -> Part:
    """Whether a step is done before the stop, inside it or after it."""
    return PARTS.get(step.phase, "stop")


# --- which tasks ------------------------------------------------------------------------------


def tasks_of(
    steps: Sequence[Step], difference: Difference, own_lock: Duration | None = None, arrival: float = 0.0
) -> dict[str, Task]:
    """The steps that a difference calls for, at each machine where it does.

    Args:
        steps: the library.
        difference: what changes.
        own_lock: time for a lock of one's own.
        arrival: time to come to a machine with the tools [s].

    Hands never go into a machine without its isolation: where some step does, the steps that isolate and
    release it are needed too, even if they name other parts.

    Raises:
        NoPlan: if hands go into a machine that runs, or that no step isolates or releases; if the library
            needs a step that it does not have.
    """
    if not difference.moved and not any(station.changes for station in difference.stations):
        return {}
    called = [task for step in steps for task in _tasks_of_step(step, difference, set())]
    library = steps
    if _may_run(called, difference):
        steps = tuple(_while_running(library, {task.step.id for task in called}))
    at = _Touched(difference)
    hands_at = {one.id for task in called for one in at.stations(task) if task.step.enters(one.kind)}
    found = [task for step in steps for task in _tasks_of_step(step, difference, hands_at)]
    _guarded(found, hands_at)
    needs = _Needs(library, found, at)
    tasks = [replace(task, needs=needs.of(task)) for task in found]
    return {
        task.id: replace(task, arrival=round(arrival) if task.station else 0)
        for task in _inside(tasks, at, own_lock)
    }


def by_whole_crew(tasks: Mapping[str, Task], crew: int) -> dict[str, Task]:
    """The same tasks, those for everyone with all members of the crew."""
    return {
        ident: replace(task, step=replace(task.step, people=crew)) if task.step.everyone else task
        for ident, task in tasks.items()
    }


def by_one_fitter(tasks: Mapping[str, Task]) -> dict[str, Task]:
    """The same tasks, those with hands in a machine done by the fitter who isolates it, or with that fitter.

    A task of another skill, such as that of a witness, is done by others as before.
    """
    return {ident: replace(task, one_fitter=True) for ident, task in tasks.items()}


class _Touched:
    """The groups of machines at which a task is done, or that it moves."""

    def __init__(self, difference: Difference) -> None:
        self.known = difference.stations
        self._found: dict[str, list[StationChanges]] = {}

    def stations(self, task: Task) -> list[StationChanges]:
        """Its own group; of other kinds of machine that it moves, every group."""
        if task.id not in self._found:
            step, kinds = task.step, task.step.machines
            self._found[task.id] = [
                one
                for one in self.known
                if one.id == task.station or (one.kind in kinds and one.kind != step.machine)
            ]
        return self._found[task.id]

    @staticmethod
    def number(task: Task, station: StationChanges) -> int | None:
        """Which machine of a group; none for all of them."""
        return task.number if task.station == station.id else None


RUNNING: dict[Phase, Phase] = {"before": "before", "set": "before", "first-off": "after", "after": "after"}
"""Where a step is done in a changeover for which the line does not stop."""


def _may_run(called: Sequence[Task], difference: Difference) -> bool:
    """Whether everything that changes can be changed while the line runs."""
    changes = [one for station in difference.stations for one in station.changes]
    caused = [task.step for task in called if task.because]
    return all(one.running for one in changes) and all(_outside(step) for step in caused)


def _outside(step: Step) -> bool:
    """Whether it can be done while the line runs; first-offs are then made on cans of the running line."""
    return step.phase in RUNNING and not step.hands_in and (step.moves is None or step.phase == "first-off")


def _while_running(steps: Sequence[Step], called: Collection[str]) -> Iterator[Step]:
    """The steps that have a cause, and those of every changeover that they wait for, none inside a stop."""
    own = [one for one in steps if one.machine or one.because_of or one.proves]
    caused = [one for one in own if one.id in called and _outside(one)]
    wanted = {one.id for one in caused} | {need for one in caused for need in one.needs}
    for step in steps:
        if step.id in wanted and step.id in called and _outside(step):
            yield replace(step, phase=RUNNING[step.phase], moves=None)


def _stations(step: Step, difference: Difference) -> list[StationChanges]:
    return [station for station in difference.stations if station.kind == step.machine]


def _all(station: StationChanges) -> tuple[ItemChange, ...]:
    return (*station.changes, *station.gauges)


def _called(step: Step, station: StationChanges) -> bool:
    if step.because_of:
        return any(change.id in step.because_of for change in _all(station))
    return bool(station.changes)


def _proves_nothing(step: Step, difference: Difference) -> bool:
    """Whether a step is there for first-offs alone, and the changes can have moved none of them."""
    return bool(step.proves) and not step.because_of and not set(step.proves) & set(difference.first_offs)


def _tasks_of_step(step: Step, difference: Difference, hands_at: set[str]) -> Iterator[Task]:
    if step.downstream and not any(
        one.kind in step.machines and one.number >= difference.first for one in difference.stations
    ):
        return
    if _proves_nothing(step, difference):
        return
    if step.machine is None:
        changes = [change for station in difference.stations for change in _all(station)]
        if not step.because_of or any(change.id in step.because_of for change in changes):
            caused = [change for change in changes if change.id in step.because_of]
            yield Task(step.id, _timed(step, caused, 1), "", "", None, _names(caused))
        return
    for station in _stations(step, difference):
        guards = step.phase in ("isolate", "release") and station.id in hands_at
        proves = step.proves and not step.because_of
        if not (proves or guards or _called(step, station)):
            continue
        ids = step.because_of or tuple(change.id for change in station.changes)
        caused = [change for change in _all(station) if change.id in ids]
        numbers = range(1, station.count + 1) if step.each else (None,)
        timed = _timed(step, caused, len(numbers))
        for number in numbers:
            at = f"{step.id}@{station.id}" if number is None else f"{step.id}@{station.id}#{number}"
            yield Task(at, timed, station.id, station.title, number, _names(caused))


def _names(changes: Sequence[ItemChange]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(change.name for change in changes))


def _timed(step: Step, changes: Sequence[ItemChange], machines: int) -> Step:
    """The step with its time for the pieces of one machine: those that go out, or those that come in.

    A typical time counted by pieces is a whole number of minutes: nobody plans a crew's work by the second.
    """
    if step.time.piece is None:
        return step
    leaves = step.phase in ("out", "after")
    pieces = sum(change.pieces_out if leaves else change.pieces for change in changes)
    time = step.time.of(pieces / machines)
    typical = 60.0 * math.ceil(float(time.typical) / 60)
    return replace(step, time=replace(time, typical=typical, worst=max(typical, float(time.worst))))


def _guarded(tasks: Sequence[Task], hands_at: set[str]) -> None:
    for task in tasks:
        enters = any(task.step.enters(kind) for kind in task.step.machines)
        if enters and part_of(task.step) != "stop":
            raise NoPlan(f"step {task.step.id} puts hands into a machine while the line runs")
    for station in sorted(hands_at):
        there = {task.step.phase for task in tasks if task.station == station}
        for phase in ("isolate", "release"):
            if phase not in there:
                raise NoPlan(f"hands go into {station}, and no step of the phase {phase} is done there")


# --- in which order ---------------------------------------------------------------------------


class _Needs:
    """What tasks need of each other: by the library, and for safety."""

    def __init__(self, steps: Sequence[Step], tasks: Sequence[Task], touched: _Touched) -> None:
        self.library = {step.id: step for step in steps}
        self.by_step: dict[str, list[Task]] = {}
        self.touched = touched
        self.at: dict[str, list[Task]] = {}
        for task in tasks:
            self.by_step.setdefault(task.step.id, []).append(task)
            for station in touched.stations(task):
                self.at.setdefault(station.id, []).append(task)
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
        for station in self.touched.stations(task):
            for other in self.at[station.id]:
                near = _same_machine(self.touched, station, task, other)
                if near and goes_before(other.step, task.step, station.kind):
                    yield other


def _same_machine(at: _Touched, station: StationChanges, one: Task, other: Task) -> bool:
    numbers = {at.number(one, station), at.number(other, station)}
    return len(numbers) == 1 or None in numbers


def _linked(task: Task, like: Sequence[Task], needed: Sequence[Task]) -> Iterator[Task]:
    """Of the tasks of a needed step those at the same machines; all of them where none is nearer.

    Groups with as many machines each are taken as one behind the other, number by number.
    """
    near = [other for other in needed if other.station == task.station] or needed
    paired = [other.number for other in near] == [one.number for one in like if one.station == task.station]
    for other in near:
        if not paired or other.number == task.number:
            yield other


# --- hands in machines ------------------------------------------------------------------------


def _inside(tasks: Sequence[Task], at: _Touched, own_lock: Duration | None) -> Iterator[Task]:
    """Tasks with the machines that hands are in for them, and who has isolated those."""
    numbered: dict[str, set[int]] = {}
    isolating: dict[str, list[Task]] = {}
    for task in tasks:
        if task.number is not None and any(task.step.enters(kind) for kind in task.step.machines):
            numbered.setdefault(task.station, set()).add(task.number)
        if task.step.phase == "isolate":
            isolating.setdefault(task.station, []).append(task)
    for task in tasks:
        entered = [one for one in at.stations(task) if task.step.enters(one.kind)]
        own = [one for one in at.stations(task) if one.id == task.station]
        released = own if task.step.phase == "release" else []
        yield replace(
            task,
            inside=tuple(
                place
                for one in entered
                for place in _places(one.id, at.number(task, one), sorted(numbered.get(one.id, ())))
            ),
            alone=any(task.step.moves_by_hand(one.kind) for one in entered),
            isolated_by=tuple(
                other.id
                for one in (*entered, *released)
                for other in isolating.get(one.id, ())
                if _same_machine(at, one, task, other)
            ),
            own_lock=own_lock if entered else None,
        )


def _places(station: str, number: int | None, numbers: Sequence[int]) -> list[str]:
    if number is not None:
        return [f"{station}#{number}"]
    return [f"{station}#{one}" for one in numbers] or [station]


def room_in(machine: str) -> str:
    """Under which name hands in a machine are counted with the equipment; no piece of it has such an id."""
    return f"in {machine}"


def rooms_of(tasks: Mapping[str, Task]) -> dict[str, int]:
    """How many tasks may have hands in each machine at once, counted as equipment is.

    Returns:
        One for a numbered machine; for a group that is isolated as a whole, all tasks that have hands in it.
    """
    found: dict[str, int] = {}
    for task in tasks.values():
        for machine in task.inside:
            found[room_in(machine)] = 1 if "#" in machine else found.get(room_in(machine), 0) + 1
    return found


# --- for the schedule -------------------------------------------------------------------------


def activities_of(tasks: Mapping[str, Task], *, part: Part) -> tuple[Activity, ...]:
    """The works of one part of the changeover, with all they need of each other.

    What one part does is done when the next begins, so needs do not reach into another part.
    """
    rooms = rooms_of(tasks)
    return tuple(_work(task, tasks, part, rooms) for task in tasks.values() if part_of(task.step) == part)


def _work(task: Task, tasks: Mapping[str, Task], part: Part, rooms: Mapping[str, int]) -> Activity:
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
    uses = {name: step.uses.count(name) for name in sorted(set(step.uses))}
    # who moves a machine takes all the room in it
    uses |= {room_in(one): rooms[room_in(one)] if task.alone else 1 for one in task.inside}
    isolated_by = tuple(one for one in task.isolated_by if part_of(tasks[one].step) == part)
    fitters = task.one_fitter and all(tasks[one].step.skill == step.skill for one in isolated_by)
    lock = 0 if task.own_lock is None else round(float(task.own_lock.typical))
    comes = task.arrival if part == "stop" and step.people else 0
    before = isolated_by or (_last_there(task, needs, tasks) if comes else ())
    entry = before if task.inside or not isolated_by else ()
    return Activity(
        id=task.id,
        seconds=planned_seconds(step) + (0 if before else comes),
        needs=tuple(sorted(needs)),
        people=step.people,
        skill=step.skill,
        others=tuple(one for one in (step.second, step.third) if one),
        not_by=tuple(sorted(one for one in needs if tasks[one].step.id in step.checks)),
        uses=uses,
        where=_where(task),
        same_people_as=isolated_by if fitters or not task.inside else (),
        entry=entry,
        entry_seconds=lock * len(task.inside) + comes if entry and step.people else 0,
    )


def planned_seconds(step: Step, ratio: float = 1.0) -> int:
    """Duration of a step in the plan [s], or a ratio of it: at least 1."""
    return max(1, round(float(step.time.typical) * ratio))


def _where(task: Task) -> str:
    return task.station if task.number is None else f"{task.station}#{task.number}"


def _last_there(task: Task, needs: Collection[str], tasks: Mapping[str, Task]) -> tuple[str, ...]:
    """Which of the tasks that one needs are the last with people at its machine."""
    here = [tasks[one] for one in needs if tasks[one].step.people and _where(tasks[one]) == _where(task)]
    earlier = {need for one in here for need in one.needs}
    return tuple(sorted(one.id for one in here if one.id not in earlier))


RUNNING_CREW = "members who do not run the line"
"""Under which name they are counted with the equipment; no piece of it has such an id."""


def beside_the_line(tasks: Mapping[str, Task], part: Part, free: int) -> tuple[Activity, ...]:
    """Activities done while the line runs: each takes its people from the `free`, who do not run it.

    One for everyone is done at the line: those who run it take part there.
    """

    def taken(one: Activity) -> int:
        return min(one.people, free) if tasks[one.id].step.everyone else one.people

    activities = activities_of(tasks, part=part)
    return tuple(replace(one, uses={**one.uses, RUNNING_CREW: taken(one)}) for one in activities)
