"""What a review says of two versions of a book: frozen, complete, in words that are ready to print.

The output formats read this and compute nothing. Places in `old_place` point into the older version.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kb.book.finding import Finding, Place
from kb.history.change_types import Kind
from kb.history.value_diff import ChangedFile
from kb.history.versions import Version

Outcome = Literal["blocked", "needs approval", "passes"]
"""What the review decides: `needs approval` is for people to decide, the other two are not."""

EXIT_CODES: dict[Outcome, int] = {"passes": 0, "blocked": 1, "needs approval": 3}
"""Exit code of each outcome; 2 is that of a command that could not run."""

FormerPart = Literal["limit", "setting", "target", "material", "end", "plant", "line"]
"""What a size is checked against."""

CheckState = Literal[  # `invalid` can be read, and has findings of shape or units
    "needs approval",
    "newly fails",
    "newly warns",
    "newly noted",
    "worsened",
    "eased",
    "newly waived",
    "fixed",
    "gone with its format",
    "no longer checked",
]

NEW: tuple[CheckState, ...] = ("newly fails", "needs approval", "newly warns", "newly noted")
"""States of a finding that was not there before and that no waiver covers."""

MarginState = Literal["now fails", "now passes", "still fails", "spent", "near", "moved"]
"""`spent` has fallen far and is near its limit now; `moved` has moved far and is not near."""


@dataclass(frozen=True, slots=True)
class Effect:
    """A computed result that moved, in the reader's unit.

    Attributes:
        change: new minus old, in `unit`.
        share: change as a share of the old value; none where that was zero.
        of_band: change as a share of the window between its limits; none without such a window.
        main: whether it is one of those a reviewer reads first.
    """

    station: str
    words: str
    key: str
    old: str
    new: str
    unit: str
    change: float
    share: float | None
    of_band: float | None
    main: bool


@dataclass(frozen=True, slots=True)
class MarginMoved:
    """A judged limit that is near, or whose margin moved.

    Attributes:
        before: margin before, as a share of the limit; none where it was not checked.
        after: margin now.
        limit: the limit in words.
        source: where a plant's limit comes from; "" for a limit that is in the specs.
        owner: who answers for the limit; "" likewise.
    """

    state: MarginState
    check: str
    what: str
    place: Place
    before: float | None
    after: float
    old: str
    new: str
    limit: str
    source: str
    owner: str


@dataclass(frozen=True, slots=True)
class CheckMoved:
    """A finding that came, went, or is not what it was; `finding` is the older one where it is gone."""

    state: CheckState
    finding: Finding
    was: Finding | None
    words: str

    @property
    def is_new(self) -> bool:
        """Whether it was not there before and no waiver covers it."""
        return self.state in NEW


@dataclass(frozen=True, slots=True)
class FormerFails:
    """A value that passes now and fails at a former limit, setting, target, metal, end, plant or line.

    Attributes:
        value: its value at the former numbers, with its unit.
        because: what moved that it passes now.
    """

    format: str
    check: str
    key: str
    what: str
    value: str
    limit: str
    because: tuple[FormerPart, ...]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The cheapest ways to restore a spent margin, computed by the route; none where no single change does.

    Where the limit `fails`, its finding names the same ways.
    """

    fails: bool
    check: str
    what: str
    aim: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetMoved:
    """A setup sheet whose code changed; a code is "" where there is no sheet, and `why` gives the reason."""

    format: str
    line: str
    status: str
    old: str
    new: str
    recorded: bool
    why: str


@dataclass(frozen=True, slots=True)
class Sharing:
    """Formats that share an end, metal or tools with a changed one: still, no longer, and newly."""

    what: str
    still: tuple[str, ...]
    parted: tuple[str, ...]
    joined: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PairMoved:
    """A changeover whose class or planned stop is another one, with the first crew of the line.

    Attributes:
        before: the stop before [min]; none where it cannot be planned, for the reason in `why`.
        after: the stop now, likewise.
        kind_before: its class before.
        proven_before: whether no shorter stop was possible.
    """

    old: str
    new: str
    before: float | None
    after: float | None
    kind_before: str
    kind_after: str
    proven_before: bool
    proven_after: bool
    why: str


@dataclass(frozen=True, slots=True)
class LineTouched:
    """A line on which something changes.

    Attributes:
        speed: cans a minute.
        formats: formats on it that the change reaches; none where only the way of changing over moved.
        changeovers: ordered pairs of its formats that the change reaches, other than by limits and waivers.
        compared: how many of them were planned in both versions, or call for the same work in both.
        moved: those of another class or length; those of another class first, then the longest moves.
        came: ordered pairs that were not there before.
        went: ordered pairs that are there no more.
    """

    id: str
    title: str
    speed: float
    formats: tuple[str, ...]
    changeovers: int
    compared: int
    moved: tuple[PairMoved, ...]
    came: int
    went: int

    @property
    def counted(self) -> int:
        """Changeovers that are not as before; where none could be compared, those that the change reaches."""
        return len(self.moved) + self.came + self.went if self.compared else self.changeovers


@dataclass(frozen=True, slots=True)
class Touched:
    """A format that the change reaches.

    Attributes:
        was: its id before, where it has another one now.
        because: which files reach it.
        effects: results that moved by more than the thresholds, in process order.
        folded: how many more results moved, by less.
        margins: limits that are near or whose margins moved, the tightest first.
        still: how many limits are near and did not move.
        not_asked: spent margins for which no way was computed.
        waivers: its waivers, in words.
        lines: lines that make it, before or now.
    """

    id: str
    was: str
    title: str
    because: tuple[str, ...]
    sharing: tuple[Sharing, ...]
    waivers: tuple[str, ...]
    lines: tuple[str, ...]
    effects: tuple[Effect, ...] = ()
    folded: int = 0
    margins: tuple[MarginMoved, ...] = ()
    still: int = 0
    what_ifs: tuple[WhatIf, ...] = ()
    not_asked: int = 0


@dataclass(frozen=True, slots=True)
class Prompt:
    """What usually moves with something that moved and did not, in words.

    Attributes:
        beside: what to think of that no file has.
    """

    formats: tuple[str, ...]
    moved: tuple[str, ...]
    still: tuple[str, ...]
    beside: tuple[str, ...]
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class Approval:
    """A role whose approval is required, and for what."""

    owner: str
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Review:
    """Two versions of a book compared.

    Attributes:
        verdict: the outcome in one line.
        blocked: whether a new finding is at or above the severity given.
        notes: how the versions were chosen.
        files: files that are not as they were, formats first.
        thresholds: least moves of listed effects and margins, in words.
        checks: findings that came, went or changed, the gravest first.
        revisions: breaches of the rules of revision; they are among the checks too.
        unchanged: findings of the touched formats and of the book that are as they were.
    """

    verdict: str
    outcome: Outcome
    blocked: bool
    base: Version
    head: Version
    notes: tuple[str, ...]
    kinds: tuple[Kind, ...]
    files: tuple[ChangedFile, ...]
    touched: tuple[Touched, ...]
    thresholds: tuple[str, ...]
    checks: tuple[CheckMoved, ...]
    former: tuple[FormerFails, ...]
    revisions: tuple[Finding, ...]
    unchanged: tuple[Finding, ...]
    sheets: tuple[SheetMoved, ...]
    lines: tuple[LineTouched, ...]
    prompts: tuple[Prompt, ...]
    approvals: tuple[Approval, ...]
    not_judged: tuple[str, ...]

    @property
    def exit_code(self) -> int:
        """The exit code of the command."""
        return EXIT_CODES[self.outcome]
