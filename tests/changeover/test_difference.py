"""What differs between two formats that are the same but for what a test changes in one of them."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeAlias

import pytest

from kb.book.load import Book, load
from kb.changeover.content import tools_in
from kb.changeover.difference import NoDifference, OnLine
from kb.changeover.model import Difference
from tests.changeover.looked_up import at, ids
from tests.changeover.small import all_compared, compared
from tests.conftest import Edit, put

FLOOR = "floor.yaml"
OLD, NEW = "b211-330", "b211-330-b"
R330 = f"formats/{OLD}.yaml"
TWIN = f"formats/{NEW}.yaml"

Twin: TypeAlias = Callable[..., Book]


@pytest.fixture
def twin(demo: Book, tmp_path: Path) -> Twin:
    """A maker of copies of the demo book with a second b211-330, changed in places."""

    def make(*edits: Edit, without: Iterable[str] = ()) -> Book:
        root = tmp_path / "specs"
        shutil.copytree(demo.root, root)
        for name in without:
            (root / name).unlink()
        (root / TWIN).write_bytes((root / R330).read_bytes())
        put(root, TWIN, f"id: {OLD}\n", f"id: {NEW}\n")
        for edit in edits:
            put(root, *edit)
        return load(root, shown="specs")

    return make


def to_twin(book: Book) -> Difference:
    """From the format to its twin."""
    assert book.findings == []
    return compared(book, OLD, NEW, "heron")


# --- what counts as another part --------------------------------------------------------------


def test_a_label_alone_leaves_the_metal_alone(twin: Twin) -> None:
    """With another label only plates, inks and pallet labels change; the other machines are left alone."""
    book = twin((TWIN, "Tide lines, blue", "Tide lines, red"))
    one = to_twin(book)
    assert (one.kind, [m.key for m in one.moved]) == ("label", ["format.label"])
    assert ids(one) == {"plates", "inks", "pallet-labels"}
    assert {station.kind for station in one.stations} - {station.kind for station in one.alone} == {
        "printer",
        "palletizer",
    }
    plates = at(one, "plates")
    assert (plates.old[0].text, plates.new[0].text) == ("Tide lines, blue", "Tide lines, red")
    assert (plates.what, plates.pieces, plates.because) == ("supply", 0, ("format.label",))


def test_computed_sizes_closer_than_their_tolerance_are_one_part(twin: Twin) -> None:
    """A last ring 2 µm wider moves the neck dies by less than the 5 µm to which they are made: they stay."""
    one = to_twin(twin((TWIN, "bore: 66.030 ±0.001 mm", "bore: 66.032 ±0.001 mm")))
    assert "ironing-ring" in ids(one)
    assert not {"neck-die", "neck-pilot"} & ids(one)


def test_computed_sizes_further_apart_are_another_part(twin: Twin) -> None:
    """A last ring 16 µm wider moves the neck dies by more than their tolerance: they change."""
    one = to_twin(twin((TWIN, "bore: 66.030 ±0.001 mm", "bore: 66.046 ±0.001 mm")))
    dies = at(one, "neck-die")
    assert dies.because == ("route.necked[].die_bore",)
    assert len(dies.places) > 6
    assert dies.pieces == dies.per_machine * len(dies.places) == dies.pieces_out


def test_written_sizes_change_with_any_digit(twin: Twin) -> None:
    """What a spec says is compared as written: a shoulder 0.1 mm higher is set again, within or not."""
    one = to_twin(twin((TWIN, "shoulder_height: 96.0 mm", "shoulder_height: 96.1 mm")))
    assert at(one, "neck-start").because == ("format.neck.shoulder_height",)


def test_a_tolerance_alone_makes_another_part_and_no_class(twin: Twin) -> None:
    """A part held to other limits is another part, though the changeover reaches nowhere."""
    one = to_twin(twin((TWIN, "die_bore: 88.59 ±0.01 mm", "die_bore: 88.59 ±0.02 mm")))
    assert (one.kind, ids(one)) == ("settings", {"draw-die"})
    assert not at(one, "draw-die").alike


def test_parts_that_print_alike_are_marked(twin: Twin) -> None:
    """A draw die of the same bore with another radius is another part under the same size."""
    one = to_twin(twin((TWIN, "die_radius: 2.8 mm\nredraw", "die_radius: 2.9 mm\nredraw")))
    die = at(one, "draw-die")
    assert die.old == die.new
    assert die.alike
    assert die.because == ("format.cup.die_radius",)


def test_digits_alone_do_not_distinguish_two_parts(twin: Twin) -> None:
    """A size written with another number of decimals is the same size: the serial identifies it."""
    one = to_twin(twin((TWIN, "die_bore: 88.59 ±0.01 mm", "die_bore: 88.590 ±0.020 mm")))
    (row,) = [row for each in tools_in(one, ()) for row in each.rows if row.id == "draw-die"]
    old = at(one, "draw-die").old[0]
    assert (old.target, row.value.target) == ("88.59", "88.590")
    assert row.look_alike == "same size marking as the old one: read the serial"


def test_further_sizes_of_a_part_are_reported(twin: Twin) -> None:
    """A punch with another step has the same thin-wall diameter; the step says which one it is."""
    one = to_twin(twin((TWIN, "step_height: 84.0", "step_height: 84.5")))
    punch = at(one, "punch")
    assert punch.old == punch.new
    assert not punch.alike
    also = {further.name: (further.old.target, further.new.target) for further in punch.also}
    assert also["step height"] == ("84.0", "84.5")
    assert also["thick-wall diameter"] == ("65.7200", "65.7200")


def test_only_the_places_that_differ_are_brought(twin: Twin) -> None:
    """With the second ring's spacer moved, eight bodymakers get one spacer each; with a pack, all of it."""
    one = to_twin(twin((TWIN, "distance: 190.0 mm", "distance: 191.0 mm")))
    spacer = at(one, "ring-spacer")
    assert (spacer.places, spacer.pieces, len(spacer.new)) == ((1,), 8, 3)
    assert spacer.because == ("format.ironing.rings[1].distance",)


