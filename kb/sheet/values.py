"""From a key to the cell that is printed: written values keep their digits, computed ones get theirs."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Literal, NamedTuple

from kb.blocks import MISSING, Cell, Second
from kb.book.conversion import DimensionError, factor_and_offset, reader_unit
from kb.book.keys import members, quantity_at
from kb.book.load import Spec
from kb.book.quantity import Quantity
from kb.book.records import Line
from kb.checks.consistency.floor_keys import COUNT, TEXT, leaf
from kb.route.assemble import Assembled
from kb.route.station import Result, with_basis
from kb.route.study import Spread
from kb.sheet.figures import (
    MOST_DECIMALS,
    ExactLimits,
    Printed,
    converted,
    decimals_in,
    decimals_of,
    exact,
    inward,
    inward_steps,
    number_of,
    rounded,
)

DECIMALS = 2
"""Decimals of a computed value where the floor does not ask for others."""

INCH_DECIMALS = 4
FINE_INCH_DECIMALS = 5
"""Decimals of the inch line of rings and punches."""

_FINE = ("format.ironing.", "format.punch.")


class Wanted(NamedTuple):
    """How a value is to be printed.

    Attributes:
        unit: unit to print it in, such as a machine's display has; its own when "".
        within: how far from the target on either side.
        decimals: decimals of a computed or a plain value.
        bound: whether the value is a target, the least or the most.
        plain: whether to leave the limits out.
        limits: least and most from elsewhere, in place of the value's own.
        inches: decimals of the inch line below millimetres, 0 for none.
    """

    unit: str = ""
    within: Quantity | None = None
    decimals: int | None = None
    bound: Literal["band", "least", "most"] = "band"
    plain: bool = False
    limits: tuple[Quantity | None, Quantity | None] | None = None
    inches: int = 0


class Values:
    """The values of one format on one line."""

    def __init__(self, assembled: Assembled, line: Spec[Line]) -> None:
        self._assembled = assembled
        self._line = line
        self._results = assembled.study.results
        self._inches = assembled.specs["plant"].record.inches

    def members(self, key: str) -> list[str]:
        """A key with `[]` as the keys of all members, any other key by itself."""
        if "[]" not in key:
            return [key]
        root, _, rest = key.partition(".")
        spec = self._assembled.specs.get(root)
        if spec is not None:
            return [f"{root}.{one}" for one, _ in members(spec.record, rest)]
        pattern = re.compile(re.escape(rest).replace(r"\[\]", r"\[[0-9]+\]"))
        return [f"route.{one}" for one in self._results if root == "route" and pattern.fullmatch(one)]

    def cell(self, key: str, machine: int | None = None, wanted: Wanted = Wanted()) -> Cell:  # noqa: B008
        """The printed value of a key.

        Returns:
            The cell; one that says MISSING when the book has no such value.
        """
        if self._inches:
            fine = key.startswith(_FINE)
            wanted = wanted._replace(inches=FINE_INCH_DECIMALS if fine else INCH_DECIMALS)
        try:
            return self._cell(key, machine, wanted)
        except DimensionError:  # the check reports the floor file as floor.unit
            return Cell(MISSING)

    def plant_setting(self, target: Quantity, display: Mapping[str, str]) -> Cell:
        """A plant setting in the unit of the machine's display, or in its own where the display has none."""
        inches = INCH_DECIMALS if self._inches else 0
        for unit in display.values():
            try:
                return _written(target, Wanted(unit=unit, inches=inches))
            except DimensionError:
                continue
        return _written(target, Wanted(inches=inches))

    def computed(self, key: str, wanted: Wanted) -> ExactLimits | None:
        """The numbers that a computed value is printed with, in the printed unit.

        Returns:
            Least, target and most as printed; nothing where the sheet says MISSING.
        """
        found = self._results.get(key.removeprefix("route."))
        try:
            exactly = _computed_limits(*found, wanted) if found else None
        except DimensionError:
            return None
        steps = exactly and inward_steps(*exactly)
        if exactly is None or steps is None:
            return None
        return ExactLimits(*(None if one is None else Fraction(one, 10 ** exactly[1]) for one in steps))

    def expected(self, result: str, target: str) -> str:
        """A computed reading in the unit and to the digits of its target, and what it rests on.

        Returns:
            Such as `677 kPa (calibrated on 8 trials)`; nothing where the route does not compute it.
        """
        found = self._results.get(result.removeprefix("route."))
        root, _, rest = target.partition(".")
        aim = self._quantity(root, rest, None)
        if found is None or aim is None:
            return ""
        digits = Wanted(unit=aim.unit, decimals=decimals_of(aim.written[1]), plain=True)
        cell = _computed(*found, digits)
        rests = found[0].declaration.basis(self._assembled.calibrated)
        return "" if cell.missing else with_basis(f"{cell.target} {cell.unit}", rests)

    def _cell(self, key: str, machine: int | None, wanted: Wanted) -> Cell:
        root, _, rest = key.partition(".")
        if root == "route":
            found = self._results.get(rest)
            return _computed(*found, wanted) if found else Cell(MISSING)
        quantity = self._quantity(root, rest, machine)
        if quantity is not None:
            return _written(quantity, wanted)
        known = leaf(key)
        if known and known.unit == TEXT:
            text = str(self._assembled.case.at(key))
            return Cell(text, target=text) if text else Cell(MISSING)
        count = self._count(root, rest, machine) if known and known.unit == COUNT else None
        return Cell(MISSING) if count is None else Cell(str(count), target=str(count))

    def _quantity(self, root: str, rest: str, machine: int | None) -> Quantity | None:
        if root == "machine":
            return quantity_at(self._line.record, f"machines[{machine}].{rest}")
        spec = self._line if root == "line" else self._assembled.specs.get(root)
        return quantity_at(spec.record, rest) if spec else None

    def _count(self, root: str, rest: str, machine: int | None) -> int | None:
        if root != "machine":
            count = self._assembled.case.at(f"{root}.{rest}")
        elif machine is None:
            return None
        else:
            count = getattr(self._line.record.machines[machine], rest)
        return count if isinstance(count, int) else None


