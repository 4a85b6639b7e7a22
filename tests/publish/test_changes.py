"""The changes of a book: what its repository shows, the page, the feed, each format's history, the sheets."""

from __future__ import annotations

import datetime
import html
import re
import shutil
from pathlib import Path
from xml.etree import ElementTree

import pytest

from kb.book.load import Book, load
from kb.checks.catalog import NAMES
from kb.history.log import NOT_ASKED, BookLog, read_log
from kb.publish.changes import changes_pages, feed, history
from kb.publish.edition import Edition, gather
from kb.publish.format_page import format_page
from kb.publish.page import Context
from kb.sheet.content import content
from kb.sheet.issue import issue
from kb.sheet.last_recorded_sheet import with_meaning
from tests.review.story import NO_IDENTITY, R330, SLEEK, SLIM, Story, git

DAY = datetime.date(2026, 11, 25)
ATOM = "{http://www.w3.org/2005/Atom}"
SUBJECT = "Gauge <script>alert(1)</script> & **down**"
GAUGE = ("gauge: 0.262 ±0.004 mm", "gauge: 0.258 ±0.004 mm")


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory, demo: Book) -> Story:
    """A book changed in five steps, with a commit between them that leaves it alone."""
    with pytest.MonkeyPatch.context() as patched:
        for name, value in NO_IDENTITY.items():
            patched.setenv(name, value)
        made = Story(tmp_path_factory.mktemp("house"), demo)
        shutil.copy(demo.root / "sheet-codes.yaml", made.book / "sheet-codes.yaml")
        made.commit("register")
        made.raised(R330, GAUGE)
        made.commit("gauge")
        git(made.folder, "commit", "--quiet", "--amend", "--message", SUBJECT, day=made.day)
        (made.folder / "notes.txt").write_text("beside the book\n", encoding="utf-8")
        made.commit("beside")
        made.put(SLEEK, "kind: size-format", "# a remark\nkind: size-format")
        made.commit("remark")
        made.write(SLIM, (demo.root / SLIM).read_text(encoding="utf-8"))
        made.commit("added")
        made.write(SLIM, "kind: size-format\nid: b202-200\n")
        made.commit("broken")
    return made


@pytest.fixture(scope="module")
def past(story: Story) -> BookLog:
    """What the repository of the story shows."""
    return read_log(story.book, NAMES)


@pytest.fixture(scope="module")
def edition(story: Story, past: BookLog) -> Edition:
    """The story's book with its past."""
    return gather(load(story.book, shown="specs"), DAY, past=past)


@pytest.fixture(scope="module")
def revision(demo: Book) -> int:
    """The revision to which the story raises its format."""
    return int(demo.of("size-format")["b211-330"].record.revision) + 1


def lines_of(past: BookLog) -> dict[str, dict[str, tuple[str, ...]]]:
    """Lines of each file by the subject of the commit."""
    return {step.subject: {one.file.id: one.lines for one in step.files} for step in past.commits}


def test_commits_that_touch_the_book_are_reported_the_newest_first(story: Story, past: BookLog) -> None:
    """Each such commit is there once with its day; one beside the book is left out."""
    assert [one.subject for one in past.commits] == [
        "broken",
        "added",
        "remark",
        SUBJECT,
        "register",
        "start",
    ]
    assert [one.first for one in past.commits] == [False] * 5 + [True]
    assert past.commits[0].oid == git(story.folder, "rev-parse", "broken")
    assert [one.day for one in past.commits] == sorted((one.day for one in past.commits), reverse=True)
    assert past.why_no_more == "All commits of the book are listed."


def test_a_commit_is_reported_by_its_meaning(past: BookLog) -> None:
    """A size is reported old and new with its difference; a remark, a new file and a broken one in words."""
    shown = lines_of(past)
    (gauge,) = shown[SUBJECT].values()
    assert gauge == ("stock gauge: 0.262 ±0.004 mm → 0.258 ±0.004 mm (−0.004 mm)",)
    assert shown["remark"] == {"b204-355": ("no change in meaning", "comments")}
    assert shown["added"]["b202-200"][0].startswith("added")
    assert [lines[0] for lines in shown["broken"].values()] == ["invalid"]


def test_a_change_brings_its_revision_and_reason(past: BookLog, revision: int) -> None:
    """A format's change knows the revision it made and why."""
    (moved,) = next(one for one in past.commits if one.subject == SUBJECT).files
    assert moved.revision == revision
    assert moved.why.endswith(f"revision {revision}.")
    assert "target moved" in moved.file.kinds


def test_so_many_commits_are_reported_as_given(story: Story, past: BookLog) -> None:
    """The last ones are reported as in the whole, with a line that there are more; none without a limit."""
    two = read_log(story.book, NAMES, 2)
    assert two.commits == past.commits[:2]
    assert two.why_no_more == "The last 2 commits of the book are listed."
    assert read_log(story.book, NAMES, 0) == BookLog((), NOT_ASKED)


def test_a_shallow_clone_says_so(story: Story, tmp_path: Path) -> None:
    """The commit at which a clone ends is not taken for the book's beginning."""
    git(tmp_path, "clone", "--quiet", "--depth", "2", story.folder.as_uri(), "clone")
    found = read_log(tmp_path / "clone" / "specs", NAMES)
    assert [one.subject for one in found.commits] == ["broken"]
    assert not found.commits[0].first
    assert "shallow" in found.why_no_more


