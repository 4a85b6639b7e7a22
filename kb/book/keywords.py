"""Our own keywords of a schema: what each wants of a value, and the validator that carries them.

The keywords are described for editors and tests in schema/vocabulary.json:

    "quantity": {"dimension": "force", "unit": "N", "band": [20, 200], "tolerance": "required", "show": "kN"}
        The value is a written quantity (kb/book/quantity.py). `unit` is the canonical one it is kept in,
        `band` what is plausible, in that unit, for nominal and limits alike; `tolerance` is required,
        allowed (the default) or none; `show` is the unit a reader is shown. `"range": true` wants the form
        `90 to 190 mm` alone, `"above": 0` a number above zero. With the dimension "any" the written unit
        decides: no unit, no band.
    "code": true
        A size code in quotes, "202": whole inches, then sixteenths below 16.
    "slug": true
        A plain name: lower-case words and digits joined by hyphens.
    "day": true
        A date in quotes, "2026-09-14".
    "moment": true
        A day and a time of day in quotes, "2026-12-07 06:00".
    "reference": "material"
        The value is the id of a spec of that kind. The record says the same (kb/book/records.py); the id is
        looked up when the book is whole.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

from kb.book import conversion, misreading
from kb.book.finding import one_line
from kb.book.quantity import Quantity, QuantityFault, parse, understood, with_unit
from kb.book.structure import as_written, example, likely_branch, validator_of
from kb.book.tree import value_of

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator, ValidationError

WORDS = ("quantity", "code", "slug", "day", "moment")
"""The keywords that want one written value of a kind."""

_CODE = re.compile(r"[0-9]{1,2}(?:0[0-9]|1[0-5])")
_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_DAYS = {
    "day": (re.compile(_DAY), "day", 'year-month-day, such as "2026-09-14"'),
    "moment": (
        re.compile(_DAY + r" [0-9]{2}:[0-9]{2}"),
        "day and time",
        'year-month-day hour:minute, such as "2026-12-07 06:00"',
    ),
}
_ROUND = re.compile(r"(?:diameter|radius|bore|opening)[^.]*$")
_LONGEST_SLUG = 64
_ONE_LINE = 120
"""Longest text that is printed on one line, by the greatest length its schema allows."""
_YEARS = (1950, 2100)
_DEVICES = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)))
)


class WordFault(NamedTuple):
    """What is wrong with a value by one of our keywords.

    Attributes:
        name: name of the finding.
        message: what is wrong.
        fixes: what to write instead.
        offset: where in the value it is wrong, counted from 0.
    """

    name: str
    message: str
    fixes: tuple[str, ...] = ()
    offset: int = 0


# --- the validator ----------------------------------------------------------------------------


def has_word(schema: Any) -> bool:
    """Whether a schema wants one written value by a keyword of ours."""
    return isinstance(schema, dict) and any(schema.get(word) for word in WORDS)


def validators(schema: Any) -> tuple[Draft202012Validator, Draft202012Validator]:
    """The validator of a schema with our keywords, and the one of its structure alone.

    The first gives an error for each value that one of our keywords refuses; its `validator` is a name that
    `word_faults` knows. Which branch of a choice holds is decided by structure alone, as for any validator
    that does not know our keywords. In the branch that was meant the keywords count.
    """
    from jsonschema import ValidationError  # noqa: PLC0415 - slow to load
    from jsonschema import validators as of_jsonschema  # noqa: PLC0415

    plain = validator_of(schema)
    standard = plain.VALIDATORS

    def word(name: str) -> Any:
        def refused(_: Any, wanted: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
            if wanted and not _accepted(name, schema, value):
                yield ValidationError(name, validator=name)

        return refused

    def choice(name: str) -> Any:
        def chosen(validator: Any, branches: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
            yield from standard[name](plain.evolve(schema=schema), branches, value, schema)
            number = likely_branch(plain, branches, value)
            for error in validator.descend(value, branches[number], schema_path=number):
                if error.validator in _FAULTS:
                    yield error

        return chosen

    def condition(validator: Any, wanted: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
        branch = "then" if plain.evolve(schema=wanted).is_valid(value) else "else"
        if branch in schema:
            yield from validator.descend(value, schema[branch], schema_path=branch)

    def by_structure(name: str) -> Any:
        return lambda _, wanted, value, schema: standard[name](
            plain.evolve(schema=schema), wanted, value, schema
        )

    def least(validator: Any, wanted: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
        yield from standard["minLength"](validator, wanted, value, schema)
        if wanted and _is_text(value, schema) and value and not value.strip():
            yield ValidationError("blank", validator="blank")

    def most(validator: Any, wanted: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
        yield from standard["maxLength"](validator, wanted, value, schema)
        if wanted <= _ONE_LINE and _is_text(value, schema) and "\n" in value.strip():
            yield ValidationError("break", validator="break")

    carried = {
        **{name: word(name) for name in WORDS},
        **{name: choice(name) for name in ("anyOf", "oneOf")},
        **{name: by_structure(name) for name in ("not", "contains")},
        "if": condition,
        "minLength": least,
        "maxLength": most,
    }
    extended = of_jsonschema.extend(type(plain), carried)  # type: ignore[no-untyped-call]
    return extended(schema), plain


def _is_text(value: Any, schema: Any) -> bool:
    """Whether a value is a written text for people."""
    return isinstance(value, str) and hasattr(value, "scalar") and not has_word(schema)


def _accepted(word: str, schema: Any, value: Any) -> bool:
    """Whether a keyword accepts a value; says nothing of why not, which takes longer."""
    if word != "quantity":
        return next(word_faults(word, schema, value, ""), None) is None
    scalar = getattr(value, "scalar", None)
    if scalar is None:
        return isinstance(value, str)  # the name of a key
    try:
        found = understood(scalar.text, schema["quantity"].get("unit", conversion.ANY))
    except QuantityFault:
        return False
    return next(_of_number(schema, found, ""), None) is None


# --- what is wrong ----------------------------------------------------------------------------


def word_faults(word: str, schema: Any, value: Any, key: str) -> Iterator[WordFault]:
    """What is wrong with a value by a keyword, in words.

    Args:
        word: the keyword, `blank` for a text that says nothing, or `break` for one with a line break
        schema: the schema that has the keyword
        value: the value, as `tree.noted` makes it
        key: its key path
    """
    scalar = getattr(value, "scalar", None)
    if isinstance(value, dict | list):
        what = "a group of keys" if isinstance(value, dict) else "a list"
        words, fixes = _for_example(schema, word)
        yield WordFault("shape.type", f"one value is required here, not {what}{words}", fixes)
    elif value is None or (scalar is not None and not scalar.quoted and not scalar.text.strip()):
        words, fixes = _for_example(schema, word)
        yield WordFault("shape.type", f"the value is missing{words}", fixes)
    elif scalar is not None:
        yield from _FAULTS[word](schema, scalar.text, scalar.quoted, key)
    elif isinstance(value, bool):
        yield from _FAULTS[word](schema, "true" if value else "false", False, key)


def _blank(_schema: Any, _text: str, _quoted: bool, _key: str) -> Iterator[WordFault]:
    yield WordFault("shape.length", "the text is empty: it has spaces only")


def _break(_schema: Any, _text: str, _quoted: bool, _key: str) -> Iterator[WordFault]:
    yield WordFault("shape.form", "a short text has a line break", ("write it on one line",))


def _quantity(schema: Any, text: str, _quoted: bool, key: str) -> Iterator[WordFault]:
    wanted = schema["quantity"]
    try:
        found = parse(text, wanted.get("unit", conversion.ANY), _usual(wanted))
    except QuantityFault as fault:
        hint = (fault.hint,) if fault.hint else ()
        yield WordFault(fault.name, fault.message, hint, fault.column_offset)
        return
    yield from _of_number(schema, found, key)


def _usual(wanted: Any) -> misreading.Usual | None:
    """How a field is usually written, if its schema has a plausible band."""
    if "band" not in wanted:
        return None
    low, high = (float(end) for end in wanted["band"])
    return misreading.Usual(wanted.get("show", wanted["unit"]), (low, high))


def _of_number(schema: Any, found: Quantity, key: str) -> Iterator[WordFault]:
    wanted = schema["quantity"]
    yield from _of_form(wanted, found)
    low, high = wanted.get("band", (-math.inf, math.inf))
    above = wanted.get("above")
    if above is not None and not found.low > above:
        yield WordFault("units.band", f"{found.text} is not above {above:g}")
    elif not (low <= found.low and found.high <= high):
        yield _out_of_band(schema, (low, high), found, key)
    elif not found.unit and schema.get("type") == "string":
        fixes = () if found.toleranced else (f"write {Decimal(found.written[1]).scaleb(2):f} %",)
        yield WordFault("units.quantity", "a number without a unit is not allowed here", fixes)


def _of_form(wanted: Any, found: Quantity) -> Iterator[WordFault]:
    """What is wrong with the form in which a quantity is written: range, or tolerance."""
    tolerance = wanted.get("tolerance", "allowed")
    if wanted.get("range"):
        if found.form != "limits":
            low, _, high = found.written
            ends = f"write {low} to {high} {found.unit}".rstrip()
            fix = ends if found.toleranced else "write both limits, with the word to between them"
            yield WordFault("units.range", "a range with two limits is required here", (fix,))
    elif tolerance == "required" and not found.toleranced:
        fix = f"write ± and the tolerance after {found.written[1]}"
        yield WordFault("units.tolerance", "the tolerance is missing", (fix,))
    elif tolerance == "none" and found.toleranced:
        alone = f"write {found.written[1]} {found.unit}".rstrip()
        fix = alone if found.form != "limits" else "write one number"
        yield WordFault("units.tolerance", "no tolerance is allowed here", (fix,))


def _out_of_band(schema: Any, band: tuple[float, float], found: Quantity, key: str) -> WordFault:
    shown = schema["quantity"].get("show", found.canonical)
    low, high = (f"{conversion.in_unit(end, found.canonical, shown):.6g}" for end in band)
    words = f"{found.text} is outside the plausible {low} to {high} {conversion.written(shown)}".rstrip()
    title = schema.get("title")
    words = f"{title} {words}" if title else words
    inside = band[0] <= found <= band[1]  # then the tolerance is what is too wide
    halves = found.canonical != "mm" or _ROUND.search(key) is not None
    slip = (
        None
        if inside
        else misreading.likely_slip(found.nominal, *band, found.canonical, found.unit, halves=halves)
    )
    if slip is None:
        return WordFault("units.band", words)
    right = "" if slip.unit is None else with_unit(found.text, conversion.written(slip.unit))
    return WordFault("units.slip", f"{words}; it {slip.words}", (f"if so, write {right}",) if right else ())


def _code(_schema: Any, text: str, quoted: bool, _key: str) -> Iterator[WordFault]:
    shown = one_line(text, 40) or "empty text"
    if not _CODE.fullmatch(text):
        fix = 'write whole inches, then two digits of sixteenths from 00 to 15, such as "202"'
        yield WordFault("shape.code", f"{shown} is not a size code", (fix,))
    elif not quoted:
        yield WordFault("shape.code", "a size code is text, not a number", (f'write "{shown}" with quotes',))


def _slug(_schema: Any, text: str, quoted: bool, _key: str) -> Iterator[WordFault]:
    shown = one_line(text, 40) or "empty text"
    if not _SLUG.fullmatch(text) or len(text) > _LONGEST_SLUG:
        wanted = f"lower-case words and digits joined by hyphens, at most {_LONGEST_SLUG} characters"
        plain = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:_LONGEST_SLUG].strip("-")
        fixes = (f"write {plain}",) if plain and plain not in _DEVICES else ()
        yield WordFault("shape.id", f"{shown} is not a valid name: {wanted}", fixes)
    elif text in _DEVICES:
        yield WordFault("shape.id", f"{shown} cannot be a name: some systems reserve it for a device")
    elif not quoted and not isinstance(value_of(text), str):
        yield WordFault(
            "shape.id", f"{shown} without quotes is not read as text", (f'write "{shown}" with quotes',)
        )


def _date(word: str, text: str, quoted: bool) -> Iterator[WordFault]:
    from datetime import datetime  # noqa: PLC0415 - already there, the YAML reader needs it

    form, what, wanted = _DAYS[word]
    shown = one_line(text, 40) or "empty text"
    try:
        real = datetime.fromisoformat(text) if form.fullmatch(text) else None
    except ValueError:
        real = None
    if real and not _YEARS[0] <= real.year <= _YEARS[1]:
        message = f"{shown} is outside the plausible years {_YEARS[0]} to {_YEARS[1]}"
        yield WordFault("shape.date", message)
    elif not real:
        yield WordFault("shape.date", f"{shown} is not a {what}", (f"write {wanted}",))
    elif not quoted:
        yield WordFault("shape.date", f"a {what} is written as text", (f'write "{shown}" with quotes',))


_FAULTS: dict[str, Callable[[Any, str, bool, str], Iterator[WordFault]]] = {
    "quantity": _quantity,
    "code": _code,
    "slug": _slug,
    "day": lambda _schema, text, quoted, _key: _date("day", text, quoted),
    "moment": lambda _schema, text, quoted, _key: _date("moment", text, quoted),
    "blank": _blank,
    "break": _break,
}


def is_own(error: ValidationError) -> bool:
    """Whether an error of the validator is one of our keywords."""
    return error.validator in _FAULTS


def _for_example(schema: Any, word: str) -> tuple[str, tuple[str, ...]]:
    """An example from the schema: for a quantity as part of the message, since its numbers are no fix."""
    sample = example(schema)
    if sample is None:
        return "", ()
    text = as_written(sample, schema)
    return (f"; an example is {text}", ()) if word == "quantity" else ("", (f"write for example {text}",))
