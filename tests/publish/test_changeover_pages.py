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
from markupsafe import Markup

from kb.book.load import Book, load
from kb.changeover.cards import job_cards
from kb.changeover.documents import change_document
from kb.changeover.lever import levers_in_order
from kb.changeover.plan import change, sheet_of
from kb.changeover.sheet_model import ChangeSheet, Job
from kb.changeover.week import notes_on_order, ordered
from kb.folders import shipped
from kb.output import html
from kb.publish import changeovers
from kb.publish.build import publish
from kb.publish.changeover_pages import LETTERS, changeover_pages, crew_pages
from kb.publish.changeovers import LineChanges, Plans, addresses, all_changes, changeover_plans
from kb.publish.edition import Edition, gather
from kb.publish.page import Context
from kb.publish.parts import Parts
from tests.pieces import asked_for, pieces
from tests.pieces import whole as together
from tests.publish.conftest import DAY

WAY_BACK = re.compile(r'<link [^>]*back\.css">\s*<nav class="sb-back".*?</nav>\s*', re.DOTALL)


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


@pytest.fixture(scope="module")
def plans(edition: Edition) -> Plans:
    """The plans of the demo lines."""
    return changeover_plans(edition)


@pytest.fixture(scope="module")
def pages(edition: Edition, plans: Plans) -> dict[str, str]:
    """The sources of all pages about changeovers."""
    return pages_of(context_of(edition, plans))


def pages_of(context: Context) -> dict[str, str]:
    """The sources of all pages about changeovers, of each crew and of all of them."""
    of_crews = (crew_pages(context, crew) for one in context.edition.changes.values() for crew in one.pairs)
    return {path: str(text) for made in (changeover_pages(context), *of_crews) for path, text in made}


def context_of(edition: Edition, plans: Plans) -> Context:
    """What the pages are made from."""
    return Context(edition, (), plans, addresses(plans))


def parts_of(pages: dict[str, str], crew: str) -> list[str]:
    """The pieces that the sheets of a crew share."""
    return pieces(pages[f"changeovers/{crew}.parts.js"])


def whole(page: str, parts: list[str]) -> str:
    """A page with its pieces put in, without the space at the ends of its lines."""
    return "".join(line.strip() for line in together(page, parts).splitlines())


def data_of(text: str) -> dict[str, Any]:
    """What the chooser looks up."""
    found: dict[str, Any] = json.loads(text.removeprefix("window.sizebookChangeovers = ").rstrip(";\n"))
    return found


def test_every_ordered_pair_of_a_line_is_reported(book: Book, lines: dict[str, LineChanges]) -> None:
    """Each crew has all ordered pairs of its line's formats in use, each planned or with its reason."""
    library = book.only("changeover")
    assert library is not None
    for line, one in lines.items():
        made = {
            ident
            for ident, spec in book.of("size-format").items()
            if line in spec.record.lines and spec.record.status != "withdrawn"
        }
        assert set(one.formats) == made
        assert set(one.pairs) == {
            crew.id for crew in book.only("changeover").record.crews if crew.line == line
        }
        for pairs in one.pairs.values():
            assert set(pairs) == {(old, new) for old in made for new in made if old != new}
        assert all((pair.plan is None) == bool(pair.why_not) for pair in one.every)


def test_every_pair_with_a_page_is_linked_from_matrix_formats_and_chooser(
    site: Path, lines: dict[str, LineChanges], plans: Plans
) -> None:
    """Plan, sheet and cards of a pair are there; matrix, both formats and chooser lead to them."""
    at = addresses(plans)
    found = data_of((site / "changeovers/pairs.data.js").read_text(encoding="utf-8"))
    chooser = {crew["id"]: crew["pairs"] for crew in found["crews"]}
    for line, one in lines.items():
        matrix = (site / f"changeovers/{line}.html").read_text(encoding="utf-8")
        for pair in one.every:
            old, new = pair.difference.old, pair.difference.new
            href = at[pair.crew, pair.anchor]
            page, _, anchor = href.partition("#")
            shown = (site / "changeovers" / page).read_text(encoding="utf-8")
            assert f'id="{anchor}"' in shown
            for name in (f"{pair.name}.sheet.html", f"{pair.name}.cards.html"):
                assert (site / "changeovers" / name).is_file()
                assert f'href="{name}"' in shown
            assert f'href="{href}"' in matrix
            assert chooser[pair.crew][f"{old}>{new}"]["href"] == href
            for ident in (old, new):
                shown = (site / f"formats/{ident}.html").read_text(encoding="utf-8")
                assert f'href="../changeovers/{href}"' in shown


