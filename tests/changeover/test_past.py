"""Past changeovers of formats and lines that the book has no more."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.changeover.plan import change
from tests.conftest import MakeBook, put

LATEST = 'line: heron, came_from: b211-330, went_to: b211-500, day: "2026-10-27"'


@pytest.fixture
def book(make_book: MakeBook, demo: Book) -> Callable[[str], Book]:
    """A maker of a small book whose latest past changeover of heron is another."""

    def make(latest: str) -> Book:
        root: Path = make_book(["b211-330", "b211-440", "b211-500"])
        for name in ("floor.yaml", "changeover.yaml", "lines/plover.yaml"):
            (root / name).write_bytes((demo.root / name).read_bytes())
        put(root, "changeover.yaml", LATEST, latest)
        found = load(root, shown="")
        assert [one.message for one in found.findings] == []
        return found

    return make


@pytest.mark.parametrize(
    "latest",
    [
        'line: heron, came_from: mallard-275, went_to: b211-500, day: "2026-10-27"',
        'line: heron, came_from: b211-330, went_to: mallard-275, day: "2026-10-27"',
        'line: grebe, came_from: b211-330, went_to: b211-500, day: "2026-10-27"',
    ],
)
@pytest.mark.parametrize("new", ["b211-500", "b211-440"])
def test_what_is_gone_counts_for_no_pair_and_no_class(
    book: Callable[[str], Book], latest: str, new: str
) -> None:
    """With a format or the line gone, the changeover is of no class any more; the others count as before."""
    found = change(book(latest), "b211-330", new, "heron", "heron-days", effort=0).past
    assert found is not None
    assert found.same_pair == (new == "b211-500")
    assert found.days[0] == "2026-09-22"


def test_while_all_is_there_it_counts(book: Callable[[str], Book]) -> None:
    """The same book with its past as it is has the changeover of October."""
    found = change(book(LATEST), "b211-330", "b211-440", "heron", "heron-days", effort=0).past
    assert found is not None
    assert found.days[0] == "2026-10-27"
