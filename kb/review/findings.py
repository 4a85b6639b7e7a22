"""Findings of two versions side by side: new, changed, gone; breaches of the rules of revision."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from kb.book import source
from kb.book.finding import Finding
from kb.book.keys import quantity_at
from kb.book.load import Spec
from kb.book.quantity import Quantity, QuantityFault, parse
from kb.book.tree import Scalar
from kb.checks.names import approval_names
from kb.checks.report import RANK
from kb.checks.words import margin_moved
from kb.history.change_types import DOCUMENT, EDITORIAL
from kb.history.value_diff import ChangedFile, below
from kb.history.versions import Files, Match
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
    "no longer checked",
    "eased",
    "fixed",
    "gone with its format",
)


class Sorter:
    """What decides, beside a finding itself, how a review reports it."""

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
        """Findings that came, went or changed, and those that did not."""
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
            return "no longer checked"
        return "fixed"


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
    return (one.finding for one in moved if one.is_new)


# --- what only a review knows -----------------------------------------------------------------

_TIMES = {
    3: "a thousand times",
    2: "a hundred times",
    1: "ten times",
    -1: "a tenth of",
    -2: "a hundredth of",
    -3: "a thousandth of",
}
_SLACK = 0.02
"""Share by which a value may be off a power of ten of the one before, for it changed besides."""


def with_known(findings: Iterable[Finding], found: Sequence[Match], old: Files, new: Files) -> list[Finding]:
    """Findings of the newer version, their fixes by what is known of the older one."""
    renamed = {one.old.id: one.new.id for one in found if one.old and one.new and one.renamed}
    return [_with_value(_with_name(one, renamed), old, new) for one in findings]


def _with_name(one: Finding, renamed: dict[str, str]) -> Finding:
    """A finding that misses an id which has another name now."""
    if not any(fix.startswith(("did you mean", "known:")) for fix in one.fixes):
        return one
    for was, now in renamed.items():
        if re.search(rf"(?<![\w-]){re.escape(was)}(?![\w-])", one.message):
            return replace(one, fixes=(f"write {now}: this change renames {was} to {now}",))
    return one


def _with_value(one: Finding, old: Files, new: Files) -> Finding:
    """A finding on a quantity whose value before is known."""
    if not one.name.startswith("units.") or not one.place.key:
        return one
    name = below(one.place.file, old, new)
    was = _before(old, new, name)
    before = quantity_at(was.record, one.place.key) if was else None
    if before is None:
        return one
    times = _times(before, _line_text(new, name, one.place.key))
    if not times:
        return replace(one, message=f"{one.message}; before: {before.text}")
    fix = f"look for a misplaced decimal point: before, it was {before.text}"
    return replace(one, message=f"{one.message}; {times} the former {before.text}", fixes=(fix, *one.fixes))


def _before(old: Files, new: Files, name: str) -> Spec | None:
    """The older version of a file that has findings now: under its path, or under its id."""
    if name in old.valid:
        return old.valid[name]
    ident = next((ident for ident, file in new.claimed().items() if file == name), None)
    return next((spec for spec in old.valid.values() if spec.id == ident), None)


def _line_text(new: Files, name: str, key: str) -> str:
    document = source.read(new.book.root / name, name).document
    node = document.node(key) if document else None
    return node.text if isinstance(node, Scalar) else ""


def _times(before: Quantity, text: str) -> str:
    """How many times the value before a text says, "" where it is no power of ten."""
    try:
        now = parse(text, before.canonical)
    except QuantityFault:
        return ""
    if not now * before > 0:
        return ""
    power = math.log10(now / before)
    near = abs(10 ** (power - round(power)) - 1) <= _SLACK
    return _TIMES.get(round(power), "") if near else ""


# --- rules of revision ------------------------------------------------------------------------


def revision_faults(found: Sequence[Match], files: Sequence[ChangedFile]) -> Iterator[Finding]:
    """Breaches of the rules between two versions."""
    changed = {(one.kind, one.id): one for one in files}
    for one in found:
        file = changed.get((one.kind, one.id))
        if file is None or one.old is None or not hasattr(one.old.record, "revision"):
            continue
        if one.new is not None:
            yield from _counted(one.old, one.new, file)
        elif "deleted" in file.states and one.old.record.status == "released":
            yield _deleted(one.old)


def controlled(file: ChangedFile) -> list[str]:
    """Keys of a file that mean something else and are neither its words nor its papers."""
    keys = [one.key for one in file.changes if one.kinds != ("re-expressed",)]
    return [key for key in keys if key not in DOCUMENT and key.rpartition(".")[2] not in EDITORIAL]


def _counted(old: Spec, new: Spec, file: ChangedFile) -> Iterator[Finding]:
    before, after = old.record, new.record
    keys = [*(["id"] if file.was else []), *controlled(file)]
    fix = f"write revision: {before.revision + 1}"
    if after.revision < before.revision:
        message = f"revision {after.revision} comes after revision {before.revision}"
        yield _finding(new, "revision", "revision.falls", message, fix)
    elif before.status == "released" and keys and after.revision == before.revision:
        named_keys = f"{', '.join(keys[:3])}{' and more' if len(keys) > 3 else ''}"
        message = f"{named_keys} changed, but revision {before.revision} was released and is unchanged"
        yield _finding(new, "revision", "revision.not-raised", message, fix)
    why, was = getattr(after, "why", None), getattr(before, "why", None)
    if before.status == "released" and keys and why is not None and why == was:
        message = f"`why` still gives the reason of revision {before.revision}"
        fix = "describe in one line the change and its reason"
        yield _finding(new, "why", "revision.no-reason", message, fix)
    effective, since = getattr(after, "effective", ""), getattr(before, "effective", "")
    if effective < since:
        message = f"effective from {effective}, before {since} of the revision it replaces"
        fix = f"write {since} or a later day"
        yield _finding(new, "effective", "revision.effective-back", message, fix)


def _deleted(old: Spec) -> Finding:
    message = f"{old.kind} {old.id} was released and is deleted (place in the older version)"
    fix = "restore the file with status: withdrawn; delete it when nothing uses it"
    return _finding(old, "status", "revision.deleted", message, fix)


def _finding(spec: Spec, key: str, name: str, message: str, fix: str) -> Finding:
    subject = spec.id if spec.kind == "size-format" else ""
    return Finding(name, "error", spec.place(key), message, (fix,), subject=subject)
