"""What the floor and a changeover need beside the sizes: floor, sheet codes, changeover and weeks.

The parts and settings are in floor.yaml, once per kind of machine; steps name them by id. A key that names a
value (`format.dome.depth`, `route.blank.pitch`) is explained in kb/checks/consistency/floor_keys.py.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Literal

from kb.book.records import AnyUnit, FormatId, LineId, MachineKind
from kb.units import PerMinute, Ratio, Second

SignalWord = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
Shown = Literal["length", "force", "pressure", "rate", "angle", "temperature", "mass", "volume", "count"]
Rank = Literal["critical", "key", "ordinary"]
Bound = Literal["band", "least", "most"]
Group = Literal["paper", "cup", "can", "strength", "neck", "seam", "print"]


# --- the floor --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Signature:
    step: str
    role: str


@dataclass(frozen=True, slots=True)
class Gauge:
    id: str
    name: str
    type: str
    resolution: AnyUnit
    master: str


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard in graded words: what it is, what it does, how it is avoided."""

    signal: SignalWord
    hazard: str
    consequence: str
    avoid: str


@dataclass(frozen=True, slots=True)
class OtherSize:
    name: str
    size: str


@dataclass(frozen=True, slots=True)
class ChangePart:
    """A part that is changed with the format; `size` is the key of its size."""

    id: str
    name: str
    per_machine: int
    size: str
    driven_by: tuple[str, ...]
    pack: bool = False
    fits: bool = False
    also: tuple[OtherSize, ...] = ()
    within: AnyUnit | None = None
    decimals: int | None = None
    store: str = ""


@dataclass(frozen=True, slots=True)
class MachineSetting:
    """A setting of a machine; `value` is the key of the target, `running` whether the line runs meanwhile."""

    id: str
    name: str
    where: str
    shown: Shown
    value: str
    driven_by: tuple[str, ...]
    within: AnyUnit | None = None
    decimals: int | None = None
    running: bool = False


@dataclass(frozen=True, slots=True)
class PlantSetting:
    """A setting of a machine that is the same for every format, such as air, oil, temperature or a gap."""

    id: str
    name: str
    where: str
    target: AnyUnit
    owner: str


@dataclass(frozen=True, slots=True)
class Supply:
    """Something a machine is fed that changes with the format; `running` if the line runs meanwhile."""

    id: str
    name: str
    value: str
    driven_by: tuple[str, ...]
    running: bool = False


@dataclass(frozen=True, slots=True)
class MachineFloor:
    machine: str
    cautions: tuple[Caution, ...] = ()
    parts: tuple[ChangePart, ...] = ()
    settings: tuple[MachineSetting, ...] = ()
    plant_settings: tuple[PlantSetting, ...] = ()
    supplies: tuple[Supply, ...] = ()


