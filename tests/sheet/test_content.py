"""What a sheet says against what the specs and the route say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest

from kb.blocks import MISSING, Cell
from kb.book.keys import at
from kb.book.load import Book, Spec
from kb.book.quantity import as_quantity
from kb.route.assemble import Assembled
from kb.route.study import pick
from kb.sheet.content import NO_FLOOR, NoSheet, content
from kb.sheet.figures import number_of
from kb.sheet.issue import issue
from kb.sheet.model import NOT_FOR_USE, Content
from tests.sheet.conftest import LINE, MADE, RELEASED, CopyBook, sheet_of

CASES = ["b204-330/plover", "b211-330/heron", "b202-200/plover", "b211-568-206/heron"]


def cells(said: Any) -> Iterator[Cell]:
    """Every value of a content."""
    if isinstance(said, Cell):
        yield said
    elif isinstance(said, tuple):
        for one in said:
            yield from cells(one)
    elif is_dataclass(said):
        for field in fields(said):
            yield from cells(getattr(said, field.name))


def first_off(said: Content, name: str) -> Cell:
    """The value of a first-off check."""
    (found,) = (one.value for one in said.first_offs if one.name == name)
    assert found is not None
    return found


def part(said: Content, kind: str, name: str) -> Cell:
    """The size of a change part, or the value of a setting, at a machine."""
    (block,) = (one for one in said.machines if one.kind == kind)
    rows = [(one.name, one.size) for one in block.parts] + [(one.name, one.value) for one in block.settings]
    (found,) = (cell for row, cell in rows if row == name)
    return found


def limits_of(cell: Cell) -> tuple[str, str, str, str]:
    """Least, target, most and unit."""
    return cell.least, cell.target, cell.most, cell.unit


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize(
    ("row", "key"),
    [
        ("Thin wall", "targets.thin_wall"),
        ("Thick wall", "targets.thick_wall"),
        ("Dome depth", "dome.depth"),
        ("Trimmed height", "trim.height"),
        ("Body weight", "targets.body_mass"),
        ("Plug diameter", "neck.plug_diameter"),
        ("Flange width", "flange.width"),
        ("Finished height", "flange.finished_height"),
        ("Seam length", "seam.length"),
        ("Body hook", "seam.body_hook"),
    ],
)
def test_first_offs_have_the_limits_of_the_spec(
    contents: Mapping[str, Content], demo: Book, name: str, row: str, key: str
) -> None:
    """Min, target and max are the spec's, as numbers and to the digit, no decimal added or lost."""
    written = as_quantity(at(demo.of("size-format")[name.partition("/")[0]].record, key))
    cell = first_off(contents[name], row)
    assert cell.unit == written.unit
    shown = (cell.least, cell.target, cell.most)
    assert [number_of(one) for one in shown] == [number_of(one) for one in written.written]
    assert cell.target.startswith(written.written[1])


def test_trailing_zeros_are_kept(contents: Mapping[str, Content]) -> None:
    """A wall of 0.098 ±0.004 and a punch of 57.300 ±0.0010 keep the digits of their tolerance."""
    said = contents["b204-330/plover"]
    assert limits_of(first_off(said, "Thin wall")) == ("0.094", "0.098", "0.102", "mm")
    punch = next(one.size for one in said.pack if one.name.startswith("Punch"))
    assert limits_of(punch) == ("57.2990", "57.3000", "57.3010", "mm")


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize(
    ("row", "key", "within"),
    [("Feed pitch", "blank.pitch", "0.05"), ("Strip guides, width", "blank.strip_width", "0.5")],
)
def test_computed_settings_are_the_routes(  # noqa: PLR0917 - fixtures and cases
    contents: Mapping[str, Content],
    formats: Mapping[str, Assembled],
    name: str,
    row: str,
    key: str,
    within: str,
) -> None:
    """A setting computed by the route is its nominal value with the floor's own tolerance."""
    cell = part(contents[name], "cupper", row)
    value = float(pick(key)(formats[name.partition("/")[0]].study.nominal))
    assert float(number_of(cell.target)) == pytest.approx(value, abs=0.051)
    assert cell.computed
    assert number_of(cell.most) - number_of(cell.target) == number_of(within)
    assert number_of(cell.target) - number_of(cell.least) == number_of(within)


