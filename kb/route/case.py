"""A case: everything one route is computed from, and how to put other numbers into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from kb.book import keys
from kb.book.records import End, Line, Material, Plant, SizeFormat
from kb.process import material
from kb.units import MPa, Number, Ratio


@dataclass(frozen=True, slots=True)
class Case:
    """One format with the metal, end, plant and settings it is made with.

    A key names a number in the case: `format.blank.diameter`, `end.countersink`, `stock.tensile`,
    `end_stock.yield_strength`, `plant.design_pressure`, `setting.die-friction`.
    """

    format: SizeFormat
    stock: Material
    end: End
    end_stock: Material
    plant: Plant
    lines: tuple[Line, ...]
    setting: Mapping[str, Number]
    bands: Mapping[str, tuple[Number, Number]]
    written: Case | None = field(default=None, compare=False, repr=False)
    """The case whose samples or corners these are; None in that case itself."""
    origin: Case | None = field(default=None, compare=False, repr=False)
    """The case of the book whose nominal sizes were moved; None in that case itself, and in its samples."""

    def band(self, key: str) -> tuple[Number, Number]:
        """Low and high limit written for a number; both its nominal where it has no tolerance."""
        if key in self.bands:
            return self.bands[key]
        nominal = self.at(key)
        return nominal, nominal

    def at(self, key: str) -> Number:
        """The number under a key; `LookupError` if there is none."""
        number: Number = keys.at(self, key)
        return number

    def put(self, values: Mapping[str, Number]) -> Case:
        """A new case with other numbers, or samples, under some keys."""
        return replace(keys.put(self, values), written=self.written or self)

    def flow_stress(self, strain: Ratio) -> MPa:
        """Stress at which the body stock flows after a strain [MPa]."""
        flow = self.stock.hardening
        return material.flow_stress(
            strain=strain, start=flow.start, saturation=flow.saturation, scale=flow.scale
        )

    def mean_flow_stress(self, strain_from: Ratio, strain_to: Ratio) -> MPa:
        """Mean flow stress of the body stock from one strain to another [MPa]."""
        flow = self.stock.hardening
        return material.mean_flow_stress(
            strain_from=strain_from,
            strain_to=strain_to,
            start=flow.start,
            saturation=flow.saturation,
            scale=flow.scale,
        )

    def with_nominals(self, values: Mapping[str, Number]) -> Case:
        """A case with other nominal sizes, their tolerances moved along.

        Args:
            values: new nominal numbers, or samples, by key

        Returns:
            A new case; this one is unchanged.
        """
        bands = dict(self.bands)
        for key in values.keys() & bands.keys():
            (low, high), by = bands[key], values[key] - self.at(key)
            bands[key] = low + by, high + by
        moved = replace(self.put(values), bands=bands)
        if self.written is None and all(np.ndim(value) == 0 for value in values.values()):
            return replace(moved, written=None, origin=self.origin or self)
        return moved
