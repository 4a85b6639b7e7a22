"""Where a calibration of the plant's trials is valid: in the range of the cans that were measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from kb.book import keys
from kb.book.load import FOLDERS, Book, Spec, read_spec
from kb.book.records import SizeFormat, Trial
from kb.route.station import Declaration
from kb.route.stations import STATIONS

RANGE_KEYS = ("stock.gauge", "punch.wall_diameter", "dome.depth")
"""Sizes of a format that a calibration does not go beyond."""

_SAME = 1e-9


def _calibrated() -> Iterator[tuple[str, str, Declaration]]:
    for station in STATIONS:
        for results in station.results:
            for one in results.declared:
                if len(one.calibrated_by) == 1:
                    yield one.calibrated_by[0], f"{results.key}.{one.name}", one


CALIBRATED_RESULTS: Mapping[str, str] = MappingProxyType(
    {setting: key for setting, key, _ in reversed(list(_calibrated()))}
)
"""For each setting that is a factor on an estimate: the key of the first result that it alone multiplies."""

DECLARED: Mapping[str, Declaration] = MappingProxyType({key: one for _, key, one in _calibrated()})


def trials_of(book: Book, setting: str) -> list[Spec[Trial]]:
    """The trials of a setting."""
    return [one for one in book.of("trial").values() if one.record.setting == setting]


def ranges(book: Book, setting: str) -> dict[str, tuple[float, float]]:
    """Least and most of each size that the trials of a setting cover; nothing where it has no trial."""
    cans = [sizes for one in trials_of(book, setting) if (sizes := _sizes(book, one.record)) is not None]
    if not cans:
        return {}
    return {
        key: (min(sizes), max(sizes)) for key, sizes in zip(RANGE_KEYS, zip(*cans, strict=True), strict=True)
    }


def in_range(book: Book, setting: str, record: SizeFormat) -> bool:
    """Whether a format is in the range of the trials of a setting; so is any format where it has none."""
    if not trials_of(book, setting):
        return True
    found = ranges(book, setting)
    return bool(found) and all(
        low - _SAME <= float(keys.at(record, key)) <= high + _SAME for key, (low, high) in found.items()
    )


def _sizes(book: Book, trial: Trial) -> list[float] | None:
    """The sizes that decide the range, as measured or as the format has them; None without the format."""
    record = _format(book, trial.format)
    if record is None:
        return None
    measured = {key: trial.at.get(f"format.{key}") for key in RANGE_KEYS}
    return [float(keys.at(record, key)) if one is None else float(one) for key, one in measured.items()]


def _format(book: Book, ident: str) -> SizeFormat | None:
    """A size format of the book, also one that was not selected."""
    found = book.of("size-format").get(ident)
    if found is None and ("size-format", ident) in book.unread:
        name = f"{FOLDERS['size-format']}/{ident}.yaml"
        found = read_spec(book.root / name, name, name).spec
    return None if found is None else found.record
