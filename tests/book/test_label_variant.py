"""Label variants: a format has its identity and label, its base format has all other values."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

import kb
from kb.book.compose import values_of
from kb.book.load import Book, load
from kb.book.records import SAME_IN_VARIANTS
from kb.checks import check_book
from kb.checks.catalog import NAMES
from kb.cli import main
from kb.folders import shipped
from kb.history.log import file_log, read_log
from kb.rename import rename, renaming
from kb.review.compare import review
from tests.changeover.small import compared
from tests.conftest import TODAY, Edit, judged, put
from tests.review.story import git

BASE, VARIANT = "formats/b211-330.yaml", "formats/b211-330-lantern.yaml"
STANDARD = "standards/211.yaml"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A copy of a base format on its standard, its label variant, and a format of another body."""
    root = tmp_path / "specs"
    keep = {"b211-330.yaml", "b211-330-lantern.yaml", "b204-330.yaml"}
    shutil.copytree(
        shipped("specs"),
        root,
        ignore=lambda folder, names: (
            {one for one in names if one not in keep} if Path(folder).name == "formats" else set()
        ),
    )
    for name in ("weeks", "trials"):
        shutil.rmtree(root / name)
    for name in ("waivers.yaml", "sheet-codes.yaml", "changeover.yaml"):
        (root / name).unlink()
    return root


def run(*words: object) -> tuple[int, str]:
    """Exit code and standard output of a command."""
    done = CliRunner().invoke(main, [str(one) for one in words], catch_exceptions=False)
    return done.exit_code, done.stdout


def test_a_variant_has_the_values_of_its_base(root: Path) -> None:
    """All keys but identity and label are those of the base format, the lines and the standard too."""
    book = load(root, shown="")
    assert book.findings == []
    base, variant = (book.of("size-format")[one].record for one in ("b211-330", "b211-330-lantern"))
    for key in (*SAME_IN_VARIANTS, "lines"):
        assert getattr(base, key) == getattr(variant, key), key
    assert (base.label, variant.label) == ("Tide lines, blue", "Lantern festival, orange")
    assert variant.variant_of == "b211-330"


def test_each_value_has_the_place_where_it_is_written(root: Path) -> None:
    """A label is in the variant, a trimmed height in the base format, a dome depth in the standard."""
    spec = load(root, shown="").of("size-format")["b211-330-lantern"]
    files = {key: spec.place(key).file for key in ("label", "trim.height", "dome.depth")}
    assert files == {"label": VARIANT, "trim.height": BASE, "dome.depth": STANDARD}
    lines = (root / STANDARD).read_text(encoding="utf-8").splitlines()
    assert lines[spec.place("dome.depth").span.line - 1] == "  depth: 10.60 ±0.10 mm"


def test_a_variant_can_be_selected_alone(root: Path) -> None:
    """Its base is read although it is not selected, and only the variant is checked."""
    book = load(root, shown="", formats=[root / VARIANT])
    assert book.findings == []
    assert list(book.of("size-format")) == ["b211-330-lantern"]
    ident = "b211-330-lantern"
    whole, alone = (kb.route(kb.load(path), ident, as_of=TODAY) for path in (root, root / VARIANT))
    assert whole.sections == alone.sections


def test_a_variant_can_be_made_on_lines_of_its_own(root: Path) -> None:
    """Lines that the variant writes go before those of its base; they are no tool value."""
    put(root, VARIANT, "revision: 4\n", "revision: 4\nlines: [plover]\n")
    book = load(root, shown="")
    assert book.findings == []
    assert book.of("size-format")["b211-330-lantern"].record.lines == ("plover",)
    assert book.of("size-format")["b211-330-lantern"].document.overrides == []


def test_a_base_without_a_standard_is_enough(root: Path) -> None:
    """A variant of a format in full has the values and places of that one file."""
    full = run("export", "b211-330", "--flat", "--book", root)[1]
    (root / BASE).write_text(full, encoding="utf-8")
    spec = load(root, shown="").of("size-format")["b211-330-lantern"]
    assert spec.place("dome.depth").file == BASE
    assert spec.record.standard == ""


@pytest.mark.parametrize("key", SAME_IN_VARIANTS)
def test_a_tool_value_in_a_variant_is_a_finding(key: str, root: Path) -> None:
    """Each key that the base alone gives is refused at its place, with what to do."""
    put(root, VARIANT, "revision: 4\n", f"revision: 4\n{key}: 3\n")
    (found,) = load(root, shown="").findings
    assert (found.name, found.place.file, found.place.span.line) == ("book.variant-values", VARIANT, 8)
    assert found.message == f"{key} is written in a label variant of b211-330; only b211-330 can give it"
    assert found.fixes[0] == f"delete {key}"


