"""What of two versions could not be judged, and why; many alike are told as one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.book.load import FOLDERS
from kb.checks.report import Skipped
from kb.history.versions import Side, Sides
from kb.review.model import ChangedFile, SheetMoved
from kb.review.reach import Reached
from kb.review.touched import CheckedVersion
from kb.review.words import MOST_ALIKE, folder_of, some


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
