"""Values in which formats differ, and what answers them: something on the line, or the plant's word."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeAlias

import pytest

from kb.book.load import Book, load
from kb.checks.consistency.floor import floor_faults
from kb.checks.consistency.floor_index import (
    FloorIndex,
    Said,
    answer_faults,
    as_written,
    items,
    orphan_faults,
    said_by,
)
from kb.checks.consistency.floor_keys import IDENTITY, covered, leaf, plain, sizes
from tests.conftest import Edit, put

FLOOR, CHANGEOVER = "floor.yaml", "changeover.yaml"
R330, R355, R440 = (f"formats/b211-{size}.yaml" for size in ("330", "355", "440"))
NO_PART = """no_part:
  - values: [format.body, format.stock.earing]
    why: They show what comes, and set nothing.
  - values: [format.fill.*]
    why: The filler's own.
"""
PAD = "driven_by: [format.blank.diameter, format.cup.punch_diameter]"
DIE = "driven_by: [format.cup.die_bore, format.cup.die_radius]"

Changed: TypeAlias = Callable[..., Book]


@pytest.fixture
def changed(demo: Book, tmp_path: Path) -> Changed:
    """A maker of copies of the demo book, changed in places, with their own list of what needs no part."""

    def make(edits: Iterable[Edit] = (), no_part: str = NO_PART, without: Iterable[str] = ()) -> Book:
        root = tmp_path / "specs"
        shutil.copytree(demo.root, root)
        path = root / CHANGEOVER
        text = path.read_text(encoding="utf-8")
        path.write_text(re.sub(r"(?ms)^no_part:.*?(?=^[a-z_]+:)", no_part + "\n", text), encoding="utf-8")
        for name in without:
            (root / name).unlink()
        for edit in edits:
            put(root, *edit)
        return load(root, shown="specs")

    return make


def reported(book: Book) -> list[tuple[str, str, str]]:
    """Name, file and key of each finding on answers."""
    assert book.findings == []
    return [(one.name, one.place.file, one.place.key) for one in answer_faults(book)]


# --- what a format says -----------------------------------------------------------------------


def test_all_values_of_a_format_are_read(demo: Book) -> None:
    """A format says every value that two formats may differ in, but the list of necks it leaves out."""
    for spec in demo.of("size-format").values():
        patterns = {plain(key) for key in said_by(spec)}
        assert patterns == set(sizes()) - {"format.neck.diameters[]"}


def test_identity_is_no_size() -> None:
    """Title, revision, owner and lines show which format it is, and are no values of the can."""
    assert {"title", "revision", "lines"} <= IDENTITY
    assert not [key for key in sizes() if key.split(".")[1].removesuffix("[]") in IDENTITY]
    assert {"format.label", "format.end", "format.body", "format.stock.material"} <= set(sizes())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("outside_diameter: 110 mm", "outside_diameter: 11 cm"),
        ("wall_diameter: 65.840 ±0.0010 mm", "wall_diameter: 65.839 to 65.841 mm"),
        ("land: 0.50 mm", "land: 0.5 mm"),
        ("land: 0.50 mm", "land: 0.50 mm (0.0197 in)"),
        ("  headspace: 12.1 ±1.2 mm\n", "  headspace: 12.1 ±1.2 mm\n  nitrogen: 0 g\n"),
        ('why: "Narrower', 'why: "A narrower'),
    ],
)
def test_the_same_value_otherwise_written_is_the_same(
    demo: Book, changed: Changed, old: str, new: str
) -> None:
    """Another unit, another form of the same limits, a zero left out or written: nothing differs."""
    again = changed([(R330, old, new)]).of("size-format")["b211-330"]
    assert said_by(again) == said_by(demo.of("size-format")["b211-330"])


def test_other_limits_are_another_value(demo: Book, changed: Changed) -> None:
    """With the same target and a wider tolerance, the value differs."""
    again = changed([(R330, "depth: 10.60 ±0.10 mm", "depth: 10.60 ±0.12 mm")])
    old, new = (said_by(book.of("size-format")["b211-330"]) for book in (demo, again))
    assert {key for key in old if old[key] != new[key]} == {"format.dome.depth"}


def test_a_value_is_reported_as_written(demo: Book) -> None:
    """Quantities, counts and texts stand as in the file; what is not there is none."""
    spec = demo.of("size-format")["b211-330"]
    keys = ("format.punch.wall_diameter", "format.neck.stages", "format.end", "format.ironing.rings[1].bore")
    assert [as_written(spec, key) for key in keys] == [
        "65.840 ±0.0010 mm",
        "12",
        "curlew-202",
        "66.156 ±0.001 mm",
    ]
    assert as_written(spec, "format.neck.diameters[0]") == as_written(spec, "format.fill.nitrogen") == "none"


# --- orphans ----------------------------------------------------------------------------------


def test_the_demo_has_no_orphans(demo: Book) -> None:
    """Every value in which formats of a demo line differ has its answer, and no answer is idle."""
    assert reported(demo) == []


def test_a_value_that_nothing_changes_with_is_an_orphan(changed: Changed) -> None:
    """It is reported once for the line, in the later format of a pair, with both values and what to write."""
    edits = [
        (FLOOR, DIE, "driven_by: [format.cup.die_bore]"),
        (R355, "die_radius: 2.8 mm\nredraw", "die_radius: 2.9 mm\nredraw"),
        (R440, "die_radius: 2.8 mm\nredraw", "die_radius: 3.0 mm\nredraw"),
    ]
    book = changed(edits)
    (found,) = answer_faults(book)
    assert (found.name, found.severity) == ("changeover.orphan", "error")
    assert (found.place.file, found.place.key) == ("specs/formats/b211-355.yaml", "cup.die_radius")
    line = (book.root / R355).read_text(encoding="utf-8").splitlines()[found.place.span.line - 1]
    assert line[found.place.span.column - 1 :] == "2.9 mm"
    assert "2.8 mm for b211-330" in found.message
    assert "2.9 mm for b211-355" in found.message
    assert "heron" in found.message
    assert found.fixes == (
        "add format.cup.die_radius to driven_by of a part or setting of floor.yaml, "
        "or to no_part of changeover.yaml",
    )


def test_a_list_without_an_answer_is_reported_once(changed: Changed) -> None:
    """Three rings that differ in a value nothing answers are one finding, at the first of them."""
    one = "        size: format.trim.height\n        driven_by: [format.trim.height]"
    edits = [
        (FLOOR, DISTANCES, one),
        (R355, "distance: 190.0 mm", "distance: 191.0 mm"),
        (R355, "distance: 310.0 mm", "distance: 311.0 mm"),
    ]
    book = changed(edits)
    assert reported(book) == [
        ("changeover.orphan", "specs/formats/b211-355.yaml", "ironing.rings[1].distance")
    ]
    (found,) = answer_faults(book)
    assert found.fixes[0].startswith("add format.ironing.rings[].distance to driven_by")


def test_a_value_that_one_format_alone_has_is_an_orphan(changed: Changed) -> None:
    """A value written in one format and left out in the others differs as well."""
    edits = [(R440, "  headspace: ", "  nitrogen: 0.1 g\n  headspace: ")]
    rest = "[format.fill.carbonation, format.fill.temperature, format.fill.headspace]"
    book = changed(edits, no_part=NO_PART.replace("[format.fill.*]", rest))
    assert reported(book) == [("changeover.orphan", "specs/formats/b211-440.yaml", "fill.nitrogen")]
    assert "none for b211-330" in next(answer_faults(book)).message


def test_withdrawn_formats_count_for_nothing(changed: Changed) -> None:
    """Nobody changes over to a withdrawn format, so its own values need no answer."""
    edits = [
        (FLOOR, DIE, "driven_by: [format.cup.die_bore]"),
        (R440, "die_radius: 2.8 mm\nredraw", "die_radius: 3.0 mm\nredraw"),
        (R440, "status: released", "status: withdrawn"),
    ]
    assert reported(changed(edits)) == []


def test_only_machines_of_the_line_answer(changed: Changed) -> None:
    """A line without a palletizer has nothing that changes with the layers, though the floor file has."""
    edits = [("lines/plover.yaml", "    kind: palletizer\n", "    kind: tester\n")]
    found = reported(changed(edits))
    assert {name for name, _, _ in found} == {"changeover.orphan"}
    assert {key for _, _, key in found} == {"pallet.per_layer", "pallet.layers"}


def test_no_part_takes_single_values_and_blocks(changed: Changed) -> None:
    """Values that the plant says need nothing are no orphans; without its word they are."""
    assert reported(changed()) == []


def test_what_is_not_said_to_need_nothing_is_an_orphan(changed: Changed) -> None:
    """With the fill left out of the list, what differs in it is reported for both lines."""
    found = reported(changed(no_part=NO_PART.replace("[format.fill.*]", "[format.fill.temperature]")))
    assert {key for name, _, key in found if name == "changeover.orphan"} >= {"fill.headspace"}


def test_a_gauge_answers_what_it_measures(demo: Book) -> None:
    """The wall target changes no tool, but the master of the wall gauge at the bodymakers."""
    floor, line = demo.only("floor"), demo.of("line")["heron"]
    assert floor is not None
    answers = FloorIndex(floor.record, line.record, None)
    found = answers.of("format.targets.thin_wall")
    assert [(one.id, one.what, one.machine) for one in found] == [("wall-gauge", "gauge", "bodymaker")]


def test_a_whole_list_answers_each_member(demo: Book) -> None:
    """What is driven by all rings answers each; what is driven by one answers that one."""
    floor, line = demo.only("floor"), demo.of("line")["heron"]
    assert floor is not None
    answers = FloorIndex(floor.record, line.record, None)
    assert "ironing-ring" in {one.id for one in answers.of("format.ironing.rings[2].bore")}
    assert not answers.answered("format.ironing.rings[2].roughness")


@pytest.mark.parametrize("name", [FLOOR, CHANGEOVER])
def test_without_its_files_nothing_is_judged(changed: Changed, name: str) -> None:
    """A book without a floor or changeover file is not checked for answers."""
    assert (
        reported(
            changed([(R440, "die_radius: 2.8 mm\nredraw", "die_radius: 3.0 mm\nredraw")], without=[name])
        )
        == []
    )


def test_every_format_is_compared_once_for_each_value(demo: Book) -> None:
    """Comparisons grow with the formats, not with their pairs."""

    class Counted(tuple[float, float, float]):
        __slots__ = ()
        compared = 0

        def __eq__(self, other: object) -> bool:
            Counted.compared += 1
            return tuple.__eq__(self, other)

        def __ne__(self, other: object) -> bool:
            return not self == other

        __hash__ = tuple.__hash__

    floor, line = demo.only("floor"), demo.of("line")["heron"]
    assert floor is not None
    spec = demo.of("size-format")["b211-330"]
    count, keys = 500, said_by(spec)
    book = Book(demo.root, {"size-format": {f"f{i:03}": spec for i in range(count)}})
    numbers: dict[str, dict[str, Said]] = {
        ident: {key: Counted((0.0, 0.0, 0.0)) for key in keys} for ident in book.of("size-format")
    }
    list(orphan_faults(book, "heron", FloorIndex(floor.record, line.record, None), numbers))
    assert 0 < Counted.compared <= count * len(keys)


# --- answers to nothing -----------------------------------------------------------------------

DISTANCES = (
    '        size: format.ironing.rings[].distance\n        driven_by: ["format.ironing.rings[].distance"]'
)
FAULTS: dict[str, tuple[list[Edit], str, str, str, str]] = {
    "a part for a ring that no format has": (
        [(FLOOR, DISTANCES, DISTANCES.replace("[]", "[4]"))],
        NO_PART.replace("format.body,", 'format.body, "format.ironing.rings[].distance",'),
        "changeover.answers-nothing",
        "machines[1].parts[5].driven_by",
        "name the values that change it",
    ),
    "a value that no part needs and no format has": (
        [],
        NO_PART + '  - values: ["format.neck.diameters[]"]\n    why: Not written here.\n',
        "changeover.answers-nothing",
        "no_part[2].values[0]",
        "take it out",
    ),
    "a misspelt value": (
        [],
        NO_PART + "  - values: [format.fil.contents]\n    why: A slip.\n",
        "changeover.unknown-value",
        "no_part[2].values[0]",
        "did you mean format.fill.contents?",
    ),
    "a misspelt block": (
        [],
        NO_PART + "  - values: [format.targts.*]\n    why: A slip.\n",
        "changeover.unknown-value",
        "no_part[2].values[0]",
        "did you mean format.targets.*?",
    ),
    "a value of another file": (
        [],
        NO_PART + "  - values: [end.countersink]\n    why: It goes with the end.\n",
        "changeover.unknown-value",
        "no_part[2].values[0]",
        "",
    ),
    "a value that two entries name": (
        [],
        NO_PART + "  - values: [format.body]\n    why: A second reason.\n",
        "changeover.answer-repeated",
        "no_part[2].values[0]",
        "take one out",
    ),
    "a value that a part changes with": (
        [],
        NO_PART + "  - values: [format.trim.height]\n    why: Not so.\n",
        "changeover.no-part-answered",
        "no_part[2].values[0]",
        "remove it here",
    ),
}


def test_a_block_is_a_group_of_values() -> None:
    """A block takes in all below it at any depth; a format as a whole is no block."""
    assert set(covered("format.ironing.*")) == {key for key in sizes() if key.startswith("format.ironing.")}
    assert covered("format.*") == covered("end.*") == covered("format.fil.*") == ()


@pytest.mark.parametrize("fault", FAULTS)
def test_an_idle_or_doubled_answer_is_reported_at_its_place(changed: Changed, fault: str) -> None:
    """Each fault has its name and its place, is the only finding, and has a fix."""
    edits, no_part, name, key, fix = FAULTS[fault]
    book = changed(edits, no_part=no_part)
    (found,) = answer_faults(book)
    assert (found.name, found.place.key) == (name, key)
    assert found.place.file == f"specs/{CHANGEOVER if key.startswith('no_part') else FLOOR}"
    assert found.fixes[0].startswith(fix)
    assert found.severity == ("warning" if name.endswith(("repeated", "answered")) else "error")


def test_what_no_format_can_change_is_not_idle(demo: Book) -> None:
    """A setting with the machine's own value may be on setup sheets."""
    floor = demo.only("floor")
    assert floor is not None
    own = [one.id for one in items(floor.record) if all(key.startswith("machine.") for key in one.keys)]
    assert own
    assert reported(demo) == []


