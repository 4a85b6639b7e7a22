"""One changeover: the difference of two formats on a line, its tasks and its plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kb.blocks import Cell
from kb.book.records_floor import Duration, Step
from kb.checks.consistency.floor_index import What as What  # noqa: PLC0414 - exported from here
from kb.scheduling.activities import Operator, Schedule

# --- what differs -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DifferingValue:
    """A value of the specs that the two formats do not share; `key` as the floor writes it.

    Old and new are as in the files of the two formats, "none" where a format has no such value.
    """

    key: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Further:
    """A further value of what changes, by name: another size of a part, or a first-off of a gauge."""

    name: str
    old: Cell
    new: Cell


@dataclass(frozen=True, slots=True)
class ItemChange:
    """One part, setting, supply or gauge that changes at a machine.

    Attributes:
        id: its id in floor.yaml.
        what: which of the four it is.
        name: as the sheets name it.
        where: where a setting is made, "" for the others.
        old: what it says for the format that goes; one cell for each place, such as a necker stage.
        new: the same for the format that comes.
        per_machine: pieces on one machine at one place; 0 for what is no part.
        pieces: pieces to bring, for all machines of the group and all places that change.
        because: keys of the differing values it answers, in process order; computed ones after them.
        places: which places change, from 0; those of `old` alone are emptied, those of `new` alone filled.
        pieces_out: pieces to take away, counted alike.
        also: further sizes of the part; for a gauge each first-off that uses it.
        running: whether it is changed while the line runs.
    """

    id: str
    what: What
    name: str
    where: str
    old: tuple[Cell, ...]
    new: tuple[Cell, ...]
    per_machine: int
    pieces: int
    because: tuple[str, ...]
    places: tuple[int, ...] = ()
    pieces_out: int = 0
    also: tuple[Further, ...] = ()
    running: bool = False

    @property
    def alike(self) -> bool:
        """Whether a changing part prints as the one it replaces: the two are easily taken for each other."""
        same = self.old == self.new and all(one.old == one.new for one in self.also)
        return self.what == "part" and same


@dataclass(frozen=True, slots=True)
class StationChanges:
    """One group of machines of the line and all that changes there; nothing does where `changes` is empty.

    A gauge whose master changes is counted with the machine its cans are taken from, apart: nobody touches
    the machine for it. `stays` are the names of the parts and settings that do not change.
    """

    number: int
    id: str
    kind: str
    title: str
    count: int
    changes: tuple[ItemChange, ...]
    stays: tuple[str, ...]
    gauges: tuple[ItemChange, ...] = ()


@dataclass(frozen=True, slots=True)
class Difference:
    """From one format to another on one line.

    Attributes:
        line: id of the line.
        old: id of the format that goes.
        new: id of the format that comes.
        kind: class of the changeover, an id of kb/changeover/classes.py.
        moved: values that differ, in process order.
        stations: every group of machines in line order.
        orphans: values that moved and that nothing on the line answers.
        stopped_by: why the line cannot run the format that comes, a machine's range each; empty if it can.
        title: the class in words, with what else moves.
        first_offs: ids of the first-offs that the changes can have moved, in the order of the floor file.
    """

    line: str
    old: str
    new: str
    kind: str
    moved: tuple[DifferingValue, ...]
    stations: tuple[StationChanges, ...]
    orphans: tuple[DifferingValue, ...]
    stopped_by: tuple[str, ...]
    title: str = ""
    first_offs: tuple[str, ...] = ()

    @property
    def alone(self) -> tuple[StationChanges, ...]:
        """The machines that must be left alone."""
        return tuple(one for one in self.stations if not one.changes)

    @property
    def first(self) -> int:
        """Number of the first group of machines that something is changed at while they are stopped.

        The first at which anything changes, where all of it can be changed while the line runs; 0 for none.
        """
        stopped = [one for one in self.stations if any(not item.running for item in one.changes)]
        touched = stopped or [one for one in self.stations if one.changes]
        return touched[0].number if touched else 0


# --- the plan of a changeover -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Task:
    """A step of the library at one machine of this changeover.

    Attributes:
        id: step id, with `@group` for a step at a machine and `#n` where it is done at each.
        step: the library's step.
        station: id of the group of machines, "" for the line as a whole.
        at: machine as the crew calls it, "" for the line as a whole.
        number: which machine of the group; none where the step is done once.
        because: names of the changing parts, settings and supplies that call for it.
        needs: ids of the tasks that must be done before, those of safety among them.
        inside: isolated machines it is done in: a group, or `#n` of it where hands go into one.
        alone: whether it moves them by hand, so that no other hand may be in them.
        isolated_by: ids of the tasks that isolate what it releases, or what hands go into for it.
        own_lock: time for a lock of one's own, where hands go in.
        one_fitter: whether those who isolate do it too, where they have its skill.
        arrival: time to come to its machine [s].
    """

    id: str
    step: Step
    station: str
    at: str
    number: int | None
    because: tuple[str, ...]
    needs: tuple[str, ...] = ()
    inside: tuple[str, ...] = ()
    alone: bool = False
    isolated_by: tuple[str, ...] = ()
    own_lock: Duration | None = None
    one_fitter: bool = False
    arrival: int = 0


@dataclass(frozen=True, slots=True)
class Plan:
    """Who does what when: before the stop, inside it, after it.

    Times of each schedule count from its own start; `before` ends where the stop begins. `equipment` holds
    the machines too, as far as hands go into them.

    Attributes:
        difference: what changes.
        crew: id of the crew.
        operators: its members.
        equipment: how many there are of each piece.
        tasks: all that is done.
        before: while the line runs the old format.
        stop: inside the stop.
        after: while the line runs the new format.
        running: how many members run the line meanwhile.
        other: the stop by the other rule: with hand-overs, or with one fitter at each machine; None where no
            machine is isolated, or where one fitter cannot do the work.
    """

    difference: Difference
    crew: str
    operators: tuple[Operator, ...]
    equipment: Mapping[str, int]
    tasks: Mapping[str, Task]
    before: Schedule
    stop: Schedule
    after: Schedule
    running: int = 0
    other: Schedule | None = None

    @property
    def one_fitter(self) -> bool:
        """Whether the fitter who isolates a machine does all of the work in it that is of the same skill."""
        return any(task.one_fitter for task in self.tasks.values())
