"""What a written quantity was probably meant to be: for texts that are none, and for numbers out of band."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from kb.book import conversion
from kb.book.finding import one_line


class Why(NamedTuple):
    """Why a text is not the wanted quantity; the column counts from the beginning of the text."""

    message: str
    hint: str
    column: int = 0
    name: str = "quantity"


class Usual(NamedTuple):
    """How a key is usually written.

    Attributes:
        unit: the unit a reader is shown.
        band: what is plausible, in the canonical unit.
    """

    unit: str
    band: tuple[float, float]


def why_no_number(text: str, canonical: str) -> Why:
    """Why a text does not even begin with a number.

    Args:
        text: the text.
        canonical: the unit wanted inside.

    Returns:
        What is wrong and what to write instead.
    """
    wanted = conversion.wanted_words(canonical).replace(", such", " is required, such")
    if not text:
        return Why(f"the value is missing; {wanted}", "")
    if why := _odd_characters(text):
        return why
    if re.match(r"[+-]?\.[0-9]", text):
        return Why("a decimal number begins with a digit", "write 0 before the point")
    if text[0] in "±<>~≈=≤≥":
        return Why(f"a quantity begins with its number, not with {text[0]}; {wanted}", "")
    return Why(f"{one_line(text, 40)} is not a quantity; {wanted}", "")


def why_two_units(number: str, first: str, last: str, canonical: str) -> Why | None:
    """Why a unit after the number and another one after the tolerance are refused.

    Args:
        number: the number as written.
        first: the unit after the number.
        last: the unit after the tolerance, "" for none.
        canonical: the unit wanted inside.

    Returns:
        What is wrong; None when the two are the same unit, which is wrong for another reason.
    """
    if first == last:
        return None
    if last.startswith("%") and conversion.meant(first, canonical):
        return Why("a tolerance in percent is not allowed", f"write the tolerance in {first}")
    if not last:
        return Why("the unit is missing at the end", f"write {first} at the end")
    message = f"the number is in {one_line(first, 20)}, its tolerance or upper limit in {one_line(last, 20)}"
    return Why(message, "write both in one unit")


def why_no_unit(
    number: str, after: str, column: int, canonical: str, usual: Usual | None = None, *, toleranced: bool
) -> Why:
    """Why what follows a number is not a unit of the wanted dimension.

    Args:
        number: the number as written.
        after: what follows the number and its tolerance.
        column: where that begins in the text, from 0.
        canonical: the unit wanted inside.
        usual: how the field is written as a rule, where that is known.
        toleranced: whether a tolerance was understood between the two.

    Returns:
        What is wrong and what to write instead.
    """
    if why := _odd_characters(number + after) or _no_end_of_number(number, after):
        return why._replace(column=column + why.column - len(number) if why.column else column)
    if not after:
        wanted = conversion.wanted_words(canonical).replace(", such", " is required, such")
        return Why(f"the unit is missing; {wanted}", "", column)
    if toleranced and after[0] == "%" and after != "%":
        return _percent_tolerance(canonical, column)
    if not toleranced and (why := _broken_tolerance(after)):
        return why._replace(column=column)
    if after in conversion.names():
        return _wrong_dimension(number, after, canonical, column, toleranced=toleranced)
    return _unknown_unit(after, canonical, column)


def unit_left_out(text: str, canonical: str, usual: Usual | None) -> str | None:
    """The unit that was probably left out after a number.

    Args:
        text: the number as written.
        canonical: the unit wanted inside.
        usual: how the key is usually written, where that is known.

    Returns:
        The usual unit, or one that brings the number into its band; None where no unit does.
    """
    if usual is None:
        return canonical if canonical in ("mm", "deg", "g", "degC") else None
    number = float(text)
    if math.isinf(number):
        return None
    low, high = usual.band
    for unit in (usual.unit, *(_MISTAKEN.get(canonical, ()))):
        if unit and low <= conversion.in_unit(number, unit, canonical) <= high:
            return conversion.written(unit)
    return None


def _odd_characters(text: str) -> Why | None:
    """Characters that look right and are not."""
    import unicodedata  # noqa: PLC0415 - for faults alone

    for column, letter in enumerate(text):
        name = unicodedata.name(letter, f"U+{ord(letter):04X}").lower()
        if letter.isdecimal() and not letter.isascii():
            return Why(f"{name} is not a digit from 0 to 9", "write the digits 0 to 9", column)
        if letter.isspace() and letter != " ":
            return Why(f"an unusual space is here ({name})", "write an ordinary space", column)
        if letter == "\u2212" or (letter != "-" and unicodedata.category(letter) == "Pd"):
            if re.search(rf"[0-9] *{letter}", text):
                return Why(
                    f"{conversion.with_article(name)} stands here",
                    "write limits with the word to, a minus as -",
                    column,
                )
            return Why(f"{conversion.with_article(name)} stands here", "write - for minus", column)
    if found := re.search(r"[0-9]+(?:,[0-9]+)+(\.[0-9]+)?", text):
        hint = "write a point before the decimals, and nothing between thousands"
        return Why("the number contains a comma", hint, text.index(",", found.start()))
    return None


def _no_end_of_number(number: str, after: str) -> Why | None:
    """A number that goes on where it should have ended."""
    if number in ("0", "+0", "-0") and re.match(r"[0-9]", after):
        return Why("a number begins with 0 only if a point follows", "write the point, or drop the 0")
    if re.match(r"[ _'’]?([0-9]{3})(?![0-9])", after):
        return Why("the number has a gap between digits", "write the digits together")
    if re.match(r"/ ?[0-9]|[0-9]+/[0-9]", after):
        return Why("a fraction is not allowed in a number", "write the fraction as a decimal")
    if re.match(r"[0-9]", after):
        return Why("a second number follows the first", "write limits with the word to")
    if re.match(r"\.", after):
        return Why("the decimal point is wrong", "write one point, with a digit after it")
    return None


def _broken_tolerance(after: str) -> Why | None:
    """A tolerance that is there and is not one of the forms."""
    if re.match(r"- *[0-9]", after):
        return Why("two limits need the word to between them", "write to between the limits")
    if re.match(r"±|\+|-[0-9]|/ *[+-]", after):
        return Why("the tolerance is not complete", "write ± and a number, or a + side, a / and a - side")
    if re.fullmatch(r"[^0-9 +±/-][^ ±+]* *(?:±|\+/-|[+-]).*", after):
        return Why("the tolerance is not complete", "write the unit once, after the tolerance")
    return None


def _wrong_dimension(number: str, unit: str, canonical: str, column: int, *, toleranced: bool) -> Why:
    found = conversion.with_article(conversion.dimension_of(unit))
    if unit == "%" and toleranced:
        return _percent_tolerance(canonical, column)
    required = conversion.wanted_words(canonical).replace(", such", " is required, such")
    return Why(f"{unit} is {found}; {required}", "", column, "dimension")


def _percent_tolerance(canonical: str, column: int) -> Why:
    hint = f"write it in {conversion.written(canonical)}"
    return Why("a tolerance in percent is not allowed", hint, column)


def _unknown_unit(after: str, canonical: str, column: int) -> Why:
    shown = one_line(after, 40)
    guess = conversion.meant(after, canonical)
    if guess is None and re.search(r"[*/^()]", after):
        return Why(f"{shown} is a calculation, not a unit", "write one unit from the list", column, "unknown")
    known = ", ".join(unit for unit in conversion.units_of_canonical(canonical) if unit.isascii())
    hint = (
        f"did you mean {guess}?"
        if guess
        else f"write {'the number alone, or ' if canonical == '-' else ''}one of {known}"
    )
    return Why(f"{shown} is not a unit in the list", hint, column, "unknown")


# --- numbers out of band ---

_CALLED = {
    "in": "inches",
    "um": "µm",
    "thou": "thousandths",
    "m": "metres",
    "%": "percent",
    "": "a plain fraction",
}

# Units in the order in which they are mistaken for one another, most often first; None marks where the
# slips of a factor of two belong.
_MISTAKEN: dict[str, tuple[str | None, ...]] = {
    "mm": ("in", "mm", None, "um", "cm", "thou", "m"),
    "mm3": ("ml", "l", "mm3"),
    "mm2": ("cm2", "mm2"),
    "mm/s": ("m/s", "mm/s"),
    "mm/s2": ("m/s2", "mm/s2"),
    "N": ("kN", "N", "lbf"),
    "MPa": ("kPa", "psi", "MPa", "bar", "GPa", "Pa"),
    "deg": (None,),
    "g": ("g", "mg", "kg", "oz", "lb"),
    "g/cm3": ("kg/m3", "g/cm3"),
    "degC": ("degF", "degC"),
    "s": ("s", "min", "h"),
    "1/min": ("/min", "/s", "/h"),
    "-": ("%", ""),
}
_HALVES = {
    "mm": ("a radius in place of a diameter", "a diameter in place of a radius"),
    "deg": ("a half angle in place of the whole angle", "a whole angle in place of the half angle"),
}


class Slip(NamedTuple):
    """A slip of the pen that would explain a number out of band; the unit is "" for other slips."""

    words: str
    unit: str | None


def likely_slip(
    value: float, low: float, high: float, canonical: str, unit: str | None = None, *, halves: bool = True
) -> Slip | None:
    """The most common slip that brings a number into its band.

    Args:
        value: the number, in the canonical unit.
        low: lower end of the band.
        high: upper end of the band.
        canonical: unit of the three.
        unit: the unit it was written in; the canonical one when not given.
        halves: whether a half for a whole is a slip here; a depth has no radius.

    Returns:
        The slip, or None when nothing common explains the number.
    """
    as_written = conversion.written(canonical) if unit is None else unit
    number = conversion.in_unit(value, canonical, as_written)
    for other in _MISTAKEN.get(canonical, ()):
        if other is None:
            for factor, words in zip((2.0, 0.5), _HALVES[canonical], strict=True):
                if halves and low <= value * factor <= high:
                    return Slip(f"looks like {words}", None)
        elif other != as_written and low <= conversion.in_unit(number, other, canonical) <= high:
            called = _CALLED.get(other, other)
            return Slip(f"looks like {called} written as {_CALLED.get(as_written, as_written)}", other)
    if any(low <= value * factor <= high for factor in (10.0, 0.1)):
        return Slip("looks like a decimal point in the wrong place", None)
    return None