def test_a_pack_changes_as_a_whole(twin: Twin) -> None:
    """Rings are a matched set: with one of another bore all three go and come."""
    one = to_twin(twin((TWIN, "bore: 66.156 ±0.001 mm", "bore: 66.155 ±0.001 mm")))
    rings = at(one, "ironing-ring")
    assert (rings.places, rings.pieces) == ((0, 1, 2), 24)
    assert rings.because == ("format.ironing.rings[1].bore",)


def test_settings_are_in_the_unit_of_the_display(twin: Twin) -> None:
    """A machine that shows inches is set in inches, its old and new target alike."""
    book = twin(
        (
            "lines/heron.yaml",
            "display: {temperature: degC, pressure: bar}\n    can_height: 85 to 190 mm",
            "display: {length: in, temperature: degC}\n    can_height: 85 to 190 mm",
        ),
        (TWIN, "height: 117.21 ±0.10 mm", "height: 117.41 ±0.10 mm"),
    )
    one = to_twin(book)
    mat, trim = at(one, "hold-down-mat"), at(one, "trim-height")
    assert {cell.unit for cell in (*mat.old, *mat.new)} == {"in"}
    assert (mat.old[0].target, mat.new[0].target) == ("4.6146", "4.6224")
    assert {cell.unit for cell in (*trim.old, *trim.new)} == {"mm"}


def test_gauges_are_reported_with_what_they_measure(twin: Twin) -> None:
    """A new wall target resets the wall gauge, and nobody touches the bodymakers for it."""
    one = to_twin(twin((TWIN, "thin_wall: 0.097 ±0.004 mm", "thin_wall: 0.098 ±0.004 mm")))
    (station,) = (one for one in one.stations if one.gauges)
    assert (station.kind, station.changes) == ("bodymaker", ())
    assert station in one.alone
    (gauge,) = station.gauges
    assert (gauge.id, gauge.what, gauge.because) == ("wall-gauge", "gauge", ("format.targets.thin_wall",))
    assert [(further.name, further.new.target) for further in gauge.also] == [("Thin wall", "0.098")]


def test_a_plant_limit_is_the_same_for_both(twin: Twin) -> None:
    """More trim allowance does not reset the rule that checks it."""
    one = to_twin(twin((TWIN, "  diameter: 137.80 ±0.03 mm", "  diameter: 137.88 ±0.03 mm")))
    assert "cut-edge" in ids(one)
    assert "trim-rule" not in ids(one)