@pytest.mark.parametrize("name", CASES)
def test_what_the_pack_makes_is_the_routes(
    contents: Mapping[str, Content], formats: Mapping[str, Assembled], name: str
) -> None:
    """Cold gap, walls and reduction of each ring are those of the route, its corners around them."""
    study = formats[name.partition("/")[0]].study
    for i, row in enumerate(contents[name].pack_makes):
        for cell, key, scale in (
            (row.gap, "gap", 1),
            (row.thin, "thin", 1),
            (row.thick, "thick", 1),
            (row.reduction, "reduction", 100),
        ):
            at = pick(f"ironed[{i}].{key}")
            (spread,) = study.spreads(lambda route, at=at: [at(route)])
            step = 10.0 ** -len(cell.target.partition(".")[2])
            least, target, most = (float(number_of(one)) for one in (cell.least, cell.target, cell.most))
            assert target == pytest.approx(spread.nominal * scale, abs=step / 2 + 1e-9)
            assert spread.low * scale - 1e-9 <= least <= spread.low * scale + step
            assert spread.high * scale - step <= most <= spread.high * scale + 1e-9


def test_cold_gap_is_half_the_bore_less_the_punch(contents: Mapping[str, Content]) -> None:
    """The gap printed is the one that the sizes printed above it make, at target and at both corners."""
    for said in contents.values():
        sizes = {one.name: one.size for one in said.pack}
        punch = sizes["Punch, thin-wall diameter"]
        for i, row in enumerate(said.pack_makes, start=1):
            ring = sizes[f"Ironing ring {i}, bore"]
            for made, bore, over in (
                (row.gap.target, ring.target, punch.target),
                (row.gap.least, ring.least, punch.most),
                (row.gap.most, ring.most, punch.least),
            ):
                assert number_of(made) == (number_of(bore) - number_of(over)) / 2


@pytest.mark.parametrize("name", CASES)
def test_neck_tools_come_stage_by_stage(
    contents: Mapping[str, Content], formats: Mapping[str, Assembled], name: str
) -> None:
    """There is a die and a pilot for each stage of the format, of the route's size."""
    study = formats[name.partition("/")[0]].study
    (necker,) = (one for one in contents[name].machines if one.kind == "necker")
    for made, key in zip(necker.sets, ("die_bore", "pilot"), strict=True):
        wanted = [float(np.asarray(getattr(stage, key))) for stage in study.nominal.necked]
        assert [float(number_of(one.target)) for one in made.sizes] == pytest.approx(wanted, abs=0.00051)
        assert made.pieces == 12 * len(wanted)


def test_a_borrowed_limit_is_the_plants(contents: Mapping[str, Content], demo: Book) -> None:
    """The overlap's least is that of the check, its target the route's."""
    limits = demo.only("limits")
    assert limits is not None
    least = limits.record.limits["seam.overlap"].least.written[1]
    for said in contents.values():
        cell = first_off(said, "Overlap")
        assert number_of(cell.least) == number_of(least)
        assert cell.most == ""
        assert number_of(cell.target) > number_of(cell.least)


def test_a_least_value_has_no_target_and_no_most(contents: Mapping[str, Content]) -> None:
    """What a can must at least withstand is a minimum alone."""
    cell = first_off(contents["b204-330/plover"], "Dome reversal pressure")
    assert (limits_of(cell), cell.text) == (("620", "", "", "kPa"), "≥ 620 kPa")