@pytest.mark.parametrize(
    ("base", "name", "message", "fix"),
    [
        ("b211-331", "book.unknown-id", "size-format b211-331 is not in the book", "did you mean b211-330?"),
        ("../x", "book.unknown-id", "size-format ../x is not in the book", "known: b204-330, b211-330"),
        (
            "b211-330-lantern",
            "book.variant-base",
            "b211-330-lantern is this format itself",
            "name a format that has values of its own",
        ),
    ],
)
def test_a_base_that_is_none_is_a_finding(base: str, name: str, message: str, fix: str, root: Path) -> None:
    """A base that is missing, or the variant itself, is one finding with a fix, at variant_of."""
    put(root, VARIANT, "variant_of: b211-330\n", f"variant_of: {base}\n")
    (found,) = load(root, shown="").findings
    assert (found.name, found.message, found.fixes) == (name, message, (fix,))
    assert (found.place.file, found.place.key) == (VARIANT, "variant_of")


def test_a_variant_of_a_variant_is_a_finding(root: Path) -> None:
    """The finding names the format that has the values."""
    text = (root / VARIANT).read_text(encoding="utf-8")
    text = text.replace("lantern", "kite").replace("variant_of: b211-330\n", "variant_of: b211-330-lantern\n")
    (root / "formats/b211-330-kite.yaml").write_text(text, encoding="utf-8")
    (found,) = load(root, shown="").findings
    assert found.message == "b211-330-lantern is a label variant of b211-330"
    assert found.fixes == ("set variant_of to b211-330",)


def test_formats_that_are_variants_of_each_other_are_found(root: Path) -> None:
    """A ring of two formats is a finding in both, and loading ends."""
    text = (root / VARIANT).read_text(encoding="utf-8").replace("b211-330-lantern", "@")
    text = text.replace("b211-330", "b211-330-lantern").replace("@", "b211-330")
    (root / BASE).write_text(text, encoding="utf-8")
    found = load(root, shown="").findings
    assert [(one.name, one.place.file) for one in found] == [
        ("book.variant-base", VARIANT),
        ("book.variant-base", BASE),
    ]
    assert {one.fixes for one in found} == {("name a format that has values of its own",)}


def test_a_base_with_errors_stops_its_variant_without_more_findings(root: Path) -> None:
    """The error is reported once, in the base format."""
    put(root, BASE, "height: 117.21 ±0.10 mm", "height: tall")
    book = load(root, shown="")
    assert {one.place.file for one in book.findings} == {BASE}
    assert book.faulty("size-format") == {"b211-330", "b211-330-lantern"}


def test_a_base_that_is_a_link_out_of_the_book_is_refused(root: Path, tmp_path: Path) -> None:
    """The variant takes no value from outside the book, and the link is the one finding."""
    (root / BASE).rename(tmp_path / "outside.yaml")
    (root / BASE).symlink_to(tmp_path / "outside.yaml")
    book = load(root, shown="")
    assert [one.name for one in book.findings] == ["reading.link"]
    assert "b211-330-lantern" not in book.of("size-format")


def test_two_variants_with_one_label_are_found(root: Path) -> None:
    """A variant with the label of its base is the same format twice; the second in order is named."""
    put(root, VARIANT, '"Lantern festival, orange"', '"Tide lines, blue"')
    names = {(one.name, one.place.file) for one in judged(root).findings}
    assert ("book.same-tools", BASE) in names


def test_a_variant_in_full_is_a_format_without_a_base(root: Path) -> None:
    """`export --flat` writes all values with their places, and the file can take the variant's place."""
    before = values_of(load(root, shown="").of("size-format")["b211-330-lantern"].record)
    text = run("export", "b211-330-lantern", "--flat", "--book", root)[1]
    assert "  height: 117.21 ±0.10 mm  # from formats/b211-330.yaml:" in text
    assert "  depth: 10.60 ±0.10 mm  # from standards/211.yaml:" in text
    (root / VARIANT).write_text(text, encoding="utf-8")
    record = load(root, shown="").of("size-format")["b211-330-lantern"].record
    assert (record.variant_of, record.standard) == ("", "")
    assert values_of(record) == before


