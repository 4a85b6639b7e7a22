"""A folder to run commands in: a small book, a copy of it as it was before, and nothing that hangs."""

from __future__ import annotations

import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb.book.load import Book
from tests.conftest import copy_book

LONGEST = 120
"""Seconds after which a command hangs."""


@pytest.fixture(scope="session")
def small(demo: Book, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of two formats and a week, with all that sheets and changeovers need."""
    root = tmp_path_factory.mktemp("small") / "specs"
    copy_book(demo, root, ["b211-330", "b211-330-beacon"])
    for name in ("floor.yaml", "changeover.yaml", "lines/plover.yaml"):
        shutil.copy(demo.root / name, root / name)
    (root / "weeks").mkdir()
    (root / "weeks/heron-49.yaml").write_text(WEEK, encoding="utf-8")
    return root


WEEK = """\
kind: week
id: heron-49
title: Two runs
owner: line leads
line: heron
crew: heron-days
start: "2026-11-30 06:00"
running: b211-330
rate: 1720 /min
runs:
  - {format: b211-330-beacon, cans: 420000, due: "2026-12-05 18:00"}
  - {format: b211-330, cans: 600000, due: "2026-12-06 18:00"}
"""


TARGETS = """\
kind: design-targets
like: b211-330
id: b211-331
fill: {contents: 331 ml}
keep: [punch, ironing, cup, redraw, dome, blank]
"""
"""Targets near a format of the book, with few sizes to search."""


@pytest.fixture
def place(small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The current folder, with the book in `specs` and a copy in `before`."""
    shutil.copytree(small, tmp_path / "specs")
    shutil.copytree(small, tmp_path / "before")
    (tmp_path / "targets.yaml").write_text(TARGETS, encoding="utf-8")
    (tmp_path / "sizes.csv").write_text("id,fill.contents [ml]\nb211-310,310\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(autouse=True)
def _nothing_hangs() -> Iterator[None]:
    """A command that waits for ever fails its test."""

    def late(*_: object) -> None:
        raise AssertionError(f"still running after {LONGEST} s")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(LONGEST)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)