def test_a_value_that_nothing_answers_is_an_orphan(twin: Twin) -> None:
    """Moved values that change nothing are listed apart, and so are all when the plant excuses none."""
    book = twin((TWIN, "headspace: 12.1 ±1.2 mm", "headspace: 12.2 ±1.2 mm"), without=["changeover.yaml"])
    one = to_twin(book)
    assert [m.key for m in one.orphans] == ["format.fill.headspace"]
    assert (one.orphans[0].old, one.orphans[0].new) == ("12.1 ±1.2 mm", "12.2 ±1.2 mm")


# --- what a line cannot run -------------------------------------------------------------------


def test_the_machine_that_stops_a_format_is_reported(demo: Book) -> None:
    """A slim can does not run on the line of the wide body, for the ranges of its machines."""
    one = compared(demo, "b211-500-206", "b202-200", "heron")
    assert len(one.stopped_by) > 3
    assert "can diameter at heron/bodymakers 52.899 mm" in one.stopped_by[1]
    assert "at least 65.5 mm" in one.stopped_by[1]
    assert "the machine's range" in one.stopped_by[1]
    assert compared(demo, "b202-200", "b211-500-206", "heron").stopped_by == ()
    shown = compared(demo, "b202-200", "b211-500-206", "plover").stopped_by
    assert any(words.startswith("plug diameter at plover/necker") for words in shown)


# --- what cannot be compared ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        (OLD, "b211-440", "herron", "line herron is not in the book; did you mean heron?"),
        (OLD, "b211-44", "heron", "size format b211-44 is not in the book; did you mean b211-440?"),
        ("x", OLD, "heron", "size format x is not in the book; known: b202-200"),
        ("", OLD, "heron", "size format  is not in the book"),
    ],
)
def test_unknown_names_are_reported(demo: Book, old: str, new: str, line: str, words: str) -> None:
    """A format or line that is not there is said in one line, with the one that was meant."""
    with pytest.raises(NoDifference) as error:
        compared(demo, old, new, line)
    assert str(error.value).startswith(words)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("edits", "without", "words"),
    [
        ([(TWIN, "layers: 22", "layers: 0")], [], f"size format {NEW} has errors"),
        ([(TWIN, "bore: 66.156", "bore: 66.262")], [], f"the dimensions of {NEW} do not form a can"),
        ([(TWIN, "end: curlew-202", "end: curlew-203")], [], f"a file that {NEW} refers to"),
        ([], [FLOOR], "floor.yaml"),
        ([("limits.yaml", "least: 0.7 mm", "least: 0.7 N")], [], "limits.yaml"),
    ],
)
def test_what_has_faults_is_not_compared(
    twin: Twin, edits: list[Edit], without: list[str], words: str
) -> None:
    """With faults in what it needs, a difference is refused in one line."""
    with pytest.raises(NoDifference) as error:
        compared(twin(*edits, without=without), OLD, NEW, "heron")
    assert str(error.value).startswith(words)


def test_formats_that_cannot_be_taken_are_left_out(twin: Twin) -> None:
    """The pairs of a line go on without a format whose geometry does not close, or that is withdrawn."""
    book = twin(
        (TWIN, "bore: 66.156", "bore: 66.262"),
        ("formats/b211-568-206.yaml", "status: released", "status: withdrawn"),
    )
    found = {ident for one in all_compared(OnLine(book, "heron")) for ident in (one.old, one.new)}
    assert OLD in found
    assert not {NEW, "b211-568-206"} & found


def test_keys_that_mean_nothing_do_not_stop_a_difference(twin: Twin) -> None:
    """With a key that no spec has in the floor file, the rest is still reported; `check` reports the key."""
    book = twin(
        (
            FLOOR,
            "driven_by: [format.cup.die_bore, format.cup.die_radius]",
            "driven_by: [format.cup.die_bor, end.nothing, route.nothing, stock.title, format.cup.die_bore]",
        ),
        (TWIN, "die_bore: 88.59 ±0.01 mm", "die_bore: 88.60 ±0.01 mm"),
    )
    assert at(compared(book, OLD, NEW, "heron"), "draw-die").because == ("format.cup.die_bore",)
