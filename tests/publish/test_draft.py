"""A draft of the site: marked on every page and sheet, and with codes that no released sheet has."""

from __future__ import annotations

import datetime
import hashlib
import io
import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from kb.book.load import Book, load
from kb.changeover.content import Setups, change_content, change_sheet
from kb.changeover.plan import change
from kb.changeover.sheet_model import ChangeSheet
from kb.cli import main
from kb.folders import shipped
from kb.output import html
from kb.publish.build import publish
from kb.publish.page import draft_mark, draft_words
from kb.sheet.content import content
from kb.sheet.documents import setup_document
from kb.sheet.issue import DRAFT_SIGN, SIGNS, code_list, codes, issue
from kb.sheet.model import Sheet
from tests.rendered import cards_pdf, change_page, change_pdf, codes_pdf, sheet_pdf

DAY = datetime.date(2026, 11, 25)
MADE = datetime.datetime(2026, 11, 25, 6, 10)
LABEL = "PR-12 <b>"


@pytest.fixture(scope="module")
def draft(small: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A draft site of the small book, whose label is markup."""
    out = tmp_path_factory.mktemp("draft") / "site"
    publish(load(small, shown="specs"), out, day=DAY, draft=LABEL)
    return out


def both(book: Book) -> tuple[Sheet, Sheet]:
    """One current sheet, and the same as a draft."""
    said = content(book, "b211-330", "heron")
    return issue(said, book, made=MADE), issue(said, book, made=MADE, draft="PR-12")


@pytest.fixture(scope="module")
def sheets(demo: Book) -> tuple[Sheet, Sheet]:
    """The two sheets of the demo book."""
    return both(demo)


def test_every_page_is_marked_once_across_and_first_in_its_title(draft: Path) -> None:
    """No page is without bar and title; each page, and each paper of a page, has the word across it once."""
    pages = sorted(draft.rglob("*.html"))
    texts = {path.relative_to(draft).as_posix(): path.read_text(encoding="utf-8") for path in pages}
    assert len(texts) > 20
    lost = [
        name
        for name, text in texts.items()
        if not re.search(r"<title>DRAFT PR-12 &lt;b&gt;: ", text)
        or text.count('class="sb-draft-bar"') != 1
        or text.count('class="sb-draft-across"') + text.count('aria-hidden="true">DRAFT</div>')
        != max(1, text.count("<article"))
        or LABEL in text
    ]
    assert lost == []


def test_a_released_site_has_no_mark(small: Path, tmp_path: Path) -> None:
    """Without the option no page says of itself that it is a draft."""
    site = tmp_path / "site"
    publish(load(small, shown="specs"), site, day=DAY)
    marks = [path for path in site.rglob("*.html") if "sb-draft" in path.read_text(encoding="utf-8")]
    assert marks == []
    assert '"draft":' not in (site / "assets/book.js").read_text(encoding="utf-8")


def test_the_same_draft_gives_the_same_bytes(small: Path, draft: Path, tmp_path: Path) -> None:
    """A second build of a draft differs in no byte."""
    publish(load(small, shown="specs"), tmp_path / "again", day=DAY, draft=LABEL)
    one, other = (
        {
            path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in folder.rglob("*")
            if path.is_file()
        }
        for folder in (draft, tmp_path / "again")
    )
    assert one == other


def test_a_draft_code_is_no_released_one(demo: Book, small: Path, draft: Path) -> None:
    """Its first sign is in no released code, and what follows is not the code of the same current sheet."""
    real, drafted = both(load(small, shown="specs"))
    assert DRAFT_SIGN not in SIGNS
    assert drafted.code.startswith(f"{DRAFT_SIGN}-")
    assert real.code not in drafted.code
    assert real.digest != drafted.digest
    registered = {one.code for one in codes(demo).codes}
    assert not registered & {drafted.code.removeprefix(f"{DRAFT_SIGN}-")}
    page = (draft / "sheets/b211-330-heron.html").read_text(encoding="utf-8")
    assert drafted.code in page
    assert real.code not in page
    assert real.digest not in page


def test_the_released_sheet_keeps_its_code(demo: Book, sheets: tuple[Sheet, Sheet]) -> None:
    """The code of the current sheet is the one recorded."""
    assert sheets[0].digest in {one.digest for one in codes(demo).codes}


def test_a_draft_says_draft_wherever_it_says_what_it_is(sheets: tuple[Sheet, Sheet]) -> None:
    """Status, mark, square code and reason of a draft all say draft, and none says released."""
    drafted = sheets[1]
    assert drafted.content.identity.status == "draft"
    assert drafted.mark == "DRAFT"
    assert "DRAFT" in drafted.qr
    assert "RELEASED" not in drafted.qr
    assert drafted.unfit[0] == "draft PR-12: not current"
    assert not drafted.recorded


def test_the_mark_is_on_every_page_of_paper(demo: Book, sheets: tuple[Sheet, Sheet]) -> None:
    """Each page of the PDF of a draft's sheet, and of its list of codes, has the word on it."""
    for made in (
        sheet_pdf(sheets[1]),
        codes_pdf(code_list(demo, "heron", made=MADE, draft="PR-12")),
    ):
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(made)).pages]
        assert pages
        assert [number for number, text in enumerate(pages, start=1) if "DRAFT" not in text] == []


