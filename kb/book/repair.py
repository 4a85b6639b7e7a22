"""The quantity that a reader probably meant, from a text with a common slip.

A repair keeps the reader's own numbers, all of them. It changes characters, separators, and the place of a
sign or a unit. It is kept only if it reads as a quantity. What needs a number that the reader did not
write has no repair.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction

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
    """Quantities that a text with a slip may have meant.

    Args:
        text: what is written.
        unit_left_out: the unit that was probably left out after a number, or None.
        reads: whether a text is a quantity of the wanted kind.

    Returns:
        At most two texts, the likelier first; none if nothing common explains the text, or too much does.
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
    """A dash between two numbers is the word to, or else a minus; the sign of an equal tolerance is ±."""
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
    """A decimal point stands between digits."""
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
    """Round brackets, closed."""
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


_STEPS: tuple[Callable[[str], Iterator[str]], ...] = (
    _dashes,
    _fractions,
    _commas,
    _points,
    _gaps,
    _zeros,
    _signs,
    _brackets,
    _units,
)
