"""A mutated book taken through its check, and what must hold of every outcome."""

from __future__ import annotations

import datetime
import json
import re
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from types import FrameType

import pytest

from kb.book import load as loading
from kb.book import source
from kb.book.finding import Finding
from kb.book.load import load
from kb.checks import check_book, one_format
from kb.output.document import CheckedBook
from kb.output.text import check_text
from tests.hostile.mutations import Mutation

DAY = datetime.date(2026, 11, 2)
LONGEST = 30
"""Seconds after which a check counts as hanging."""


@contextmanager
def in_time(seconds: int) -> Iterator[None]:
    """Fail what takes longer."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise TimeoutError(f"still running after {seconds} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


class Bench:
    """A book on disk, one file of which is changed at a time; files that stay are read once."""

    def __init__(self, root: Path, patch: pytest.MonkeyPatch) -> None:
        self.root = root
        self.texts = {
            file.relative_to(root).as_posix(): file.read_text(encoding="utf-8")
            for file in root.rglob("*.yaml")
        }

        @lru_cache(maxsize=256)
        def reading(raw: bytes, shown: str) -> source.Reading:
            return source.read_text(raw.decode("utf-8"), shown)

        patch.setattr(loading.source, "read", lambda path, shown: reading(path.read_bytes(), shown))
        patch.setattr(one_format, "MOST_FIXED", 0)  # computed fixes are numbers of the route, not of the file
        self.standing = {_sign(one) for one in self.findings_of_book()}

    def findings_of_book(self) -> list[Finding]:
        """All findings of the book as it is on disk; the report of them is made as well."""
        with in_time(LONGEST):
            book = load(self.root, shown="")
            report = check_book(book, today=DAY)
            check_text([CheckedBook("", book, report)])
        return report.findings

    def findings(self, mutation: Mutation) -> list[Finding]:
        """The findings that a mutation adds."""
        file = self.root / mutation.file
        file.write_text(mutation.text, encoding="utf-8")
        try:
            found = self.findings_of_book()
        finally:
            file.write_text(self.texts[mutation.file], encoding="utf-8")
        return [one for one in found if _sign(one) not in self.standing]


def _sign(one: Finding) -> tuple[str, str, str]:
    return one.name, one.place.file, one.message


def faults_of(one: Finding, mutation: Mutation, texts: dict[str, str]) -> Iterator[str]:
    """What is wrong with a finding itself: its lines, its place, its fixes."""
    for what, line in (("message", one.message), *(("fix", fix) for fix in one.fixes)):
        if not line.isprintable() or len(line) > 600 or not line.strip():
            yield f"{what} is not one line: {line!r}"
    for fix in one.fixes:
        if re.search(r"\b(None|null|nan)\b", fix):
            yield f"fix prints no value: {fix}"
        examples = json.dumps(mutation.schema, ensure_ascii=False)
        if any(text in fix and text not in examples for text in sentences(mutation.text)):
            yield f"fix prints the text of another key: {fix}"
    text = mutation.text if one.place.file == mutation.file else texts.get(one.place.file)
    if text is not None:
        lines = re.split("\r\n|\n", text)
        span = one.place.span
        if not 1 <= span.line <= max(len(lines), 1):
            yield f"line {span.line} of {len(lines)}"
        elif not 1 <= span.column <= len(lines[span.line - 1]) + 1:
            yield f"column {span.column} of line {span.line}, which has {len(lines[span.line - 1])}"


@lru_cache(maxsize=64)
def sentences(text: str) -> tuple[str, ...]:
    """Free texts in a file, which no fix may borrow."""
    keys = "about|why|source|title|reason|evidence|text|name|look|safety|avoid|hazard|adjust|never|accept"
    found = re.findall(rf"^\s*(?:- )?(?:{keys}): '?(.{{12,}}?)'?$", text, re.MULTILINE)
    return tuple(dict.fromkeys(one for one in found if not re.search(r"[0-9] ?(?:mm|%|x{9})", one)))
