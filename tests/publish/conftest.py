"""The demo book published once for all tests of the site, and a small book that is published soon."""

from __future__ import annotations

import datetime
import fcntl
import os
import shutil
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.folders import shipped
from kb.publish.build import publish
from tests.conftest import copy_book

DAY = datetime.date(2026, 11, 25)

TOLD_OF = ("b211-330", "b211-355", "b211-440", "b211-440-light")
"""Formats that the learning path uses."""


def demo_site(factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo book's site, built by the first process of a test run that needs it."""
    own = factory.getbasetemp()
    common = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    out = common / "demo-site"
    with (common / "demo-site.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not out.exists():  # a build that fails leaves nothing here
            publish(load(shipped("specs"), shown="specs"), out, day=DAY)
    return out


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo book's site."""
    return demo_site(tmp_path_factory)


@pytest.fixture(scope="module")
def small(demo: Book, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a small book."""
    folder = tmp_path_factory.mktemp("book") / "specs"
    copy_book(demo, folder, TOLD_OF)
    for name in ("floor.yaml", "sheet-codes.yaml"):
        shutil.copy(demo.root / name, folder / name)
    return folder