def test_the_sheet_is_the_one_of_the_command(
    book: Book, lines: dict[str, LineChanges], pages: dict[str, str]
) -> None:
    """With its pieces put in, each sheet and its cards are those made for the pair alone, sign by sign."""
    made = datetime.datetime.combine(DAY, datetime.time())
    parts = {crew: parts_of(pages, crew) for one in lines.values() for crew in one.pairs}
    for line, one in lines.items():
        for pair in list(one.every)[::17]:
            alone = change(book, pair.difference.old, pair.difference.new, line, pair.crew)
            sheet = sheet_of(book, alone, made=made)
            scripts = (f"{pair.crew}.parts.js", "../assets/js/parts.js")
            for kind, made_of in (("sheet", [change_document(sheet)]), ("cards", job_cards(sheet))):
                site = pages[f"changeovers/{pair.name}.{kind}.html"]
                assert sheet.code in site
                own = WAY_BACK.sub("", site)
                page = html.page(
                    *made_of, shared="../assets/sheet", scripts=scripts, square=html.square_image
                )
                assert whole(own, parts[pair.crew]).replace("\n\n", "\n") == whole(page, [])
            href = data_of(pages["changeovers/pairs.data.js"])
            assert any(
                one["minutes"] == alone.durations.planned
                for crew in href["crews"]
                for one in crew["pairs"].values()
            )


def test_what_many_sheets_share_is_written_once(pages: dict[str, str], lines: dict[str, LineChanges]) -> None:
    """No two pieces of a crew are equal, every piece has its place, and a sheet's own page is thin."""
    for one in lines.values():
        for crew, pairs in one.pairs.items():
            parts = parts_of(pages, crew)
            assert len(set(parts)) == len(parts)
            names = [f"changeovers/{pair.name}" for pair in pairs.values()]
            own = [pages[f"{name}.{kind}.html"] for name in names for kind in ("sheet", "cards")]
            assert asked_for(own, pages[f"changeovers/{crew}.parts.js"]) == set(range(len(parts)))
            assert max(len(pages[f"{name}.sheet.html"]) for name in names) < 8_000


def test_each_cell_of_a_matrix_has_minutes_and_a_letter_of_the_legend(
    site: Path, lines: dict[str, LineChanges], plans: Plans
) -> None:
    """Cells are row by row from the old format, with stop and class; the legend explains each letter."""
    at = addresses(plans)
    for line, one in lines.items():
        text = (site / f"changeovers/{line}.html").read_text(encoding="utf-8")
        cells = re.findall(r'<a href="([^"]+)" title="[^"]*"><b>(\d+)</b> <small>(.)</small></a>', text)
        expected = [
            (at[pair.crew, pair.anchor], str(pair.minutes), LETTERS[pair.difference.kind])
            for pairs in one.pairs.values()
            for old in one.formats
            for new in one.formats
            if (pair := pairs.get((old, new)))
        ]
        assert cells == expected
        legend = set(re.findall(r"<li><b>(.)</b>", text))
        assert {letter for *_, letter in cells} == legend


def test_cautions_are_on_the_page_of_every_plan(site: Path, plans: Plans) -> None:
    """Each page says whose rules go first, and what to leave alone."""
    for plan in (one for line in plans.values() for one in line):
        text = (site / f"changeovers/{plan.name}.html").read_text(encoding="utf-8")
        assert "Caution." in text
        assert "isolation procedure" in text
        assert "Leave alone:" in text


def _jobs(sheet: ChangeSheet) -> tuple[Job, ...]:
    """The jobs of a sheet without their sizes."""
    return tuple(replace(job, sizes=()) for job in sheet.content.jobs)


def test_changeovers_with_one_plan_share_its_page(plans: Plans) -> None:
    """Pairs of one crew with the same jobs at the same times are on one page, and on no other.

    What a job fits or sets is on the papers of each pair.
    """
    for line in plans.values():
        jobs = [(plan.crew.id, _jobs(plan.sheets[0]), plan.sheets[0].content.header.title) for plan in line]
        assert len(set(jobs)) == len(jobs)
        for plan in line:
            assert {_jobs(sheet) for sheet in plan.sheets} == {_jobs(plan.sheets[0])}
    assert sum(len(line) for line in plans.values()) * 4 < sum(
        len(plan.pairs) for line in plans.values() for plan in line
    )


def test_a_lever_never_lengthens_the_stop(plans: Plans) -> None:
    """What is shown to shorten a stop does, the best first."""
    count = 0
    for plan in (one for line in plans.values() for one in line):
        found = plan.pairs[0].plan
        assert found is not None
        levers = levers_in_order(found)
        count += len(levers)
        assert [lever.then for lever in levers] == sorted(lever.then for lever in levers)
        assert all(0 < lever.then < found.stop.length for lever in levers)
    assert count


