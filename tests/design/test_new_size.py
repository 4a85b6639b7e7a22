"""A new size from a few targets: a whole draft that passes every check, or the rules that conflict."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book import source
from kb.book.compose import values_of
from kb.book.load import Book, load
from kb.checks import check_book
from kb.cli import main
from kb.design.draft import unapproved
from kb.design.new_size import Conflict, NewSize, new_size
from kb.design.targets import NoDesign, read_targets
from kb.folders import shipped
from tests.conftest import TODAY, MakeBook

SMALL = """kind: design-targets
like: b211-330
id: b211-250
title: "250 ml: 211 body, 202 end"
fill: {contents: 250 ml}
keep: [cup, redraw, punch.wall_diameter, punch.neck_diameter, ironing, stock.gauge]
"""


def asked(folder: Path, text: str) -> Path:
    """A file of targets."""
    path = folder / "targets.yaml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def small(demo: Book, tmp_path_factory: pytest.TempPathFactory) -> NewSize:
    """A 250 ml size on the 211 body."""
    return new_size(demo, read_targets(asked(tmp_path_factory.mktemp("targets"), SMALL)))


def test_a_new_size_needs_few_values_and_passes_its_check(small: NewSize, make_book: MakeBook) -> None:
    """From eleven words a draft comes out that a book takes without a finding."""
    root = make_book(["b211-330"])
    (root / "formats/b211-250.yaml").write_text(small.text, encoding="utf-8")
    book = load(root, shown="specs")
    assert check_book(book, today=TODAY, formats=["b211-250"]).findings == []
    record = book.of("size-format")["b211-250"].record
    assert record.title == "250 ml: 211 body, 202 end"
    assert (float(record.fill.contents), record.status, record.revision) == (250_000.0, "draft", 1)


def test_a_new_size_is_built_on_the_standard(small: NewSize, short_demo: Book, tmp_path: Path) -> None:
    """From a format on a standard comes a short draft with the same values, reasons and no override."""
    found = new_size(short_demo, read_targets(asked(tmp_path, SMALL)))
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "specs"))
    for name, text in (("b211-250", found.text), ("b211-251", small.text.replace("b211-250", "b211-251"))):
        (root / f"formats/{name}.yaml").write_text(text, encoding="utf-8")
    book = load(root, shown="")
    assert book.findings == []
    short, full = (book.of("size-format")[one] for one in ("b211-250", "b211-251"))
    values, others = (values_of(one.record) for one in (short, full))
    assert {key for key in values if values[key] != others[key]} == {"id"}
    assert (short.record.standard, short.document.overrides) == ("211", [])
    assert short.document.text.count("\n") < 60 < full.document.text.count("\n")
    assert "step_height: 63.4 ±0.2 mm  # can.headspace " in found.text


def test_a_new_size_is_not_on_the_edge(small: NewSize) -> None:
    """Every limit keeps some room, and the report begins with the least."""
    rooms = [room for _, room in small.tightest]
    assert rooms == sorted(rooms)
    assert rooms[0] > 0.005


def test_what_is_kept_is_as_in_the_former_format(demo: Book, small: NewSize) -> None:
    """Cup, redraw, rings and gauge stay; heights and blank move, each with its reason."""
    moved = {one.key for one, _ in small.changes if not one.follows}
    assert moved == {
        "blank.diameter", "punch.step_height", "trim.height", "neck.shoulder_height",
        "flange.finished_height",
    }  # fmt: skip
    assert all(reason for _, reason in small.changes)
    assert {one.key for one in small.tools} <= moved


def test_a_smaller_can_needs_less_coil(demo: Book, small: NewSize, tmp_path: Path) -> None:
    """And aiming at the least coil needs no more than the middle of the limits."""
    least = new_size(demo, read_targets(asked(tmp_path, SMALL + "aim: lightest\n")))
    assert least.coil < small.coil < 12.0


@pytest.mark.parametrize("load", ["0.92 kN", "1.40 kN"], ids=["base", "base and wall"])
def test_targets_that_conflict_name_the_rules(demo: Book, tmp_path: Path, load: str) -> None:
    """A load that kept walls or base cannot carry: the text names the rule, and what it alone would need."""
    begin = "kind: design-targets\nlike: b211-330\nid: b211-330-x\n"
    text = f"{begin}targets: {{axial_load: {load}}}\nkeep: [ironing, punch, stock.gauge]\n"
    with pytest.raises(Conflict, match=r"cannot hold together: .*can\.axial-load") as refused:
        new_size(demo, read_targets(asked(tmp_path, text)))
    assert "alone it would need" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("like: x\nid: n\n", "format x is not in the book"),
        ("like: b211-330\n", "targets.yaml:1:1: id (id of the new size) is missing"),
        ("like: b211-330\nid: b211-330\n", "is in the book already"),
        ("like: b211-330\nid: n\nflange: {widht: 3 mm}\n", "targets.yaml:4:10: widht is not a key of flange"),
        ("like: b211-330\nid: n\nflange: {width: 3 kg}\n", "targets.yaml:4:19: kg is a mass"),
        ("like: b211-330\nid: n\nfill: {contents: 250 mm}\n", "targets.yaml:4:22: mm is a length"),
        (
            "like: b211-330\nid: n\nblank: {diameter: 13 mm}\n",
            "targets.yaml:4:19: blank diameter 13 mm is out",
        ),
        ("like: b211-330\nid: n\nstatus: released\n", "targets.yaml:4:1: status is not a key"),
        ("like: b211-330\nid: n\nflange: 3 mm\n", "targets.yaml:4:9: a group of keys is required"),
        ("like: b211-330\nid: n\nend: nope\n", "targets: end: end nope is not in the book"),
        ("like: b211-330\nid: n\nkeep: [punch, zz]\n", "keep: zz is no key of b211-330"),
        ("like: b211-330\nid: N x\n", "targets.yaml:3:5: "),
        ("like: b211-330\nid: n\naim: cheap\n", "targets.yaml:4:6: "),
        ("- a\n", "a list in place of keys"),
    ],
)
def test_targets_with_a_fault_say_which(demo: Book, tmp_path: Path, text: str, words: str) -> None:
    """One line with the place at fault."""
    with pytest.raises(NoDesign) as refused:
        new_size(
            demo, read_targets(asked(tmp_path, text if text[0] == "-" else f"kind: design-targets\n{text}"))
        )
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "written",
    [
        'approvals: [{role: quality, revision: 1, day: "2026-09-10"}]\n',
        'approvals:\n- role: quality\n  revision: 1\n\n  # seen\n  day: "2026-09-10"\n',
        'approvals:\n  - {role: quality, revision: 1, day: "2026-09-10"}\n\n',
    ],
)
def test_a_draft_takes_no_approval_over(written: str, make_book: MakeBook) -> None:
    """The approvals of the former format are not those of the draft, however they are written."""
    added = ("formats/b211-330.yaml", "lines: [heron]\n", f"lines: [heron]\n{written}")
    former = load(make_book(["b211-330"], [added]), shown="").of("size-format")["b211-330"]
    assert len(former.record.approvals) == 1
    text = unapproved(former.document.text)
    assert "quality" not in text.partition("stock:")[0]
    assert source.read_text(text, "a.yaml").document is not None
    assert text.count("\n") <= former.document.text.count("\n")
    for block in ("lines: [heron]\n", "stock:\n", "targets:\n"):
        assert block in text


def test_the_command_writes_the_draft_once(make_book: MakeBook, tmp_path: Path) -> None:
    """A file that exists stays as it is."""
    root, targets = make_book(["b211-330"]), asked(tmp_path, SMALL)
    draft = root / "formats/b211-250.yaml"
    arguments = ["design", str(targets), "--book", str(root), "--to", str(draft)]
    assert CliRunner().invoke(main, arguments, catch_exceptions=False, standalone_mode=False).exit_code == 0
    written = draft.read_bytes()
    assert CliRunner().invoke(main, arguments).exit_code == 2
    assert draft.read_bytes() == written


@pytest.mark.parametrize(("text", "words"), [("", "is empty"), ("like: b211-330\nid: n\n", "no `kind:`")])
def test_a_file_that_is_none_says_so(tmp_path: Path, text: str, words: str) -> None:
    """An empty file, or one without its kind, is one line that says what it needs."""
    with pytest.raises(NoDesign, match=words):
        read_targets(asked(tmp_path, text))


def test_the_schema_has_each_target_with_unit_and_band() -> None:
    """The schema takes its keys from those of a format, so that an editor shows unit and band of each."""
    folder = shipped("schema") / "design"
    properties = json.loads((folder / "targets.json").read_text(encoding="utf-8"))["properties"]
    of_format = json.loads((folder / "../size-format.json").read_text(encoding="utf-8"))["properties"]
    left_out = {"revision", "status", "standard", "variant_of", "also_called", "approvals"}
    assert set(of_format) - left_out == set(properties) - {"like", "aim", "keep"}
    for name in set(of_format) & set(properties) - {"kind", "id"}:
        file, _, key = properties[name]["$ref"].partition("#/properties/")
        assert key == name
        assert name in json.loads((folder / file).read_text(encoding="utf-8"))["properties"]
