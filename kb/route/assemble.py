"""From a book to a study: a format with everything it refers to, and its tolerances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kb.book.keys import quantities
from kb.book.load import Book, Spec
from kb.book.records import SizeFormat
from kb.route.case import Case
from kb.route.settings import NEEDED
from kb.route.study import Input, Study

TARGETS = ("format.targets.", "format.flange.finished_height", "format.fill.headspace", "plant.")
"""Tolerances of targets; they do not scatter a can."""


@dataclass(frozen=True, slots=True)
class Assembled:
    """A format ready to be routed, and the files its keys point into."""

    spec: Spec[SizeFormat]
    specs: Mapping[str, Spec]
    study: Study

    @property
    def case(self) -> Case:
        """The case at nominal sizes."""
        return self.study.case


def assemble(book: Book, ident: str, stand_ins: Mapping[str, float] | None = None) -> Assembled | None:
    """A format with its study; nothing when a file or a setting that it needs is missing or has errors.

    Args:
        book: a loaded book
        ident: id of a valid size format
        stand_ins: numbers in place of settings that are missing or at fault, for a caller that keeps no value
            that depends on them
    """
    spec = book.of("size-format")[ident]
    record, plant, limits = spec.record, book.only("plant"), book.limits
    end = book.of("end").get(record.end)
    stock = book.of("material").get(record.stock.material)
    end_stock = book.of("material").get(end.record.material) if end else None
    lines = [book.of("line").get(one) for one in record.lines]
    if plant is None or limits is None or end is None or stock is None or end_stock is None or None in lines:
        return None
    setting = {**{name: one.value for name, one in limits.settings.items()}, **(stand_ins or {})}
    if not set(setting) >= NEEDED:
        return None
    specs = {"format": spec, "stock": stock, "end": end, "end_stock": end_stock, "plant": plant}
    bands = {
        key: (quantity.low, quantity.high)
        for part, one in specs.items()
        for key, quantity in quantities(one.record, part)
        if quantity.low != quantity.high
    }
    case = Case(
        format=record,
        stock=stock.record,
        end=end.record,
        end_stock=end_stock.record,
        plant=plant.record,
        lines=tuple(line.record for line in lines if line is not None),
        setting=setting,
        bands=bands,
    )
    inputs = [
        Input(key, float(case.at(key)), low, high)
        for key, (low, high) in bands.items()
        if not key.startswith(TARGETS) and not _is_range(case, key)
    ]
    return Assembled(spec, specs, Study(case, inputs))


def _is_range(case: Case, key: str) -> bool:
    """Ranges such as the coil widths on offer are limits, not sizes."""
    return not isinstance(case.at(key), float)
