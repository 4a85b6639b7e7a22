"""Two versions of a book compared: what changed, what it reaches, what it does there, and a verdict."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from kb.book.finding import Finding, Severity
from kb.book.load import FOLDERS, Book
from kb.checks import book_faults, check_book
from kb.checks.catalog import NAMES
from kb.checks.names import approval_names
from kb.checks.report import RANK, Report, Skipped
from kb.checks.words import folder_of, plural, some
from kb.history.value_diff import ChangedFile, below, changed_files
from kb.history.versions import Files, Side, Sides, matches, read_both
from kb.review.approvals import approvals
from kb.review.effects import CheckedVersion, thresholds, touched
from kb.review.findings import Sorter, newly, revision_faults, with_known
from kb.review.former import former_fails, paired
from kb.review.loosened import loosened
from kb.review.minutes import THRESHOLD
from kb.review.model import (
    CheckMoved,
    CheckState,
    FormerFails,
    Outcome,
    Review,
    SheetMoved,
    Touched,
)
from kb.review.prompts import prompts
from kb.review.reach import Reached, lines, reach, sheets
from kb.review.versions import sides
from kb.review.words import BETTER, FORMER, MOST_ALIKE


def review(
    base: str,
    head: str | None = None,
    *,
    book: Path | None = None,
    today: datetime.date,
    severity: Severity = "error",
    whole: bool = False,
    require_approval: bool = False,
) -> Review:
    """Compare two versions of a book.

    Raises:
        CannotRead: if a version cannot be had.
        SelectionError: if the book on disk cannot be.
    """
    with sides(base, head, book) as both:
        made = _compared(both, today, severity, whole=whole, require_approval=require_approval)
        return replace(made, verdict=verdict(made))


def _compared(
    both: Sides, today: datetime.date, severity: Severity, *, whole: bool, require_approval: bool
) -> Review:
    """The review, without its verdict."""
    old, new = read_both(both, whole=whole)
    found = matches(old, new)
    files = changed_files(found, old, new, NAMES)
    reached = reach(found, files, old.book, new.book)
    before = _version(old.book, reached, reached.was, today, whole=whole)
    after = _version(new.book, reached, reached.now, today, whole=whole)
    pairs = paired(found, old.book, new.book)
    former = former_fails(pairs, reached, after)
    faulty = bool(old.broken or new.broken)
    moved, unchanged = _sorter(old, new, reached, files, after.report).moved(
        _in_reach(before, reached, faulty),
        [
            *with_known(_in_reach(after, reached, faulty), found, old, new),
            *revision_faults(found, files),
            *loosened(pairs, files, former),
        ],
    )
    least = thresholds(old.book, new.book)
    formats = tuple(touched(reached, files, before, after, least))
    sheets_moved = tuple(sheets(reached, files, old.book, new.book))
    formats = tuple(one for one in formats if _has_report(one, files, sheets_moved, moved))
    on_lines, not_compared = lines(reached, [one.id for one in formats], _faulty(files), old.book, new.book)
    fresh = list(newly(moved))
    approve = approvals(found, files, formats, new_findings=fresh, former=former, books=(old.book, new.book))
    outcome = _outcome(fresh, severity, bool(approve) and require_approval)
    return Review(
        verdict="",
        outcome=outcome,
        blocked=outcome == "blocked",
        base=both.base.version,
        head=both.head.version,
        notes=both.notes,
        kinds=tuple(dict.fromkeys(kind for file in files for kind in file.kinds)),
        files=files,
        touched=formats,
        thresholds=(*least.words(), *([THRESHOLD] if any(one.compared for one in on_lines) else [])),
        checks=tuple(moved),
        former=former,
        revisions=tuple(one for one in fresh if one.name.startswith("revision.")),
        unchanged=tuple(unchanged),
        sheets=sheets_moved,
        lines=on_lines,
        prompts=tuple(prompts(files, _by_file(reached))),
        approvals=approve,
        not_judged=tuple(
            dict.fromkeys([*not_judged(both, (before, after), files, reached, sheets_moved), *not_compared])
        ),
    )


def _outcome(fresh: Sequence[Finding], severity: Severity, required: bool) -> Outcome:
    if any(RANK[one.severity] >= RANK[severity] for one in fresh):
        return "blocked"
    if required or any(one.name in approval_names() for one in fresh):
        return "needs approval"
    return "passes"


# --- checks -----------------------------------------------------------------------------------


def _version(
    book: Book, reached: Reached, names: dict[str, str], today: datetime.date, *, whole: bool
) -> CheckedVersion:
    """One version judged: its formats in reach, and the book as a whole."""
    if whole:
        return CheckedVersion(book, check_book(book, today=today), names)
    wanted = {names[one] for one in reached.judged if one in names}
    report = check_book(book, today=today, formats=wanted)
    report.findings += book_faults(book, today)
    report.findings.sort(key=lambda one: one.order)
    return CheckedVersion(book, report, names)


def _in_reach(version: CheckedVersion, reached: Reached, faulty: bool) -> list[Finding]:
    """Findings on formats in reach and on files; those of other formats are as they were.

    What nothing refers to is looked for in a book without faulty files alone, so with one it is left out.
    """
    here = {version.names[one] for one in reached.judged if one in version.names}
    return [
        one
        for one in version.report.findings
        if (not one.subject or one.subject in here) and not (faulty and one.name == "book.unused")
    ]


def _sorter(old: Files, new: Files, reached: Reached, files: Sequence[ChangedFile], report: Report) -> Sorter:
    faulty = {one.id for one in files if {"invalid", "unreadable", "moved"} & set(one.states)}
    gone = {was for one, was in reached.was.items() if one not in reached.now}
    skipped = {below(one.what, old, new) for one in report.skipped}
    was = {now: reached.was[one] for one, now in reached.now.items() if one in reached.was}
    return Sorter(
        lambda file: below(file, old, new), was, frozenset(gone - faulty), frozenset(skipped | faulty)
    )


# --- what is listed ---------------------------------------------------------------------------


def _has_report(
    one: Touched,
    files: Sequence[ChangedFile],
    sheets_moved: Sequence[SheetMoved],
    moved: Sequence[CheckMoved],
) -> bool:
    """Whether a format that is reached has anything to report."""
    own = any((file.kind, file.id) == ("size-format", one.id) and not file.editorial for file in files)
    result = bool(one.effects or one.folded or one.margins)
    sheet = any(each.format == one.id for each in sheets_moved)
    return (
        own or result or sheet or any(each.finding.subject in {one.id, one.was or one.id} for each in moved)
    )


def _by_file(reached: Reached) -> dict[str, list[str]]:
    """Formats by the file that reaches them."""
    found: dict[str, list[str]] = {}
    for ident, because in reached.judged.items():
        for words in because:
            found.setdefault(words, []).append(ident)
    return found


def _faulty(files: Sequence[ChangedFile]) -> set[str]:
    """Ids of formats that cannot be read in one of the versions; they have not come or gone."""
    states = {"invalid", "unreadable", "moved", "readable again"}
    return {one.id for one in files if one.kind == "size-format" and states & set(one.states)}


def not_judged(
    both: Sides,
    versions: tuple[CheckedVersion, CheckedVersion],
    files: Sequence[ChangedFile],
    reached: Reached,
    sheets_moved: Sequence[SheetMoved],
) -> Iterator[str]:
    """What could not be judged."""
    yield from both.base.left_out
    yield from both.head.left_out
    changed = {one.file for one in files}
    for side, version in zip((both.base, both.head), versions, strict=True):
        here = {version.names[one] for one in reached.judged if one in version.names}
        yield from _stopped(
            side, [one for one in version.report.skipped if one.what in here or one.what in changed]
        )
    for sheet in sheets_moved:
        if sheet.why and sheet.status not in {"withdrawn", "deleted"}:
            yield f"setup sheet {sheet.format}/{sheet.line}: {sheet.why}"
    if any(version.book.broken for version in versions):
        yield "files without references: a file with errors may refer to them"
    if files and versions[1].book.only("floor") is None:
        yield "setup sheets: the book has no floor.yaml that can be read"


def _stopped(side: Side, skipped: Sequence[Skipped]) -> Iterator[str]:
    """Formats and files of one version that later stages did not reach."""
    alike: dict[tuple[bool, str, str], list[str]] = {}
    for one in skipped:
        file = "/" in one.what or one.what.endswith(".yaml")
        stages = ", ".join(one.stages) if not file or f"/{FOLDERS['size-format']}/" in f"/{one.what}" else ""
        alike.setdefault((file, stages, one.why), []).append(one.what)
    where = side.version.words
    for (file, stages, why), names in alike.items():
        if len(names) <= MOST_ALIKE:
            yield from (f"{name} in {where}: {stages or 'its meaning'} ({why})" for name in names)
        elif file:
            beside = f": {stages}" if stages else ""
            fault = why.removeprefix("it has ")
            yield f"{len(names)} files under {folder_of(names)} in {where}{beside} ({fault})"
        else:
            yield f"{len(names)} formats in {where}: {stages} ({why}): {some(names)}"


_HEADS: dict[Outcome, str] = {"blocked": "Blocked", "needs approval": "Needs approval", "passes": "Passes"}

_WORDS: tuple[tuple[CheckState, str, str], ...] = (
    ("newly fails", "check newly fails", "checks newly fail"),
    ("newly warns", "newly warns", "newly warn"),
    ("newly noted", "newly noted", "newly noted"),
    ("worsened", "worsened", "worsened"),
    ("newly waived", "newly waived", "newly waived"),
    ("no longer checked", "no longer checked", "no longer checked"),
)

_APPROVED: tuple[tuple[str, str, str], ...] = (
    ("limit.loosened", "limit loosened", "limits loosened"),
    ("limit.not-compared", "file not compared", "files not compared"),
    ("target.moved-to-pass", "target moved to pass", "targets moved to pass"),
    ("setting.moved-to-pass", "setting moved to pass", "settings moved to pass"),
    ("material.moved-to-pass", "metal moved to pass", "metals moved to pass"),
    ("supply.moved-to-pass", "end moved to pass", "ends moved to pass"),
    ("plant.moved-to-pass", "plant number moved to pass", "plant numbers moved to pass"),
    ("range.moved-to-pass", "line moved to pass", "lines moved to pass"),
    ("limit.source-unchanged", "source unchanged", "sources unchanged"),
    ("material.certificate-unchanged", "certificate unchanged", "certificates unchanged"),
    ("waiver.loosened", "waiver loosened", "waivers loosened"),
)


def verdict(made: Review) -> str:
    """The outcome of a review in one line."""
    if not made.files and not made.checks:
        return "Nothing changed."
    moves = [*_to_approve(made.checks, made.former), *_checks(made.checks)]
    if made.outcome == "needs approval" and not any(
        one.finding.name in approval_names() for one in made.checks
    ):
        moves.append(f"approval required from {', '.join(one.owner for one in made.approvals)}")
    changeovers = sum(one.counted for one in made.lines)
    counts = ((len(made.lines), "line"), (len(made.sheets), "sheet"), (changeovers, "changeover"))
    reach = [plural(count, word) for count, word in counts if count]
    meaning = any(one.changes or set(one.states) != {"no change in meaning"} for one in made.files)
    head = _HEADS[made.outcome]
    if made.outcome == "passes" and not (meaning or made.checks):
        head = "No change in meaning"
    better = any(one.state in BETTER for one in made.checks)
    checks = ", ".join(moves) or ("no check is worse" if better else "no check moved")
    return f"{head}: {checks}; {', '.join(reach) or 'no line and no sheet'}."


def _to_approve(moved: Sequence[CheckMoved], former: Sequence[FormerFails]) -> Iterator[str]:
    """What needs approval, and how many formats fail at former numbers."""
    for name, one, many in _APPROVED:
        count = sum(each.finding.name == name and each.is_new for each in moved)
        if count:
            yield f"{count} {one if count == 1 else many}"
    formats = {one.format for one in former}
    if formats:
        verb = "fails" if len(formats) == 1 else "fail"
        parts = {part for one in former for part in one.because}
        what = FORMER[next(iter(parts))] if len(parts) == 1 else "the former numbers"
        yield f"{plural(len(formats), 'format')} {verb} at {what}"


def _checks(moved: Sequence[CheckMoved]) -> Iterator[str]:
    others = [one for one in moved if one.finding.name not in approval_names()]
    for state, one, many in _WORDS:
        count = sum(each.state == state for each in others)
        if count:
            yield f"{count} {one if count == 1 else many}"