def test_the_weeks_show_both_orders(site: Path, lines: dict[str, LineChanges]) -> None:
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
            assert "About the order found:" in text
            plain = unescape(text)
            assert all(sentence in plain for sentence in notes_on_order(plan))
            assert f"by crew {titles[plan.week.crew]} ({plan.week.crew})" in plain


def test_pages_name_their_crew(site: Path, lines: dict[str, LineChanges], plans: Plans) -> None:
    """Plan, matrix and chooser say for which crew; every crew of a line has its plans."""
    for line, one in lines.items():
        assert len(one.crews) > 1
        assert {plan.crew.id for plan in plans[line]} == {crew.id for crew in one.crews}
        matrix = (site / f"changeovers/{line}.html").read_text(encoding="utf-8")
        chooser = (site / "changeovers/index.html").read_text(encoding="utf-8")
        for crew in one.crews:
            assert f'id="{crew.id}"' in matrix
            assert f"{crew.title}: all changeovers" in chooser
        for plan in plans[line]:
            text = (site / f"changeovers/{plan.name}.html").read_text(encoding="utf-8")
            assert f"crew {plan.crew.title} ({plan.crew.id}), {len(plan.crew.members)} people" in text


def test_a_week_is_that_of_its_own_crew(book: Book) -> None:
    """A week planned for the second crew of a line has an order, and no links to pages of the first."""
    week = replace(book.of("week")["heron-49"].record, crew="heron-nights", shifts=())
    plan = ordered(book, week)
    assert plan.order.best.lost > ordered(book, replace(week, crew="heron-days")).order.best.lost
    assert plan.left_out.other_crews == ("heron-days",)


def test_a_line_with_too_many_pairs_has_its_matrix_and_the_command(
    book: Book, lines: dict[str, LineChanges], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond the most pairs no page of a pair is written; matrix and chooser stay, and name the command."""
    counts = {line: len(one.formats) * (len(one.formats) - 1) for line, one in lines.items()}
    assert counts["plover"] < counts["heron"]
    monkeypatch.setattr(changeovers, "MOST_PAIRS", counts["plover"])
    edition = gather(book, DAY)
    pages = pages_of(context_of(edition, changeover_plans(edition)))
    names = [name for name in pages if name.count(".") > 1 and not name.endswith(".js")]
    assert names
    assert not [name for name in names if name.startswith("changeovers/heron-")]
    assert "sizebook changeover FROM TO --line heron" in pages["changeovers/heron.md"]
    found = data_of(pages["changeovers/pairs.data.js"])["crews"]
    heron = next(one for one in found if one["line"] == "heron")
    assert all("minutes" in pair and "href" not in pair for pair in heron["pairs"].values())


def test_a_book_that_does_not_say_how_it_changes_over_is_published(tmp_path: Path) -> None:
    """Without changeover.yaml each line says that there is no plan, and the site is built."""
    folder = tmp_path / "book"
    shutil.copytree(shipped("specs"), folder)
    (folder / "changeover.yaml").unlink()
    shutil.rmtree(folder / "weeks")
    publish(load(folder, shown="specs"), tmp_path / "site", day=DAY)
    text = (tmp_path / "site/changeovers/index.html").read_text(encoding="utf-8")
    assert text.count("No changeover can be planned here") == 2
    assert not list((tmp_path / "site/changeovers").glob("*.sheet.html"))


def test_a_pair_the_line_cannot_run_says_why(tmp_path: Path) -> None:
    """A machine's range that stops a format is below the matrix, and the cell has no minutes."""
    folder = tmp_path / "book"
    shutil.copytree(shipped("specs"), folder)
    path = folder / "lines/heron.yaml"
    text = path.read_text(encoding="utf-8")
    changed = re.sub(r"(can_height: \S+ to )\d+(\.\d+)?( mm)", r"\g<1>165\3", text)
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    one = all_changes(load(folder, shown="specs"))["heron"]
    stopped = {pair.difference.new for pair in one.every if pair.why_not}
    assert "b211-568-206" in stopped
    assert all("can height" in why for pair in one.every for why in pair.why_not)


def test_a_piece_is_what_its_script_says() -> None:
    """Quotes of both kinds, backslashes, lines and signs beyond ASCII come back as they were."""
    parts = Parts()
    given = ["""<b title="it's">\\ \\" 5 µm</b>""", "<i>one\ntwo – three</i>", "<u>\u2028'</u>"]
    for piece in given:
        parts(piece, caller=lambda piece=piece: Markup(piece))
    assert pieces(parts.script()) == given
