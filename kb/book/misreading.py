"""What a written quantity was probably meant to be: for texts that are none, and for numbers out of band."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
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
    """How a key is usually written: the unit a reader is shown, and its band in the canonical unit."""

    unit: str
    band: tuple[float, float]


def why_no_number(text: str, canonical: str) -> Why:
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
    """Why a unit after the number and another one after the tolerance are refused; None if they are equal."""
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
    """Why what follows a number, from `column` on, is not a unit of the wanted dimension."""
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
    """The unit that was probably left out: the usual one, or one that brings the number into its band."""
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
                    f"{conversion.with_article(name)} is here",
                    "write limits with the word to, a minus as -",
                    column,
                )
            return Why(f"{conversion.with_article(name)} is here", "write - for minus", column)
    if found := re.search(r"[0-9]+(?:,[0-9]+)+(\.[0-9]+)?", text):
        hint = "write a point before the decimals, and nothing between thousands"
        return Why("the number contains a comma", hint, text.index(",", found.start()))
    return None


def _no_end_of_number(number: str, after: str) -> Why | None:
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
    """The most common slip that brings a number of the canonical unit into its band; None if none does.

    With `halves`, a half for a whole is a slip too; a depth has no radius.
    """
    if low <= value <= high:
        return None
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


MOST = 2
"""Repairs shown; with more, nobody knows which was meant."""

_DIGITS = r"[0-9]+(?:\.[0-9]+)?"
_DASHES = "-\u2010\u2011\u2012\u2013\u2014\u2212\ufe63"
_LETTERS = {
    **{chr(0xFF01 + i): chr(0x21 + i) for i in range(94)},
    **dict.fromkeys("\u2044\u2215", "/"),
    **dict.fromkeys("\u02ba\u2033\u201c\u201d", '"'),
}
_LONGEST_FRACTION = 8
_MOST_DECIMALS = 12


def repaired(
    text: str, unit_left_out: Callable[[str], str | None], reads: Callable[[str], bool]
) -> list[str]:
    """At most two quantities that a text with a slip may have meant, the likelier first.

    There are none if nothing common explains the text, or too much does.
    """
    texts = [_plain(text)]
    for step in _STEPS:
        texts = list(dict.fromkeys(new for one in texts for new in step(one)))
    found = [one for one in texts if one != text and reads(one)]
    if not found:
        found = [
            with_unit
            for one in texts
            if (unit := _unit_for(one, unit_left_out)) and reads(with_unit := f"{one} {unit}")
        ]
    return found if len(found) <= MOST else []


def _unit_for(text: str, unit_left_out: Callable[[str], str | None]) -> str | None:
    first = re.match(rf"-?{_DIGITS}", text)
    return (
        unit_left_out(first[0]) if first and not re.search(r"[A-Za-z%(]", text.replace(" to ", " ")) else None
    )


def _plain(text: str) -> str:
    """The text in plain digits, spaces and signs."""
    letters = []
    for letter in text:
        if letter.isdecimal():
            letters.append(str(unicodedata.decimal(letter)))
        elif letter.isspace():
            letters.append(" ")
        elif unicodedata.decomposition(letter).startswith("<fraction>"):
            letters.append(" " + unicodedata.normalize("NFKC", letter).replace("\u2044", "/"))
        else:
            letters.append(_LETTERS.get(letter, letter))
    return " ".join("".join(letters).split())


def _dashes(text: str) -> Iterator[str]:
    """A dash between two numbers is the word to, or a minus; the sign of an equal tolerance is ±."""
    text = re.sub(rf" ?(?:\+ ?/? ?[{_DASHES}]|[{_DASHES}] ?/? ?\+) ?(?=[0-9.])", " ±", text)
    minus = re.sub(rf"[{_DASHES}]", "-", text)
    if re.search(rf"[0-9][^0-9/+]*?[{_DASHES}] ?\.?[0-9]", text) and "/" not in text:
        yield re.sub(rf"(?<=[0-9a-z%\"])[ ]?[{_DASHES}] ?(?=\.?[0-9])", " to ", text, count=1)
    yield minus


def _fractions(text: str) -> Iterator[str]:
    """`2 1/16` as 2.0625: a fraction that ends as a decimal."""

    def decimal(found: re.Match[str]) -> str:
        if not int(found[3]) or max(len(found[2]), len(found[3])) > _LONGEST_FRACTION:
            return found[0]
        number = int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))
        exact = Decimal(number.numerator) / Decimal(number.denominator)
        ends = Fraction(exact) == number and -int(exact.as_tuple().exponent) <= _MOST_DECIMALS
        return f"{exact:f}" if ends else found[0]

    yield re.sub(r"(?<![0-9.,+/-])(?:([0-9]{1,6})[ -])?([0-9]+)/([0-9]+)(?![0-9.,/])", decimal, text)


def _commas(text: str) -> Iterator[str]:
    """A comma is the decimal point or parts thousands; three digits after it may be either."""
    numbers = re.findall(r"[0-9][0-9.,]*[0-9]", text)
    if not any("," in one for one in numbers):
        yield text
        return
    groups = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2}(?:,[0-9]{3})+)((?:\.[0-9]+)?)(?![0-9.,])")
    points = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2}(?:\.[0-9]{3})+),([0-9]+)(?![0-9.,])")
    text = points.sub(lambda found: f"{found[1].replace('.', '')}.{found[2]}", text)
    if not groups.search(text) or not any(found[2] for found in groups.finditer(text)):
        yield re.sub(r"(?<![0-9.,])([0-9]+),([0-9]+)(?![0-9.,])", r"\1.\2", text)
    if groups.search(text):
        yield groups.sub(lambda found: found[1].replace(",", "") + found[2], text)


def _points(text: str) -> Iterator[str]:
    """A decimal point is between digits."""
    text = re.sub(r"(?<![0-9.])\.(?=[0-9])", "0.", text)
    yield re.sub(r"(?<=[0-9])\.(?![0-9.])", "", text)


def _gaps(text: str) -> Iterator[str]:
    """`1 000` and `1'000` as 1000."""
    yield re.sub(r"(?<![0-9.])([1-9][0-9]{0,2})(?:[ _'\u2019]([0-9]{3}))(?![0-9])", r"\1\2", text)


def _zeros(text: str) -> Iterator[str]:
    """`010` as 10, or as 0.10 with its point."""
    leading = re.compile(r"(?<![0-9.])0+([0-9]+)(?=[^0-9]|$)")
    if not leading.search(text):
        yield text
        return
    yield leading.sub(lambda found: found[1], text)
    yield leading.sub(lambda found: f"0.{found[0][1:]}", text)


def _signs(text: str) -> Iterator[str]:
    """Where the signs of a tolerance belong."""
    text = re.sub(r"± ?[+-] ?(?=[0-9])", "±", text)
    text = re.sub(rf"\+ ?({_DIGITS}) ?/ ?({_DIGITS})", r"+\1/-\2", text)
    text = re.sub(rf"([0-9 ])\+ ?({_DIGITS}) ?[,;]? ?- ?({_DIGITS})", r"\1+\2/-\3", text)
    text = re.sub(rf"([0-9]) ?- ?({_DIGITS}) ?[,;]? ?\+ ?({_DIGITS})", r"\1 -\2/+\3", text)
    yield re.sub(rf"^± ?({_DIGITS}) ({_DIGITS})(.*)$", r"\2 ±\1\3", text)


def _brackets(text: str) -> Iterator[str]:
    text = text.replace("[", "(").replace("]", ")")
    yield f"{text})" if text.count("(") == 1 and ")" not in text else text


def _units(text: str) -> Iterator[str]:
    """The unit once, after the numbers, in its written form."""
    first, bracket, second = text.partition("(")
    first = first.strip()
    ahead = re.fullmatch(r"(?:[Øø\u2300]|dia\.?|=)? ?([A-Za-zµμ°\"]*?)\.? ?([+-]?[0-9].*)", first)
    if ahead:
        first = f"{ahead[2]} {ahead[1]}".strip()
    inside = re.fullmatch(rf"(-?{_DIGITS}) ?([A-Za-zµμ°%\"/][^ ±+]*) ?((?:±|[+-]|to ).*?[0-9])", first)
    if inside:
        first = f"{inside[1]} {inside[3]} {inside[2]}"
    twice = re.fullmatch(r"(.*[0-9]) ?([^ 0-9]+) \2", first)
    if twice:
        first = f"{twice[1]} {twice[2]}"
    yield f"{first} ({second}" if bracket else first


_STEPS = (_dashes, _fractions, _commas, _points, _gaps, _zeros, _signs, _brackets, _units)
