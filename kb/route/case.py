"""A case: everything one route is computed from, and how to put other numbers into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from kb.book import keys
from kb.book.records import End, Line, Material, Plant, SizeFormat
from kb.units import Number

T = TypeVar("T")


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
    bands: Mapping[str, tuple[float, float]]

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
        """A case with other numbers, or samples, under some keys.

        Args:
            values: new numbers by key

        Returns:
            A new case; this one is unchanged.
        """
        tree: dict[str | int, Any] = {}
        for key, value in values.items():
            branch = tree
            *way, leaf = keys.steps(key)
            for step in way:
                branch = branch.setdefault(step, {})
            branch[leaf] = value
        return _put(self, tree)


def _put(into: T, tree: dict[str | int, Any]) -> T:
    if isinstance(into, tuple):
        return tuple(  # type: ignore[return-value]
            _leaf(item, tree[i]) if i in tree else item for i, item in enumerate(into)
        )
    if isinstance(into, Mapping):
        return {**into, **tree}  # type: ignore[return-value]
    changes = {str(name): _leaf(getattr(into, str(name)), branch) for name, branch in tree.items()}
    return replace(into, **changes)  # type: ignore[type-var]


def _leaf(old: Any, new: Any) -> Any:
    return _put(old, new) if isinstance(new, dict) else new
