"""A plan as the crew reads it: steps with their times, jobs and locks of each member, machines by phase."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from kb.blocks import CautionNote, Cell
from kb.book.records_floor import Caution, Crew, Phase
from kb.changeover.model import Difference, Further, Plan, StationChanges, Task
from kb.changeover.sheet_model import GridRow, Hand, Job, LockNote, OwnLock, StepNote
from kb.changeover.times import Moment, minutes
from kb.scheduling.activities import Schedule, Slot

Part = Literal["before", "stop", "after"]

WHOLE_LINE = "line"


class Timed(NamedTuple):
    """A task with its slot, seconds from the stop, or from the restart for what comes after."""

    part: Part
    task: Task
    slot: Slot
    start: int
    end: int
    latest: int


def timed(plan: Plan) -> list[Timed]:
    """All tasks of a plan with their times, part by part, by start."""
    found = []
    for part, schedule in _parts(plan):
        shift = -schedule.length if part == "before" else 0
        for slot in schedule.slots:
            start, end = slot.start + shift, slot.end + shift
            found.append(Timed(part, plan.tasks[slot.id], slot, start, end, end + slot.slack))
    return found


def _parts(plan: Plan) -> tuple[tuple[Part, Schedule], ...]:
    return (("before", plan.before), ("stop", plan.stop), ("after", plan.after))


# --- the critical path ------------------------------------------------------------------------


def critical_path(plan: Plan) -> tuple[Slot, ...]:
    """One way through the stop on which every delay delays the end, the first task first.

    Each task begins where the one before it ends: because it needs it, or has the same people or the same
    equipment. Where several ways lead back, a need goes before people, people before equipment.

    Returns:
        Slots without any slack, from the stop to the restart; none where nothing is done inside the stop.
    """
    tight = [slot for slot in plan.stop.slots if slot.critical and slot.end > slot.start]
    last = max(tight, key=lambda slot: (slot.end, slot.id), default=None)
    found: list[Slot] = []
    while last is not None:
        found.insert(0, last)
        before = [(_link(plan, one, last), one.id, one) for one in tight if one.end == last.start]
        linked = [one for one in before if one[0]]
        last = min(linked)[2] if linked else None
    return tuple(found)


def _link(plan: Plan, one: Slot, other: Slot) -> int:
    """How a task depends on the one before it: 1 by need, 2 by people, 3 by equipment, 0 not at all."""
    first, second = plan.tasks[one.id], plan.tasks[other.id]
    if first.id in second.needs:
        return 1
    if set(one.who) & set(other.who):
        return 2
    shared = set(first.step.uses) & set(second.step.uses) or set(first.inside) & set(second.inside)
    return 3 if shared else 0


# --- steps ------------------------------------------------------------------------------------


def steps(plan: Plan, crew: Crew, *phases: Phase) -> Iterator[StepNote]:
    """The steps of some phases by start, alike machines of a group together."""
    groups: dict[tuple[str, str], list[Timed]] = {}
    for one in timed(plan):
        if one.task.step.phase in phases:
            groups.setdefault((one.task.step.id, one.task.station), []).append(one)
    numbers = _numbers(plan.difference)
    for rows in groups.values():
        first = rows[0]
        task = first.task
        yield StepNote(
            text=task.step.text,
            phase=task.step.phase,
            machine=task.at,
            number=numbers.get(task.station, 0),
            times=len(rows),
            who=titles(crew, {who for one in rows for who in one.slot.who}),
            start=Moment(min(one.start for one in rows), first.part),
            end=Moment(max(one.end for one in rows), first.part),
            critical=any(one.slot.critical for one in rows),
            cautions=_cautions(rows),
        )


def _numbers(difference: Difference) -> dict[str, int]:
    return {one.id: one.number for one in difference.stations}


def titles(crew: Crew, members: Collection[str]) -> tuple[str, ...]:
    """Titles of members, in the order of the crew."""
    return tuple(one.title for one in crew.members if one.id in members)


def caution_note(caution: Caution, machine: str) -> CautionNote:
    """A caution as the sheets print it."""
    return CautionNote(caution.signal, machine, caution.hazard, caution.consequence, caution.avoid)


def _cautions(rows: Iterable[Timed]) -> tuple[CautionNote, ...]:
    found = [caution_note(c, one.task.at) for one in rows if (c := one.task.step.caution) is not None]
    return tuple(dict.fromkeys(found))


# --- jobs -------------------------------------------------------------------------------------


def jobs(plan: Plan) -> tuple[Job, ...]:
    """Who does what when: tasks of one step that the same people do one after the other are one job."""
    path = {slot.id for slot in critical_path(plan)}
    slots = {slot.id: slot for slot in plan.stop.slots}
    numbers = _numbers(plan.difference)
    found: list[list[Timed]] = []
    last: dict[tuple[str, str, tuple[str, ...]], list[Timed]] = {}
    for one in timed(plan):
        key = (one.task.step.id, one.task.station, one.slot.who)
        run = last.get(key)
        if run is not None and one.slot.who and run[-1].end == one.start and run[-1].part == one.part:
            run.append(one)
        else:
            last[key] = [one]
            found.append(last[key])
    return tuple(
        replace(_job(run, numbers, path, slots), sizes=tuple(_sizes(plan.difference, run[0].task)))
        for run in found
    )


def _sizes(difference: Difference, task: Task) -> Iterator[Further]:
    """What a task fits or sets: each part, setting or supply with its old and its new value."""
    for station in difference.stations if task.step.phase in ("in", "set") else ():
        for change in station.changes if station.id == task.station else ():
            if change.id in task.step.because_of:
                for place in (one for one in change.places or (0,) if one < len(change.new)):
                    many = len(change.new) > 1
                    name = change.name.partition(",")[0]
                    old = change.old[place] if place < len(change.old) else Cell("")
                    yield Further(f"{name} {place + 1}" if many else name, old, change.new[place])


def _job(
    run: Sequence[Timed], numbers: dict[str, int], path: Collection[str], slots: Mapping[str, Slot]
) -> Job:
    first = run[0]
    task, part = first.task, first.part
    start, end = first.start, run[-1].end
    which = in_turn([one.task.number for one in run if one.task.number is not None])
    caution = task.step.caution
    return Job(
        part=part,
        who=first.slot.who,
        start=start,
        end=end,
        text=task.step.text,
        phase=task.step.phase,
        number=numbers.get(task.station, 0),
        machine=f"{task.at}: {which}" if which else task.at,
        short=" ".join(filter(None, (task.station or WHOLE_LINE, which))),
        critical=any(one.slot.critical for one in run),
        path=any(one.slot.id in path for one in run),
        caution=caution_note(caution, task.at) if caution else None,
        own_locks=tuple(_own_locks(run, slots)),
    )


def _own_locks(run: Sequence[Timed], slots: Mapping[str, Slot]) -> Iterator[OwnLock]:
    """The locks that members hang for tasks in a row, each member's at all machines together."""
    for who in run[0].slot.who:
        mine = [one.task for one in run if who in own_locks(one.task, slots)]
        if mine:
            which = listed([task.number for task in mine if task.number is not None])
            seconds = sum(
                float(task.own_lock.typical) * len(task.inside) for task in mine if task.own_lock is not None
            )
            yield OwnLock(who, f"{mine[0].at}: {which}" if which else mine[0].at, minutes(seconds))


