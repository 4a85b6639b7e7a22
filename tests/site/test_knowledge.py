"""The fault guide, the glossary and the learning path against the book they speak of."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from kb.book.load import Book, Spec
from kb.book.tree import Scalar
from kb.checks.catalog import RULES
from kb.folders import shipped
from kb.publish.fields import field, kinds
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.station import iter_results
from tests.conftest import yaml_values

SITE = shipped("site")
LEARN = SITE / "docs" / "learn"
METHOD = SITE / "docs" / "faults" / "method.md"
STEPS = tuple(sorted(page for page in LEARN.glob("*.md") if page.name != "index.md"))
PAGES = (LEARN / "index.md", *STEPS, METHOD)
MADE = {"../changeovers/index.md"}
"""Pages that every site has and that publishing makes; the test of all links of the site follows them."""

FIGURES = {"can", "blank", "cup", "redrawn", "ironing", "dome", "trim", "neck", "flange", "seam"}
PARTS = [
    "what it is",
    "why",
    "what goes wrong",
    "what we measure",
    "a number by hand",
    "questions",
    "answers",
]
"""The parts of each step; a heading is the step's subject and one of them."""

PLACEHOLDER = re.compile(r"\{\{ ([a-z]+) ([^{}]+?) \}\}")


def knowledge(name: str) -> dict[str, Any]:
    """A file of the site as plain values."""
    content: dict[str, Any] = yaml_values(SITE / f"{name}.yaml")
    return content


FAULTS: list[dict[str, Any]] = knowledge("faults")["faults"]
TERMS: list[dict[str, Any]] = knowledge("glossary")["terms"]
CAUSES = [(fault["id"], cause) for fault in FAULTS for cause in fault["causes"]]


def key_exists(key: str) -> bool:
    """Whether a key is one of the size format, or of the kind of file it begins with."""
    kind, _, rest = key.partition(".")
    return any(_declared(*one) for one in (("size-format", key), (kind, rest)))


def _declared(kind: str, key: str) -> bool:
    if kind not in kinds():
        return False
    try:
        field(kind, key)
    except KeyError:
        return False
    return True


def section(page: Path, part: str) -> str:
    """The text below the heading of a part of a step."""
    text = page.read_text(encoding="utf-8")
    return re.split(rf"\n## [^\n]+: {part}\n", text, maxsplit=1)[1].split("\n## ", 1)[0]


def numbered(text: str) -> list[int]:
    """Numbers of the items of a numbered list."""
    return [int(number) for number in re.findall(r"^(\d+)\. ", text, re.MULTILINE)]


