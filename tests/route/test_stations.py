"""The declarations of the stations: complete, true, and the only place that a result is named in."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any, get_type_hints

from kb.book.load import Book
from kb.book.records import SizeFormat
from kb.drawing import VIEWS
from kb.route.settings import SETTINGS
from kb.route.station import Results
from kb.route.stations import STATIONS, TOOLS, Route

RESULTS = [one for station in STATIONS for one in station.results]


def test_the_route_holds_what_the_stations_give() -> None:
    """Each field of a route is the results of one station, in process order, of the class it declares."""
    hints = get_type_hints(Route)
    assert [one.name for one in fields(Route)] == ["case", *(one.key for one in RESULTS if one.take)]
    for one in (one for one in RESULTS if one.take):
        expected = tuple[one.record, ...] if one.member else one.record  # type: ignore[name-defined]
        assert hints[one.key] == expected, one.key
        assert get_type_hints(one.take)["return"] == expected, one.key


def test_each_station_needs_results_of_earlier_ones_alone() -> None:
    """What a station takes is given before it, and is of the class that its arguments name."""
    earlier: dict[str, Any] = {}
    for one in (one for one in RESULTS if one.take):
        hints = get_type_hints(one.take)
        assert {name: hints[name] for name in one.needs} == {name: earlier[name] for name in one.needs}
        earlier[one.key] = hints["return"]


def test_calibrating_settings_exist() -> None:
    """Each setting that calibrates a result is a plant setting."""
    calibrating = {name for one in RESULTS for each in one.declared for name in each.calibrated_by}
    assert calibrating
    assert calibrating <= set(SETTINGS)


def test_every_view_but_the_can_is_of_one_station() -> None:
    """Each drawing belongs to one station; that of the whole can belongs to none."""
    views = [view for one in STATIONS for view in one.views]
    assert sorted(views) == sorted(set(VIEWS) - {"can"})


def test_every_block_of_a_format_is_of_one_station() -> None:
    """The blocks of a format are shown once each; their keys of tools and interface exist."""
    blocks = [block for one in STATIONS for block in one.blocks]
    hints = get_type_hints(SizeFormat)
    assert sorted(blocks) == sorted(name for name, hint in hints.items() if is_dataclass(hint))
    for key in (key for one in STATIONS for key in (*one.tools, *one.interface)):
        block, _, name = key.partition(".")
        assert block in blocks
        assert not name or name in get_type_hints(hints[block]), key


def test_machines_come_in_process_order(demo: Book) -> None:
    """A line has its machines in the order of the stations that they serve."""
    kinds = list(dict.fromkeys(one.machine for one in STATIONS if one.machine))
    for line in demo.of("line").values():
        there = list(dict.fromkeys(one.kind for one in line.record.machines if one.kind in kinds))
        assert there == [kind for kind in kinds if kind in there], line.id


def test_names_of_stations_and_results_are_unique() -> None:
    """No two stations share an id, and no two results a key."""
    every = (*STATIONS, TOOLS)
    for names in ([one.id for one in every], [one.key for station in every for one in station.results]):
        assert len(names) == len(set(names))


def test_a_result_says_its_key() -> None:
    """A result of a list has `[]` for every member in its key."""
    assert Results("ironed", "Ironing", member="ring {}").result_key("thin") == "ironed[].thin"
    assert Results("seam", "Seam").result_key("overlap") == "seam.overlap"
