"""What a review says of the use of what changed: sheets, lines with their changeovers, what is shared."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SheetMoved:
    """A setup sheet whose code changed; a code is "" where there is no sheet.

    Attributes:
        recorded: whether the new code stands in the register.
        why: why there is no sheet now, "" where there is one.
    """

    format: str
    line: str
    status: str
    old: str
    new: str
    recorded: bool
    why: str


@dataclass(frozen=True, slots=True)
class Sharing:
    """Formats that use the same end, metal, cup tools or pack as a changed one.

    Attributes:
        what: what is shared, in words.
        still: formats that share it now.
        parted: formats that shared it and do so no more.
        joined: formats that share it only now.
    """

    what: str
    still: tuple[str, ...]
    parted: tuple[str, ...]
    joined: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PairMoved:
    """A changeover whose class or planned stop is another one, with the first crew of the line.

    Attributes:
        old: the format that goes, as it is called now; `new` the one that comes.
        before: the stop before, in minutes; none where it cannot be planned.
        after: the stop now, likewise.
        kind_before: its class before.
        kind_after: its class now.
        proven_before: whether no shorter stop was possible; else it was the best found.
        proven_after: whether no shorter stop is possible, likewise.
        why: why it cannot be planned, "" where it can in both.
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
        formats: formats on it that the change reaches; none where only the way of changing over moved.
        changeovers: ordered pairs of its formats that the change reaches, other than by limits and waivers.
        compared: how many of them were planned in both versions, or call for the same work in both.
        moved: those of another class or length; those of another class first, then the longest moves.
        came: ordered pairs that were not there before.
        went: ordered pairs that are there no more.
    """

    id: str
    title: str
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
