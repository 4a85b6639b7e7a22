"""What a review says of two versions of a book: frozen, complete, ready-made in words.

The faces read this and compute nothing. Places in `old_place` point into the older version.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kb.book.finding import Finding, Place
from kb.history.change_types import Kind as Kind  # noqa: PLC0414 - part of this file's face
from kb.history.value_diff import ChangedFile as ChangedFile  # noqa: PLC0414
from kb.history.value_diff import Spanned as Spanned  # noqa: PLC0414
from kb.history.value_diff import State as State  # noqa: PLC0414
from kb.history.value_diff import ValueChange as ValueChange  # noqa: PLC0414
from kb.history.versions import WORK_TREE as WORK_TREE  # noqa: PLC0414
from kb.history.versions import Version as Version  # noqa: PLC0414
from kb.review.model_use import LineTouched as LineTouched  # noqa: PLC0414
from kb.review.model_use import PairMoved as PairMoved  # noqa: PLC0414
from kb.review.model_use import Sharing as Sharing  # noqa: PLC0414
from kb.review.model_use import SheetMoved as SheetMoved  # noqa: PLC0414

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
    "cured",
    "gone with its format",
    "no longer judged",
]

MarginState = Literal["now fails", "now passes", "still fails", "spent", "near", "moved"]
"""`spent` has fallen far and is near its limit now; `moved` has moved far and is not near."""


@dataclass(frozen=True, slots=True)
class Effect:
    """A computed result that moved, in the reader's unit.

    Attributes:
        main: whether it is one of those a reviewer asks for first.
        alike: how many more stages moved in the same way, where the one that moved most represents all.
        share: difference as a share of the old value; none where that was zero.
        of_band: difference as a share of the window its limits leave; none without such a window.
    """

    station: str
    words: str
    key: str
    old: str
    new: str
    unit: str
    difference: str
    share: float | None
    of_band: float | None
    main: bool
    alike: int = 0


@dataclass(frozen=True, slots=True)
class MarginMoved:
    """A judged limit that is near, or whose margin moved.

    Attributes:
        before: margin before, as a share of the limit; none where it was not judged.
        after: margin now.
        limit: the limit in words.
        source: where a plant's limit comes from; "" for a limit that stands in the specs.
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
    """A finding that came, went, or is not what it was.

    Attributes:
        state: what became of it.
        finding: the finding as it is, or as it was where it is gone.
        was: what it was before, where it was.
        words: the finding in one line, with what it was before.
    """

    state: CheckState
    finding: Finding
    was: Finding | None
    words: str


@dataclass(frozen=True, slots=True)
class FormerFails:
    """A value that passes now and fails at a former limit, setting, target, metal, end, plant or line.

    Attributes:
        format: id of the format, as it is now.
        check: name of the check.
        key: the value's key.
        what: the quantity in trade words.
        value: its value at the former numbers, with its unit.
        limit: the limit in words.
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
    """How a margin that was spent can be had back: the cheapest ways, computed by the route.

    Attributes:
        fails: whether the limit is passed; its finding then names the same ways.
        aim: what would be had back, in words.
        ways: one sentence each; none where no single change restores it.
    """

    fails: bool
    check: str
    what: str
    aim: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Touched:
    """A format that the change reaches.

    Attributes:
        id: its id; `was` its id before, where it has another one now.
        because: which files reach it.
        effects: results that moved by more than the thresholds, in process order.
        folded: how many more results moved, by less.
        margins: limits that are near or whose margins moved, the tightest first.
        still: how many limits are near and did not move.
        what_ifs: ways to have a spent margin back.
        not_asked: spent margins for which no way was sought.
        sharing: other formats it shares tools, metal or end with.
        waivers: waivers it has, in words.
        lines: lines that make it, before or now.
    """

    id: str
    was: str
    title: str
    because: tuple[str, ...]
    effects: tuple[Effect, ...]
    folded: int
    margins: tuple[MarginMoved, ...]
    still: int
    what_ifs: tuple[WhatIf, ...]
    not_asked: int
    sharing: tuple[Sharing, ...]
    waivers: tuple[str, ...]
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Prompt:
    """What usually moves with something that moved, and did not.

    Attributes:
        formats: formats in which it did not.
        moved: what moved, in words.
        still: what did not, in words.
        beside: what to think of that no file holds.
        why: the reason in one line.
        source: where that is known from.
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
    """Two versions of a book compared; everything a face may tell, in the order of reading.

    Attributes:
        verdict: the outcome in one line.
        outcome: the same for programs.
        blocked: whether a new finding is at or above the severity given.
        base: the older version.
        head: the newer version.
        notes: how the versions were chosen, and what to know before reading on.
        kinds: sorts of change in all files.
        files: files that are not as they were, formats first.
        touched: formats that the change reaches.
        thresholds: from when on an effect or a margin is reported, in words.
        checks: findings that came, went or changed, the gravest first.
        former: values that pass now and fail at the former limits, targets, metals and the like.
        revisions: breaches of the rules of revision; they are among the checks too.
        unchanged: findings of the touched formats and of the book that are as they were.
        sheets: setup sheets whose code changed.
        lines: lines on which something changes.
        prompts: what usually moves too.
        approvals: roles whose approval is required.
        not_judged: what could not be judged, and why.
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