# --- the two files ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["faults", "glossary"])
def test_a_file_is_as_its_schema_says(name: str) -> None:
    """Schema and file are valid, and the file names its schema for the editor."""
    schema = json.loads((SITE / "schema" / f"{name}.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    faults = [
        f"{error.json_path}: {error.message}"
        for error in Draft202012Validator(schema).iter_errors(knowledge(name))
    ]
    assert faults == []
    first = (SITE / f"{name}.yaml").read_text(encoding="utf-8").split("\n", 1)[0]
    assert first == f"# yaml-language-server: $schema=schema/{name}.json"


@pytest.mark.parametrize(("name", "item"), [("faults", "faults"), ("glossary", "terms")])
def test_a_schema_refuses_what_it_does_not_know(name: str, item: str) -> None:
    """A misspelt key in an entry is a fault of shape."""
    schema = json.loads((SITE / "schema" / f"{name}.json").read_text(encoding="utf-8"))
    content = knowledge(name)
    content[item][0]["meening"] = "x"
    assert not Draft202012Validator(schema).is_valid(content)


def test_there_is_enough_to_know() -> None:
    """The guide and the glossary hold at least as much as was promised."""
    assert len(FAULTS) >= 52
    assert len(TERMS) >= 115


@pytest.mark.parametrize(("entries", "name"), [(FAULTS, "title"), (TERMS, "term")])
def test_no_name_leads_to_two_entries(entries: list[dict[str, Any]], name: str) -> None:
    """Ids are unique, and no name or other name means two entries."""
    assert [ident for ident, count in Counter(one["id"] for one in entries).items() if count > 1] == []
    names = Counter(
        called
        for one in entries
        for called in {one[name].casefold(), *(other.casefold() for other in one["also_called"])}
    )
    assert [called for called, count in names.items() if count > 1] == []


@pytest.mark.parametrize(("name", "item"), [("faults", "faults"), ("glossary", "terms")])
def test_entries_stand_in_process_order(name: str, item: str) -> None:
    """Entries of one station stand together, stations in the order the file declares, none empty."""
    content = knowledge(name)
    order = [one["id"] for one in content["stations"]]
    found = [one["station"] for one in content[item]]
    assert set(found) == set(order)
    assert [order.index(one) for one in found] == sorted(order.index(one) for one in found)


def test_the_glossary_knows_the_stations_of_the_fault_guide() -> None:
    """A station of a fault has words in the glossary."""
    assert {one["station"] for one in FAULTS} <= {one["station"] for one in TERMS}


def test_keys_exist() -> None:
    """Every key named by a cause or a term is declared in a schema."""
    named = [(ident, key) for ident, cause in CAUSES for key in cause["keys"]]
    named += [(term["id"], term["key"]) for term in TERMS if "key" in term]
    assert [one for one in named if not key_exists(one[1])] == []


@pytest.mark.parametrize(
    ("key", "known"),
    [
        ("ironing.rings[].bore", True),
        ("stock.gauge", True),
        ("end.curl_opening", True),
        ("end", True),
        ("limits.settings.<setting>.calibrated", True),
        ("ironing.ring.bore", False),
        ("end.curl", False),
        ("can.gauge", False),
        ("material", False),
    ],
)
def test_a_wrong_key_would_be_noticed(key: str, known: bool) -> None:
    """The test of keys distinguishes declared ones from others."""
    assert key_exists(key) is known


def test_checks_exist() -> None:
    """Every check named by a cause or a term is in the catalog."""
    named = [(ident, check) for ident, cause in CAUSES for check in cause["checks"]]
    named += [(term["id"], term["check"]) for term in TERMS if "check" in term]
    assert [one for one in named if one[1] not in RULES] == []


def test_causes_stand_with_the_most_usual_first() -> None:
    """A reader who stops after the first cause has read the likeliest."""
    for fault in FAULTS:
        for before, after in pairwise(fault["causes"]):
            assert before["usual"] >= after["usual"], fault["id"]


def test_every_fault_has_a_place_and_a_symptom() -> None:
    """The filters of the index find each fault, and no choice of a filter is empty."""
    content = knowledge("faults")
    for key, name in (("place", "places"), ("symptom", "symptoms")):
        assert {one[key] for one in FAULTS} == {one["id"] for one in content[name]}


def test_at_least_forty_faults_are_drawn() -> None:
    """A fault without a drawing is a jam between machines, or one that only a scale or a count shows."""
    drawn = {one["id"] for one in FAULTS if "drawing" in one}
    assert len(drawn) >= 40
    assert {one["id"] for one in FAULTS} - drawn == {
        "cup-jam",
        "poor-nesting",
        "trim-ring-jam",
        "necker-jam",
        "end-will-not-drop",
        "mixed-formats",
        "body-mass-out",
    }


def test_terms_see_terms_that_exist() -> None:
    """Cross-references lead to other terms, never to the term itself."""
    known = {term["id"] for term in TERMS}
    for term in TERMS:
        assert set(term.get("see", ())) <= known - {term["id"]}, term["id"]


def test_no_meaning_uses_the_word_it_explains() -> None:
    """A meaning does not contain its own term."""
    for term in TERMS:
        assert not re.search(rf"\b{re.escape(term['term'])}\b", term["meaning"], re.IGNORECASE), term["id"]


def test_a_meaning_is_one_or_two_sentences() -> None:
    """A glossary entry is read in one breath."""
    long = [term["id"] for term in TERMS if len(re.findall(r"[.!?](?= |$)", term["meaning"])) > 2]
    assert long == []


def test_the_words_of_the_book_are_explained() -> None:
    """The words this product gives a meaning of its own to are in the glossary."""
    own = {"book", "route", "meridian", "finding", "margin", "waiver", "sheet-code", "matched-set"}
    assert own <= {term["id"] for term in TERMS}


# --- the pages --------------------------------------------------------------------------------


@cache
def placeholders(page: Path) -> tuple[tuple[str, str], ...]:
    """Kind and arguments of each placeholder of a page."""
    return tuple(PLACEHOLDER.findall(page.read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def values(formats: Mapping[str, Assembled]) -> Callable[[str], dict[str, float]]:
    """The numbers of a format's route by key, each route taken once."""

    @cache
    def of(ident: str) -> dict[str, float]:
        return {one.key: float(one.value) for one in iter_results(take(formats[ident].case))}

    return of


def written(book: Book, ident: str, key: str) -> str | None:
    """A value as in the one file of the book that has this id."""
    (spec,) = _with_id(book, ident)
    node = spec.document.node(key)
    return node.text if isinstance(node, Scalar) else None


def _with_id(book: Book, ident: str) -> Iterator[Spec]:
    return (specs[ident] for specs in book.specs.values() if ident in specs)


def test_there_is_a_page_for_each_step() -> None:
    """The learning path has thirteen steps, and the index links each of them once, in no other way."""
    linked = re.findall(r"\]\(([^)/]+\.md)\)", (LEARN / "index.md").read_text(encoding="utf-8"))
    assert len(linked) == 13
    assert sorted(linked) == [page.name for page in STEPS]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_links_between_pages_lead_somewhere(page: Path) -> None:
    """A link to another page of the site finds its file, and nothing links outside."""
    for target in re.findall(r"\]\(([^)]+)\)", page.read_text(encoding="utf-8")):
        assert target in MADE or (page.parent / target).is_file(), target


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_braces_are_placeholders(page: Path) -> None:
    """Nothing in double braces is written in another way than a placeholder is."""
    text = page.read_text(encoding="utf-8")
    assert text.count("{{") == text.count("}}") == len(placeholders(page))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_words_and_links_resolve(page: Path) -> None:
    """Terms, checks, faults and figures named on a page exist."""
    known = {
        "term": {term["id"] for term in TERMS},
        "check": set(RULES),
        "fault": {fault["id"] for fault in FAULTS},
    }
    kinds_used = {kind for kind, _ in placeholders(page)}
    assert kinds_used <= {*known, "value", "spec", "drawing", "sketches"}
    assert [one for one in placeholders(page) if one[0] in known and one[1] not in known[one[0]]] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_numbers_and_figures_resolve(
    page: Path,
    demo: Book,
    formats: Mapping[str, Assembled],
    values: Callable[[str], dict[str, float]],
) -> None:
    """Every value, written spec and figure a page requires is in the demo book."""
    for kind, arguments in placeholders(page):
        if kind in {"value", "spec", "drawing"}:
            ident, what = arguments.split(" ")
            if kind == "value":
                assert math.isfinite(values(ident)[what]), arguments
            elif kind == "spec":
                assert written(demo, ident, what), arguments
            else:
                assert ident in formats, arguments
                assert what in FIGURES, arguments


def test_ears_are_shown_on_the_page_of_ears() -> None:
    """The page of ears and trim shows the ears, the cut and the ring."""
    assert ("drawing", "b211-330 trim") in placeholders(LEARN / "ears-and-trim.md")


def test_every_dimension_of_the_first_offs_has_a_sketch(demo: Book) -> None:
    """The page of measuring shows where each first-off with a value is measured, if not on the whole can."""
    assert ("sketches", "b211-330") in placeholders(LEARN / "measuring.md")
    offs = {one["id"]: one for one in demo.only("floor").document.data()["first_offs"]}
    sketched = {one["id"]: one["title"] for one in knowledge("sketches")["sketches"]}
    whole = {"body-weight", "dome-pressure", "axial-load"}
    measured = {ident for ident, one in offs.items() if "value" in one}
    assert set(sketched) == measured - whole
    assert {ident: offs[ident]["name"] for ident in sketched} == sketched


def test_every_figure_is_shown() -> None:
    """The learning path uses each of the figures the site draws."""
    shown = {
        arguments.split(" ")[1]
        for page in STEPS
        for kind, arguments in placeholders(page)
        if kind == "drawing"
    }
    assert shown == FIGURES


@pytest.mark.parametrize("page", STEPS, ids=lambda page: page.stem)
def test_a_step_answers_the_same_questions(page: Path) -> None:
    """Each step has the same parts, in one order, with its own subject in each heading."""
    headings = re.findall(r"^## (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    subject = headings[0].partition(": ")[0]
    assert headings == [f"{subject}: {part}" for part in PARTS]


def test_no_two_steps_have_one_subject() -> None:
    """A heading is found once in the learning path."""
    headings = [
        one for page in STEPS for one in re.findall(r"^## .+$", page.read_text("utf-8"), re.MULTILINE)
    ]
    assert len(headings) == len(set(headings)) == len(STEPS) * len(PARTS)


@pytest.mark.parametrize("page", STEPS, ids=lambda page: page.stem)
def test_a_step_asks_five_questions_and_answers_them(page: Path) -> None:
    """Five questions to oneself, five answers in a plain list."""
    assert numbered(section(page, "questions")) == [1, 2, 3, 4, 5]
    assert numbered(section(page, "answers")) == [1, 2, 3, 4, 5]


@pytest.mark.parametrize("page", STEPS, ids=lambda page: page.stem)
def test_a_step_works_out_live_numbers(page: Path) -> None:
    """The number by hand comes from the book: what goes in as written, what comes out as computed."""
    used = {kind for kind, _ in PLACEHOLDER.findall(section(page, "a number by hand"))}
    assert "value" in used


@pytest.mark.parametrize("page", STEPS, ids=lambda page: page.stem)
def test_a_step_is_read_in_one_sitting(page: Path) -> None:
    """A page has 400 to 900 words, a placeholder counting as one."""
    text = PLACEHOLDER.sub("number", page.read_text(encoding="utf-8"))
    assert 400 <= len(re.findall(r"\w[\w'’-]*", text)) <= 900


@pytest.mark.parametrize("page", [*STEPS, METHOD], ids=lambda page: page.stem)
def test_a_page_sends_hands_to_the_site_s_own_rules(page: Path) -> None:
    """Each page has a caution that leaves the say to the site."""
    cautions = re.findall(
        r"^> \*\*Take care\.\*\*(?:.*\n>)*.*$", page.read_text(encoding="utf-8"), re.MULTILINE
    )
    assert len(cautions) == 1
    assert re.search(r"\bsite\b|\bguarded\b", cautions[0])
