"""The changes of a book: a page, and the same as an Atom feed that works from disk."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

from kb.book.finding import one_line
from kb.book.records_floor import SheetCode
from kb.history.log import Commit, FileChange
from kb.publish.book_pages import KIND_FOLDERS
from kb.publish.draft import draft_words
from kb.publish.edition import Edition
from kb.publish.page import Context, Pages, Rendered
from kb.publish.templates import page
from kb.sheet.issue import codes

MOST_FILES = 12
"""Files of one commit that are told one by one; the rest is a count."""

PAGE, FEED = "changes", "changes.atom"

_ATOM = "http://www.w3.org/2005/Atom"
_WORDS = uuid.uuid5(uuid.NAMESPACE_URL, "tag:sizebook,2026:changes")
"""What the names of all entries are made from, so that they stay as they are from copy to copy."""


def changes_pages(context: Context) -> Rendered:
    """The page of changes and its feed, by path."""
    edition = context.edition
    yield (
        f"{PAGE}.md",
        page(
            "changes.md",
            title="Changes",
            up="",
            steps=[_step(edition, one) for one in edition.past.commits],
            why=edition.past.why_no_more,
            recorded=[_issue(edition, one) for one in _issues(edition)],
            feed=FEED,
        ),
    )
    yield FEED, feed(edition)


def _step(edition: Edition, one: Commit) -> dict[str, Any]:
    more = len(one.files) - MOST_FILES
    return {
        "id": _anchor(one),
        "day": one.day,
        "commit": one.oid[:12],
        "subject": one.subject,
        "first": one.first,
        "files": [
            {
                "name": _name(file),
                "href": _href(edition, file),
                "kinds": ", ".join(file.file.kinds),
                "revision": file.revision,
                "lines": file.lines,
            }
            for file in one.files[:MOST_FILES]
        ],
        "more": max(0, more),
    }


def _anchor(one: Commit) -> str:
    return f"c-{one.oid[:12]}"


def _name(one: FileChange) -> str:
    file = one.file
    return file.title if file.title.casefold() == file.id.replace("-", " ") else f"{file.title} ({file.id})"


def _href(edition: Edition, one: FileChange) -> str:
    """The page of a file in this copy, "" where it has none."""
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
    """The changes as an Atom feed: commits where there are any, else what the register of codes tells.

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
    _text(root, "id", _urn(plant.id if plant else "", "feed"))
    _text(root, "title", title if edition.draft is None else f"{draft_words(edition.draft)}: {title}")
    _text(root, "updated", max((one["updated"] for one in entries), key=_moment, default=start))
    _text(ElementTree.SubElement(root, _tag("author")), "name", plant.title if plant else "sizebook")
    for rel, href in (("self", FEED), ("alternate", f"{PAGE}.html")):
        ElementTree.SubElement(root, _tag("link"), {"rel": rel, "href": href})
    for one in entries:
        entry = ElementTree.SubElement(root, _tag("entry"))
        _text(entry, "id", one["id"])
        _text(entry, "title", one["title"])
        _text(entry, "updated", one["updated"])
        ElementTree.SubElement(entry, _tag("link"), {"rel": "alternate", "href": one["href"]})
        _text(entry, "content", one["content"], type="text")
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="utf-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'


def _entries(edition: Edition) -> Iterator[dict[str, str]]:
    for step in edition.past.commits:
        per_file = [f"{_name(one)}: {'; '.join(one.lines)}" for one in step.files]
        yield {
            "id": _urn("commit", step.oid),
            "title": step.subject or "no subject",
            "updated": step.moment,
            "href": f"{PAGE}.html#{_anchor(step)}",
            "content": "\n".join(per_file) or "nothing in the specs",
        }
    if not edition.past.commits:
        for one in _issues(edition):
            yield {
                "id": _urn(one.format, one.line, str(one.revision), one.digest),
                "title": one_line(f"{one.format} on {one.line}, revision {one.revision}, {one.code}"),
                "updated": f"{one.in_force}T00:00:00Z",
                "href": f"{PAGE}.html#recorded",
                "content": "\n".join(map(one_line, one.changed)) or "recorded",
            }


def _moment(text: str) -> datetime.datetime:
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))


def _urn(*names: str) -> str:
    return uuid.uuid5(_WORDS, "\n".join(names)).urn


def _tag(name: str) -> str:
    return f"{{{_ATOM}}}{name}"


def _text(parent: ElementTree.Element, name: str, text: str, **traits: str) -> None:
    ElementTree.SubElement(parent, _tag(name), traits).text = text


PAGES = (Pages("Changes", "changes.md", changes_pages, under="Reference"),)