def test_a_strength_check_says_what_to_expect_and_what_it_rests_on(
    contents: Mapping[str, Content], formats: Mapping[str, Assembled]
) -> None:
    """The computed reading is beside its limit: calibrated in the range of the trials, or an estimate."""
    for name, said in contents.items():
        assembled = formats[name.split("/")[0]]
        expected = {one.name: one.expected for one in said.first_offs if one.expected}
        strength = assembled.study.nominal.strength
        trials = assembled.calibrated.get("dome-calibration")
        rests = f"calibrated on {trials} trials" if trials else "estimate"
        assert strength.reversal is not None
        assert strength.axial_empty is not None
        assert expected == {
            "Dome reversal pressure": f"{1000 * float(strength.reversal):.0f} kPa ({rests})",
            "Axial load": f"{float(strength.axial_empty) / 1000:.2f} kN (estimate)",
        }
    assert {one.calibrated.get("dome-calibration") for one in formats.values()} == {None, 8}


def test_inches_are_printed_only_where_the_plant_asks(
    contents: Mapping[str, Content], copy_book: CopyBook
) -> None:
    """No length of the demo has an inch line; with `inches: true` it has 4 decimals, rings and punches 5."""
    assert not [cell for said in contents.values() for cell in cells(said) if cell.second]
    inches = ("plant.yaml", "inches: false", "inches: true")
    said = content(copy_book([inches]), RELEASED, LINE)
    decimals = {
        one.name: len(one.size.second.target.partition(".")[2]) for one in said.pack if one.size.second
    }
    assert decimals["Ironing ring 1, bore"] == decimals["Punch, thin-wall diameter"] == 5
    assert decimals["Redraw die, bore"] == 4


def test_second_units_lie_inside_the_first(copy_book: CopyBook) -> None:
    """The band of an inch line is inside the one in millimetres."""
    seen = 0
    book = copy_book([("plant.yaml", "inches: false", "inches: true")])
    for ident, line in (("b204-330", "plover"), ("b211-330", "heron"), ("b202-250", "plover")):
        for cell in cells(content(book, ident, line)):
            if cell.unit != "mm" or cell.second is None:
                continue
            seen += 1
            for own, other, inside in (
                (cell.least, cell.second.least, lambda mm, inch: mm <= inch),
                (cell.most, cell.second.most, lambda mm, inch: mm >= inch),
            ):
                assert bool(own) == bool(other)
                assert not own or inside(number_of(own), number_of(other) * number_of("25.4")), cell
    assert seen > 250


def test_cells_read_in_order(contents: Mapping[str, Content]) -> None:
    """No value is outside its own limits, and no two are the wrong way round."""
    for said in contents.values():
        for cell in cells(said):
            ends = [number_of(one) for one in (cell.least, cell.target, cell.most) if one]
            assert ends == sorted(ends), cell


def test_settings_are_in_the_machines_own_unit(copy_book: CopyBook) -> None:
    """A trimmer that shows inches is set in inches, inside the band, the written millimetres beside it."""
    shows_inches = (
        "lines/plover.yaml",
        "    count: 7\n    display: {length: mm}",
        "    count: 7\n    display: {length: in}",
    )
    said = content(copy_book([shows_inches]), RELEASED, LINE)
    cell = part(said, "trimmer", "Knife setting, trimmed height")
    assert cell.unit == "in"
    assert cell.second is not None
    assert (cell.second.least, cell.second.target, cell.second.most) == ("145.38", "145.48", "145.58")
    inch = number_of("25.4")
    assert (
        number_of("145.38")
        <= number_of(cell.least) * inch
        <= number_of(cell.most) * inch
        <= number_of("145.58")
    )


def test_machines_stand_in_line_order(contents: Mapping[str, Content], demo: Book) -> None:
    """Every machine of the line is on the sheet, in the order in which the can meets it."""
    for name, said in contents.items():
        machines = demo.of("line")[name.partition("/")[2]].record.machines
        assert [(one.kind, one.title, one.count) for one in said.machines] == [
            (one.kind, one.title, one.count) for one in machines
        ]


