"""Changeovers in the site: pages say what the plans say, every pair is reachable, cost is bounded."""

from __future__ import annotations

import datetime
import json
import re
import shutil
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from kb.book.load import Book, load
from kb.changeover.week_notes import left_out_words
from kb.changeover.whole import change, ordered, sheet_of
from kb.folders import shipped
from kb.publish import changeovers
from kb.publish.build import publish
from kb.publish.changeover_pages import LETTERS, change_sheets, changeover_pages
from kb.publish.changeovers import LineChanges, all_changes, levers
from kb.publish.edition import Edition, gather
from tests.publish.conftest import DAY


@pytest.fixture(scope="module")
def book() -> Book:
    """The demo book."""
    return load(shipped("specs"), shown="specs")


@pytest.fixture(scope="module")
def edition(book: Book) -> Edition:
    """The demo book as it is published."""
    return gather(book, DAY)


@pytest.fixture(scope="module")
def lines(edition: Edition) -> dict[str, LineChanges]:
    """The changeovers of the demo lines."""
    return edition.changes


def data_of(text: str) -> dict[str, Any]:
    """What the chooser looks up."""
    found: dict[str, Any] = json.loads(text.removeprefix("window.sizebookChangeovers = ").rstrip(";\n"))
    return found


def test_every_ordered_pair_of_a_line_is_told(book: Book, lines: dict[str, LineChanges]) -> None:
    """Each line has all ordered pairs of its formats in use, each planned or with its reason."""
    for line, one in lines.items():
        made = {
            ident
            for ident, spec in book.of("size-format").items()
            if line in spec.record.lines and spec.record.status != "withdrawn"
        }
        assert set(one.formats) == made
        assert set(one.pairs) == {(old, new) for old in made for new in made if old != new}
        assert all((pair.plan is None) == bool(pair.why_not) for pair in one.pairs.values())


def test_every_pair_with_a_page_is_linked_from_matrix_formats_and_chooser(
    site: Path, lines: dict[str, LineChanges]
) -> None:
    """Page, sheet and cards of a pair are there; matrix, both formats and chooser lead to them."""
    found = data_of((site / "changeovers/pairs.data.js").read_text(encoding="utf-8"))
    chooser = {line["id"]: line["pairs"] for line in found["lines"]}
    for line, one in lines.items():
        matrix = (site / f"changeovers/{line}.html").read_text(encoding="utf-8")
        for (old, new), pair in one.pairs.items():
            assert pair.has_page
            for name in (f"{pair.name}.html", f"{pair.name}.sheet.html", f"{pair.name}.cards.html"):
                assert (site / "changeovers" / name).is_file()
            assert f'href="{pair.name}.html"' in matrix
            assert chooser[line][f"{old}>{new}"]["name"] == pair.name
            for ident in (old, new):
                shown = (site / f"formats/{ident}.html").read_text(encoding="utf-8")
                assert f'href="../changeovers/{pair.name}.html"' in shown


def test_the_sheet_is_the_one_of_the_command(book: Book, edition: Edition) -> None:
    """A pair's code in chooser and sheet is that of the sheet made for this pair alone."""
    pages = dict(changeover_pages(edition, change_sheets(edition)))
    old, new, line = "regular-330", "regular-330-lantern", "heron"
    alone = change(book, old, new, line, "heron-days")
    made = datetime.datetime.combine(DAY, datetime.time())
    sheet = sheet_of(book, alone, made=made)
    chosen = data_of(pages["changeovers/pairs.data.js"])["lines"][0]["pairs"][f"{old}>{new}"]
    assert chosen["code"] == sheet.code
    assert chosen["minutes"][:2] == [alone.durations.planned, alone.durations.nine_in_ten]
    assert sheet.code in pages[f"changeovers/{line}.{old}.{new}.sheet.html"]


def test_each_cell_of_a_matrix_has_minutes_and_a_letter_of_the_legend(
    site: Path, lines: dict[str, LineChanges]
) -> None:
    """Cells stand row by row from the old format, with stop and class; the legend explains each letter."""
    for line, one in lines.items():
        text = (site / f"changeovers/{line}.html").read_text(encoding="utf-8")
        cells = re.findall(r'<a href="([^"]+)\.html" title="[^"]*"><b>(\d+)</b> <small>(.)</small></a>', text)
        expected = [
            (pair.name, str(pair.minutes), LETTERS[pair.difference.kind])
            for old in one.formats
            for new in one.formats
            if (pair := one.pairs.get((old, new)))
        ]
        assert cells == expected
        legend = set(re.findall(r"<li><b>(.)</b>", text))
        assert {letter for *_, letter in cells} == legend


def test_cautions_stand_on_the_page_of_every_pair(site: Path, lines: dict[str, LineChanges]) -> None:
    """Each page says whose word goes first, and what to leave alone."""
    for one in lines.values():
        for pair in one.pairs.values():
            text = (site / f"changeovers/{pair.name}.html").read_text(encoding="utf-8")
            assert "Caution." in text
            assert "isolation procedure" in text
            assert "Leave alone:" in text


def test_a_lever_never_lengthens_the_stop(lines: dict[str, LineChanges]) -> None:
    """What is told to shorten a stop does, the best first."""
    told = 0
    for one in lines.values():
        for pair in one.pairs.values():
            assert pair.plan is not None
            found = levers(pair.plan)
            told += len(found)
            assert [lever.then for lever in found] == sorted(lever.then for lever in found)
            assert all(0 < lever.then < pair.plan.stop.length for lever in found)
    assert told


