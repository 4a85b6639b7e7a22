"""The papers beside a sheet in the site: pages that lead to each other and back, and their PDFs."""

from __future__ import annotations

import re
from pathlib import Path

from kb.book.load import Book
from kb.output.pdf import pages_in
from kb.publish.edition import gather
from kb.publish.sheet_pages import papers
from kb.sheet.content import content
from kb.sheet.documents import SIDES, setup_document
from kb.sheet.issue import issue
from kb.sheet.papers import setup_papers
from tests.publish.conftest import DAY
from tests.sheet.conftest import MADE

KINDS = ("packs", "picks", "readings", "plans")


def test_each_sheet_leads_to_its_papers_and_back(site: Path) -> None:
    """A setup sheet links to format, line and each paper; each paper links to the sheet; all are there."""
    folder = site / "sheets"
    found = sorted(path for path in folder.glob("*-*.html") if not path.name.startswith("codes-"))
    sheets = [path for path in found if path.name.count(".") == 1]
    assert len(found) == len(sheets) * (1 + len(KINDS)) >= 100
    for path in found:
        links = re.search(r'<nav class="sb-back".*?</nav>', path.read_text(encoding="utf-8"), re.DOTALL)
        assert links is not None, path.name
        hrefs = re.findall(r'href="([^"]+)"', links[0])
        assert len(hrefs) == 4 + len(KINDS) + (path in sheets)
        assert sum(one.startswith(("../formats/", "../lines/")) for one in hrefs) == 2
        assert all((folder / one).is_file() for one in hrefs), path.name


def test_changeover_sheets_lead_to_setup_sheets_and_cards(site: Path) -> None:
    """A changeover sheet links to both setup sheets, line, plan and cards."""
    path = site / "changeovers/heron-days.b211-330.b211-500.sheet.html"
    links = re.search(r'<nav class="sb-back".*?</nav>', path.read_text(encoding="utf-8"), re.DOTALL)
    assert links is not None
    hrefs = re.findall(r'href="([^"]+)"', links[0])
    assert {"../sheets/b211-330-heron.html", "../sheets/b211-500-heron.html"} < set(hrefs)
    assert path.name.replace(".sheet.", ".cards.") in hrefs
    assert all((path.parent / one.partition("#")[0]).is_file() for one in hrefs)


def test_pdfs_are_built_and_linked(demo: Book) -> None:
    """A paper that is also a PDF has the file beside its page and a link to it; another has neither."""
    sheet = issue(content(demo, "b211-330", "heron"), demo, made=MADE)
    kinds = [("", (setup_document(sheet),)), (".plans", setup_papers(sheet, "plans"))]
    edition = gather(demo, DAY)
    made = dict(papers(edition, "sheets/one", kinds, (), pdf=("", ".plans")))
    assert set(made) == {"sheets/one.html", "sheets/one.pdf", "sheets/one.plans.html", "sheets/one.plans.pdf"}
    for end in ("", ".plans"):
        assert bytes(made[f"sheets/one{end}.pdf"]).startswith(b"%PDF")  # type: ignore[arg-type]
        assert f'href="one{end}.pdf"' in str(made[f"sheets/one{end}.html"])
    plain = dict(papers(edition, "sheets/one", kinds, (), pdf=()))
    assert set(plain) == {"sheets/one.html", "sheets/one.plans.html"}
    assert 'one.pdf"' not in str(plain["sheets/one.html"])


def test_every_setup_sheet_is_a_pdf_by_default(site: Path) -> None:
    """Each setup sheet has a PDF of at most four pages and a button for it; its papers have none."""
    folder = site / "sheets"
    sheets = [
        path for path in folder.glob("*-*.html") if path.name.count(".") == 1 and "codes-" not in path.name
    ]
    assert len(sheets) >= 20
    for path in sheets:
        made = path.with_suffix(".pdf")
        assert f'href="{made.name}"' in path.read_text(encoding="utf-8"), path.name
        assert pages_in(made.read_bytes()) <= SIDES, path.name
    assert {path.stem for path in folder.glob("*.pdf")} == {path.stem for path in sheets}