def test_first_offs_are_boxed_by_machine(contents: Mapping[str, Content]) -> None:
    """A check on each bodymaker has a box for each of them, and says how many there are."""
    for name, boxes in (("b204-330/plover", 7), ("b211-330/heron", 8)):
        (thin,) = (one for one in contents[name].first_offs if one.name == "Thin wall")
        assert thin.boxes == boxes
        assert thin.sample == f"each of {boxes} bodymakers: 3 cans, 4 places"


def test_the_order_of_first_offs_is_the_floors(contents: Mapping[str, Content], demo: Book) -> None:
    """Checks are numbered from 1 in the order of the floor file, groups in the order of the can."""
    floor = demo.only("floor")
    assert floor is not None
    for said in contents.values():
        assert [one.name for one in said.first_offs] == [one.name for one in floor.record.first_offs]
        assert [one.number for one in said.first_offs] == list(range(1, len(said.first_offs) + 1))
        groups = list(dict.fromkeys(one.group for one in said.first_offs))
        assert groups == ["paper", "cup", "can", "strength", "neck", "seam", "print"]


def test_nothing_is_missing_on_a_released_sheet(contents: Mapping[str, Content]) -> None:
    """The demo's floor file has every value for every format."""
    assert {name: said.missing for name, said in contents.items() if said.missing} == {}


def test_dangers_stand_at_the_front_and_at_their_machine(contents: Mapping[str, Content]) -> None:
    """The front of the sheet repeats every DANGER of the machines."""
    for said in contents.values():
        graded = [one for block in said.machines for one in block.cautions if one.signal == "DANGER"]
        assert list(said.dangers) == graded
        assert graded


def test_every_caution_defers(contents: Mapping[str, Content]) -> None:
    """Each hazard of the demo leaves the how to manual, isolation procedure and authorised people."""
    for said in contents.values():
        for block in said.machines:
            assert block.cautions, block.kind
            for one in block.cautions:
                for words in ("maker's manual", "isolation procedure", "authorised people"):
                    assert words in one.avoid


# --- what is missing, waived or not released --------------------------------------------------


def test_a_value_the_book_lacks_says_missing(copy_book: CopyBook) -> None:
    """A key that leads nowhere in this format prints MISSING, and the sheet is marked on its face."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    sheet = sheet_of(copy_book([nowhere]))
    cell = part(sheet.content, "bodymaker", "Strokes")
    assert cell.text == MISSING
    assert sheet.content.missing == ("Strokes",)
    assert (sheet.mark, sheet.unfit) == (NOT_FOR_USE, ("missing: Strokes",))


def test_a_first_off_without_limits_is_missing(copy_book: CopyBook) -> None:
    """A characteristic that nobody could judge is not printed as if it could be."""
    untoleranced = (
        "floor.yaml",
        "    value: format.dome.stand_diameter\n    within: 0.15 mm\n",
        "    value: format.dome.stand_diameter\n",
    )
    sheet = sheet_of(copy_book([untoleranced]))
    assert sheet.content.missing == ("Stand diameter",)
    assert sheet.mark == NOT_FOR_USE


def test_a_book_without_a_floor_gives_no_usable_sheet(copy_book: CopyBook) -> None:
    """Without the floor file a sheet has no cautions and no checks, and says so."""
    sheet = sheet_of(copy_book(without=["floor.yaml"]))
    assert sheet.content.missing == (NO_FLOOR,)
    assert sheet.content.safety == MISSING
    assert sheet.mark == NOT_FOR_USE


def test_a_unit_that_does_not_fit_is_missing_not_a_crash(copy_book: CopyBook) -> None:
    """A tolerance in the wrong unit, which the check reports, makes MISSING."""
    web = "        driven_by: [format.blank.diameter, format.blank.web]\n"
    wrong = ("floor.yaml", f"{web}        within: 0.05 mm\n", f"{web}        within: 0.05 kPa\n")
    assert sheet_of(copy_book([wrong])).content.missing == ("Feed pitch",)


def test_waivers_are_printed_with_end_and_ceiling(contents: Mapping[str, Content]) -> None:
    """The waiver of a format is on its sheet, with what holds meanwhile, and on no other sheet."""
    (waiver,) = contents["b204-355/plover"].waivers
    assert (waiver.check, waiver.ceiling, waiver.expires) == ("redraw.draw-ratio", "1.435", "2027-04-30")
    assert waiver.limit == "≤ 1.42"
    assert waiver.reason
    assert all(not said.waivers for name, said in contents.items() if not name.startswith("b204-355"))


def test_a_lapsed_waiver_ends_the_sheet_but_not_its_code(demo: Book, contents: Mapping[str, Content]) -> None:
    """The day after a waiver's last, a copy is not for use; what it says, and so its code, is the same."""
    said = contents["b204-355/plover"]
    before = issue(said, demo, made=MADE.replace(year=2027, month=4, day=30))
    after = issue(said, demo, made=MADE.replace(year=2027, month=5, day=1))
    assert before.mark == "TRIAL"
    assert before.good_until == "2027-04-30"
    assert after.mark == NOT_FOR_USE
    assert after.unfit == ("the waiver of redraw.draw-ratio ended on 2027-04-30",)
    assert before.code == after.code


