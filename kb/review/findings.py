"""Findings of two checks side by side: what came, went, or is not what it was."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from kb.book.finding import Finding
from kb.checks.names import approval_names
from kb.checks.report import RANK
from kb.checks.words import margin_moved
from kb.review.model import CheckMoved, CheckState

Identity = tuple[str, str, str, str]

_NEWLY: dict[str, CheckState] = {"error": "newly fails", "warning": "newly warns", "note": "newly noted"}

ORDER: tuple[CheckState, ...] = (
    "newly fails",
    "needs approval",
    "newly warns",
    "worsened",
    "newly waived",
    "newly noted",
    "no longer judged",
    "eased",
    "cured",
    "gone with its format",
)


NEW: tuple[CheckState, ...] = ("newly fails", "needs approval", "newly warns", "newly noted")
"""States of a finding that was not there before and that no waiver covers."""


class Sorter:
    """What decides on the fate of a finding beside the finding itself.

    Args:
        name: a file's path below its book
        was: id before of each format, by its id now
        gone: formats of the older version that are in the newer one no more
        unjudged: formats and files of the newer version of which later stages did not run
    """

    def __init__(
        self,
        name: Callable[[str], str],
        was: Mapping[str, str],
        gone: frozenset[str],
        unjudged: frozenset[str],
    ) -> None:
        self._name, self._gone, self._unjudged = name, gone, unjudged
        self._now = {old: new for new, old in was.items()}

    def moved(self, old: Sequence[Finding], new: Sequence[Finding]) -> tuple[list[CheckMoved], list[Finding]]:
        """Findings that came, went or changed, and those that did not.

        Args:
            old: findings of the older version
            new: findings of the newer one

        Returns:
            What moved, the gravest first, and the new findings that are as they were.
        """
        before: dict[Identity, list[Finding]] = {}
        for one in old:
            before.setdefault(self._identity(one, older=True), []).append(one)
        moved, unchanged = [], []
        for one in new:
            twins = before.get(self._identity(one, older=False), [])
            twin = twins.pop(0) if twins else None
            state = _state(twin, one)
            if state is None:
                unchanged.append(one)
            else:
                moved.append(CheckMoved(state, one, twin, _words(state, one, twin)))
        for one in (left for twins in before.values() for left in twins):
            state = self._fate(one)
            moved.append(CheckMoved(state, one, one, one.message))
        moved.sort(key=lambda one: (ORDER.index(one.state), one.finding.order))
        return moved, unchanged

    def _identity(self, one: Finding, *, older: bool) -> Identity:
        """What makes two findings the same one: not the line, which moves, nor the number, which may."""
        file, subject = self._name(one.place.file), one.subject
        if older and subject in self._now:
            file = file.replace(f"/{subject}.yaml", f"/{self._now[subject]}.yaml")
            subject = self._now[subject]
        said = one.place.key or (one.message if one.measure is None else one.measure.what)
        if one.name.startswith(("waiver.", "limits.", "revision.")):
            said = one.message  # positions in a list shift with every entry
        return one.name, file, subject, said

    def _fate(self, one: Finding) -> CheckState:
        if one.subject in self._gone:
            return "gone with its format"
        now = self._now.get(one.subject, one.subject)
        if now in self._unjudged or self._name(one.place.file) in self._unjudged:
            return "no longer judged"
        return "cured"


def _state(old: Finding | None, new: Finding) -> CheckState | None:
    if new.waiver:
        return None if old is not None and old.waiver else "newly waived"
    if new.name in approval_names() and new.severity != "error":
        return "needs approval"
    if old is None or old.waiver or RANK[old.severity] < RANK[new.severity]:
        return _NEWLY[new.severity]
    if RANK[old.severity] > RANK[new.severity]:
        return "eased"
    before, after = (one.measure.margin if one.measure else None for one in (old, new))
    if before is None or after is None or not margin_moved(before, after):
        return None
    return "worsened" if after < before else "eased"


def _words(state: CheckState, new: Finding, old: Finding | None) -> str:
    if old is None:
        return new.message
    if old.waiver and not new.waiver:
        return f"{new.message}; no waiver covers it any more"
    if state in {"worsened", "eased"} and old.message != new.message:
        return f"{new.message}; before: {old.message}"
    return new.message


def newly(moved: Sequence[CheckMoved]) -> Iterator[Finding]:
    """Findings that are there now and were not, and that no waiver covers."""
    return (one.finding for one in moved if one.state in NEW)
