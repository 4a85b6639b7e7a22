"""What the generated pages say: glossary links, units, faults with the plant's numbers, stations, history."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import markdown
import pytest
from markupsafe import Markup

from kb.book.load import Book, load
from kb.folders import shipped
from kb.publish.edition import Edition, gather
from kb.publish.fault_pages import Declared
from kb.publish.fields import anchor
from kb.publish.format_page import FEW_MARGINS, SHOWN
from kb.publish.page import in_markdown, printed
from kb.publish.terms import head, knowledge, term_of
from kb.publish.words import SIGNS, slug, typeset
from kb.sheet.issue import issues
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
def texts(site: Path) -> dict[str, str]:
    """Every page of the site but the sheets, which are made for paper, by its path."""
    return {
        name: text
        for path in sorted(site.rglob("*.html"))
        if "md-content" in (text := path.read_text(encoding="utf-8"))
        and (name := path.relative_to(site).as_posix())
    }


def plain(markup: str) -> str:
    """What a reader sees of some HTML, on one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", markup)).split())


def article(text: str) -> str:
    """The part of a page that is its own."""
    return text[text.index("<article") : text.index("</article>")]


# --- table heads and the glossary -------------------------------------------------------------

NAMES = {
    one["id"]: {name.casefold() for name in (one["term"], *one["also_called"])}
    for one in knowledge("glossary")
}
LINKED = re.compile(r'<a class="sb-term" href="(?:\.\./)*glossary\.html#([^"]+)"[^>]*>(.*?)</a>')


def heads(text: str) -> list[str]:
    """The heads of rows and columns of all tables of a page."""
    return re.findall(r"<th(?:\s[^>]*)?>(.*?)</th>", article(text), re.DOTALL)


def meant(words: str) -> str:
    """The words of a head before its unit or its condition."""
    return re.split(r"[,(]", plain(words))[0].strip().casefold()


def test_a_linked_head_is_a_term_or_another_name_of_it(texts: dict[str, str]) -> None:
    """No head leads to an entry whose term, and each of whose other names, is another word."""
    links = [
        (name, ident, words)
        for name, text in texts.items()
        for one in heads(text)
        for ident, words in LINKED.findall(one)
    ]
    assert len({ident for _, ident, _ in links}) >= 25
    assert [one for one in links if meant(one[2]) not in NAMES[one[1]]] == []


def test_every_head_that_is_a_term_is_linked(texts: dict[str, str]) -> None:
    """A head whose words the glossary explains leads there, unless it leads somewhere else already."""
    known = set().union(*NAMES.values())
    bare = {
        (name, plain(one))
        for name, text in texts.items()
        for one in heads(text)
        if meant(one) in known and "<a " not in one
    }
    assert bare == set()


def test_each_page_shows_the_meaning_of_its_terms_once(texts: dict[str, str]) -> None:
    """The first link to a term carries its meaning, those after it do not repeat it."""
    for text in texts.values():
        matches = re.findall(r'<a class="sb-term" href="[^"]*#([^"]+)" title="([^"]+)">', text)
        assert len({ident for ident, _ in matches}) == len(matches)
        assert {ident for ident, _ in matches} == {ident for ident, _ in LINKED.findall(text)}


@pytest.mark.parametrize(
    ("words", "ident"),
    [
        ("gauge", "gauge"),
        ("gauge, mm", "gauge"),
        ("Thin wall", "thin-wall"),
        ("axial load, empty (estimate)", "axial-load"),
        ("ears, peak to valley", "earing"),
        ("gauge over blank diameter", None),
        ("to be reviewed", None),
        ("", None),
    ],
)
def test_a_head_means_a_term_by_its_own_words_alone(words: str, ident: str | None) -> None:
    """Unit and condition do not count, every other word does."""
    entry = term_of(words)
    assert (entry["id"] if entry else None) == ident


def test_a_head_cannot_break_the_page() -> None:
    """Words of a spec in a head are text."""
    assert head("<b>x</b> & y", "../", set()) == "&lt;b&gt;x&lt;/b&gt; &amp; y"
    assert "<b>" not in head("gauge, <b>mm</b>", "../", set())


# --- units ------------------------------------------------------------------------------------


class Seen(HTMLParser):
    """The texts a reader sees, code and scripts left out."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.parts: list[str] = []
        self._closed = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Pass over what is written letter for letter."""
        self._closed += tag in {"code", "script", "style"}

    def handle_endtag(self, tag: str) -> None:
        """Read on."""
        self._closed -= tag in {"code", "script", "style"}

    def handle_data(self, data: str) -> None:
        """Keep a text."""
        if not self._closed:
            self.parts.append(data)


def test_units_are_printed_as_they_are_in_print(texts: dict[str, str]) -> None:
    """No page shows mm3 for mm³, degC for °C or um for µm, outside of what is to be typed."""
    raw = re.compile(rf"(?<![\w/])(?:{'|'.join(map(re.escape, SIGNS))})(?![\w/])")
    found = [
        (name, part.strip()) for name, text in texts.items() for part in Seen(text).parts if raw.search(part)
    ]
    assert found == []


