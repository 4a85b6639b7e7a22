"""Where a calibration of the plant's trials is valid: in the range of the cans that were measured."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from kb.book import keys
from kb.book.load import FOLDERS, Book, Spec, read_spec
from kb.book.records import End, SizeFormat, Trial
from kb.route.stations import DECLARED

RANGE_KEYS = ("stock.gauge", "punch.wall_diameter", "dome.depth")
"""Sizes of a format that a calibration of its body does not go beyond."""

END_RANGE_KEYS = {"end-calibration": ("gauge", "panel_diameter")}
"""Sizes of an end that a calibration of the end does not go beyond, by its setting."""

_SAME = 1e-9

CALIBRATED_RESULTS: Mapping[str, str] = MappingProxyType(
    {
        one.calibrated_by[0]: key
        for key, one in reversed(tuple(DECLARED.items()))
        if len(one.calibrated_by) == 1
    }
)
"""For each setting that is a factor on an estimate: the key of the first result that it alone multiplies."""


def trials_of(book: Book, setting: str) -> list[Spec[Trial]]:
    """The trials of a setting."""
    return [one for one in book.of("trial").values() if one.record.setting == setting]


def ranges(book: Book, setting: str) -> dict[str, tuple[float, float]]:
    """Least and most of each size that the trials of a setting cover; nothing where it has no trial."""
    cans = [sizes for one in trials_of(book, setting) if (sizes := _sizes(book, one.record)) is not None]
    if not cans:
        return {}
    keys_of = END_RANGE_KEYS.get(setting, RANGE_KEYS)
    return {
        key: (min(sizes), max(sizes)) for key, sizes in zip(keys_of, zip(*cans, strict=True), strict=True)
    }


def in_range(book: Book, setting: str, record: SizeFormat) -> bool:
    """Whether a format is in the range of the trials of a setting; so is any format where it has none."""
    if not trials_of(book, setting):
        return True
    found, part = ranges(book, setting), _part(book, setting, record)
    return (
        bool(found)
        and part is not None
        and all(
            low - _SAME <= float(keys.at(part, key)) <= high + _SAME for key, (low, high) in found.items()
        )
    )


def _part(book: Book, setting: str, record: SizeFormat) -> SizeFormat | End | None:
    """What the range of a setting is about: the format, or its end; None if the end is not in the book."""
    if setting not in END_RANGE_KEYS:
        return record
    end = book.of("end").get(record.end)
    return None if end is None else end.record


def _sizes(book: Book, trial: Trial) -> list[float] | None:
    """The sizes that decide the range, as measured or as the format has them; None without the format."""
    record = _format(book, trial.format)
    part = None if record is None else _part(book, trial.setting, record)
    if part is None:
        return None
    of_end = END_RANGE_KEYS.get(trial.setting)
    name = "end" if of_end else "format"
    measured = {key: trial.at.get(f"{name}.{key}") for key in of_end or RANGE_KEYS}
    return [float(keys.at(part, key)) if one is None else float(one) for key, one in measured.items()]


def _format(book: Book, ident: str) -> SizeFormat | None:
    """A size format of the book, also one that was not selected."""
    found = book.of("size-format").get(ident)
    if found is None and ("size-format", ident) in book.unread:
        name = f"{FOLDERS['size-format']}/{ident}.yaml"
        found = read_spec(book.root / name, name, name, book).spec
    return None if found is None else found.record
