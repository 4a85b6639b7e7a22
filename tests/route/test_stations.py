"""The declarations of the stations: complete, true, and the only place that a result is named in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, get_type_hints

import pytest

from kb.book.load import Book
from kb.book.records import SizeFormat
from kb.drawing import VIEWS
from kb.route.assemble import Assembled
from kb.route.settings import SETTINGS
from kb.route.station import Results, Station
from kb.route.stations import STATIONS, TOOLS, Route

RESULTS = [one for station in STATIONS for one in station.results]


class Recorder:
    """A record that notes the keys of the numbers that are read from it."""

    def __init__(self, inner: Any, key: str, noted: set[str]) -> None:
        self._of = (inner, key, noted)

    def _give(self, value: Any, key: str) -> Any:
        if is_dataclass(value) or isinstance(value, Mapping | tuple):
            return Recorder(value, key, self._of[2])
        self._of[2].add(key)
        return value

    def __getattr__(self, name: str) -> Any:
        """A field of the record."""
        inner, key, _ = self._of
        return self._give(getattr(inner, name), f"{key}.{name}".removeprefix("."))

    def __getitem__(self, at: Any) -> Any:
        """A member of a list, a stretch of it, or a value by its name."""
        inner, key, _ = self._of
        if isinstance(at, slice):
            return [self[i] for i in range(*at.indices(len(inner)))]
        return self._give(inner[at], f"{key}.{at}" if isinstance(inner, Mapping) else f"{key}[]")

    def __len__(self) -> int:
        """How many members it has."""
        return len(self._of[0])

    def __iter__(self) -> Iterator[Any]:
        """Each member."""
        return (self[i] for i in range(len(self)))


def read_by(station: Station, route: Route) -> set[str]:
    """Keys of the case that a station reads by itself, the results of earlier stations being given."""
    noted: set[str] = set()
    for one in station.results:
        if one.take is not None:
            taken = one.take(Recorder(route.case, "", noted), *(getattr(route, name) for name in one.needs))
            for each in one.declared if not one.member else ():
                getattr(taken, each.name)  # some are computed when they are read
    return noted - {"written"}


def within(key: str, group: str) -> bool:
    """Whether a key is a group, or in it."""
    return key == group or key.startswith((f"{group}.", f"{group}["))


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


@pytest.mark.parametrize("station", STATIONS, ids=lambda one: one.id)
def test_the_inputs_of_a_station_are_what_it_reads(
    station: Station, formats: Mapping[str, Assembled]
) -> None:
    """A station reads no number of the case that it does not declare, and declares no other."""
    noted = {key for one in formats.values() for key in read_by(station, one.study.nominal)}
    assert [key for key in sorted(noted) if not any(within(key, group) for group in station.inputs)] == []
    assert [group for group in station.inputs if not any(within(key, group) for key in noted)] == []


def test_settings_among_the_inputs_exist() -> None:
    """Each setting that a station reads, or that calibrates a result, is a plant setting."""
    read = {
        key.removeprefix("setting.") for one in STATIONS for key in one.inputs if key.startswith("setting.")
    }
    calibrating = {name for one in RESULTS for each in one.declared for name in each.calibrated_by}
    assert calibrating
    assert read | calibrating <= set(SETTINGS)


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
