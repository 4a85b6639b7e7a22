"""Over all ordered pairs of the demo lines: nothing is lost or idle, and the way back is the mirror."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from kb.book.load import Book
from kb.changeover import difference as module
from kb.changeover.classes import LADDER
from kb.changeover.difference import OnLine
from kb.changeover.model import Difference
from kb.checks.consistency.floor_index import items
from kb.checks.consistency.floor_keys import order
from kb.sheet.content import content
from kb.sheet.model import MachineBlock
from tests.changeover.looked_up import at, changes
from tests.changeover.small import all_compared
from tests.conftest import Shelf


@pytest.fixture(scope="session")
def lines(demo: Book) -> Mapping[str, OnLine]:
    """The demo lines, each format taken once."""
    return Shelf({ident: OnLine(demo, ident) for ident in demo.of("line")})


@pytest.fixture(scope="session")
def pairs(demo: Book) -> Mapping[str, Difference]:
    """The differences of all ordered pairs of the demo lines."""
    return Shelf(
        {
            f"{line}: {one.old} to {one.new}": one
            for line in demo.of("line")
            for one in all_compared(OnLine(demo, line))
        }
    )


def test_all_ordered_pairs_are_there(demo: Book, pairs: Mapping[str, Difference]) -> None:
    """Each line has every pair of two of its formats, both ways."""
    for line in demo.of("line"):
        made = [ident for ident, spec in demo.of("size-format").items() if line in spec.record.lines]
        found = [(one.old, one.new) for one in pairs.values() if one.line == line]
        assert found == [(a, b) for a in sorted(made) for b in sorted(made) if a != b]


def test_a_format_does_not_differ_from_itself(demo: Book, lines: Mapping[str, OnLine]) -> None:
    """From a format to the same nothing moves, nothing changes, and every machine is left alone."""
    for line, on_line in lines.items():
        for ident in on_line.formats():
            one = on_line.difference(ident, ident)
            assert (one.kind, one.moved, one.orphans) == ("nothing", (), ())
            assert not list(changes(one))
            assert one.alone == one.stations
            assert len(one.stations) == len(demo.of("line")[line].record.machines)


def test_the_way_back_is_the_mirror(pairs: Mapping[str, Difference]) -> None:
    """From B to A the same things change, each old value having become the new one."""
    for one in pairs.values():
        back = pairs[f"{one.line}: {one.new} to {one.old}"]
        assert (one.kind, one.title) == (back.kind, back.title)
        assert [(m.key, m.old, m.new) for m in one.moved] == [(m.key, m.new, m.old) for m in back.moved]
        assert len(list(changes(one))) == len(list(changes(back)))
        for (here, change), (there, other) in zip(changes(one), changes(back), strict=True):
            assert (here.id, change.id, change.because, change.places) == (
                there.id,
                other.id,
                other.because,
                other.places,
            )
            assert (change.old, change.new) == (other.new, other.old)
            assert (change.pieces, change.pieces_out) == (other.pieces_out, other.pieces)
            assert [(a.name, a.old, a.new) for a in change.also] == [
                (a.name, a.new, a.old) for a in other.also
            ]


def test_every_moved_value_has_its_answer(
    pairs: Mapping[str, Difference], lines: Mapping[str, OnLine]
) -> None:
    """What moved is the reason of a change, or needs none by the plant's word: no orphans."""
    for one in pairs.values():
        answers = lines[one.line].answers
        reasons = {key for _, change in changes(one) for key in change.because}
        assert one.orphans == ()
        assert not [m.key for m in one.moved if m.key not in reasons and answers.no_part(m.key) is None]


def test_everything_that_changes_has_its_reason(pairs: Mapping[str, Difference]) -> None:
    """A reason is a value that moved, or a computed one; changes with none do not occur."""
    for one in pairs.values():
        moved = {m.key for m in one.moved}
        for _, change in changes(one):
            assert change.because
            assert all(key in moved or key.startswith("route.") for key in change.because)
            assert not any(cell.missing for cell in (*change.old, *change.new))


def test_everything_changes_or_stays(demo: Book, pairs: Mapping[str, Difference]) -> None:
    """Each part and setting of a machine is reported either as changing or as staying."""
    floor = demo.only("floor")
    assert floor is not None
    rows = list(items(floor.record))
    for one in pairs.values():
        for station in one.stations:
            names = [row.name for row in rows if row.machine == station.kind and row.what != "supply"]
            listed = [change.name for change in station.changes if change.what != "supply"]
            assert sorted([*listed, *station.stays]) == sorted(names)


def test_moved_values_are_in_process_order(pairs: Mapping[str, Difference]) -> None:
    """What moved is reported from the coil to the pallet."""
    for one in pairs.values():
        keys = [m.key for m in one.moved]
        assert keys == sorted(keys, key=order)
        assert all(m.old != m.new for m in one.moved)


