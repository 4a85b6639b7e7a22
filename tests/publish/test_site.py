"""The site as a whole: links, what it fetches, repeatability, hostile text, a build that fails."""

from __future__ import annotations

import hashlib
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag

import pytest

from kb.book.load import load
from kb.folders import shipped
from kb.publish import build
from kb.publish.build import publish
from tests.publish.conftest import DAY
from tests.publish.kill import publish_small, whole


class Page(HTMLParser):
    """Links, anchors and loaded files of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: set[str] = set()
        self.loaded: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what the tag links to, is called and loads."""
        named = {name: value or "" for name, value in attrs}
        if "id" in named:
            self.ids.add(named["id"])
        if tag == "a" and "href" in named:
            self.links.append(named["href"])
        if tag in {"script", "img", "iframe"} and named.get("src"):
            self.loaded.append(named["src"])
        if tag == "link" and named.get("rel") in {"stylesheet", "icon", "preload"}:
            self.loaded.append(named["href"])


@pytest.fixture(scope="module")
def pages(site: Path) -> dict[Path, Page]:
    """Every page of the site, parsed."""
    return {path: Page(path.read_text(encoding="utf-8")) for path in sorted(site.rglob("*.html"))}


def test_every_link_and_anchor_resolves(site: Path, pages: dict[Path, Page]) -> None:
    """A link inside the site leads to a file that is there, and its anchor to a place in it."""
    lost = []
    for path, page in pages.items():
        for link in page.links:
            if re.match(r"[a-z]+:", link):
                continue
            target, anchor = urldefrag(link)
            file = (path.parent / unquote(target)).resolve() if target else path
            if not file.is_file() or (anchor and file in pages and unquote(anchor) not in pages[file].ids):
                lost.append(f"{path.relative_to(site)} -> {link}")
    chosen = [one for one in lost if "changeovers/index.html#" in one]
    keep = [one for one in lost if "__" not in one and "compare.html#" not in one and one not in chosen]
    assert keep == []
    choices = (site / "changeovers/pairs.data.js").read_text(encoding="utf-8")
    ids = {ident for one in chosen for ident in one.partition("#")[2].split(",")}
    assert ids
    assert [ident for ident in ids if f'"id":"{ident}"' not in choices] == []


def test_nothing_is_fetched_from_outside(pages: dict[Path, Page]) -> None:
    """Scripts, styles and pictures all are in the site itself."""
    outside = {name for page in pages.values() for name in page.loaded if re.match(r"(https?:)?//", name)}
    assert outside == set()


def test_every_format_has_its_page_and_walk(site: Path) -> None:
    """Each format of the book is published; each that has a route can be walked through."""
    ids = sorted(path.stem for path in (shipped("specs") / "formats").glob("*.yaml"))
    assert sorted(p.stem for p in (site / "formats").glob("*.html") if p.stem in ids) == ids
    assert sorted(p.stem for p in (site / "process").glob("*.html") if p.stem != "index") == ids


def _digest(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_same_book_gives_the_same_bytes(
    site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A second build elsewhere, from a copy of the book and without any kept plan, differs in no byte."""
    monkeypatch.setenv("SIZEBOOK_CACHE", str(tmp_path / "cache"))
    book = tmp_path / "other" / "book"
    shutil.copytree(shipped("specs"), book)
    for again in ("again", "warm"):
        publish(load(book, shown="specs"), tmp_path / again, day=DAY)
    assert _digest(tmp_path / "again") == _digest(tmp_path / "warm")
    first, second = _digest(site), _digest(tmp_path / "again")
    assert sorted(first) == sorted(second)
    assert [name for name in first if first[name] != second[name]] == []


HOSTILE = "<script>alert(1)</script> **b** {{ 7*7 }} [x](javascript:alert(2)) `c` | # &amp;"


def test_text_of_a_spec_shows_as_text(small: Path, tmp_path: Path) -> None:
    """HTML, Markdown, template and script in a title and a note are shown, not obeyed."""
    book = tmp_path / "book"
    shutil.copytree(small, book)
    path = book / "formats/b211-440.yaml"
    text = path.read_text(encoding="utf-8")
    quoted = "'" + HOSTILE.replace("'", "''") + "'"
    text = re.sub(r"^why: .*$", lambda _: f"why: {quoted}", text, flags=re.MULTILINE)
    text = re.sub(
        r"^title: .*$", "title: '<b>x</b> **b** {{ 7*7 }} [x](javascript:1) `c`'", text, flags=re.MULTILINE
    )
    path.write_text(text, encoding="utf-8")
    publish(load(book, shown="specs"), tmp_path / "site", day=DAY)
    shown = (tmp_path / "site/formats/b211-440.html").read_text(encoding="utf-8")
    index = (tmp_path / "site/formats/index.html").read_text(encoding="utf-8")
    assert "<script>alert(1)" not in shown
    assert 'href="javascript:' not in shown + index
    assert "<b>x</b>" not in re.sub(r"<title>.*?</title>", "", shown + index)
    assert "<title>Format: &lt;b&gt;x&lt;/b&gt;" in shown
    assert "<strong>b</strong>" not in shown + index
    assert "49" not in re.findall(r"<h1.*?</h1>", shown, re.DOTALL)[0]
    visible = "".join(_Text(shown).parts)
    assert "<b>x</b> **b** {{ 7*7 }} [x](javascript:1) `c`" in visible


class _Text(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.parts: list[str] = []
        self.feed(text)

    def handle_data(self, data: str) -> None:
        self.parts.append(data)


def test_a_build_that_fails_leaves_the_last_good_site(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the pages cannot be built, the former site is still there, and no other file."""
    out = tmp_path / "site"
    publish_small(out, small, "the last good one")
    real = build.pages

    def broken(edition: object) -> object:
        yield from real(edition)  # type: ignore[arg-type]
        yield "index.md", "[nowhere](not-there.md)"

    monkeypatch.setattr(build, "pages", broken)
    with pytest.raises(build.PublishError, match="not-there"):
        publish(load(small, shown="specs"), out, day=DAY)
    assert whole(out) == "the last good one"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["site"]


def test_a_relative_folder_is_taken_from_here(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`--to build/site` is a folder below the current one."""
    monkeypatch.chdir(tmp_path)
    publish(load(small, shown="specs"), Path("build/site"), day=DAY)
    assert (tmp_path / "build/site/index.html").is_file()
