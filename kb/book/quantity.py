"""Quantities as they are written in a spec: a number, perhaps a tolerance, a unit.

The forms, with ASCII digits and a unit of schema/units.txt:

    66.04 mm                    plain; 0.05 alone where a pure number is wanted
    0.270 ±0.005 mm             equal tolerance, also written +/- or +-
    115.20 +0.25/-0.15 mm       unequal tolerance, either side first, a side may be 0
    115.05 to 115.45 mm         limits; the nominal is their middle
    66.04 mm (2.600 in)         any of these, and the same again in brackets

The unit may also follow the first number, if it is the same one: 0.0103 in ±0.0002 in. The sign " is in.
Decimals are kept as written. Values become floats in the unit the field is kept in, through exact
fractions. Nothing here calculates what a text says: what is not one of the forms is refused.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple, TypeAlias

from kb.book import conversion, misreading
from kb.errors import SizebookError

Form: TypeAlias = Literal["plain", "equal", "unequal", "limits"]

LONGEST = 120
MOST_DIGITS = 15
"""A double keeps every decimal number of so many significant digits."""

_UNSIGNED = r"(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,5})?"
_NUMBER = rf"[+-]?{_UNSIGNED}"
_BESIDE = r"(?: *(/?[A-Za-zµμ°%\"][A-Za-z0-9/%°]*))?"  # a unit after the first number
_HALF = re.compile(
    rf"(?P<first>{_NUMBER})(?:"
    rf"{_BESIDE.replace('(/', '(?P<unit_1>/')} *(?:±|\+/-|\+-) *(?P<equal>{_NUMBER})"
    rf"|{_BESIDE.replace('(/', '(?P<unit_2>/')}(?: *(?P<signed>[+-]{_UNSIGNED})| +(?P<zero>0(?:\.0+)?))"
    rf"{_BESIDE.replace('(/', '(?P<unit_3>/')} */ *(?P<other>{_NUMBER})"
    rf"|{_BESIDE.replace('(/', '(?P<unit_4>/')} +to +(?P<high>{_NUMBER}))?"
    r" *(?P<unit>.*)"
)
_SIGNS = {'"': "in"}
_UNITS_BESIDE = ("unit_1", "unit_2", "unit_3", "unit_4")
_EXACT = Context(prec=60)


class QuantityFault(SizebookError):  # noqa: N818 - a fault of the text, which becomes a finding
    """A text that is not the wanted quantity.

    Attributes:
        message: what is wrong, in plain words.
        hint: what to write instead, "" when there is nothing to add.
        column_offset: where in the text it is wrong, counted from 0.
        name: `units.quantity`, `units.unknown`, `units.dimension` or `units.dual`.
    """

    def __init__(self, message: str, hint: str = "", column_offset: int = 0, name: str = "quantity") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.column_offset = column_offset
        self.name = f"units.{name}"


class Quantity(float):
    """A written quantity. As a number it is its target value, in the canonical unit.

    It is frozen. Two quantities with the same target value are equal as numbers. Where the tolerance counts,
    compare `low` and `high` too. Arithmetic gives plain numbers.

    Attributes:
        text: as written, brackets included.
        low: lower limit, in the canonical unit; the target value where no tolerance is written.
        high: upper limit, likewise.
        unit: the unit as written, "" for a bare number.
        canonical: the unit of the number, of low and of high.
        decimals: decimals of the target value as written; of the finer limit, where limits are written.
        written: lower limit, target value and upper limit in the written unit, with the written decimals.
        form: which of the forms the first half has.
    """

    __slots__ = ("canonical", "decimals", "form", "high", "low", "text", "unit", "written")

    text: str
    low: float
    high: float
    unit: str
    canonical: str
    decimals: int
    written: tuple[str, str, str]
    form: Form

    def __new__(  # noqa: PLR0917 - pickle passes the parts by position
        cls,
        nominal: float,
        text: str,
        low: float,
        high: float,
        unit: str,
        canonical: str,
        decimals: int,
        written: tuple[str, str, str],
        form: Form,
    ) -> Quantity:
        """Make one from its parts; `parse` makes one from a text."""
        made = super().__new__(cls, nominal)
        parts = (text, low, high, unit, canonical, decimals, written, form)
        for name, part in zip(_PARTS, parts, strict=True):
            object.__setattr__(made, name, part)
        return made

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a quantity is frozen: {name} cannot be set")

    def __reduce__(self) -> tuple[type[Quantity], tuple[object, ...]]:
        limits = (self.low, self.high)
        units = (self.unit, self.canonical)
        return Quantity, (float(self), self.text, *limits, *units, self.decimals, self.written, self.form)

    @property
    def nominal(self) -> float:
        return float(self)

    @property
    def toleranced(self) -> bool:
        return self.form != "plain"


_PARTS = ("text", "low", "high", "unit", "canonical", "decimals", "written", "form")


def as_quantity(number: object) -> Quantity:
    """A number of a record as the quantity that a file gives.

    Raises:
        TypeError: if no file gives it: it was calculated, is a default, or is samples.
    """
    if not isinstance(number, Quantity):
        raise TypeError(f"{number!r} is not written in a file")
    return number


class _Half(NamedTuple):
    """What is outside the brackets, or inside them: exact numbers in the written unit."""

    unit: str
    form: Form
    low: Decimal
    nominal: Decimal
    high: Decimal
    slack: Decimal
    limit_slack: Decimal
    decimals: int
    target: str


@lru_cache(maxsize=8192)
def understood(text: str, canonical: str) -> Quantity:
    """A written quantity, as `parse` has it; the fault of another text has no hint, which takes a search."""
    if len(text) > LONGEST:
        raise QuantityFault(f"{len(text)} characters are too long for a quantity")
    return _read(text, canonical, None)


def parse(text: str, canonical: str, usual: misreading.Usual | None = None) -> Quantity:
    """Understand a written quantity.

    The canonical unit also says which dimension is wanted; with `conversion.ANY` the written unit decides
    both. `usual` is how the key is usually written, for what is said of a text without a unit.

    Raises:
        QuantityFault: if the text is not such a quantity.

    Example:
        >>> parse("115.20 +0.25/-0.15 mm", "mm").written
        ('115.05', '115.20', '115.45')
        >>> parse("2.600 in", "mm").nominal
        66.04
    """
    try:
        return understood(text, canonical)
    except QuantityFault:
        if len(text) > LONGEST:
            raise
    try:
        return _read(text, canonical, usual)
    except QuantityFault as fault:
        meant = misreading.repaired(
            text,
            lambda number: misreading.unit_left_out(number, canonical, usual),
            lambda one: _reads(one, canonical),
        )
        if meant and fault.name not in _NOT_A_SLIP:
            fault.hint = f"write {' or '.join(meant)}"
        raise


_NOT_A_SLIP = ("units.dimension", "units.dual")


def _reads(text: str, canonical: str) -> bool:
    try:
        _read(text, canonical, None)
    except QuantityFault:
        return False
    return True


def _read(text: str, canonical: str, usual: misreading.Usual | None) -> Quantity:
    first_text, bracket, rest = text.partition("(")
    first = _half(first_text, canonical, 0, usual)
    if canonical == conversion.ANY:
        canonical = conversion.CANONICAL[conversion.dimension_of(first.unit)]
    factor, offset = conversion.factor_and_offset(first.unit, canonical)
    if bracket:
        second_text, close, after = rest.partition(")")
        if not close or after.strip():
            hint = "write the second unit last, in brackets"
            raise QuantityFault("the closing bracket is missing", hint, len(first_text))
        _agree(first, _half(second_text, canonical, len(first_text) + 1), canonical, len(first_text) + 1)
    low, nominal, high = (
        _inside(number, factor, offset) for number in (first.low, first.nominal, first.high)
    )
    shown = (
        (first.target,) * 3 if first.form == "plain" else (f"{first.low:f}", first.target, f"{first.high:f}")
    )
    return Quantity(nominal, text, low, high, first.unit, canonical, first.decimals, shown, first.form)


def format_in(value: float, unit: str, decimals: int) -> str:
    """A number, already in its unit, as a spec would have it; halves are rounded away from zero.

    Example:
        >>> format_in(0.097, "mm", 4)
        '0.0970 mm'
        >>> format_in(300.0, "1/min", 0)
        '300 /min'
    """
    number = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP, _EXACT)
    return f"{number + 0:f} {conversion.written(unit)}".rstrip()


def with_unit(text: str, unit: str) -> str:
    """A written quantity in another unit, its numbers as they are; the same value in brackets is left out.

    Example:
        >>> with_unit("0.0103 mm ±0.0002 mm (10.3 um)", "in")
        '0.0103 ±0.0002 in'
    """
    half = text.partition("(")[0].strip()
    found = _HALF.fullmatch(half)
    if found is None:
        return f"{half} {unit}".rstrip()
    spans = [found.span(group) for group in (*_UNITS_BESIDE, "unit") if found[group]]
    for begin, end in reversed(spans):
        half = half[:begin].rstrip() + half[end:]
    return f"{half} {unit}".rstrip()


def with_target(quantity: Quantity, target: float) -> str:
    """A written quantity with another target value, in the written unit: its limits move along.

    The same value in brackets is left out.

    Example:
        >>> with_target(parse("115.20 +0.25/-0.15 mm (4.535 in)", "mm"), 115.3)
        '115.30 +0.25/-0.15 mm'
        >>> with_target(parse("115.05 to 115.45 mm", "mm"), 115.35)
        '115.15 to 115.55 mm'
    """
    half = quantity.text.partition("(")[0].strip()
    found = _HALF.fullmatch(half)
    assert found is not None, "a Quantity has one of the forms"
    value = Decimal(f"{target:.{quantity.decimals}f}")
    if not found["high"]:
        return f"{value:f}{half[found.end('first') :]}"
    by = value - Decimal(quantity.written[1])
    low, high = (f"{Decimal(found[end]) + by:f}" for end in ("first", "high"))
    return f"{low}{half[found.end('first') : found.start('high')]}{high}{half[found.end('high') :]}"


def _fault(why: misreading.Why, begin: int) -> QuantityFault:
    return QuantityFault(why.message, why.hint, begin + why.column, why.name)


def _inside(number: Decimal, factor: Fraction, offset: Fraction) -> float:
    if factor == 1 and not offset:
        return float(number) + 0.0
    return float(Fraction(number) * factor + offset)


def _half(text: str, canonical: str, offset: int, usual: misreading.Usual | None = None) -> _Half:
    """One half of a quantity, its unit found in the list and of the wanted dimension."""
    begin = offset + len(text) - len(text.lstrip(" "))
    found = _HALF.fullmatch(text.strip(" "))
    if not found:
        raise _fault(misreading.why_no_number(text.strip(" "), canonical), begin)
    unit = _SIGNS.get(found["unit"], found["unit"])
    beside = {number: found[number] for number in _UNITS_BESIDE if found[number]}
    if not _accepted(unit, canonical) or any(_SIGNS.get(one, one) != unit for one in beside.values()):
        toleranced = bool(found["equal"] or found["other"] or found["high"])
        column = found.start("unit")
        for group, one in beside.items():
            if why := misreading.why_two_units(found["first"], one, found["unit"], canonical):
                raise _fault(why._replace(column=found.start(group)), begin)
        why = misreading.why_no_unit(found["first"], unit, column, canonical, usual, toleranced=toleranced)
        raise _fault(why, begin)
    nominal = _number(found["first"], begin)
    step = _last_digit(nominal)
    if found["equal"]:
        return _equal(found, unit, nominal, step, begin)
    if found["other"]:
        return _unequal(found, unit, nominal, step, begin)
    if found["high"]:
        return _limits(found, unit, nominal, step, begin)
    half = step / 2
    return _Half(unit, "plain", nominal, nominal, nominal, half, half, _decimals(step), found["first"])


def _accepted(unit: str, canonical: str) -> bool:
    """Whether a unit may be used where the canonical one is wanted; a bare number has the unit ""."""
    if unit == conversion.written(canonical):
        return True
    return unit in conversion.names() and conversion.fits(unit, canonical)


def _equal(found: re.Match[str], unit: str, nominal: Decimal, step: Decimal, begin: int) -> _Half:
    if found["equal"][0] in "+-":
        raise QuantityFault(
            "the number after ± has no sign", "write it without the sign", begin + found.start("equal")
        )
    side = _number(found["equal"], begin + found.start("equal"))
    low, high = _EXACT.subtract(nominal, side), _EXACT.add(nominal, side)
    slack = (step + _last_digit(side)) / 2
    return _Half(unit, "equal", low, nominal, high, step / 2, slack, _decimals(step), found["first"])


def _unequal(found: re.Match[str], unit: str, nominal: Decimal, step: Decimal, begin: int) -> _Half:
    texts = (found["signed"] or found["zero"], found["other"])
    sides = [_number(text, begin + found.end("first")) for text in texts]
    below, above = min(sides), max(sides)
    low, high = _EXACT.add(nominal, below), _EXACT.add(nominal, above)
    unsigned = any(side and text[0] not in "+-" for side, text in zip(sides, texts, strict=True))
    if unsigned or below > 0 or above < 0:
        hint = "write one side with + and the other with -"
        if not unsigned:  # then the two are limits, counted from the number
            hint = f"write {low:f} to {high:f} {unit}".rstrip()
        message = "a tolerance with two sides needs a + side and a - side"
        raise QuantityFault(message, hint, begin + found.end("first"))
    slack = (step + max(_last_digit(side) for side in sides)) / 2
    return _Half(unit, "unequal", low, nominal, high, step / 2, slack, _decimals(step), found["first"])


def _limits(found: re.Match[str], unit: str, low: Decimal, step: Decimal, begin: int) -> _Half:
    high = _number(found["high"], begin + found.start("high"))
    if high < low:
        hint = f"write {found['high']} to {found['first']} {unit}".rstrip()
        raise QuantityFault("the lower limit is above the upper one", hint, begin)
    middle = _EXACT.divide(_EXACT.add(low, high), Decimal(2))
    coarse, fine = max(step, _last_digit(high)), min(step, _last_digit(high))
    decimals = max(
        _decimals(fine),
        _decimals(_last_digit(middle)) if middle != middle.quantize(fine, context=_EXACT) else 0,
    )
    target = f"{middle.quantize(Decimal(1).scaleb(-decimals), context=_EXACT):f}"
    return _Half(unit, "limits", low, middle, high, coarse / 2, coarse / 2, _decimals(fine), target)


def _number(text: str, offset: int) -> Decimal:
    number = Decimal(text)
    if number and not -MOST_DIGITS <= number.adjusted() <= MOST_DIGITS:
        size = "large" if number.adjusted() > 0 else "small"
        raise QuantityFault(f"the number is too {size}", "", offset)
    if len(text) > MOST_DIGITS and (digits := len(number.as_tuple().digits)) > MOST_DIGITS:
        raise QuantityFault(f"{digits} digits are too many; at most {MOST_DIGITS} are possible", "", offset)
    return number


def _last_digit(number: Decimal) -> Decimal:
    """One unit of the last written digit: 0.001 for 66.040."""
    return Decimal(1).scaleb(int(number.as_tuple().exponent))


def _decimals(step: Decimal) -> int:
    return max(0, -int(step.as_tuple().exponent))


def _agree(first: _Half, second: _Half, canonical: str, offset: int) -> None:
    """Refuse two halves that differ by more than either was rounded."""
    if second.form != "plain" and first.form == "plain":
        hint = "write the tolerance in both halves, or in the first half only"
        raise QuantityFault("the tolerance is in the brackets only", hint, offset, "dual")
    factor, zero = conversion.factor_and_offset(first.unit, canonical)
    other_factor, other_zero = conversion.factor_and_offset(second.unit, canonical)

    def compare(what: str, one: Decimal, other: Decimal, slack: Decimal, other_slack: Decimal) -> None:
        one_value = Fraction(one) * factor + zero
        other_value = Fraction(other) * other_factor + other_zero
        allowed = max(Fraction(slack) * factor, Fraction(other_slack) * other_factor)
        if abs(one_value - other_value) > allowed:
            unit = conversion.written(canonical)
            converted = f" ({float(other_value):.8g} {unit})" if second.unit != unit else ""
            right = (one_value - other_zero) / other_factor
            raise QuantityFault(
                f"the two halves disagree{what}: {one:f} {first.unit} and {other:f} {second.unit}{converted} "
                f"differ by {float(abs(one_value - other_value)):.3g} {unit}",
                f"in the brackets write {_rounded(right, other)} {second.unit}",
                offset,
                "dual",
            )

    compare("", first.nominal, second.nominal, first.slack, second.slack)
    if second.form != "plain":
        compare(" at the lower limit", first.low, second.low, first.limit_slack, second.limit_slack)
        compare(" at the upper limit", first.high, second.high, first.limit_slack, second.limit_slack)


def _rounded(number: Fraction, like: Decimal) -> str:
    exact = _EXACT.divide(Decimal(number.numerator), Decimal(number.denominator))
    return f"{exact.quantize(Decimal(1).scaleb(-_decimals(like)), ROUND_HALF_UP, _EXACT):f}"
