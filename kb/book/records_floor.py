"""What the floor needs beside the sizes, and the register of sheet codes: two more kinds of file.

A key that names a value (`format.dome.depth`, `route.blank.pitch`) is explained in
kb/checks/consistency/floor_keys.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kb.book.records import AnyUnit, MachineKind

SignalWord = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
Shown = Literal["length", "force", "pressure", "rate", "angle", "temperature", "mass", "volume", "count"]
Rank = Literal["critical", "key", "ordinary"]
Bound = Literal["band", "least", "most"]
Group = Literal["paper", "cup", "can", "strength", "neck", "seam"]


# --- the floor --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Signature:
    """One line of the release: what was done, and the role that signs for it."""

    step: str
    role: str


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge of the plant; `resolution` in the unit it is read in."""

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
    """A further size of a part."""

    name: str
    size: str


@dataclass(frozen=True, slots=True)
class ChangePart:
    """A part that is changed with the format; `size` is the key that tells which one."""

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
    """A setting of a machine; `value` is the key that tells the target."""

    id: str
    name: str
    where: str
    shown: Shown
    value: str
    driven_by: tuple[str, ...]
    within: AnyUnit | None = None
    decimals: int | None = None


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
    """Something a machine is fed that changes with the format, such as coil; `value` tells which."""

    id: str
    name: str
    value: str
    driven_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MachineFloor:
    """What one kind of machine needs at a changeover."""

    machine: MachineKind
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
    """One first-off check: measured by `value` with a gauge, or judged by the words of `accept`."""

    id: str
    group: Group
    name: str
    where: str
    rank: Rank
    reaction: int
    sample: Sample | None = None
    value: str = ""
    bound: Bound = "band"
    limit: str = ""
    within: AnyUnit | None = None
    decimals: int | None = None
    gauge: str = ""
    accept: str = ""


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
    """One issue of one sheet: what it was called and since when it was in force."""

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
