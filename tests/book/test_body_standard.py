"""Body standards: a format writes only what is its own, and every value keeps its place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import kb
from kb.book.compose import Written, composed, in_full, values_of
from kb.book.load import Book, load
from kb.book.records import INHERITED
from kb.checks import check_book
from kb.cli import main
from kb.folders import shipped
from kb.rename import rename, renaming
from tests.conftest import TODAY, MakeBook

FORMATS = ("b211-330", "b211-350", "b211-355", "b211-440")


def nested(values: dict[str, Written]) -> str:
    """Values as the YAML of a file, without the line for editors."""
    return composed(values).partition("\n")[2]


@pytest.fixture
def root(make_book: MakeBook) -> Path:
    """A copy of some formats of the demo book, with what they share in a standard."""
    folder = make_book(FORMATS)
    book = load(folder, shown="")
    written = {ident: values_of(book.of("size-format")[ident].record) for ident in FORMATS}
    first = written[FORMATS[0]]
    shared = {
        key: one
        for key, one in first.items()
        if key.split(".")[0] in INHERITED and all(own.get(key) == one for own in written.values())
    }
    head = 'kind: body-standard\nid: "211"\ntitle: 211 body\nowner: body tooling\nwhy: Shared tools.\n'
    body = nested({key: one for key, one in shared.items() if not key.startswith("ironing.rings")})
    distances = (f"    - {{distance: {shared[f'ironing.rings[{i}].distance'].yaml}}}\n" for i in range(3))
    body = body.replace("ironing:\n", "ironing:\n  rings:\n" + "".join(distances))
    (folder / "standards").mkdir()
    (folder / "standards/211.yaml").write_text(head + body, encoding="utf-8")
    for ident, own in written.items():
        text = nested({key: one for key, one in own.items() if key not in shared})
        (folder / f"formats/{ident}.yaml").write_text(f'standard: "211"\n{text}', encoding="utf-8")
    return folder


def edit(file: Path, old: str, new: str) -> None:
    """Change a text in a file, where it is once."""
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1, (old, text.count(old))
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_the_formats_are_those_written_in_full(root: Path, demo: Book) -> None:
    """Short formats on a standard have the values, texts and tolerances of the full ones, and no finding."""
    book = load(root, shown="")
    assert book.findings == []
    for ident in FORMATS:
        record = book.of("size-format")[ident].record
        assert record.standard == "211"
        assert values_of(record) == values_of(demo.of("size-format")[ident].record)
        lines = (root / f"formats/{ident}.yaml").read_text(encoding="utf-8").splitlines()
        assert len(lines) < 60


def test_checks_and_route_give_the_same_numbers(root: Path, demo: Book) -> None:
    """Each check measures the same value, and each station result is the same."""
    short, full = (check_book(one, today=TODAY, formats=FORMATS) for one in (load(root, shown=""), demo))
    for ident in FORMATS:
        assert [(one.rule.name, one.at, one.spread, one.passed) for one in short.verdicts[ident]] == [
            (one.rule.name, one.at, one.spread, one.passed) for one in full.verdicts[ident]
        ]


def test_a_finding_points_to_the_file_that_has_the_value(root: Path) -> None:
    """A shared value out of its limit is found in the standard; one that the format writes, in the format."""
    edit(root / "standards/211.yaml", "nose_radius: 1.60 mm", "nose_radius: 60 mm")
    faults = load(root, shown="").findings
    assert {one.place.file for one in faults} == {"standards/211.yaml"}
    edit(root / "standards/211.yaml", "nose_radius: 60 mm", "nose_radius: 1.60 mm")
    edit(root / "standards/211.yaml", "die_radius: 2.8 mm", "die_radius: 12 mm")
    found = check_book(load(root, shown=""), today=TODAY, formats=["b211-330"]).findings
    places = {one.place.file for one in found if one.place.key.startswith("cup.die_radius")}
    assert places == {"standards/211.yaml"}
    line = (root / "standards/211.yaml").read_text(encoding="utf-8").splitlines().index(
        "  die_radius: 12 mm"
    ) + 1
    assert {one.place.span.line for one in found if one.place.key == "cup.die_radius"} == {line}


def test_an_own_value_goes_before_that_of_the_standard(root: Path) -> None:
    """A format overrides one key of a block and keeps the rest; the override is listed, with both places."""
    file = root / "formats/b211-330.yaml"
    edit(file, "trim:\n", "dome:\n  corner_radius: 1.70 mm\ntrim:\n")
    book = load(root, shown="")
    spec = book.of("size-format")["b211-330"]
    assert float(spec.record.dome.corner_radius) == 1.7
    assert float(spec.record.dome.radius) == 45.7
    assert [one.key for one in spec.document.overrides] == ["dome.corner_radius"]
    assert spec.place("dome.corner_radius").file == "formats/b211-330.yaml"
    assert spec.place("dome.radius").file == "standards/211.yaml"
    assert book.of("size-format")["b211-355"].document.overrides == []


def test_rings_take_what_they_lack_one_by_one(root: Path) -> None:
    """The bores are the format's and the distances the standard's; a format with two rings takes two."""
    spec = load(root, shown="").of("size-format")["b211-330"]
    assert spec.place("ironing.rings[1].bore").file == "formats/b211-330.yaml"
    assert spec.place("ironing.rings[1].distance").file == "standards/211.yaml"
    text = (root / "formats/b211-330.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    (root / "formats/b211-330.yaml").write_text(
        "".join(x for x in text if "bore: 66.030" not in x), encoding="utf-8"
    )
    assert len(load(root, shown="").of("size-format")["b211-330"].record.ironing.rings) == 2


def test_a_change_of_the_standard_changes_each_format(root: Path) -> None:
    """A review of a changed standard shows the new value in every format on it."""
    before = load(root, shown="").of("size-format")
    edit(root / "standards/211.yaml", "corner_radius: 1.60 mm", "corner_radius: 1.65 mm")
    after = load(root, shown="").of("size-format")
    assert {float(before[one].record.dome.corner_radius) for one in FORMATS} == {1.6}
    assert {float(after[one].record.dome.corner_radius) for one in FORMATS} == {1.65}
    assert all(before[one].document.texts != after[one].document.texts for one in FORMATS)


@pytest.mark.parametrize(
    ("old", "new", "name", "file"),
    [
        ('standard: "211"', 'standard: "212"', "book.unknown-id", "formats/b211-330.yaml"),
        ('standard: "211"', "standard: [a]", "shape.type", "formats/b211-330.yaml"),
        ("trim:\n  height: 117.21 ±0.10 mm\n", "", "shape.missing-key", "formats/b211-330.yaml"),
        ("owner: body tooling\n", "", "shape.missing-key", "formats/b211-330.yaml"),
        ("trim:\n", "dome: 3 mm\ntrim:\n", "shape.type", "formats/b211-330.yaml"),
    ],
)
def test_what_is_wrong_is_found_in_the_format(old: str, new: str, name: str, file: str, root: Path) -> None:
    """An unknown standard and a missing or wrong value of the format are findings at its own place."""
    edit(root / "formats/b211-330.yaml", old, new)
    found = load(root, shown="").findings
    assert (name, file) in {(one.name, one.place.file) for one in found}
    assert {one.place.file for one in found} == {file}


def test_a_standard_with_errors_stops_its_formats_without_more_findings(root: Path) -> None:
    """The fault is reported once, in the standard; its formats are not checked."""
    edit(root / "standards/211.yaml", "nose_radius: 1.60 mm", "nose_radius: soft")
    book = load(root, shown="")
    assert [one.place.file for one in book.findings] == ["standards/211.yaml"]
    assert book.faulty("size-format") == set(FORMATS)


def test_a_shared_id_that_is_nowhere_is_reported_once(root: Path) -> None:
    """An unknown metal of the standard is one finding, in the standard."""
    edit(root / "standards/211.yaml", "material: marsh-3104", "material: marsh-3105")
    found = [one for one in load(root, shown="").findings if one.name == "book.unknown-id"]
    assert [(one.place.file, one.place.key) for one in found] == [("standards/211.yaml", "stock.material")]


def test_a_flat_format_shows_where_each_value_is(root: Path, demo: Book) -> None:
    """`export --flat` writes all values of a short format, and it is a format without a standard."""
    done = CliRunner().invoke(main, ["export", "b211-330", "--flat", "--book", str(root)])
    assert done.exit_code == 0
    assert "  corner_radius: 1.60 mm  # from standards/211.yaml:" in done.stdout
    assert "  height: 117.21 ±0.10 mm\n" in done.stdout
    (root / "formats/b211-330.yaml").write_text(done.stdout, encoding="utf-8")
    record = load(root, shown="").of("size-format")["b211-330"].record
    assert record.standard == ""
    assert values_of(record) == values_of(demo.of("size-format")["b211-330"].record)


def test_a_rename_reaches_the_standard(root: Path) -> None:
    """The id of a standard and the metal that it names can be renamed."""
    rename(renaming(load(root, shown=""), "body-standard", "211", "211-12"))
    rename(renaming(load(root, shown=""), "material", "marsh-3104", "marsh-x"))
    book = load(root, shown="")
    assert book.findings == []
    assert {one.record.stock.material for one in book.of("size-format").values()} == {"marsh-x"}
    assert {one.record.standard for one in book.of("size-format").values()} == {"211-12"}


def test_the_schema_of_a_standard_is_that_of_a_format() -> None:
    """Each value that a standard can give has the description, unit and band that it has in a format."""
    format_, standard = (
        json.loads((shipped("schema") / f"{kind}.json").read_text(encoding="utf-8"))
        for kind in ("size-format", "body-standard")
    )

    def partly(found: Any) -> Any:
        if isinstance(found, dict):
            return {key: partly(one) for key, one in found.items() if key != "required"}
        return [partly(one) for one in found] if isinstance(found, list) else found

    for name in INHERITED:
        assert standard["properties"][name] == partly(format_["properties"][name]), name


def test_python_reads_it_like_any_book(root: Path) -> None:
    """The public interface takes a format on a standard through the route, from its file alone too."""
    whole, alone = (
        kb.route(kb.load(path), "b211-330", as_of=TODAY) for path in (root, root / "formats/b211-330.yaml")
    )
    assert whole.sections == alone.sections


def test_an_override_is_listed_where_the_format_is_written_in_full(root: Path) -> None:
    """The place of the value that it goes before follows it."""
    edit(root / "formats/b211-330.yaml", "trim:\n", "dome:\n  corner_radius: 1.70 mm\ntrim:\n")
    done = CliRunner().invoke(main, ["export", "b211-330", "--flat", "--book", str(root)])
    assert "  corner_radius: 1.70 mm  # in place of standards/211.yaml:" in done.stdout


def test_an_override_is_listed_by_route_and_explain(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both values are shown with file, line and column, the one that counts first."""
    edit(root / "formats/b211-330.yaml", "trim:\n", "dome:\n  corner_radius: 1.70 mm\ntrim:\n")
    monkeypatch.chdir(root)
    lines = {"own": "", "shared": ""}
    for name, file in (("own", "formats/b211-330.yaml"), ("shared", "standards/211.yaml")):
        texts = (root / file).read_text(encoding="utf-8").splitlines()
        number = next(i for i, line in enumerate(texts, 1) if line.startswith("  corner_radius"))
        lines[name] = f"{file}:{number}:18"
    said = CliRunner().invoke(main, ["route", "b211-330"]).stdout
    words = f"dome.corner_radius: 1.70 mm ({lines['own']}), not 1.60 mm ({lines['shared']})"
    assert f"Own values in place of those of body standard 211:\n  {words}\n" in said
    record = json.loads(CliRunner().invoke(main, ["route", "b211-330", "--output", "json"]).stdout)
    assert [one["place"] for one in record["overrides"]] == [lines["own"]]
    explained = CliRunner().invoke(main, ["explain", "dome.corner_radius"]).stdout
    assert f"b211-330 has 1.70 mm ({lines['own']}), not 1.60 mm" in " ".join(explained.split())
    assert "Own values" not in CliRunner().invoke(main, ["route", "b211-350"]).stdout


def test_a_fix_in_a_standard_says_that_it_moves_every_format(root: Path) -> None:
    """A fix of a shared number is at its place in the standard and names the standard."""
    edit(root / "standards/211.yaml", "nose_radius: 1.60 mm", "nose_radius: 1.00 mm")
    found = check_book(load(root, shown=""), today=TODAY, formats=["b211-330"]).findings
    texts = [fix for one in found for fix in one.fixes if "punch.nose_radius" in fix]
    assert texts
    assert all("for every format on standard 211" in text for text in texts)


def test_a_draft_of_a_format_on_a_standard_is_in_full(root: Path) -> None:
    """A new size that begins with a short format is a whole format of its own."""
    book = load(root, shown="")
    former = book.of("size-format")["b211-330"]
    full = in_full(former.document, former.record)
    assert full.base is None
    assert full.node("dome.radius") is not None
    assert full.node("standard") is None