def test_the_weeks_tell_both_orders(site: Path, lines: dict[str, LineChanges]) -> None:
    """A week's page has every run in both orders, the better one, and what that leaves out."""
    titles = {crew.id: crew.title for one in lines.values() for crew in one.crews}
    for one in lines.values():
        assert one.weeks
        for ident, plan in one.weeks.items():
            assert not isinstance(plan, str)
            given, best = plan.order.given, plan.order.best
            assert (best.lateness, best.lost) <= (given.lateness, given.lost)
            assert sorted(p.batch.number for p in best.placed) == sorted(p.batch.number for p in given.placed)
            text = (site / f"changeovers/week-{ident}.html").read_text(encoding="utf-8")
            assert f"As given: {(given.lost + 30) // 60} min lost" in text
            assert f"As found: {(best.lost + 30) // 60} min lost" in text
            assert "Not counted in the order found:" in text
            plain = unescape(text)
            assert all(sentence in plain for sentence in left_out_words(plan))
            assert f"by crew {titles[plan.week.crew]} ({plan.week.crew})" in plain


def test_pages_name_their_crew_and_those_without_a_plan(site: Path, lines: dict[str, LineChanges]) -> None:
    """Pair, matrix and chooser say for whom they are planned, and what to type for every other crew."""
    for line, one in lines.items():
        assert one.crew is not None
        assert one.others
        pair = next(iter(one.pairs.values()))
        names = (pair.difference.old, pair.difference.new)
        pages = {f"{pair.name}.html": names, f"{line}.html": ("A", "B"), "index.html": ("A", "B")}
        for name, (old, new) in pages.items():
            text = unescape((site / f"changeovers/{name}").read_text(encoding="utf-8"))
            assert f"Planned for crew {one.crew.title} ({one.crew.id})" in text
            for other in one.others:
                assert f"sizebook changeover {old} {new} --line {line} --crew {other.id}" in text


def test_a_week_is_that_of_its_own_crew(book: Book) -> None:
    """A week planned for the second crew of a line has an order, and no links to pages of the first."""
    week = replace(book.of("week")["heron-49"].record, crew="heron-nights")
    plan = ordered(book, week)
    assert plan.order.best.lost > ordered(book, replace(week, crew="heron-days")).order.best.lost
    assert plan.left_out.other_crews == ("heron-days",)


def test_search_knows_a_changeover_by_both_formats(site: Path) -> None:
    """The lines stand in the index with their formats; the many pages of pairs crowd out no others."""
    index = json.loads((site / "search/search_index.json").read_text(encoding="utf-8"))
    texts = {one["location"]: one["text"] for one in index["docs"]}
    assert not [location for location in texts if location.startswith("changeovers/heron.regular-")]
    assert "changeovers/index.html#top" in texts
    told = " ".join(text for location, text in texts.items() if location.startswith("lines/heron.html"))
    assert "regular-330" in told
    assert "regular-355" in told


def test_a_line_with_too_many_pairs_has_its_matrix_and_the_command(
    book: Book, lines: dict[str, LineChanges], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond the most pairs no page of a pair is written; matrix and chooser stay, and name the command."""
    counts = {line: len(one.pairs) for line, one in lines.items()}
    assert counts["plover"] < counts["heron"]
    monkeypatch.setattr(changeovers, "MOST_PAIRS", counts["plover"])
    edition = gather(book, DAY)
    pages = dict(changeover_pages(edition, change_sheets(edition)))
    names = [name for name in pages if name.count(".") > 1 and not name.endswith(".js")]
    assert names
    assert not [name for name in names if name.startswith("changeovers/heron.")]
    assert "sizebook changeover FROM TO --line heron" in pages["changeovers/heron.md"]
    found = data_of(pages["changeovers/pairs.data.js"])["lines"]
    heron = next(one for one in found if one["id"] == "heron")
    assert all("minutes" in pair and "name" not in pair for pair in heron["pairs"].values())


def test_a_book_that_does_not_say_how_it_changes_over_is_published(tmp_path: Path) -> None:
    """Without changeover.yaml each line says that nothing can be told, and the site is built."""
    folder = tmp_path / "book"
    shutil.copytree(shipped("specs"), folder)
    (folder / "changeover.yaml").unlink()
    shutil.rmtree(folder / "weeks")
    publish(load(folder, shown="specs"), tmp_path / "site", day=DAY)
    text = (tmp_path / "site/changeovers/index.html").read_text(encoding="utf-8")
    assert text.count("Nothing can be told of changeovers here") == 2
    assert not list((tmp_path / "site/changeovers").glob("*.sheet.html"))


def test_a_pair_the_line_cannot_run_says_why(tmp_path: Path) -> None:
    """A machine's range that stops a format stands below the matrix, and the cell has no minutes."""
    folder = tmp_path / "book"
    shutil.copytree(shipped("specs"), folder)
    path = folder / "lines/heron.yaml"
    text = path.read_text(encoding="utf-8")
    changed = re.sub(r"(can_height: \S+ to )\d+(\.\d+)?( mm)", r"\g<1>165\3", text)
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    one = all_changes(load(folder, shown="specs"))["heron"]
    stopped = {new for (_, new), pair in one.pairs.items() if pair.why_not}
    assert "wide-568" in stopped
    assert all("can height" in why for pair in one.pairs.values() for why in pair.why_not)
