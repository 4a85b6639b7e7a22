"""Limits and settings that limits.yaml lacks: a default is used, or one check is left out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book.load import Book, Spec, load
from kb.book.records import Limits
from kb.checks import check_book
from kb.checks.catalog import RULES
from kb.checks.judge import Verdict
from kb.checks.one_format import check_format
from kb.checks.rule import UNCONFIRMED
from kb.cli import main
from kb.output.explain import explained
from kb.route.assemble import assemble
from kb.route.settings import OPTIONAL, SETTINGS
from kb.sheet.content import NoSheet, content
from tests.conftest import TODAY, MakeBook, judged

PLANT_RULES = [name for name, rule in RULES.items() if rule.limit == "plant"]
NEEDED = [name for name in SETTINGS if name not in OPTIONAL]
WITH_DEFAULT = [name for name in PLANT_RULES if RULES[name].default]
NO_DEFAULT = [name for name in PLANT_RULES if not RULES[name].default]


def without(demo: Book, limits: set[str] = frozenset(), settings: set[str] = frozenset()) -> Book:  # type: ignore[assignment]
    """The demo book with one format, and some limits and settings taken out."""
    old = demo.only("limits")
    assert old is not None
    record: Limits = old.record
    kept = Limits(
        {name: one for name, one in record.limits.items() if name not in limits},
        {name: one for name, one in record.settings.items() if name not in settings},
    )
    specs: dict[str, dict[str, Spec]] = {
        **demo.specs,
        "limits": {old.id: replace(old, record=kept)},
        "size-format": {"b211-330": demo.of("size-format")["b211-330"]},
    }
    return replace(demo, specs=specs, findings=[])


def by_place(verdicts: Mapping[str, object] | tuple[Verdict, ...]) -> dict[tuple[str, str, str], Verdict]:
    """Verdicts by check, key and quantity."""
    assert isinstance(verdicts, tuple)
    return {(one.rule.name, one.at, one.what): one for one in verdicts}


@pytest.fixture(scope="module")
def whole(demo: Book) -> dict[tuple[str, str, str], Verdict]:
    """What is judged of one format when nothing is missing."""
    return by_place(check_format(demo, "b211-330").verdicts)


@pytest.mark.parametrize("name", WITH_DEFAULT)
def test_a_missing_limit_with_a_default_is_a_note(
    name: str, demo: Book, whole: dict[tuple[str, str, str], Verdict]
) -> None:
    """The default is used and said to be one; every other value is judged as before."""
    report = check_book(without(demo, limits={name}), today=TODAY, formats=["b211-330"])
    (found,) = [one for one in report.findings if one.name.startswith("limits.")]
    assert (found.name, found.severity) == ("limits.missing", "note")
    assert name in found.message
    made = by_place(tuple(report.verdicts["b211-330"]))
    assert made.keys() == whole.keys()
    for key, verdict in made.items():
        if key[0] == name:
            assert verdict.limit is RULES[name].default
            assert (verdict.least, verdict.most) != (None, None)
        else:
            assert verdict == whole[key]
    assert not report.skipped


@pytest.mark.parametrize("name", NO_DEFAULT)
def test_a_missing_limit_without_a_default_leaves_one_check_out(
    name: str, demo: Book, whole: dict[tuple[str, str, str], Verdict]
) -> None:
    """That check is named as not judged, with what to add; a check of seal or pressure is an error."""
    report = check_book(without(demo, limits={name}), today=TODAY, formats=["b211-330"])
    (found,) = [one for one in report.findings if one.name.startswith("limits.")]
    wanted = ("limits.not-judged", "note") if RULES[name].waivable else ("limits.unguarded", "error")
    assert (found.name, found.severity) == wanted
    assert found.fixes[0].startswith(f"add {name} under limits")
    made = by_place(tuple(report.verdicts["b211-330"]))
    assert made == {key: one for key, one in whole.items() if key[0] != name}
    assert [one.what for one in report.skipped] == [name]


@pytest.mark.parametrize("name", NEEDED)
def test_a_missing_setting_leaves_out_what_needs_it(
    name: str, demo: Book, whole: dict[tuple[str, str, str], Verdict]
) -> None:
    """The setting is named; what is judged without it is exactly what the whole book says."""
    book = without(demo, settings={name})
    report = check_book(book, today=TODAY, formats=["b211-330"])
    (found,) = [one for one in report.findings if one.name.startswith("limits.")]
    assert (found.name, found.severity) == ("limits.no-setting", "error")
    assert name in found.message
    made = by_place(tuple(report.verdicts["b211-330"]))
    assert len(made) > len(whole) // 2
    assert all(verdict == whole[key] for key, verdict in made.items())
    (skipped,) = report.skipped
    assert name in skipped.why
    assert assemble(book, "b211-330") is None
    with pytest.raises(NoSheet):
        content(book, "b211-330", "heron")


def test_a_book_without_any_setting_still_has_its_geometry_judged(demo: Book) -> None:
    """With every setting missing, each is named, and the values that need none are judged."""
    report = check_book(without(demo, settings=set(NEEDED)), today=TODAY, formats=["b211-330"])
    named = [one for one in report.findings if one.name == "limits.no-setting"]
    assert len(named) == len(NEEDED)
    assert {one.rule.reads for one in report.verdicts["b211-330"]} >= {"case", "route", "run"}


@pytest.mark.parametrize(
    ("old", "new", "name"),
    [
        ("least: 0.7 mm\n", "least: 0.7 N\n", "limits.unit"),
        ("least: 3 %\n    most: 8 %", "least: 8 %\n    most: 3 %", "limits.order"),
        ("value: 600 GPa", "value: 60 GPa", "units.band"),
    ],
)
def test_a_limit_or_setting_at_fault_stops_itself_alone(
    old: str, new: str, name: str, make_book: MakeBook
) -> None:
    """A wrong unit, order or size is an error; the other values are judged."""
    report = judged(make_book(["b211-330"], [("limits.yaml", old, new)]))
    assert [one.name for one in report.findings if one.severity == "error"] == [name]
    assert len(report.verdicts["b211-330"]) > 80


def test_a_default_has_a_source_that_is_no_plant() -> None:
    """A default is published, follows by definition, or says that it is common practice or from memory."""
    said = (
        r"(?i)common practice, no source|from memory|definition|geometry|Can Manufacturers Institute|Groover"
    )
    for name in WITH_DEFAULT:
        default = RULES[name].default
        assert default is not None
        assert re.search(said, default.source), name
        assert not re.search(r"(?i)plant|invented|measured|agreed", default.source), name
        assert (default.owner, default.review) == (UNCONFIRMED, "")
        low, high = default.least, default.most
        assert low is not None or high is not None
        assert low is None or high is None or low < high


def test_a_check_that_guards_the_shape_always_has_a_limit() -> None:
    """What decides whether there is a shape is judged in every book."""
    assert [name for name in NO_DEFAULT if RULES[name].reads == "case"] == []


def test_explain_shows_the_default_and_the_plants_limit(demo: Book) -> None:
    """Both limits are shown; a check without a default says so, and so does a book without a limit."""
    both = "\n".join(explained("blank.die-clearance", demo))
    assert re.search(r"at least 3 %", both.partition("Default:")[0])
    assert re.search(r"at least 4\.5 %", both.partition("Default:")[2])
    assert "Groover" in both.partition("Default:")[2]
    assert "none; the plant must set its own" in "\n".join(explained("seam.overlap", demo))
    bare = without(demo, limits={"blank.web", "seam.overlap"})
    assert "the default, because limits.yaml has none" in "\n".join(explained("blank.web", bare))
    assert "the check is skipped" in "\n".join(explained("seam.overlap", bare))
    assert "Default:" not in "\n".join(explained("ironing.thin-wall", demo))


def test_a_book_that_lacks_one_limit_passes(make_book: MakeBook) -> None:
    """The command judges everything and exits with 0; the note says which default is used."""
    text = (Path(__file__).parents[2] / "specs/limits.yaml").read_text(encoding="utf-8")
    entry = text[text.index("  blank.web:\n") : text.index("  blank.edge:\n")]
    root = make_book(["b211-330"], [("limits.yaml", entry, "")])
    done = CliRunner().invoke(main, ["check", str(root)])
    assert done.exit_code == 0, done.output
    assert "blank.web has no limit of this plant; default: at least 0.7 mm" in done.output
    assert "values checked" in done.output
    assert load(root, shown="").limits is not None
