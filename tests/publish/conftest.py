"""The demo book published once, for all tests of the site."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from kb.book.load import load
from kb.folders import shipped
from kb.publish.build import publish

DAY = datetime.date(2026, 11, 25)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo book's site."""
    out = tmp_path_factory.mktemp("publish") / "site"
    publish(load(shipped("specs"), shown="specs"), out, day=DAY)
    return out