def test_each_line_has_each_class(pairs: Mapping[str, Difference]) -> None:
    """Both lines of the demo show most classes; settings, packs alone and another diameter one of them."""
    classes = {"label", "end-neck", "height", "height-neck", "metal"}
    for line, more in (("heron", {"bodymaker"}), ("plover", {"settings", "diameter"})):
        assert {one.kind for one in pairs.values() if one.line == line} == classes | more


def test_every_rung_of_the_ladder_has_a_pair(pairs: Mapping[str, Difference]) -> None:
    """The demo book has a changeover of every class there is, but for that in which nothing changes."""
    assert {one.kind for one in pairs.values()} == {rung.id for rung in LADDER} - {"nothing"}


def test_settings_alone_leave_all_machines_but_one(pairs: Mapping[str, Difference]) -> None:
    """The same can on other pallets for another filler: a setting at the palletizer, a limit at a gauge."""
    one = pairs["plover: b204-330 to b204-330-ferry"]
    assert {(station.kind, change.what, change.id) for station, change in changes(one)} == {
        ("bodymaker", "gauge", "axial-tester"),
        ("palletizer", "setting", "layers"),
    }
    assert {station.kind for station in one.stations} - {station.kind for station in one.alone} == {
        "palletizer"
    }
    assert {m.key for m in one.moved} == {
        "format.fill.temperature",
        "format.targets.axial_load",
        "format.pallet.layers",
    }


def test_a_pack_alone_leaves_the_press_and_the_necker(pairs: Mapping[str, Difference]) -> None:
    """Another third ring is changed in every pack; what the can touches before and after stays as it is."""
    one = pairs["heron: b211-330 to b211-330-beacon"]
    parts = {change.id: change for _, change in changes(one) if change.what == "part"}
    assert set(parts) == {"ironing-ring"}
    left = {station.kind for station in one.alone}
    assert {"cupper", "trimmer", "necker", "flanger"} <= left


def test_a_format_runs_on_its_own_line(pairs: Mapping[str, Difference]) -> None:
    """No machine's range stops a format on a line that makes it."""
    assert not [name for name, one in pairs.items() if one.stopped_by]


def test_what_comes_is_printed_as_on_its_setup_sheet(demo: Book, pairs: Mapping[str, Difference]) -> None:
    """Settings and parts that change stand with the very cells that the new format's setup sheet has."""
    one = pairs["plover: b202-200 to b204-330"]
    blocks = {block.number: block for block in content(demo, one.new, one.line).machines}
    compared = 0
    for station in one.stations:
        printed = _printed(blocks[station.number])
        for change in station.changes:
            if change.name in printed:
                assert change.new == printed[change.name]
                compared += 1
    assert compared > 30


def _printed(block: MachineBlock) -> dict[str, tuple[object, ...]]:
    rows: dict[str, tuple[object, ...]] = {row.name: (row.value,) for row in block.settings}
    rows |= {row.name: (row.size,) for row in block.parts if row.pieces}
    return rows | {one.name: one.sizes for one in block.sets}


def test_each_format_is_taken_once(demo: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """All pairs of a line need no more routes than the line has formats."""
    taken: list[str] = []
    real = module.assemble

    def counted(book: Book, ident: str) -> object:
        taken.append(ident)
        return real(book, ident)

    monkeypatch.setattr(module, "assemble", counted)
    assert len(list(all_compared(OnLine(demo, "heron")))) > 50
    assert len(taken) == len(set(taken))


def test_the_number_of_places_may_differ(pairs: Mapping[str, Difference], demo: Book) -> None:
    """From more neck stages to fewer, the dies of all are taken out, and fewer are put in."""
    stages = {ident: spec.record.neck.stages for ident, spec in demo.of("size-format").items()}
    found = [one for one in pairs.values() if stages[one.old] > stages[one.new]]
    assert found
    for one in found:
        dies = at(one, "neck-die")
        assert (len(dies.old), len(dies.new)) == (stages[one.old], stages[one.new])
        assert dies.places == tuple(range(stages[one.old]))
        assert (dies.pieces_out, dies.pieces) == (12 * stages[one.old], 12 * stages[one.new])


def test_another_end_is_one_value(pairs: Mapping[str, Difference]) -> None:
    """Formats on two ends differ in the end, and readings on the end change for it alone."""
    one = next(one for one in pairs.values() if "format.end" in {m.key for m in one.moved})
    assert not [m.key for m in one.moved if m.key.startswith("end.")]
    assert at(one, "seam-check-ends").because == ("format.end",)
    reasons = {key for _, change in changes(one) for key in change.because}
    assert not [key for key in reasons if key.startswith("end.")]
