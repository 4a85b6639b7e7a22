"""The changes of a book: a page by format and value, the same as an Atom feed, each format's history."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any
from xml.etree import ElementTree

from kb.book.finding import one_line
from kb.book.records_floor import SheetCode
from kb.history.log import Commit, FileChange, cut, values_of_revision
from kb.publish.book_pages import KIND_FOLDERS
from kb.publish.edition import Edition, FormatEdition
from kb.publish.page import Context, Pages, Rendered, draft_words, page
from kb.sheet.issue import codes, issues

MOST_FILES = 12
"""Rows of one commit; the rest is a count."""

MOST_NAMES = 3
"""Names in the heading of a commit; the rest is a count."""

MOST_LINES = 12
"""Lines of one revision in a format's history."""

PAGE, FEED = "changes", "changes.atom"

_ATOM = "http://www.w3.org/2005/Atom"
_WORDS = uuid.uuid5(uuid.NAMESPACE_URL, "tag:sizebook,2026:changes")
"""What the names of all entries are made from, so that they stay as they are from copy to copy."""


def changes_pages(context: Context) -> Rendered:
    """The page of changes and its feed, by path."""
    edition = context.edition
    commits = _with_meaning(edition)
    days: dict[str, list[dict[str, Any]]] = {}
    for one, files in commits:
        days.setdefault(one.day, []).append(_commit(edition, one, files))
    yield (
        f"{PAGE}.md",
        page(
            "changes.md",
            title="Changes",
            up="",
            hide=("toc",),
            days=days.items(),
            left_out=len(edition.past.commits) - len(commits),
            why=edition.past.why_no_more,
            recorded=[_issue(edition, one) for one in _issues(edition)],
            feed=FEED,
        ),
    )
    yield FEED, feed(edition)


def _with_meaning(edition: Edition) -> list[tuple[Commit, list[FileChange]]]:
    """The commits that changed what the specs mean, each with its files that did."""
    found = [(one, [file for file in one.files if _meaning(file)]) for one in edition.past.commits]
    return [(one, files) for one, files in found if files or one.first]


def _meaning(one: FileChange) -> bool:
    return bool(one.values) or not set(one.file.states) <= {"changed", "no change in meaning"}


def _commit(edition: Edition, one: Commit, files: Sequence[FileChange]) -> dict[str, Any]:
    """A commit as the page shows it; files with the same changes share a row."""
    alike: dict[tuple[str, ...], list[FileChange]] = {}
    for file in files:
        alike.setdefault(file.lines, []).append(file)
    names = cut([_name(file) for file in files], MOST_NAMES)
    return {
        "id": f"c-{one.oid[:12]}",
        "heading": ", ".join(names) or "the book",
        "subject": one.subject,
        "commit": one.oid[:12],
        "first": one.first,
        "rows": [
            {
                "files": [{"name": _name(file), "href": _href(edition, file)} for file in some],
                "lines": lines,
            }
            for lines, some in list(alike.items())[:MOST_FILES]
        ],
        "more": max(0, len(alike) - MOST_FILES),
    }


def _name(one: FileChange) -> str:
    file = one.file
    return file.id if file.kind in {"size-format", *KIND_FOLDERS} else file.title


def _href(edition: Edition, one: FileChange) -> str:
    """The page of a file in this site build, "" where it has none."""
    kind, ident = one.file.kind, one.file.id
    if kind == "size-format" and ident in edition.formats:
        return f"formats/{ident}.html"
    if kind in KIND_FOLDERS and ident in edition.book.of(kind):
        return f"{KIND_FOLDERS[kind]}/{ident}.html"
    return "limits.html" if kind == "limits" else ""


def _issues(edition: Edition) -> list[SheetCode]:
    """Issues of setup sheets, the newest first; of one day, the last recorded first."""
    last_first = codes(edition.book).codes[::-1]
    return sorted(last_first, key=lambda one: one.in_force, reverse=True)


def _issue(edition: Edition, one: SheetCode) -> dict[str, Any]:
    known = edition.formats.get(one.format)
    return {
        "day": one.in_force,
        "title": known.record.title if known else one.format,
        "href": f"formats/{one.format}.html" if known else "",
        "line": one.line,
        "revision": one.revision,
        "code": one.code,
        "changed": one.changed,
    }


# --- the feed ---------------------------------------------------------------------------------