# --- written values ---------------------------------------------------------------------------


def _written(quantity: Quantity, wanted: Wanted) -> Cell:
    limits, decimals = _limits(quantity, wanted)
    unit = wanted.unit or quantity.unit
    if unit == quantity.unit:
        printed = inward(limits, decimals)
        return (
            Cell(MISSING)
            if printed is None
            else _cell(printed, unit, _other(printed, unit, decimals, wanted.inches))
        )
    factor, offset = factor_and_offset(quantity.unit, unit)
    shown, places = converted(limits, factor, offset), decimals_in(decimals, factor)
    if wanted.plain and wanted.decimals is not None:
        printed = inward(shown, wanted.decimals)
        return Cell(MISSING) if printed is None else _cell(printed, unit, None)
    if unit == "in":
        places = max(places, INCH_DECIMALS)
    printed = inward(shown, places)
    while printed is None and places < MOST_DECIMALS:
        places += 1
        printed = inward(shown, places)
    own = inward(limits, decimals)
    if printed is None or own is None:
        return Cell(MISSING)
    return _cell(printed, unit, Second(*own, unit=reader_unit(quantity.unit)))


def _limits(quantity: Quantity, wanted: Wanted) -> tuple[ExactLimits, int]:
    """Exact limits of a written value in its own unit, and the decimals that show them exactly."""
    target = exact(quantity.written[1])
    texts = list(quantity.written)
    if wanted.plain:
        decimals = decimals_of(texts[1]) if wanted.decimals is None else wanted.decimals
        return ExactLimits(None, target, None), decimals
    if wanted.bound != "band":
        ends = (target, None) if wanted.bound == "least" else (None, target)
        return ExactLimits(ends[0], None, ends[1]), decimals_of(texts[1])
    if wanted.limits is not None:
        least, most = (_in(one, quantity.unit) for one in wanted.limits)
        places = [_places(one) for one in (least, most) if one is not None]
        return ExactLimits(least, target, most), max([decimals_of(texts[1]), *places])
    side = _in(wanted.within, quantity.unit)
    if wanted.within is not None and side is not None:
        return ExactLimits(target - side, target, target + side), _last_place(
            wanted.within, quantity.unit, side
        )
    if not quantity.toleranced:
        return ExactLimits(None, target, None), decimals_of(texts[1])
    least, most = exact(texts[0]), exact(texts[2])
    return ExactLimits(least, target, most), max(map(decimals_of, texts))