@dataclass(frozen=True, slots=True)
class Sample:
    """What is measured: cans of how many machines, how many cans, at how many places on each."""

    machine: MachineKind
    cans: int
    each: bool = False
    places: int = 1


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One first-off check: measured by `value` with a gauge, or judged by the words of `accept`.

    A change at a machine of `moved_by` can move it: by default the machine of its sample. `expected`
    is the result of the route that foretells the reading.
    """

    id: str
    group: Group
    name: str
    where: str
    rank: Rank
    reaction: int
    sample: Sample | None = None
    value: str = ""
    expected: str = ""
    bound: Bound = "band"
    limit: str = ""
    within: AnyUnit | None = None
    decimals: int | None = None
    gauge: str = ""
    accept: str = ""
    moved_by: tuple[MachineKind, ...] = ()


@dataclass(frozen=True, slots=True)
class Reaction:
    """What to do when a first-off is out: three checks in order, one adjustment, one thing never."""

    number: int
    title: str
    checks: tuple[str, ...]
    adjust: str
    never: str
    release: str
    recheck: int


@dataclass(frozen=True, slots=True)
class Floor:
    """What setup sheets say beside the sizes: `kind: floor`, one to a book."""

    owner: str
    good_for: int
    safety: str
    out_of_limits: tuple[str, ...]
    return_to: str
    roles: tuple[str, ...]
    release: tuple[Signature, ...]
    gauges: tuple[Gauge, ...]
    machines: tuple[MachineFloor, ...]
    first_offs: tuple[Characteristic, ...]
    reactions: tuple[Reaction, ...]


# --- the register of codes --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SheetCode:
    """One issue of one sheet: what it was called and since when it was current."""

    format: str
    line: str
    revision: int
    code: str
    digest: str
    in_force: str
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetCodes:
    """Past and present codes of all sheets, in the order of their issue: `kind: sheet-codes`."""

    codes: tuple[SheetCode, ...]


Phase = Literal[
    "before", "clear", "isolate", "out", "in", "set", "release", "verify", "first-off", "restart", "after"
]
"""When a step is done. `before` and `after` are external: the line runs. All others are inside the stop."""

Basis = Literal["timed", "estimated"]


@dataclass(frozen=True, slots=True)
class Duration:
    """Typical and worst time, and how they are known."""

    typical: Second
    worst: Second
    basis: Basis


@dataclass(frozen=True, slots=True)
class PieceTime:
    """Typical and worst time for each piece that is changed."""

    typical: Second
    worst: Second


@dataclass(frozen=True, slots=True)
class StepTime(Duration):
    """Time of a step, to which that of each piece is added."""

    piece: PieceTime | None = None

    def of(self, pieces: float) -> StepTime:
        """The time with so many pieces."""
        if self.piece is None:
            return self
        typical = float(self.typical) + pieces * float(self.piece.typical)
        return StepTime(typical, float(self.worst) + pieces * float(self.piece.worst), self.basis)


@dataclass(frozen=True, slots=True)
class Equipment:
    id: str
    name: str
    count: int


@dataclass(frozen=True, slots=True)
class Member:
    id: str
    title: str
    skills: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Crew:
    """One crew of one line; `running` of its members run the line before and after the stop."""

    id: str
    title: str
    line: LineId
    members: tuple[Member, ...]
    running: int = 0


@dataclass(frozen=True, slots=True)
class Motion:
    """Machines that a step moves, and whether by hand or under power."""

    machines: tuple[MachineKind, ...]
    by: Literal["hand", "power"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the library.

    A step at a machine is done once for the group, or with `each` once at every machine of it. One that
    names parts, settings or supplies (`because_of`) is done when one of them changes; a step at a machine
    that names none, when anything changes there; a step without a machine, in every changeover. One that
    is `downstream` clears machines: it is done if one that it moves is the first that changes, or after it.
    One that `proves` first-offs and names no items is done when a change can have moved one of them.
    The second and third of its people can each have a skill of their own. Nobody who did a step that it
    `checks` does it too. With `everyone` it takes the whole crew; while the line runs, at the line.
    Cans of the first `cans_from` machines of a group are enough for it; a plan waits for all.
    """

    id: str
    text: str
    phase: Phase
    time: StepTime
    machine: MachineKind | None = None
    each: bool = False
    because_of: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    people: int = 1
    everyone: bool = False
    skill: str = ""
    second: str = ""
    third: str = ""
    uses: tuple[str, ...] = ()
    hands_in: bool = False
    moves: Motion | None = None
    caution: Caution | None = None
    downstream: bool = False
    proves: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    cans_from: int = 0

    @property
    def skills(self) -> tuple[str, ...]:
        """Skills of its people, each of another of them."""
        return tuple(one for one in (self.skill, self.second, self.third) if one)

    @property
    def machines(self) -> tuple[MachineKind, ...]:
        """The kinds of machine at which it is done or that it moves."""
        own = () if self.machine is None else (self.machine,)
        moved = () if self.moves is None else self.moves.machines
        return tuple(dict.fromkeys((*own, *moved)))

    def moves_by_hand(self, kind: str) -> bool:
        """Whether it moves machines of a kind by hand, which requires their isolation."""
        return self.moves is not None and self.moves.by == "hand" and kind in self.moves.machines

    def moves_by_power(self, kind: str) -> bool:
        """Whether machines of a kind run or jog for it, which asks that no hand is in them."""
        return self.moves is not None and self.moves.by == "power" and kind in self.moves.machines

    def enters(self, kind: str) -> bool:
        """Whether it is done in isolated machines of a kind; isolation and release themselves are not."""
        inside = (self.hands_in and kind == self.machine) or self.moves_by_hand(kind)
        return inside and self.phase not in ("isolate", "release")