@pytest.mark.parametrize(
    ("ident", "line", "mark"),
    [("b211-440-light", "heron", "DRAFT"), ("b204-355", "plover", "TRIAL"), ("b204-330", "plover", "")],
)
def test_draft_and_trial_are_marked(demo: Book, ident: str, line: str, mark: str) -> None:
    """What is not released says what it is; what is released says nothing across the page."""
    assert sheet_of(demo, ident, line).mark == mark


def test_a_withdrawn_format_is_not_for_use(copy_book: CopyBook) -> None:
    """The sheet of a withdrawn format can be looked at and not used."""
    book = copy_book([("formats/b204-330.yaml", "status: released", "status: withdrawn")])
    assert sheet_of(book).mark == NOT_FOR_USE


def test_a_sheet_made_ahead_says_from_when_it_holds(demo: Book) -> None:
    """Before the format's first day the sheet is marked with that day."""
    early = sheet_of(demo, made=MADE.replace(month=5, day=1))
    assert early.mark == "NOT BEFORE 2026-10-26"


def test_problems_of_the_check_end_the_sheet(demo: Book, contents: Mapping[str, Content]) -> None:
    """Every other reason against a sheet is printed on it."""
    sheet = issue(contents["b204-330/plover"], demo, made=MADE, problems=["ironing.ring-reduction"])
    assert (sheet.mark, sheet.unfit) == (NOT_FOR_USE, ("ironing.ring-reduction",))


@pytest.mark.parametrize(
    ("ident", "line"), [("b204-330", "heron"), ("b204-330", "nowhere"), ("none", "plover")]
)
def test_there_is_no_sheet_for_a_line_that_does_not_make_it(demo: Book, ident: str, line: str) -> None:
    """A format and a line that do not go together are refused."""
    with pytest.raises(NoSheet, match=ident):
        content(demo, ident, line)


def test_there_is_no_sheet_of_a_shape_that_does_not_close(copy_book: CopyBook) -> None:
    """A format whose geometry fails has no sizes to print."""
    book = copy_book([("formats/b204-330.yaml", "  height: 145.48 ±0.10 mm", "  height: 134.00 ±0.10 mm")])
    with pytest.raises(NoSheet, match="do not form a can"):
        content(book, RELEASED, LINE)


def test_the_key_of_a_row_may_name_any_spec(demo: Book, contents: Mapping[str, Content]) -> None:
    """Values of the end come with the end's own tolerance."""
    end: Spec = demo.of("end")["curlew-202"]
    cell = first_off(contents["b204-330/plover"], "Countersink depth")
    assert [number_of(one) for one in (cell.least, cell.target, cell.most)] == [
        number_of(one) for one in end.record.countersink.written
    ]