def _in(quantity: Quantity | None, unit: str) -> Fraction | None:
    """A plain quantity's exact number in another unit."""
    if quantity is None:
        return None
    factor, offset = factor_and_offset(quantity.unit, unit)
    return exact(quantity.written[1]) * factor + offset


def _last_place(within: Quantity, unit: str, side: Fraction) -> int:
    """Decimals of a tolerance as it is written, or those that show it exactly in another unit."""
    return decimals_of(within.written[1]) if within.unit == unit else _places(side)


def _places(number: Fraction) -> int:
    """Decimals that show a number exactly, as far as a sheet prints any."""
    places = 0
    while (number * 10**places).denominator != 1 and places < MOST_DECIMALS:
        places += 1
    return places


# --- computed values --------------------------------------------------------------------------


def _computed(one: Result, spread: Spread, wanted: Wanted) -> Cell:
    found = _computed_limits(one, spread, wanted)
    printed = found and inward(*found)
    if found is None or printed is None:
        return Cell(MISSING)
    unit = wanted.unit or one.show
    return _cell(printed, unit, _other(printed, unit, found[1], wanted.inches), computed=True)


def _computed_limits(one: Result, spread: Spread, wanted: Wanted) -> tuple[ExactLimits, int] | None:
    """Exact limits of a computed value in the unit that is printed, and the decimals to print."""
    if not all(math.isfinite(number) for number in spread):
        return None
    unit = wanted.unit or one.show
    factor, offset = factor_and_offset(one.unit, unit)
    places = DECIMALS if wanted.decimals is None else wanted.decimals
    low, target, high = (
        exact(float(number)) * factor + offset for number in (spread.low, spread.nominal, spread.high)
    )
    target = number_of(rounded(target, places))
    limits: ExactLimits = ExactLimits(low, target, high) if low < high else ExactLimits(None, target, None)
    if wanted.plain:
        limits = ExactLimits(None, target, None)
    elif wanted.bound != "band":
        limits = (
            ExactLimits(target, None, None) if wanted.bound == "least" else ExactLimits(None, None, target)
        )
    elif wanted.limits is not None:
        least, most = (_in(end, unit) for end in wanted.limits)
        limits = ExactLimits(least, target, most)
        places = max([places, *(_places(end) for end in (least, most) if end is not None)])
    elif wanted.within is not None and (side := _in(wanted.within, unit)) is not None:
        limits = ExactLimits(target - side, target, target + side)
        places = _last_place(wanted.within, unit, side)
    return limits, places


# --- both -------------------------------------------------------------------------------------


def _other(shown: Printed, unit: str, decimals: int, inches: int) -> Second | None:
    """The inches of millimetres where the plant prints them; the millimetres of inches, always."""
    if not (unit == "in" or (unit == "mm" and inches)):
        return None
    other = "in" if unit == "mm" else "mm"
    factor, offset = factor_and_offset(unit, other)
    limits = ExactLimits(*(number_of(one) if one else None for one in shown))
    places = inches if other == "in" else decimals_in(decimals, factor)
    printed = inward(converted(limits, factor, offset), places)
    return None if printed is None else Second(*printed, unit=other)


def _cell(printed: Printed, unit: str, second: Second | None, *, computed: bool = False) -> Cell:
    shown = reader_unit(unit)
    return Cell(text_of(printed, shown), *printed, unit=shown, second=second, computed=computed)


def text_of(printed: Printed, unit: str) -> str:
    """A value on one line.

    Example:
        >>> text_of(Printed("0.094", "0.098", "0.102"), "mm"), text_of(Printed("620", "", ""), "kPa")
        ('0.094 to 0.102 mm, target 0.098', '≥ 620 kPa')
    """
    least, target, most = printed
    unit = f" {unit}" if unit else ""
    aim = f", target {target}" if target else ""
    if least and most:
        return f"{least} to {most}{unit}{aim}"
    if least:
        return f"≥ {least}{unit}{aim}"
    if most:
        return f"≤ {most}{unit}{aim}"
    return f"{target}{unit}"