@dataclass(frozen=True, slots=True)
class NoPart:
    """Values that may differ with nothing on the line to change for them, and why."""

    values: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class ClearPoint:
    machine: MachineKind
    look: str


@dataclass(frozen=True, slots=True)
class RampStep:
    """A step of the ramp-up to full speed, and what is looked at meanwhile."""

    speed: Ratio
    time: Second
    sample: str


@dataclass(frozen=True, slots=True)
class PastChangeover:
    """What one changeover took, from the last good can of the old format."""

    line: str
    came_from: str
    went_to: str
    day: str
    crew: str
    stopped: Second
    first_good: Second
    at_rate: Second
    note: str = ""


@dataclass(frozen=True, slots=True)
class Changeover:
    """How the plant changes over: `kind: changeover`, one to a book."""

    owner: str
    skills: tuple[str, ...]
    equipment: tuple[Equipment, ...]
    crews: tuple[Crew, ...]
    steps: tuple[Step, ...]
    no_part: tuple[NoPart, ...]
    clear_points: tuple[ClearPoint, ...]
    restart: tuple[str, ...]
    ramp: tuple[RampStep, ...]
    back_out: tuple[str, ...]
    reasons: tuple[str, ...]
    own_lock: Duration
    arrival: Second = 0.0
    one_fitter: Second = 0.0
    past: tuple[PastChangeover, ...] = ()


# --- a week -----------------------------------------------------------------------------------

WEEKS_A_YEAR = 365.25 / 7

MOMENT = "%Y-%m-%d %H:%M"
"""How a time of the week is written."""


@dataclass(frozen=True, slots=True)
class Run:
    """A number of cans of one format, due at a time of its own or when the stock is used up."""

    format: FormatId
    cans: int
    due: str = ""
    ready: str = ""
    rate: PerMinute | None = None
    stock: int | None = None
    demand: PerMinute | None = None

    def due_at(self, start: str) -> str:
        """When it is due, for a stock that is counted at the start of the week."""
        if self.due or self.stock is None or not self.demand:
            return self.due
        used_up = datetime.timedelta(minutes=int(self.stock / float(self.demand)))
        return f"{datetime.datetime.fromisoformat(start) + used_up:{MOMENT}}"


@dataclass(frozen=True, slots=True)
class Shift:
    """The hours of a crew on each day; past midnight where they end before they begin."""

    crew: str
    begins: str
    ends: str

    def has(self, clock: str) -> bool:
        """Whether a time of day, such as 05:30, is in it."""
        if self.begins < self.ends:
            return self.begins <= clock < self.ends
        return clock >= self.begins or clock < self.ends


@dataclass(frozen=True, slots=True)
class Closed:
    """A time in which the line neither runs nor changes over."""

    begins: str
    ends: str
    why: str


@dataclass(frozen=True, slots=True)
class Week:
    """What a line is to run, in the order in which it was given: `kind: week`."""

    id: str
    title: str
    owner: str
    line: LineId
    crew: str
    start: str
    running: FormatId
    rate: PerMinute
    runs: tuple[Run, ...]
    frozen: int = 0
    closed: tuple[Closed, ...] = ()
    shifts: tuple[Shift, ...] = ()
    least_run: Second = 0.0