def test_without_a_repository_the_register_is_reported(demo: Book, story: Story, tmp_path: Path) -> None:
    """A book outside of any repository says so, and shows the codes recorded."""
    book = tmp_path / "specs"
    shutil.copytree(story.book, book)
    found = read_log(book, NAMES)
    assert found.commits == ()
    assert "not in a repository" in found.why_no_more
    edition = gather(load(book, shown="specs"), DAY, past=found)
    text = dict(changes_pages(Context(edition, (), {}, {})))["changes.md"]
    assert "not in a repository" in text
    codes = {one.code for one in edition.book.only("sheet-codes").record.codes}  # type: ignore[union-attr]
    assert codes
    assert [one for one in codes if one not in text] == []


def test_a_book_that_is_not_committed_says_so(story: Story, tmp_path: Path) -> None:
    """In a repository without a commit of the book there is a plain line and no failure."""
    git(tmp_path, "init", "--quiet")
    shutil.copytree(story.book, tmp_path / "specs")
    assert read_log(tmp_path / "specs", NAMES) == BookLog(
        (), "No commit of the repository contains the book yet."
    )


def test_the_page_shows_texts_as_text(edition: Edition) -> None:
    """A commit's subject and the values are shown, not obeyed; a file leads to its page."""
    text = dict(changes_pages(Context(edition, (), {}, {})))["changes.md"]
    assert "<script>alert" not in text
    assert "**down**" not in text
    assert "stock gauge: 0.262 ±0.004 mm → 0.258 ±0.004 mm" in html.unescape(text)
    assert 'href="formats/b211-330.html"' in text
    assert 'href="changes.atom"' in text


# --- the feed ---------------------------------------------------------------------------------


def parsed(edition: Edition) -> ElementTree.Element:
    """The feed as a tree."""
    return ElementTree.fromstring(feed(edition))


MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")


@pytest.mark.parametrize("with_past", [True, False])
def test_the_feed_has_what_its_standard_asks(edition: Edition, with_past: bool) -> None:
    """Id, title, moment, author and links are there as RFC 4287, section 4.1 has them, without any host."""
    shown = edition if with_past else gather(edition.book, DAY)
    root = parsed(shown)
    entries = root.findall(f"{ATOM}entry")
    assert root.tag == f"{ATOM}feed"
    assert entries
    assert len(root.findall(f"{ATOM}author/{ATOM}name")) == 1
    for one in (root, *entries):
        for name in ("id", "title", "updated"):
            found = one.findall(f"{ATOM}{name}")
            assert len(found) == 1
            assert found[0].text
        moment = one.findtext(f"{ATOM}updated") or ""
        assert MOMENT.fullmatch(moment)
        assert (one.findtext(f"{ATOM}id") or "").startswith("urn:uuid:")
        links = one.findall(f"{ATOM}link[@rel='alternate']")
        assert len(links) == 1
    ids = [one.findtext(f"{ATOM}id") for one in (root, *entries)]
    assert len(set(ids)) == len(ids)
    assert {one.get("rel") for one in root.findall(f"{ATOM}link")} == {"self", "alternate"}
    assert [one.get("href") for one in root.iter(f"{ATOM}link") if ":" in one.get("href", "")] == []
    assert all(len(one.findall(f"{ATOM}content")) == 1 for one in entries)


def test_every_entry_leads_to_its_place_on_the_page(edition: Edition) -> None:
    """The anchor of each entry is a heading of the page."""
    anchors = set(
        re.findall(r"\{#([\w-]+)\}", dict(changes_pages(Context(edition, (), {}, {})))["changes.md"])
    )
    wanted = {
        one.find(f"{ATOM}link").get("href", "").partition("#")[2]  # type: ignore[union-attr]
        for one in parsed(edition).findall(f"{ATOM}entry")
    }
    assert wanted
    assert wanted <= anchors


def test_ids_stay_as_the_book_goes_on(story: Story, edition: Edition, past: BookLog) -> None:
    """An entry keeps its id and moment when there are newer ones."""

    def reported(one: Edition) -> dict[str | None, str | None]:
        entries = parsed(one).findall(f"{ATOM}entry")
        return {entry.findtext(f"{ATOM}id"): entry.findtext(f"{ATOM}updated") for entry in entries}

    before = gather(edition.book, DAY, past=BookLog(past.commits[2:], ""))
    assert reported(before).items() < reported(edition).items()
    assert feed(edition) == feed(
        gather(load(story.book, shown="specs"), DAY, past=read_log(story.book, NAMES))
    )


# --- formats and sheets -----------------------------------------------------------------------


def test_a_format_shows_its_revisions(edition: Edition, revision: int) -> None:
    """Each revision has its day, reason, what moved and the codes of its sheets; the newest is first."""
    now, before = history(edition, edition.formats["b211-330"])[:2]
    assert (now.revision, before.revision) == (revision, revision - 1)
    assert now.moved == ("stock gauge: 0.262 ±0.004 mm → 0.258 ±0.004 mm (−0.004 mm)",)
    assert now.why.endswith(f"revision {revision}.")
    assert now.codes == []
    assert before.codes
    text = html.unescape(format_page(edition, edition.formats["b211-330"], {}))
    assert now.moved[0] in text
    assert before.codes[0][0] in text


def test_a_sheet_without_words_in_the_register_shows_the_meaning(edition: Edition, past: BookLog) -> None:
    """What is new comes from the repository; code and fingerprint stay, and words of the register win."""
    made = datetime.datetime(2026, 11, 25)
    plain = issue(content(edition.book, "b211-330", "heron"), edition.book, made=made)
    assert plain.changed == ()
    meant = with_meaning(plain, past.of_format("b211-330"), 5)
    assert meant.changed == ("stock gauge: 0.262 ±0.004 mm → 0.258 ±0.004 mm (−0.004 mm)",)
    assert (meant.code, meant.digest, meant.content) == (plain.code, plain.digest, plain.content)
    assert with_meaning(meant, BookLog().of_format("b211-330"), 5) == meant