def test_units_of_looked_up_values_too(site: Path) -> None:
    """The scripts behind comparing and the walk hold printed units."""
    scripts = [site / "assets/book.js", *sorted((site / "process").glob("*.data.js"))]
    assert len(scripts) > 10
    for path in scripts:
        text = path.read_text(encoding="utf-8")
        assert [unit for unit in SIGNS if f'"{unit}"' in text] == [], path.name


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("8 deg", "8°"),
        ("at least -3 degC and at most 98 degC", "at least -3 °C and at most 98 °C"),
        ("metal, mm3", "metal, mm³"),
        ("11.2 m/s2", "11.2 m/s²"),
        ("deg", "°"),
        ("4 degrees of freedom", "4 degrees of freedom"),
        ("a sum of 3 umbrellas", "a sum of 3 umbrellas"),
        ("3 mm", "3 mm"),
    ],
)
def test_typesetting(text: str, shown: str) -> None:
    """Units behind numbers, at the end behind a comma, or alone are set; words are not."""
    assert typeset(text) == shown


def test_names_and_markup_are_not_typeset() -> None:
    """A value with a blank is printed as print has it; names, addresses and markup stay letter for letter."""
    made = printed("4 degC"), printed("can-5deg.html"), printed(Markup("<b>5 deg</b>")), printed(5)
    assert made == ("4 °C", "can-5deg.html", Markup("<b>5 deg</b>"), 5)


def test_a_value_in_a_heading_is_no_markup() -> None:
    """Markdown, HTML and a further line in a title of a spec are text in its heading."""
    given = "a *b* [c](d) `e` <f> # {#g}\n## h & 8 deg"
    made = markdown.markdown(f"# {in_markdown(given)} {{#top}}", extensions=["attr_list"])
    assert html.unescape(made) == '<h1 id="top">a *b* [c](d) `e` <f> # {#g} ## h & 8°</h1>'
    assert "<f>" not in made


# --- drawings ---------------------------------------------------------------------------------


def test_a_page_with_drawings_links_their_style(site: Path, texts: dict[str, str]) -> None:
    """However many drawings a page has, the style of all is in one file, which the page links."""
    drawn = [text for text in texts.values() if 'class="dw"' in text]
    assert sum(text.count('class="dw"') > 5 for text in drawn) > 10
    assert all("assets/sheet/drawing.css" in text for text in drawn)
    assert not any("@supports (color:var(--dw-ink))" in text for text in texts.values())
    style = (site / "assets/sheet/drawing.css").read_text(encoding="utf-8")
    assert "@supports (color:var(--dw-ink))" in style


# --- faults -----------------------------------------------------------------------------------


def rows_of(text: str) -> dict[str, str]:
    """The rows of a fault's numbers by format."""
    return dict(re.findall(r'<tr data-id="([^"]+)"[^>]*>(.*?)</tr>', text, re.DOTALL))


def fault_texts(texts: dict[str, str]) -> Iterator[tuple[dict[str, object], str]]:
    """Each fault with its page."""
    for fault in knowledge("faults"):
        yield fault, article(texts[f"faults/{fault['id']}.html"])


def test_a_fault_shows_every_format_s_numbers(texts: dict[str, str], edition: Edition) -> None:
    """Where a cause names a check or a value, the page has a row for each format, thinnest margin first."""
    for fault, text in fault_texts(texts):
        rows, numbers = rows_of(text), any(one["keys"] or one["checks"] for one in fault["causes"])  # type: ignore[index,attr-defined]
        assert sorted(rows) == (sorted(edition.formats) if numbers else []), fault["id"]
        rooms = [
            min(map(float, re.findall(r'data-room="([^"]+)"', row)), default=9e9) for row in rows.values()
        ]
        assert rooms == sorted(rooms), fault["id"]


def test_a_cause_points_to_columns_of_its_own_checks_and_values(texts: dict[str, str]) -> None:
    """The numbers of a cause are as many as its checks and values, and each is a column of the table."""
    for fault, text in fault_texts(texts):
        pointed = re.findall(r'<li data-drivers="([^"]*)"', text)
        causes: list[dict[str, list[str]]] = fault["causes"]  # type: ignore[assignment]
        assert [len(one.split()) for one in pointed] == [
            len(one["checks"]) + len(one["keys"]) for one in causes
        ], fault["id"]
        columns = {len(re.findall(r"<t[dh][ >]", row)) - 1 for row in rows_of(text).values()} or {0}
        assert columns == {len({int(i) for one in pointed for i in one.split()})}, fault["id"]


