"""Changeovers of the demo book worked out once, planned by the rule alone, and their sheets."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

import pytest

from kb.book.load import Book
from kb.changeover.plan import PlannedChangeover, change, crew_of, sheet_of
from kb.changeover.sheet_model import ChangeSheet
from tests.conftest import Shelf

MADE = datetime.datetime(2026, 11, 2, 3, 0)
"""When the copies are made: every released format is effective, the waiver of the demo book runs."""

LABEL = "b211-330 b211-330-lantern heron"
METAL = "b211-330 b211-500 heron"
BACK = "b211-500 b211-330 heron"
DIAMETER = "b204-330 b202-250 plover"
NECK = "b204-330 b204-330-200 plover"
TRIAL = "b204-330 b204-355 plover"
DRAFT = "b211-330 b211-440-light heron"
NAMES = (LABEL, METAL, BACK, DIAMETER, NECK, TRIAL, DRAFT)
"""From one format to another on a line."""


@pytest.fixture(scope="session")
def changed(demo: Book) -> Mapping[str, PlannedChangeover]:
    """The changeovers, each with the first crew of its line."""
    found = {}
    for name in NAMES:
        old, new, line = name.split()
        found[name] = change(demo, old, new, line, crew_of(demo, line), effort=0)
    return Shelf(found)


@pytest.fixture(scope="session")
def change_sheets(demo: Book, changed: Mapping[str, PlannedChangeover]) -> Mapping[str, ChangeSheet]:
    """Their sheets."""
    return Shelf({name: sheet_of(demo, one, made=MADE) for name, one in changed.items()})
