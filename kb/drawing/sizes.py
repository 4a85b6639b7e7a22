"""The numbers of a drawing: declared ones as their spec has them, computed ones sensibly rounded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import SupportsFloat

from kb.book.keys import at
from kb.book.quantity import Quantity, as_quantity, format_in
from kb.drawing.model import Size
from kb.route.assemble import Assembled
from kb.route.stations import Route

_UNIT_WORDS = {"deg": "°", "degC": " °C"}


@dataclass(frozen=True, slots=True)
class Sizes:
    """Where a drawing's numbers come from: a format's specs, and its route at nominal sizes."""

    assembled: Assembled
    route: Route

    def declared(self, key: str, name: str, sign: str = "") -> Size:
        """A number of a spec as it is written there.

        Args:
            key: as in a case: `format.dome.depth`, `end.countersink`
            name: what it is called in the drawing
            sign: Ø or R

        Returns:
            The number.

        Raises:
            ValueError: if the route was taken with another number than the spec has.
        """
        part, _, inner = key.partition(".")
        quantity = as_quantity(at(self.assembled.specs[part].record, inner))
        if self.route.case.at(key) != quantity.nominal:
            raise ValueError(f"the route was taken with another {key} than the {quantity.text} of the spec")
        return Size(name, _as_written(quantity), quantity.nominal, _unit(quantity.unit), key, False, sign)

    def computed(self, key: str, value: SupportsFloat, name: str, sign: str = "", unit: str = "mm") -> Size:
        """A number of the route, rounded.

        Args:
            key: where it comes from, such as `flanged.height`
            value: the number in that unit
            name: what it is called in the drawing
            sign: Ø or R
            unit: mm, deg or %

        Returns:
            The number; lengths below 1 mm to a thousandth, others to a hundredth, the rest to a tenth.
        """
        number = float(value)
        decimals = (3 if abs(number) < 1 else 2) if unit == "mm" else 1
        text = _typeset(format_in(number, unit, decimals), unit)
        return Size(name, text, number, _unit(unit), key, True, sign)


def _as_written(quantity: Quantity) -> str:
    """The text of a spec with the signs of print for those of a keyboard."""
    return _typeset(quantity.text, quantity.unit)


def _typeset(text: str, unit: str) -> str:
    for typed, printed in (("+/-", "±"), ("-", "−"), (f" {unit}", _UNIT_WORDS.get(unit, f" {unit}"))):
        text = text.replace(typed, printed)
    return text


def _unit(unit: str) -> str:
    return _UNIT_WORDS.get(unit, unit).strip()
