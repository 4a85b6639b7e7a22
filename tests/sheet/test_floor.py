"""The check of the floor file: what it names is there, what it measures can be measured."""

from __future__ import annotations

import pytest

from kb.book.load import Book
from kb.book.records_floor import Floor
from kb.checks import check_book
from kb.checks.consistency.floor import floor_faults
from kb.checks.consistency.floor_keys import leaf, near
from kb.checks.names import finding_names
from tests.conftest import TODAY, Edit
from tests.sheet.conftest import CopyBook

FLOOR = "floor.yaml"

FAULTS: dict[str, tuple[list[Edit], str, str, str]] = {
    "a misspelt key": (
        [(FLOOR, "        value: route.blank.pitch\n", "        value: route.blank.pich\n")],
        "floor.unknown-key",
        "machines[0].settings[0].value",
        "did you mean route.blank.pitch?",
    ),
    "a key that is no number": (
        [(FLOOR, "    value: end.countersink\n", "    value: end.title\n")],
        "floor.unknown-key",
        "first_offs[23].value",
        "did you mean",
    ),
    "a whole list; one value is required": (
        [(FLOOR, "    value: format.neck.plug_diameter\n", '    value: "format.ironing.rings[].bore"\n')],
        "floor.unknown-key",
        "first_offs[18].value",
        "write a position, as in [0]",
    ),
    "a misspelt driver": (
        [(FLOOR, "[format.dome.depth, format.stock.gauge]", "[format.dome.depth, format.stock.gage]")],
        "floor.unknown-key",
        "machines[1].settings[1].driven_by[1]",
        "did you mean format.stock.gauge?",
    ),
    "a misspelt further size": (
        [(FLOOR, "size: format.punch.step_height}", "size: format.punch.step_hight}")],
        "floor.unknown-key",
        "machines[1].parts[2].also[1].size",
        "did you mean format.punch.step_height?",
    ),
    "a rate shown as a length": (
        [(FLOOR, "drive screen\n        shown: rate\n", "drive screen\n        shown: length\n")],
        "floor.unit",
        "machines[1].settings[0].value",
        "write shown: rate",
    ),
    "a tolerance of another quantity": (
        [(FLOOR, ".web]\n        within: 0.05 mm\n", ".web]\n        within: 0.05 kPa\n")],
        "floor.unit",
        "machines[0].settings[0].within",
        "write it in mm",
    ),
    "a gauge of another quantity": (
        [(FLOOR, "    gauge: balance\n", "    gauge: wall-gauge\n")],
        "floor.unit",
        "first_offs[12].gauge",
        "name a gauge for this quantity",
    ),
    "a limit of another quantity": (
        [(FLOOR, "    limit: seam.overlap\n", "    limit: seam.overlap-share\n")],
        "floor.unit",
        "first_offs[28].limit",
        "name a limit of the same quantity",
    ),
    "an expected reading of another quantity": (
        [(FLOOR, "    expected: route.strength.reversal\n", "    expected: route.strength.axial_empty\n")],
        "floor.unit",
        "first_offs[15].expected",
        "name a result of the same quantity",
    ),
    "an expected reading that no route has": (
        [(FLOOR, "    expected: route.strength.reversal\n", "    expected: route.strength.reversa\n")],
        "floor.unknown-key",
        "first_offs[15].expected",
        "did you mean route.strength.reversal?",
    ),
    "a limit that is none": (
        [(FLOOR, "    limit: seam.overlap\n", "    limit: seam.overlop\n")],
        "floor.unknown-limit",
        "first_offs[28].limit",
        "did you mean seam.overlap?",
    ),
    "a gauge that is not there": (
        [(FLOOR, "    gauge: plug-gauge\n", "    gauge: plug-guage\n")],
        "floor.unknown-gauge",
        "first_offs[18].gauge",
        "did you mean plug-gauge?",
    ),
    "a plan that is not there": (
        [(FLOOR, "    reaction: 7\n", "    reaction: 77\n")],
        "floor.unknown-reaction",
        "first_offs[14].reaction",
        "did you mean 7?",
    ),
    "a role that is not there": (
        [(FLOOR, "role: line lead}", "role: line led}")],
        "floor.unknown-role",
        "release[5].role",
        "did you mean line lead?",
    ),
    "one id twice": (
        [(FLOOR, "  - id: axial-load\n", "  - id: dome-pressure\n")],
        "floor.repeated",
        "first_offs[16].id",
        "rename one",
    ),
    "a gauge too coarse": (
        [(FLOOR, "    resolution: 0.0005 mm\n", "    resolution: 0.001 mm\n")],
        "floor.gauge-resolution",
        "first_offs[6].gauge",
        "measure it with a gauge that shows 0.0008 mm or finer",
    ),
    "a machine without caution": (
        [(FLOOR, "  - machine: oven\n", "  - machine: trimmer\n")],
        "floor.no-caution",
        "machines",
        "add the hazards of a changeover of an oven",
    ),
    "a machine that a line lacks": (
        [("lines/plover.yaml", "    kind: flanger\n", "    kind: tester\n")],
        "floor.not-on-line",
        "first_offs[20].sample.machine",
        "take it at a machine that plover has",
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_reported_at_its_place(copy_book: CopyBook, fault: str) -> None:
    """Each sort of fault has its name, its place, its severity and a way out."""
    edits, name, key, fix = FAULTS[fault]
    found = [one for one in floor_faults(copy_book(edits)) if (one.name, one.place.key) == (name, key)]
    assert len(found) >= 1, [(one.name, one.place.key) for one in floor_faults(copy_book(edits))]
    assert found[0].place.file == "specs/floor.yaml"
    assert found[0].severity == finding_names()[name].severity
    assert found[0].fixes[0].startswith(fix)


def test_every_name_of_the_floor_has_a_case() -> None:
    """No finding on the floor file goes without a test.

    `floor.within` is found beside the route of a format; tests/specs_bad/floor has its case.
    """
    assert {name for _, name, _, _ in FAULTS.values()} | {"floor.within"} == {
        name for name in finding_names() if name.startswith("floor.")
    }


def test_the_demos_floor_is_valid(demo: Book) -> None:
    """The demo's floor file has no fault, and the check of the book reads it."""
    assert list(floor_faults(demo)) == []


def test_the_check_of_a_book_judges_its_floor(copy_book: CopyBook) -> None:
    """A fault of the floor file is among the findings of the book, and only of the whole book."""
    book = copy_book(FAULTS["a plan that is not there"][0])
    assert "floor.unknown-reaction" in {one.name for one in check_book(book, today=TODAY).findings}
    alone = check_book(book, today=TODAY, formats=["b204-330"])
    assert "floor.unknown-reaction" not in {one.name for one in alone.findings}


def test_a_book_without_a_floor_is_not_judged(copy_book: CopyBook) -> None:
    """A book need not have one."""
    assert list(floor_faults(copy_book(without=[FLOOR]))) == []


def test_a_kind_of_machine_that_no_line_has_is_an_error(copy_book: CopyBook) -> None:
    """A misspelt kind of machine is found at its place: its hazards would be on no sheet."""
    book = copy_book([(FLOOR, "  - machine: oven\n", "  - machine: owen\n")])
    assert [(one.name, one.severity, one.fixes) for one in book.findings] == [
        ("book.unknown-id", "error", ("did you mean oven?",))
    ]


def test_a_check_is_measured_or_judged(copy_book: CopyBook) -> None:
    """A first-off with neither value nor words of acceptance is refused."""
    book = copy_book([(FLOOR, "    accept: no can rejected\n", "")])
    assert book.findings
    assert all(one.name.startswith("shape.") for one in book.findings)


@pytest.mark.parametrize(
    ("key", "unit", "dimension"),
    [
        ("format.dome.depth", "mm", "length"),
        ("format.ironing.rings[1].bore", "mm", "length"),
        ("format.neck.diameters[3]", "mm", "length"),
        ("route.necked[].die_bore", "mm", "length"),
        ("route.cup.press_force", "N", "force"),
        ("machine.ram_speed", "1/min", "rate"),
        ("line.speed", "1/min", "rate"),
        ("end.rated_pressure", "MPa", "pressure"),
        ("format.blank.across", "count", "count"),
        ("plant.warmest", "degC", "temperature"),
    ],
)
def test_keys_name_numbers_of_specs_and_routes(key: str, unit: str, dimension: str) -> None:
    """A key leads to a number with its unit and what it measures."""
    found = leaf(key)
    assert found is not None
    assert (found.unit, found.dimension) == (unit, dimension)


@pytest.mark.parametrize(
    "key",
    [
        "format.title",
        "format.ironing.rings",
        "machine.can_height",
        "route.cup.shape",
        "route.case.lines",
        "x",
    ],
)
def test_what_is_no_number_is_no_key(key: str) -> None:
    """Texts, groups, ranges and shapes are not printed as values."""
    assert leaf(key) is None


def test_the_nearest_key_is_suggested() -> None:
    """A slip of the pen finds what was meant, at any position."""
    assert near("format.ironing.ring[2].bore") == "format.ironing.rings[].bore"
    assert near("?") is None


def test_the_demo_floor_is_large_enough_to_work_with(demo: Book) -> None:
    """Parts, settings, checks, plans and gauges are there in number, cautions for every machine kind."""
    spec = demo.only("floor")
    assert spec is not None
    floor: Floor = spec.record
    assert sum(len(one.parts) + len(one.settings) for one in floor.machines) >= 25
    assert len(floor.first_offs) >= 25
    assert len(floor.reactions) >= 10
    assert len(floor.gauges) >= 12
    kinds = {machine.kind for line in demo.of("line").values() for machine in line.record.machines}
    assert {one.machine for one in floor.machines if one.cautions} == kinds