def feed(edition: Edition) -> str:
    """The changes as an Atom feed: commits, or without any the register of codes.

    Source:
        RFC 4287, sections 4.1.1, 4.1.2 and 4.2: what a feed and an entry must have.
        RFC 4122, section 4.3: names made of names, as `urn:uuid`.
    """
    plant = edition.book.plant
    title = f"{plant.title if plant else 'sizebook'}: changes"
    entries = list(_entries(edition))
    start = f"{edition.day.isoformat()}T00:00:00Z"
    ElementTree.register_namespace("", _ATOM)
    root = ElementTree.Element(_tag("feed"))
    _add(root, "id", _urn(plant.id if plant else "", "feed"))
    _add(root, "title", title if edition.draft is None else f"{draft_words(edition.draft)}: {title}")
    _add(root, "updated", max((one["updated"] for one in entries), key=_moment, default=start))
    _add(_add(root, "author"), "name", plant.title if plant else "sizebook")
    for rel, href in (("self", FEED), ("alternate", f"{PAGE}.html")):
        _add(root, "link", rel=rel, href=href)
    for one in entries:
        entry = _add(root, "entry")
        for name in ("id", "title", "updated"):
            _add(entry, name, one[name])
        _add(entry, "link", rel="alternate", href=one["href"])
        _add(entry, "content", one["content"], type="text")
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="utf-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'


def _entries(edition: Edition) -> Iterator[dict[str, str]]:
    for one, files in _with_meaning(edition):
        yield {
            "id": _urn("commit", one.oid),
            "title": one.subject or "no subject",
            "updated": one.moment,
            "href": f"{PAGE}.html#c-{one.oid[:12]}",
            "content": "\n".join(f"{_name(file)}: {'; '.join(file.lines)}" for file in files)
            or "first commit",
        }
    if not edition.past.commits:
        for issue in _issues(edition):
            name = f"{issue.format} on {issue.line}, revision {issue.revision}, {issue.code}"
            yield {
                "id": _urn(issue.format, issue.line, str(issue.revision), issue.digest),
                "title": one_line(name),
                "updated": f"{issue.in_force}T00:00:00Z",
                "href": f"{PAGE}.html#recorded",
                "content": "\n".join(map(one_line, issue.changed)) or "recorded",
            }


def _moment(text: str) -> datetime.datetime:
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))


def _urn(*names: str) -> str:
    return uuid.uuid5(_WORDS, "\n".join(names)).urn


def _tag(name: str) -> str:
    return f"{{{_ATOM}}}{name}"


def _add(
    parent: ElementTree.Element, name: str, text: str | None = None, **traits: str
) -> ElementTree.Element:
    made = ElementTree.SubElement(parent, _tag(name), traits)
    made.text = text
    return made


# --- the history of a format ------------------------------------------------------------------


@dataclass(slots=True)
class Revision:
    """One revision of a format; what is not known of it is empty.

    Attributes:
        day: its effective date.
        why: its reason.
        moved: the values that changed, old and new.
        codes: code of each sheet with its line and first day.
    """

    revision: int
    day: str = ""
    why: str = ""
    moved: tuple[str, ...] = ()
    codes: list[tuple[str, str, str]] = field(default_factory=list)


def history(edition: Edition, one: FormatEdition) -> list[Revision]:
    """The revisions of a format that book, repository or register know, the newest first."""
    record = one.record
    found = {record.revision: Revision(record.revision, record.effective, record.why)}
    log = list(edition.past.of_format(record.id))
    for step in log:
        if step.revision is not None:
            entry = found.setdefault(step.revision, Revision(step.revision))
            entry.day, entry.why = entry.day or step.effective, entry.why or step.why
    for entry in found.values():
        entry.moved = values_of_revision(log, entry.revision)
    for line in edition.book.of("line"):
        for issue in issues(edition.book, record.id, line):
            entry = found.setdefault(issue.revision, Revision(issue.revision, issue.in_force))
            entry.codes.append((issue.code, line, issue.in_force))
            known = {entry.why, *entry.moved}
            entry.moved += tuple(words for words in issue.changed if words not in known)
    for entry in found.values():
        entry.moved = cut(entry.moved, MOST_LINES)
    return sorted(found.values(), key=lambda entry: entry.revision, reverse=True)


PAGES = (Pages("Changes", "changes.md", changes_pages, under="Reference"),)