def lock_notes(plan: Plan, crew: Crew) -> tuple[LockNote, ...]:
    """Who hangs a lock on each isolated machine, as the sheet has it."""
    stations = {one.id: one for one in plan.difference.stations}
    found = []
    for one in locks(plan):
        station = stations[one.station]
        which = "" if one.number is None else str(one.number)
        who = titles(crew, one.isolates), titles(crew, one.own)
        found.append(LockNote(station.number, station.title, which, *who))
    return tuple(found)


def in_turn(numbers: Sequence[int]) -> str:
    """Numbers of machines in the order of the work; another task can be at a machine before its turn.

    Example:
        >>> in_turn([1, 2, 3]), in_turn([2, 1]), in_turn([3, 5, 1, 2])
        ('1–3', '2, then 1', '3, 5, then 1, 2')
    """
    rising: list[list[int]] = []
    for one in numbers:
        if rising and one > rising[-1][-1]:
            rising[-1].append(one)
        else:
            rising.append([one])
    return ", then ".join(map(listed, rising))


def listed(numbers: Sequence[int]) -> str:
    """Numbers in order, runs of three and more drawn together.

    Example:
        >>> listed([3, 1, 2, 5]), listed([4, 5])
        ('1–3, 5', '4, 5')
    """
    runs: list[list[int]] = []
    for one in sorted(numbers):
        if runs and one == runs[-1][-1] + 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    words = [f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return ", ".join(words)


def hands(plan: Plan, crew: Crew) -> tuple[Hand, ...]:
    """The crew, and how long each member works and waits inside the stop [min]."""
    found = []
    for one in crew.members:
        busy = sum(slot.end - slot.start for slot in plan.stop.slots if one.id in slot.who)
        found.append(Hand(one.id, one.title, minutes(busy), minutes(plan.stop.length - busy)))
    return tuple(found)


# --- the stop by machine and phase ------------------------------------------------------------

_COLUMNS: tuple[tuple[Phase, ...], ...] = (
    ("clear", "isolate"),
    ("out",),
    ("in",),
    ("set",),
    ("release", "verify"),
    ("first-off",),
)


def grid(plan: Plan) -> tuple[GridRow, ...]:
    """When each group of machines is in which phase of the stop."""
    rows = timed(plan)
    found = []
    for station in plan.difference.stations:
        here = [one for one in rows if one.part == "stop" and one.task.station == station.id]
        if here:
            cells = [_span(here, phases) for phases in _COLUMNS]
            found.append(GridRow(station.number, station.title, *cells))
    return tuple(found)


def _span(rows: Sequence[Timed], phases: Collection[Phase]) -> str:
    found = [one for one in rows if one.task.step.phase in phases]
    if not found:
        return ""
    start, end = min(one.start for one in found), max(one.end for one in found)
    return f"{minutes(start)}–{minutes(end)}"


def no_return(plan: Plan) -> Timed | None:
    """The point of no return: the first task inside the stop that takes a tool out or puts one in.

    Until it begins, the line can run the old format again as it is. Where no tool is changed, the first
    setting that is changed counts; none where neither is.
    """
    inside = [one for one in timed(plan) if one.part == "stop"]
    tools = [one for one in inside if one.task.step.phase in ("out", "in")]
    sets = [one for one in inside if one.task.step.phase == "set"]
    return min(tools or sets, key=lambda one: (one.start, one.task.id), default=None)


def gate(plan: Plan) -> Moment:
    """When it is decided whether to stop: when the last step of the preparation begins."""
    rows = [one for one in timed(plan) if one.part == "before"]
    return Moment(max((one.start for one in rows), default=0))


def at_machine(station: StationChanges, rows: Iterable[StepNote]) -> tuple[CautionNote, ...]:
    """The hazards of the steps at one group of machines, each once."""
    return tuple(dict.fromkeys(note for row in rows if row.number == station.number for note in row.cautions))


# --- who hangs a lock ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Locks:
    """Locks on one isolated machine, by member of the crew.

    Attributes:
        station: id of the group of machines.
        number: which machine of the group; none where the group is isolated as a whole.
        isolates: who isolates it.
        releases: who releases it.
        own: who else has hands in it, each with a lock of their own.
    """

    station: str
    number: int | None
    isolates: tuple[str, ...]
    releases: tuple[str, ...]
    own: tuple[str, ...]


def own_locks(task: Task, slots: Mapping[str, Slot]) -> tuple[str, ...]:
    """Who hangs a lock of their own for a task: all its people who did not isolate the machine."""
    if not task.inside:
        return ()
    isolated = [set(slots[one].who) for one in task.isolated_by]
    return tuple(who for who in slots[task.id].who if not all(who in one for one in isolated))


def locks(plan: Plan) -> tuple[Locks, ...]:
    """The locks of a stop, machine by machine in line order."""
    slots = {slot.id: slot for slot in plan.stop.slots}
    found = []
    for station in plan.difference.stations:
        isolating = [
            task
            for task in plan.tasks.values()
            if task.step.phase == "isolate" and task.station == station.id
        ]
        for number in dict.fromkeys(task.number for task in isolating):
            here = {task.id for task in isolating if task.number == number}
            found.append(_locks(plan, slots, station.id, number, here))
    return tuple(found)


def _locks(plan: Plan, slots: Mapping[str, Slot], station: str, number: int | None, here: set[str]) -> Locks:
    behind = [task for task in plan.tasks.values() if here & set(task.isolated_by)]
    releasing = {task.id for task in behind if task.step.phase == "release"}
    own = {who for task in behind for who in own_locks(task, slots)}
    return Locks(
        station,
        number,
        tuple(_in_order(plan, {who for one in here for who in slots[one].who})),
        tuple(_in_order(plan, {who for one in releasing for who in slots[one].who})),
        tuple(_in_order(plan, own)),
    )


def _in_order(plan: Plan, members: set[str]) -> Iterator[str]:
    return (hand.id for hand in plan.operators if hand.id in members)