def test_a_drafts_list_of_codes_has_drafts_alone(demo: Book, draft: Path) -> None:
    """The list of a line shows no current code, and none is said to be recorded."""
    rows = code_list(demo, "heron", made=MADE, draft="").rows
    assert rows
    assert [row for row in rows if not row.code.startswith(f"{DRAFT_SIGN}-")] == []
    assert {row.in_force for row in rows} == {"not recorded"}
    assert "DRAFT" in (draft / "sheets/codes-heron.html").read_text(encoding="utf-8")


def test_the_look_up_knows_that_its_copy_is_a_draft(draft: Path) -> None:
    """The look-up data of a draft names it, so that no page of it vouches for a sheet."""
    text = (draft / "assets/book.js").read_text(encoding="utf-8")
    assert json.loads(text.partition("=")[2].strip().rstrip(";"))["draft"] == f"DRAFT {LABEL}"


@pytest.fixture(scope="module")
def turned(demo: Book) -> ChangeSheet:
    """A changeover sheet of a draft copy."""
    one = change(demo, "b211-330", "b211-330-lantern", "heron", "heron-days", effort=0)
    both = Setups(
        *(
            issue(content(demo, ident, "heron"), demo, made=MADE, draft="PR-12")
            for ident in ("b211-330", "b211-330-lantern")
        )
    )
    said = change_content(demo, one.plan, one.crew, one.durations, both)
    return change_sheet(said, both, made=MADE)


def test_a_changeover_sheet_of_a_draft_says_so_and_why_once(turned: ChangeSheet) -> None:
    """Its word is DRAFT alone, its reason is reported once, and nobody is sent to a posted list."""
    assert turned.mark == "DRAFT"
    assert turned.unfit == ("both setup sheets: draft PR-12: not current",)
    assert {turned.content.header.old.status, turned.content.header.new.status} == {"draft"}
    page = change_page(turned)
    assert f"Draft. {turned.code} is on no list" in page
    assert "posted list and" not in page
    assert "NOT FOR USE" not in page
    assert page.count('aria-hidden="true">DRAFT</div>') == 1


def test_a_changeover_sheet_of_a_draft_is_marked_on_every_side(turned: ChangeSheet) -> None:
    """Each side of the sheet and of the cards on paper has the word."""
    for made in (change_pdf(turned), cards_pdf(turned)):
        sides = [side.extract_text() for side in PdfReader(io.BytesIO(made)).pages]
        assert [number for number, text in enumerate(sides, start=1) if "DRAFT" not in text] == []


def test_a_mark_is_at_the_beginning_of_a_sheet_and_of_its_title(sheets: tuple[Sheet, Sheet]) -> None:
    """The page of a document begins with the bar, and its tab with the word; the document is as it was."""
    alone = html.page(setup_document(sheets[1]))
    mark = draft_mark(draft_words("PR-12"), across=False)
    made = html.page(setup_document(sheets[1]), before="DRAFT PR-12: ", mark=mark)
    assert made.count("<title>DRAFT PR-12: ") == 1
    assert made.index("<body") < made.index('class="sb-draft-bar"') < made.index("<main>")
    assert "sb-draft-across" not in made.partition("</style>\n<p")[2]
    assert made.partition("<main>")[2] == alone.partition("<main>")[2]


def test_a_label_is_one_short_line() -> None:
    """A label that the page has no room for, or of two lines, is refused in a word."""
    for label in ("x" * 25, "a\nb"):
        done = CliRunner().invoke(main, ["publish", str(shipped("specs")), "--draft", label])
        assert done.exit_code == 2
        assert "at most 24 characters" in done.output


@pytest.mark.parametrize("book", ["specs", "./specs/plant.yaml"])
def test_a_book_taken_for_the_label_is_refused(
    small: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, book: str
) -> None:
    """`--draft specs` names no book: nothing is built of another one, and the right line is reported."""
    shutil.copytree(small, tmp_path / "specs")
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["publish", "--draft", book])
    assert done.exit_code == 2
    assert f"sizebook publish {book} --draft" in done.output
    assert sorted(one.name for one in tmp_path.iterdir()) == ["specs"]


def test_a_draft_does_not_go_where_the_site_is(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a folder a draft goes to build/draft, and the site in build/site stays."""
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["publish", str(small), "--draft", "--as-of", "2026-11-25"])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "build/draft/index.html").is_file()
    assert not (tmp_path / "build/site").exists()
