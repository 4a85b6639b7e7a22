"""A spec compared with its schema: structure, quantities, codes, ids and dates.

Structure is JSON Schema 2020-12, evaluated by jsonschema; kb/book/structure.py words its errors. The same
walk carries our own keywords, which schema/vocabulary.json describes for editors and tests:

    "quantity": {"dimension": "force", "unit": "N", "band": [20, 200], "tolerance": "required", "show": "kN"}
        The value is a written quantity (kb/book/quantity.py). `unit` is the canonical one it is kept in,
        `band` what is plausible, in that unit, for nominal and limits alike; `tolerance` is required,
        allowed (the default) or none; `show` is the unit a reader is shown. `"range": true` wants the form
        `90 to 190 mm` alone, `"above": 0` a number above zero. With the dimension "any" the written unit
        decides: no unit, no band.
    "code": true        A size code in quotes, "202": whole inches, then sixteenths below 16.
    "slug": true        A plain name: lower-case words and digits joined by hyphens.
    "day": true         A date in quotes, "2026-09-14".
    "moment": true      A day and a time of day in quotes, "2026-12-07 06:00".
    "reference": "material"
        The value is the id of a spec of that kind. The record says the same (kb/book/records.py); the id is
        looked up when the book is whole.

Names of the findings, all of them errors:

    shape.kind          no kind, or one without a schema
    shape.unknown-key   shape.missing-key   shape.key       a key too many, too few, or wrongly formed
    shape.type          shape.choice        shape.length    shape.number    shape.form    shape.repeated
    shape.code          shape.id            shape.date      the words above
    units.quantity      not a quantity in one of the written forms
    units.unknown       a unit that is not in the list
    units.dimension     a unit of something else
    units.dual          two halves that disagree
    units.tolerance     a tolerance missing, or one where none belongs
    units.range         one number where two ends are wanted
    units.slip          out of band, and a common slip would explain it
    units.band          out of band
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from kb.book import conversion, misreading
from kb.book.finding import Finding, one_line
from kb.book.quantity import Quantity, QuantityFault, parse, understood, with_unit
from kb.book.structure import (
    MOST_FAULTS,
    as_written,
    closest,
    dotted,
    example,
    faults,
    likely_branch,
    validator_of,
)
from kb.book.structure import Path as KeyPath
from kb.book.tree import Document, Scalar, noted, value_of
from kb.folders import shipped

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator, ValidationError


_SETTLED_HERE = frozenset(("type", "form", "length", "number"))
"""Faults of structure that one of our keywords reports better at the same value."""


@dataclass(slots=True)
class ShapeResult:
    """The kind of a spec, "" when it names none that is known, and its findings of shape and units."""

    kind: str
    findings: list[Finding] = field(default_factory=list)


class Schemas:
    """The schemas of one folder, or given as data; each is compiled at its first use."""

    def __init__(self, source: Path | AnyMapping[str, Any]) -> None:
        self._source = source
        self._compiled: dict[str, tuple[Draft202012Validator, Draft202012Validator]] = {}
        names = [file.stem for file in source.glob("*.json")] if isinstance(source, Path) else list(source)
        self.kinds: tuple[str, ...] = tuple(sorted(set(names) - {"vocabulary"}))

    def schema(self, kind: str) -> Any:
        if isinstance(self._source, Path):
            return json.loads((self._source / f"{kind}.json").read_text(encoding="utf-8"))
        return self._source[kind]

    def compiled(self, kind: str) -> tuple[Draft202012Validator, Draft202012Validator]:
        """The validator of one kind with our keywords, and the one of its structure alone."""
        if kind not in self._compiled:
            self._compiled[kind] = validators(self.schema(kind))
        return self._compiled[kind]


@cache
def shipped_schemas() -> Schemas:
    return Schemas(shipped("schema"))


def judge(document: Document, schemas: Schemas | None = None) -> ShapeResult:
    """Compare a spec with the schema of its kind; by default, with the schemas that are shipped."""
    schemas = schemas or shipped_schemas()
    kind = _kind(document, schemas)
    if isinstance(kind, Finding):
        return ShapeResult("", [kind])
    validator, plain = schemas.compiled(kind)
    own: dict[tuple[KeyPath, bool], ValidationError] = {}
    settled: set[KeyPath] = set()

    def of_structure() -> Iterator[ValidationError]:
        for error in validator.iter_errors(document.data(noted)):
            path = tuple(error.absolute_path)
            if not is_own(error):
                settled.update(_settled(error))
                yield error
            elif len(own) < MOST_FAULTS:
                own.setdefault((path, has_word(error.schema)), error)

    found = faults(of_structure(), plain)
    settled |= {path for path, by_word in own if by_word}
    findings = [one for (path, _), error in own.items() for one in _of_word(document, error, dotted(path))]
    for fault in found:
        if fault.name not in _SETTLED_HERE or fault.path not in settled:
            key = dotted(fault.path)
            place = document.key_place(key) if fault.at_key else document.place(key)
            findings.append(Finding(f"shape.{fault.name}", "error", place, fault.message, fault.fixes))
    return ShapeResult(kind, sorted(findings, key=lambda finding: finding.order))


def _settled(error: ValidationError) -> Iterator[KeyPath]:
    """Where an error of structure is at a value that one of our keywords looks at."""
    if has_word(error.schema):
        yield tuple(error.absolute_path)
    for inner in error.context or ():
        yield from _settled(inner)


def _of_word(document: Document, error: ValidationError, key: str) -> Iterator[Finding]:
    for fault in word_faults(str(error.validator), error.schema, error.instance, key):
        place = document.place(key, fault.offset)
        yield Finding(fault.name, "error", place, fault.message, fault.fixes)


def _kind(document: Document, schemas: Schemas) -> str | Finding:
    node = document.node("kind")
    known = ", ".join(schemas.kinds)
    if node is None:
        message, fixes = "the spec has no `kind:`", (f"begin with `kind:` and one of {known}",)
    elif isinstance(node, Scalar) and node.text in schemas.kinds:
        return node.text
    else:
        written = one_line(node.text, 40) if isinstance(node, Scalar) else "a group or list"
        guess = closest(written, schemas.kinds)
        message = f"{written or 'empty text'} is not a kind of spec"
        fixes = (f"did you mean {guess}?" if guess else f"choose one of {known}",)
    return Finding("shape.kind", "error", document.place("kind"), message, fixes)


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
    """What is wrong with a value by one of our keywords; `offset` counts into the value from 0."""

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
    made: dict[int, Any] = {}

    def inside(validator: Any, value: Any, part: Any, step: str | int) -> Iterator[ValidationError]:
        """Errors of a part of the value; the validator of each part of the schema is made once."""
        one = made.get(id(part))
        if one is None:
            one = made[id(part)] = validator.evolve(schema=part)
        for error in one.iter_errors(value):
            error.path.appendleft(step)
            yield error

    def properties(validator: Any, parts: Any, value: Any, _: Any) -> Iterator[ValidationError]:
        for name, part in parts.items() if isinstance(value, dict) else ():
            if name in value:
                for error in inside(validator, value[name], part, name):
                    error.schema_path.appendleft(name)
                    yield error

    def items(validator: Any, part: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
        if "prefixItems" in schema or not isinstance(part, dict):
            yield from standard["items"](validator, part, value, schema)
            return
        for i, one in enumerate(value if isinstance(value, list) else ()):
            yield from inside(validator, one, part, i)

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
        "properties": properties,
        "items": items,
        "minLength": least,
        "maxLength": most,
    }
    extended = of_jsonschema.extend(type(plain), carried)  # type: ignore[no-untyped-call]
    return extended(schema), plain


def _is_text(value: Any, schema: Any) -> bool:
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
    """What is wrong with a value, as `tree.noted` makes it, by a keyword.

    Two keywords are in no schema: `blank`, for a text of spaces, and `break`, for one with a line break.
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
    halves = found.canonical != "mm" or _ROUND.search(key) is not None
    slip = misreading.likely_slip(found.nominal, *band, found.canonical, found.unit, halves=halves)
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