def test_renames_reach_a_variant(root: Path) -> None:
    """A base, a standard and a variant can each have another id; the variant keeps its values."""
    before = load(root, shown="").of("size-format")["b211-330-lantern"].record.dome
    for kind, old, new in (
        ("format", "b211-330", "b211-033"),
        ("body-standard", "211", "211-12"),
        ("format", "b211-330-lantern", "b211-033-kite"),
    ):
        rename(renaming(load(root, shown=""), kind, old, new))
    book = load(root, shown="")
    assert book.findings == []
    record = book.of("size-format")["b211-033-kite"].record
    assert (record.variant_of, record.standard, record.dome) == ("b211-033", "211-12", before)


@pytest.mark.parametrize(
    "edit",
    [(BASE, "117.21 ±0.10", "117.20 ±0.10"), (STANDARD, "depth: 10.60", "depth: 10.61")],
    ids=["base format", "standard"],
)
@pytest.mark.parametrize("whole", [False, True], ids=["in part", "whole"])
def test_a_review_shows_a_change_of_the_base_in_its_variant(
    whole: bool, edit: Edit, root: Path, tmp_path: Path
) -> None:
    """The value that changed is listed for base and variant, with its place; other bodies are not reached."""
    after = tmp_path / "after"
    shutil.copytree(root, after)
    file = edit[0]
    put(after, *edit)
    made = review(str(root), str(after), today=TODAY, whole=whole)
    changed = {one.id: {each.key for each in one.changes} for one in made.files if one.kind == "size-format"}
    key = "trim.height" if file == BASE else "dome.depth"
    assert changed == {"b211-330": {key}, "b211-330-lantern": {key}}
    places = {each.new_place.file for one in made.files for each in one.changes if each.new_place}
    assert {Path(one).name for one in places} == {Path(file).name}
    assert {one.id for one in made.touched} == set(changed)


def test_the_history_shows_a_change_of_the_base_in_its_variant(root: Path) -> None:
    """A commit that changes the base or its standard is one of the variant, and of no other body."""
    folder = root.parent
    git(folder, "init", "--quiet", "--initial-branch", "main")

    def commit(words: str) -> None:
        git(folder, "add", "--all")
        git(folder, "commit", "--quiet", "--message", words)

    commit("start")
    put(root, BASE, "117.21 ±0.10", "117.20 ±0.10")
    commit("trim lower")
    put(root, STANDARD, "depth: 10.60", "depth: 10.61")
    commit("deepen the dome")
    put(root, STANDARD, "title: 211 body", "title: body 211")
    commit("rename the title")
    rows = [
        ("dome depth: 10.60 ±0.10 mm → 10.61 ±0.10 mm (+0.01 mm)",),
        ("trimmed height: 117.21 ±0.10 mm → 117.20 ±0.10 mm (−0.01 mm)",),
    ]
    past = read_log(root, NAMES)
    for ident in ("b211-330", "b211-330-lantern"):
        assert [one.values for one in past.of_format(ident) if one.values] == rows
        assert [one.values for one in file_log(root, ident, NAMES) if one.values] == rows
    assert [one.file.states for one in past.of_format("b204-330")] == [("added", "released")]
    assert len(past.commits[0].files) == 1


def test_explain_and_route_read_a_variant(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The key is explained, and the route of a variant is that of its base."""
    monkeypatch.chdir(root)
    explained = " ".join(run("explain", "variant_of")[1].split())
    assert "Format that this one differs from in its label only" in explained
    base, variant = (
        json.loads(run("route", one, "--output", "json")[1]) for one in ("b211-330", "b211-330-lantern")
    )
    assert base["sections"] == variant["sections"]


def test_a_changeover_to_a_variant_changes_the_label_alone(short_demo: Book) -> None:
    """Between a base and its variant the plates and inks change, and no tool."""
    found = compared(short_demo, "b211-330", "b211-330-lantern", "heron")
    assert (found.kind, [one.key for one in found.moved]) == ("label", ["format.label"])


def test_the_checks_of_a_variant_are_those_of_its_base(short_demo: Book) -> None:
    """Checks of a variant measure what those of its base measure."""
    report = check_book(short_demo, today=TODAY, formats=["b211-330", "b211-330-lantern"])
    one, other = (report.verdicts[ident] for ident in ("b211-330", "b211-330-lantern"))
    assert [(each.rule.name, each.at, each.spread) for each in one] == [
        (each.rule.name, each.at, each.spread) for each in other
    ]
