"""Marks in bad specs: each offending line ends in `# expect: stage.name`, several names by commas."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from kb.book.finding import Finding

_MARK = re.compile(r"# expect: ([a-z-]+\.[a-z-]+(?:, [a-z-]+\.[a-z-]+)*)$")


def marked(path: Path) -> list[tuple[int, str]]:
    """What a bad spec's marks expect: line and name of each finding, in order."""
    found = []
    for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), start=1):
        if mark := _MARK.search(line):
            found += [(number, name) for name in mark[1].split(", ")]
    return sorted(found)


def reported(findings: Iterable[Finding]) -> list[tuple[int, str]]:
    """Line and name of each finding, in order, to be compared with `marked`."""
    return sorted((finding.place.span.line, finding.name) for finding in findings)