def test_a_gauge_beside_no_part_is_no_contradiction(changed: Changed) -> None:
    """What is only measured needs no part; the plant may say so."""
    more = "  - values: [format.targets.*]\n    why: What must come out, not what is set.\n"
    assert reported(changed(no_part=NO_PART + more)) == []


# --- keys that are texts ----------------------------------------------------------------------


@pytest.mark.parametrize("key", ["format.label", "format.end", "format.body", "format.stock.material"])
def test_texts_of_a_format_have_keys(key: str) -> None:
    """What comes by name can drive a part or supply."""
    found = leaf(key)
    assert found is not None
    assert (found.unit, found.dimension) == ("text", "text")
    assert covered(key) == (key,)


@pytest.mark.parametrize(
    ("old", "new", "name", "key"),
    [
        (
            "        value: route.blank.pitch\n",
            "        value: format.end\n",
            "floor.unknown-key",
            "machines[0].settings[0].value",
        ),
        (
            "    value: end.countersink\n",
            "    value: format.label\n",
            "floor.unknown-key",
            "first_offs[23].value",
        ),
        (
            "        size: route.necked[].pilot\n",
            "        size: format.end\n",
            "floor.unit",
            "machines[7].parts[1].within",
        ),
    ],
)
def test_a_text_is_no_number(changed: Changed, old: str, new: str, name: str, key: str) -> None:
    """Where the floor wants a number, a text is refused at its place."""
    found = [one for one in floor_faults(changed([(FLOOR, old, new)])) if one.severity == "error"]
    assert [(one.name, one.place.key) for one in found] == [(name, key)]


def test_a_text_may_name_a_part_or_drive_it(changed: Changed) -> None:
    """A part that goes by the end is sized by the end's name."""
    edge = "        driven_by: [format.blank.diameter, format.blank.die_clearance]"
    edits = [
        (FLOOR, PAD, "driven_by: [format.blank.diameter, format.cup.punch_diameter, format.end]"),
        (FLOOR, "size: format.blank.diameter\n" + edge, "size: format.end\n" + edge),
    ]
    assert list(floor_faults(changed(edits))) == []
