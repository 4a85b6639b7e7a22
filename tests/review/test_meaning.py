"""What a change of text means: pairs of files, kinds of change, and what means nothing in any order."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from kb.book import source
from kb.book.keys import quantities
from kb.book.load import Book, load
from kb.book.tree import Mapping, Node, Scalar, Sequence, value
from kb.checks.catalog import NAMES, RULES
from kb.folders import shipped
from kb.history.change_types import DOCUMENT, INTERFACE, MATERIAL, TOOL, term, under
from kb.history.value_diff import ChangedFile, ValueChange
from kb.output.review import review_text
from kb.review.approvals import APPROVED_BY
from kb.review.compare import review
from kb.review.prompts import together
from tests.conftest import TODAY, copy_book, put

R330 = "formats/b211-330.yaml"


@pytest.fixture
def books(tmp_path: Path, demo: Book) -> tuple[Path, Path]:
    """Two equal books of one format, with the floor's file."""
    for name in ("old", "new"):
        copy_book(demo, tmp_path / name, ["b211-330", "b204-355"])
        (tmp_path / name / "floor.yaml").write_bytes((demo.root / "floor.yaml").read_bytes())
    return tmp_path / "old", tmp_path / "new"


def files_of(books: tuple[Path, Path]) -> list[ChangedFile]:
    """The files that a review of two folders shows."""
    return list(review(str(books[0]), str(books[1]), today=TODAY).files)


def only(books: tuple[Path, Path]) -> ValueChange:
    """The one change of the one file."""
    (file,) = files_of(books)
    (change,) = file.changes
    return change


def test_another_unit_and_another_value_are_reported_in_the_new_unit(books: tuple[Path, Path]) -> None:
    """Old and new stand as written, the difference in the new unit, and the old value is given in it."""
    put(books[1], R330, "radius: 45.7 mm", "radius: 1.800 in")
    change = only(books)
    assert (change.old, change.new, change.rewritten) == ("45.7 mm", "1.800 in", "1.7992 in")
    assert change.difference == "+0.0008 in"
    assert change.was is not None
    assert change.now is not None
    assert change.was.target == pytest.approx(45.7 / 25.4)


def test_members_of_a_list_are_matched_by_what_names_them(books: tuple[Path, Path]) -> None:
    """A machine that is taken out changes nothing in the others, though their positions shift."""
    text = (books[1] / "lines/heron.yaml").read_text(encoding="utf-8")
    machine = re.search(r"  - id: washer\n(?:    .*\n)+", text)
    assert machine is not None
    (books[1] / "lines/heron.yaml").write_text(text.replace(machine[0], ""), encoding="utf-8")
    change = only(books)
    assert (change.words, change.new, change.new_place) == ("machine, Washer", "", None)
    assert change.old_place is not None


def test_the_order_of_machines_means_something(books: tuple[Path, Path]) -> None:
    """Machines are in the order the can meets them: exchanged ones are reported as an order."""
    path = books[1] / "lines/heron.yaml"
    text = path.read_text(encoding="utf-8")
    found = re.search(r"(  - id: trimmers\n(?:    .*\n)+)(  - id: washer\n(?:    .*\n)+)", text)
    assert found is not None
    path.write_text(text.replace(found[0], found[2] + found[1]), encoding="utf-8")
    change = only(books)
    assert change.words == "machines, order"
    assert change.old.index("Trimmers") < change.old.index("Washer")
    assert change.new.index("Washer") < change.new.index("Trimmers")


def test_rings_are_matched_by_position(books: tuple[Path, Path]) -> None:
    """A ring has no name; the third ring's bore is the third ring's."""
    put(books[1], R330, "bore: 66.030 ±0.001 mm", "bore: 66.031 ±0.001 mm")
    change = only(books)
    assert (change.words, change.key) == ("ring bore, ring 3", "ironing.rings[2].bore")


def test_what_is_understood_may_be_written_out(books: tuple[Path, Path]) -> None:
    """A key that says what its absence says is no change in meaning."""
    value = "  axial-calibration:\n    value: 1.00\n"
    put(books[1], "limits.yaml", value, f"{value}    calibrated: false\n")
    (file,) = files_of(books)
    assert (file.changes, file.states) == ((), ("no change in meaning",))


@pytest.mark.parametrize(
    ("file", "old", "new", "kinds"),
    [
        ("limits.yaml", "least: 0.7 mm\n", "least: 0.6 mm\n", ("widened", "limit")),
        ("limits.yaml", "most: 74 %", "most: 73 %", ("tightened", "limit")),
        ("limits.yaml", "    least: 84 %\n", "    least: 84 %\n    most: 95 %\n", ("tightened", "limit")),
        ("limits.yaml", "value: 0.76", "value: 0.77", ("setting",)),
        ("limits.yaml", "source: Plant record; invented", "source: Measured; invented", ("editorial",)),
        (R330, "contents: 330 ml", "contents: 331 ml", ("target moved", "interface")),
        (R330, "diameter: 52.40 ±0.10", "diameter: 52.40 ±0.11", ("widened", "tool", "interface")),
        (R330, "land: 0.50 mm", "land: 0.50 ±0.01 mm", ("tightened", "tool")),
        (R330, "84.0 ±0.2 mm", "84.1 +0.1/-0.1 mm", ("target moved", "tightened", "tool")),
        (R330, "owner: body tooling", "owner: cupping", ("editorial",)),
        ("plant.yaml", "warmest: 40 degC", "warmest: 41 degC", ("target moved", "plant")),
        ("ends/curlew-202.yaml", "countersink: 6.86", "countersink: 6.87", ("target moved", "interface")),
        ("materials/marsh-3104.yaml", "modulus: 69.0", "modulus: 69.1", ("target moved", "material")),
        ("waivers.yaml", "ceiling: 1.435", "ceiling: 1.436", ("target moved", "waiver")),
    ],
)  # fmt: skip
def test_kinds_of_change(
    books: tuple[Path, Path], file: str, old: str, new: str, kinds: tuple[str, ...]
) -> None:
    """Each change is of the kinds that its key and its numbers say."""
    put(books[1], file, old, new)
    assert only(books).kinds == kinds


