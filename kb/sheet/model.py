"""What a setup sheet says, with no trace of where it came from: renderers only read this.

`Content` is what is controlled: the sheet's code is computed from it, all of it and nothing beside it.
`Sheet` adds what lives outside the code: the code itself, the history, the day on which the copy was made.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from typing import Any

from kb.blocks import CautionNote, Cell

NOT_FOR_USE = "NOT FOR USE"
DRAFT = "DRAFT"


@dataclass(frozen=True, slots=True)
class Identity:
    """What the sheet is for."""

    sheet: str
    format: str
    title: str
    body: str
    end: str
    contents: str
    line: str
    line_title: str
    plant: str
    revision: int
    status: str
    effective: str
    why: str
    owner: str


@dataclass(frozen=True, slots=True)
class WaiverNote:
    """An active waiver: check, ceiling, expiry."""

    check: str
    about: str
    ceiling: str
    limit: str
    expires: str
    reason: str
    approver: str


@dataclass(frozen=True, slots=True)
class Fact:
    """A line of the material block: a value, or plain words."""

    name: str
    words: str = ""
    cell: Cell | None = None


@dataclass(frozen=True, slots=True)
class PackPart:
    """A tool of the matched set, in stacking order; a further size of it has no number of its own."""

    number: int | None
    name: str
    pieces: int
    size: Cell
    store: str = ""
    machine: str = ""


@dataclass(frozen=True, slots=True)
class RingResult:
    """What a ring makes of the wall with the sizes of this window."""

    name: str
    gap: Cell
    thin: Cell
    thick: Cell
    reduction: Cell


@dataclass(frozen=True, slots=True)
class PartRow:
    """A change part of one size; `pieces` for all machines of the group."""

    name: str
    pieces: int
    size: Cell
    store: str = ""


@dataclass(frozen=True, slots=True)
class PartSet:
    """Change parts of one kind, with a size for each place, such as a necker's dies by stage."""

    name: str
    pieces: int
    sizes: tuple[Cell, ...]
    store: str = ""


@dataclass(frozen=True, slots=True)
class SettingRow:
    """A setting in the unit of the machine's own display."""

    name: str
    where: str
    value: Cell


@dataclass(frozen=True, slots=True)
class MachineBlock:
    """All that is done at one machine, or group of like machines, in line order."""

    number: int
    kind: str
    title: str
    count: int
    cautions: tuple[CautionNote, ...]
    parts: tuple[PartRow, ...]
    sets: tuple[PartSet, ...]
    settings: tuple[SettingRow, ...]


@dataclass(frozen=True, slots=True)
class GaugeRow:
    """A gauge the first-offs need."""

    name: str
    type: str
    resolution: str
    master: str


@dataclass(frozen=True, slots=True)
class FirstOff:
    """One first-off check: `cans` at `places` each, of each of `boxes` machines."""

    number: int
    group: str
    rank: str
    name: str
    where: str
    sample: str
    boxes: int
    cans: int
    places: int
    gauge: str
    accept: str
    value: Cell | None
    expected: str
    reaction: int


@dataclass(frozen=True, slots=True)
class ReactionRow:
    """A reaction plan."""

    number: int
    title: str
    checks: tuple[str, ...]
    adjust: str
    never: str
    release: str
    recheck: int


@dataclass(frozen=True, slots=True)
class SignatureRow:
    """A line of the release."""

    step: str
    role: str


@dataclass(frozen=True, slots=True)
class Content:
    """All that is controlled on a sheet, in the order in which it is read."""

    identity: Identity
    good_for: int
    waivers: tuple[WaiverNote, ...]
    safety: str
    dangers: tuple[CautionNote, ...]
    material: tuple[Fact, ...]
    pack: tuple[PackPart, ...]
    pack_makes: tuple[RingResult, ...]
    machines: tuple[MachineBlock, ...]
    gauges: tuple[GaugeRow, ...]
    first_offs: tuple[FirstOff, ...]
    out_of_limits: tuple[str, ...]
    reactions: tuple[ReactionRow, ...]
    release: tuple[SignatureRow, ...]
    return_to: str
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet ready for paper or page.

    Attributes:
        content: what is controlled.
        code: five signs computed from the content.
        digest: the whole fingerprint.
        current: how to see whether this sheet is current.
        changed: what this issue says otherwise than the one before.
        issued: first day of this code in the register, "" while it is not recorded.
        supersedes: the issue before this one, "" for the first.
        recorded: whether the code is in the register.
        mark: the word printed across every page, "" on a sheet that may be used.
        unfit: why it is not for use.
        made: when this copy was made.
        good_until: last day on which this copy may be used.
        built_on: the body standard and the base format that give values, "" for a format in full.
        own_values: each value of the format in place of that of the standard, with both.
        approved: the approvals of this revision, each with role, name if it has one, and day.
    """

    content: Content
    code: str
    digest: str
    current: str
    changed: tuple[str, ...]
    issued: str
    supersedes: str
    recorded: bool
    mark: str
    unfit: tuple[str, ...]
    made: str
    good_until: str
    built_on: str = ""
    own_values: tuple[str, ...] = ()
    approved: tuple[str, ...] = ()

    @property
    def dates(self) -> tuple[str, str]:
        """Its two dates in words: that of the format, and that of this sheet."""
        issued = f"sheet issued {self.issued}" if self.issued else "sheet not issued"
        return f"format effective {self.content.identity.effective}", issued

    @property
    def qr(self) -> str:
        """What the square code says: plain text, readable without a network.

        In capitals, which take fewer and so larger squares.
        """
        one = self.content.identity
        line_of_codes = f"{one.sheet} revision {one.revision} {one.status} code {self.code} {self.digest}"
        return line_of_codes.upper()


@dataclass(frozen=True, slots=True)
class CodeRow:
    """One sheet on the list of current codes."""

    title: str
    format: str
    revision: int
    status: str
    code: str
    in_force: str
    no_longer: tuple[str, ...]
    unfit: str


@dataclass(frozen=True, slots=True)
class CodeList:
    """The current codes of a line, for posting."""

    line: str
    line_title: str
    plant: str
    made: str
    rows: tuple[CodeRow, ...]
    mark: str = ""


def keys_of(record: Any) -> dict[str, Any]:
    """The values of a record of this file by their keys."""
    kind: Any = type(record)
    return {key: getattr(record, key) for key in _keys(kind)}


@cache
def _keys(kind: Any) -> tuple[str, ...]:
    return tuple(one.name for one in fields(kind))
