"""What differs, as the sheet tells it: tools out and in, settings, gauges; each difference in one place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.blocks import MISSING, Cell
from kb.book.records_floor import Changeover, Floor
from kb.changeover.jobs import at_machine
from kb.changeover.model import Difference, ItemChange, StationChanges, What
from kb.changeover.sheet_model import (
    Excuse,
    GaugeNote,
    MachineNote,
    NamedValue,
    SettingNote,
    StepNote,
    ToolNote,
    ToolsAt,
)
from kb.checks.consistency.floor_keys import covered, plain
from kb.sheet.figures import number_of

ALIKE = 3
"""Tools whose sizes agree in so many leading digits are taken for each other."""


def machine_notes(difference: Difference) -> Iterator[MachineNote]:
    """What changes at each group of machines and what does not, by name."""
    for one in difference.stations:
        yield MachineNote(
            number=one.number,
            title=one.title,
            count=one.count,
            parts=_names(one.changes, "part"),
            settings=_names(one.changes, "setting"),
            supplies=_names(one.changes, "supply"),
            gauges=_names(one.gauges, "gauge"),
            stays=tuple(dict.fromkeys(short(name) for name in one.stays)),
        )


def _names(changes: Sequence[ItemChange], what: What) -> tuple[str, ...]:
    return tuple(dict.fromkeys(short(one.name) for one in changes if one.what == what))


def short(name: str) -> str:
    """A name without what follows its comma: `Redraw die` of `Redraw die, bore`."""
    return name.partition(",")[0]


# --- tools ------------------------------------------------------------------------------------


def tools_out(difference: Difference, steps: Sequence[StepNote]) -> Iterator[ToolsAt]:
    """Tools that come out, machine by machine.

    Args:
        difference: what differs
        steps: the steps that take them out, for their hazards

    Yields:
        Every changing part once at each of its places.
    """
    for station, parts in _with_parts(difference):
        rows = [row for one in parts for row in _rows(one, one.old, station, new=False)]
        yield ToolsAt(station.number, station.title, station.count, at_machine(station, steps), tuple(rows))


def tools_in(difference: Difference, steps: Sequence[StepNote]) -> Iterator[ToolsAt]:
    """The same for tools that go in, with what tells each from the one it replaces."""
    for station, parts in _with_parts(difference):
        rows = [row for one in parts for row in _rows(one, one.new, station, new=True)]
        yield ToolsAt(station.number, station.title, station.count, at_machine(station, steps), tuple(rows))


def _with_parts(difference: Difference) -> Iterator[tuple[StationChanges, list[ItemChange]]]:
    for station in difference.stations:
        parts = [one for one in station.changes if one.what == "part"]
        if parts:
            yield station, parts


def _rows(
    change: ItemChange, cells: Sequence[Cell], station: StationChanges, *, new: bool
) -> Iterator[ToolNote]:
    many = max(len(change.old), len(change.new)) > 1
    here = [place for place in change.places if place < len(cells)]
    for place in here:
        first = place == here[0]
        yield ToolNote(
            id=change.id,
            part=change.name,
            name=numbered(change.name, place + 1) if many else change.name,
            place=place + 1 if many else 0,
            pieces=change.per_machine * station.count,
            value=cells[place],
            also=tuple(NamedValue(one.name, one.new if new else one.old) for one in change.also)
            if first
            else (),
            look_alike=_look_alike(change, place) if new else "",
        )


def numbered(name: str, place: int) -> str:
    """A name with its place: `Ironing ring 2, bore`."""
    head, comma, tail = name.partition(",")
    return f"{head} {place}{comma}{tail}"


def _look_alike(change: ItemChange, place: int) -> str:
    """How a tool is told from the one it replaces, where both could be taken for each other."""
    if place >= len(change.old):
        return ""
    old, new = change.old[place], change.new[place]
    differing = [] if same_target(old, new) else [f"{old.target} → {new.target}"]
    differing += [
        f"{one.name} {one.old.target} → {one.new.target}"
        for one in change.also
        if not same_target(one.old, one.new)
    ]
    if not differing:
        return "prints the same as the old one: go by the serial"
    if not alike(old, new):
        return ""
    return "; ".join(differing)


def same_target(old: Cell, new: Cell) -> bool:
    """Whether two targets are the same size, however many decimals are written.

    Example:
        >>> same_target(Cell("", target="88.59", unit="mm"), Cell("", target="88.590", unit="mm"))
        True
        >>> same_target(Cell("", target="88.59", unit="mm"), Cell("", target="88.60", unit="mm"))
        False
    """
    if old.unit and old.unit == new.unit and old.target and new.target:
        return number_of(old.target) == number_of(new.target)
    return (old.target, old.unit) == (new.target, new.unit)


def alike(old: Cell, new: Cell) -> bool:
    """Whether two sizes are easily taken for each other: their leading digits agree.

    Example:
        >>> alike(Cell("", target="66.43", unit="mm"), Cell("", target="66.44", unit="mm"))
        True
        >>> alike(Cell("", target="88.59", unit="mm"), Cell("", target="92.60", unit="mm"))
        False
    """
    if not old.unit or old.unit != new.unit or MISSING in (old.text, new.text):
        return False
    wholes = [one.target.partition(".")[0] for one in (old, new)]
    digits = [one.target.replace(".", "")[:ALIKE] for one in (old, new)]
    return len(wholes[0]) == len(wholes[1]) and digits[0] == digits[1]


# --- settings, supplies, gauges ---------------------------------------------------------------


def setting_notes(difference: Difference) -> Iterator[SettingNote]:
    """Settings and supplies that differ, machine by machine, settings first."""
    for station in difference.stations:
        for what in ("setting", "supply"):
            for one in station.changes:
                if one.what == what:
                    yield _setting(one, station)


def _setting(change: ItemChange, station: StationChanges) -> SettingNote:
    old, new = change.old[0], change.new[0]
    return SettingNote(
        id=change.id,
        what=change.what,
        number=station.number,
        machine=station.title,
        name=change.name,
        where=change.where,
        old=old,
        new=new,
        direct=change.what == "setting" and not same_target(old, new),
    )


def gauge_notes(difference: Difference, floor: Floor) -> Iterator[GaugeNote]:
    """Gauges whose master changes, each once, with what they measure anew."""
    masters = {one.id: one.master for one in floor.gauges}
    found: dict[str, list[tuple[StationChanges, ItemChange]]] = {}
    for station in difference.stations:
        for one in station.gauges:
            found.setdefault(one.id, []).append((station, one))
    for ident, rows in found.items():
        yield GaugeNote(
            id=ident,
            name=rows[0][1].name,
            machine=", ".join(dict.fromkeys(station.title for station, _ in rows)),
            master=masters.get(ident, MISSING),
            checks=tuple(dict.fromkeys(also.name for _, one in rows for also in one.also)),
        )


def excuses(difference: Difference, library: Changeover) -> Iterator[Excuse]:
    """Values that moved and of which the plant says that nothing on the line changes for them."""
    moved = [one.key for one in difference.moved]
    for entry in library.no_part:
        keys = {key for value in entry.values for key in covered(value)}
        here = [key for key in moved if key in keys or plain(key) in keys]
        if here:
            yield Excuse(tuple(dict.fromkeys(key.removeprefix("format.") for key in here)), entry.why)