def test_tables_name_keys_that_there_are(demo: Book) -> None:
    """Every key in the tables of kinds and prompts is in a format of the demo book."""
    record = demo.of("size-format")["b211-330"]
    present = {key for key, _ in quantities(record.record)} | set(flat(record.document.data()))
    unused = ("label", "approvals", "standard", "variant_of")  # keys that the format need not write
    for key in (*INTERFACE, *MATERIAL, *TOOL, *DOCUMENT):
        assert key in unused or any(under(one, (key,)) for one in present), key
    for row in together():
        moved = [key.removeprefix("size-format.") for key in row.moved if key.startswith("size-format.")]
        for key in (*moved, *row.usually):
            assert key in unused or any(under(one, (key,)) for one in present), key
        assert row.why.endswith(".")
        assert row.source


def test_the_table_of_keys_fits_its_schema() -> None:
    """The file of keys that usually change together is valid against its schema."""
    schema = json.loads((shipped("site") / "schema/together.json").read_text(encoding="utf-8"))
    content = yaml.safe_load((shipped("site") / "together.yaml").read_text(encoding="utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(content)] == []


def flat(data: object, key: str = "") -> list[str]:
    """Every dotted key of plain data."""
    if isinstance(data, dict):
        return [one for name, inner in data.items() for one in flat(inner, f"{key}.{name}" if key else name)]
    return [key]


def test_no_role_is_in_the_program(demo: Book) -> None:
    """Who approves is looked up in the book: the table of kinds names keys, none of the plant's owners."""
    assert demo.plant is not None
    listed = {key for keys in APPROVED_BY.values() for key in keys}
    assert not listed & set(demo.plant.owners)
    assert all(key.rpartition(".")[2] in {"owner", "owners", "approver"} for key in listed)


@pytest.mark.parametrize("name", RULES)
def test_limits_are_in_process_order(name: str) -> None:
    """Changes of limits are reported in the order in which the can meets the checks."""
    names = list(RULES)
    order = [term("limits", ("limits", one, "least"), names=NAMES).order for one in names]
    assert order[names.index(name)] == sorted(order)[names.index(name)]


# --- order never matters ---


def shuffled(text: str, seed: int) -> str:
    """The same spec with its keys in another order, some of its text in quotes, and a comment."""
    document = source.read_text(text, "spec").document
    assert document is not None
    chance = random.Random(seed)

    def written(node: Node, indent: str) -> str:
        if isinstance(node, Mapping):
            names = list(node.entries)
            chance.shuffle(names)
            return "".join(
                f"\n{indent}{name}: {written(node.entries[name].node, indent + '  ')}" for name in names
            )
        if isinstance(node, Sequence):
            return f"[{', '.join(in_line(one) for one in node.items)}]"
        return scalar(node)

    def in_line(node: Node) -> str:
        if isinstance(node, Mapping):
            names = list(node.entries)
            chance.shuffle(names)
            return f"{{{', '.join(f'{name}: {in_line(node.entries[name].node)}' for name in names)}}}"
        if isinstance(node, Sequence):
            return f"[{', '.join(in_line(one) for one in node.items)}]"
        return scalar(node)

    def scalar(node: Scalar) -> str:
        return json.dumps(node.text, ensure_ascii=False) if isinstance(value(node), str) else node.text

    return f"# written again, {seed}{written(document.root, '')}\n"


@pytest.mark.parametrize("seed", range(8))
def test_another_order_is_no_change(books: tuple[Path, Path], seed: int) -> None:
    """However the keys of all files are ordered and quoted, nothing is said to have changed in meaning."""
    old, new = books
    for path in sorted(new.rglob("*.yaml")):
        path.write_text(shuffled(path.read_text(encoding="utf-8"), seed), encoding="utf-8")
    assert load(new, shown="new").findings == []
    made = review(str(old), str(new), today=TODAY)
    assert {one.states for one in made.files} == {("no change in meaning",)}
    assert made.touched == ()
    assert made.checks == ()


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_keys_never_shows_in_what_is_reported(tmp_path: Path, demo: Book, seed: int) -> None:
    """A change in a book whose keys are in another order is reported in the same words.

    Findings are in the order of their lines, so lines of the text are compared, not their order.
    """
    for name in ("old", "plain", "mixed"):
        copy_book(demo, tmp_path / name, ["b211-330"])
    put(tmp_path / "plain", R330, "land: 0.50 mm", "land: 0.53 mm")
    for path in sorted((tmp_path / "plain").rglob("*.yaml")):
        text = shuffled(path.read_text(encoding="utf-8"), seed)
        (tmp_path / "mixed" / path.relative_to(tmp_path / "plain")).write_text(text, encoding="utf-8")

    def reported(name: str) -> list[str]:
        text = review_text(review(str(tmp_path / "old"), str(tmp_path / name), today=TODAY)).replace(
            name, "new"
        )
        meaningless = r"    no change in meaning: .*\n|  \S+yaml: [^\n]*no change in meaning\n"
        return sorted(re.sub(r":\d+:\d+", "", re.sub(meaningless, "", text)).splitlines())

    assert reported("plain") == reported("mixed")