def test_the_room_of_a_cell_is_the_thinnest_margin_of_its_check(
    texts: dict[str, str], edition: Edition
) -> None:
    """On the page of a torn can the first check's cell is that check's worst verdict of the format."""
    fault = next(one for one in knowledge("faults") if one["id"] == "tear-off")
    first = next(name for cause in fault["causes"] for name in cause["checks"])
    for ident, row in rows_of(article(texts["faults/tear-off.html"])).items():
        (room, *_) = re.findall(r'<td data-room="([^"]+)"', row)
        margins = [one.margin for one in edition.formats[ident].verdicts if one.rule.name == first]
        assert float(room) == pytest.approx(min(margins), abs=1e-4), ident


def test_a_declared_value_is_the_format_s_own(book: Book) -> None:
    """Values of format, its end, its metal, its lines, the plant and the limits are found by their keys."""
    record = book.of("size-format")["b211-330"].record
    declared = Declared(book, record)
    format_data = book.of("size-format")["b211-330"].document.data()
    assert declared.shown("stock.gauge") == format_data["stock"]["gauge"]
    rings = [one["bore"] for one in format_data["ironing"]["rings"]]
    assert declared.shown("ironing.rings[].bore") == ", ".join(rings)
    assert declared.shown("end") == record.end
    assert declared.shown("end.gauge") == book.of("end")[record.end].document.data()["gauge"]
    assert declared.shown("plant.warmest") == book.only("plant").document.data()["warmest"]  # type: ignore[union-attr]
    assert declared.shown("line.machines[].plug_diameter") != "–"
    assert declared.shown("fill.no_such_key") == "–"


# --- formats ----------------------------------------------------------------------------------


def test_nothing_a_route_says_is_lost_in_folding(texts: dict[str, str], edition: Edition) -> None:
    """Every computed value and every judged margin of a format is on its page, at its station."""
    homes = {results.key: station.id for station in SHOWN for results in station.results}
    for ident, one in edition.formats.items():
        assert one.routed is not None
        text = article(texts[f"formats/{ident}.html"])
        parts = dict(re.findall(r'<h2 id="([^"]+)">(.*?)(?=<h2 id=|$)', text, re.DOTALL))
        for section in one.routed.report.sections:
            here = parts[homes[section.station.partition("[")[0].partition(".")[0]]]
            seen = plain(here)
            for row in section.rows:
                assert row.words in seen, (ident, row.words)
                for verdict in row.verdicts:
                    assert verdict.what in seen, (ident, verdict.what)
                    assert f'checks/{verdict.rule.name}.html"' in here


def test_failed_margins_are_never_folded(texts: dict[str, str], edition: Edition) -> None:
    """What is outside its limit, and the thinnest margins, stand before the fold."""
    for ident in edition.formats:
        text = article(texts[f"formats/{ident}.html"])
        folded = re.findall(r'<details class="sb-fold">(.*?)</details>', text, re.DOTALL)
        assert len(folded) == len(SHOWN)
        assert [one for one in folded if "sb-failed" in one] == []
        matches = re.findall(r'<div class="sb-details">(.*?)<details', text, re.DOTALL)
        assert max(one.count("<tr>") for one in matches) >= FEW_MARGINS


def test_the_strip_leads_to_every_station(texts: dict[str, str], edition: Edition) -> None:
    """The strip of a format's page names the top, each station and what comes after them."""
    for ident in edition.formats:
        text = article(texts[f"formats/{ident}.html"])
        (strip,) = re.findall(r'<nav class="sb-strip".*?</nav>', text, re.DOTALL)
        wanted = {"top", "tightest", *(one.id for one in SHOWN), "metal", "lines", "findings", "history"}
        assert wanted <= set(re.findall(r'href="#([^"]+)"', strip))


def test_the_history_has_every_issue_of_the_sheets(
    texts: dict[str, str], edition: Edition, book: Book
) -> None:
    """Recorded sheet codes stand with their day, the revision with its reason, the newest first."""
    for ident, one in edition.formats.items():
        text = article(texts[f"formats/{ident}.html"])
        table = text[text.index('id="history"') :]
        seen = plain(table)
        assert one.record.why in seen.replace(" °", "°") or plain(typeset(one.record.why)) in seen
        revisions = [int(shown) for shown in re.findall(r'<th scope="row"[^>]*>(\d+)</th>', table)]
        assert revisions[0] == one.record.revision
        assert revisions == sorted(revisions, reverse=True)
        assert one.record.effective in seen
        for line in one.record.lines:
            for issue in issues(book, ident, line):
                assert issue.code in seen
                assert issue.in_force in seen


def test_anchors_of_tables_are_unique(texts: dict[str, str]) -> None:
    """No two places of a page have one name."""
    for name, text in texts.items():
        ids = re.findall(r'\sid="([^"]+)"', article(text))
        assert len(ids) == len(set(ids)), (name, [one for one in ids if ids.count(one) > 1][:3])
    assert slug("ironed[0]") == "ironed-0"
    assert anchor("ironing.rings[].bore") == "ironing-rings-bore"
