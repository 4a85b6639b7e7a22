"""Look-up of the changes of a difference."""

from __future__ import annotations

from collections.abc import Iterator

from kb.changeover.model import Difference, ItemChange, StationChanges


def changes(one: Difference) -> Iterator[tuple[StationChanges, ItemChange]]:
    """All changes with their stations, gauges after what is at the machine."""
    for station in one.stations:
        yield from ((station, change) for change in (*station.changes, *station.gauges))


def at(one: Difference, ident: str) -> ItemChange:
    """The one change of an id."""
    (found,) = (change for _, change in changes(one) if change.id == ident)
    return found


def ids(one: Difference) -> set[str]:
    """Ids of all that changes."""
    return {change.id for _, change in changes(one)}
