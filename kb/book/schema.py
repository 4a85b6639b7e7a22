"""A spec held against its schema: structure, quantities, codes, dates, and references collected.

Structure is JSON Schema 2020-12, judged by jsonschema (kb/book/structure.py). On top of it the schemas
speak a few words of our own, described for editors and tests in schema/vocabulary.json:

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
        The value is the id of a spec of that kind. Collected here; looked up when the book is whole.

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
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kb.book import conversion, misreading
from kb.book.finding import Finding, one_line
from kb.book.quantity import Quantity, QuantityFault, parse, with_unit
from kb.book.structure import (
    MOST_FAULTS,
    as_written,
    closest,
    dotted,
    example,
    faults,
    likely_branch,
    local_target,
    validator_of,
)
from kb.book.tree import Document, Mapping, Node, Scalar, Sequence, value
from kb.folders import shipped

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator

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
_OURS = ("quantity", "code", "slug", "day", "moment", "reference")
_SETTLED_HERE = frozenset(("type", "form", "length", "number"))


@dataclass(slots=True)
class ShapeResult:
    """One spec compared with its schema.

    Attributes:
        kind: kind of the spec, "" when it names none that is known.
        findings: findings of shape and units; the first part of the name says which.
        quantities: every written quantity understood, by key path.
        references: key path, kind referred to, id.
    """

    kind: str
    findings: list[Finding] = field(default_factory=list)
    quantities: dict[str, Quantity] = field(default_factory=dict)
    references: list[tuple[str, str, str]] = field(default_factory=list)


class Schemas:
    """The schemas of one folder, or given as data; each is compiled when first asked for."""

    def __init__(self, source: Path | AnyMapping[str, Any]) -> None:
        self._source = source
        self._compiled: dict[str, _Compiled] = {}
        names = [file.stem for file in source.glob("*.json")] if isinstance(source, Path) else list(source)
        self.kinds: tuple[str, ...] = tuple(sorted(set(names) - {"vocabulary"}))

    def schema(self, kind: str) -> Any:
        """The schema of one kind, as data."""
        if isinstance(self._source, Path):
            return json.loads((self._source / f"{kind}.json").read_text(encoding="utf-8"))
        return self._source[kind]

    def compiled(self, kind: str) -> _Compiled:
        """The schema of one kind, made ready."""
        if kind not in self._compiled:
            schema = self.schema(kind)
            self._compiled[kind] = _Compiled(validator_of(schema), _field(schema, schema, {}))
        return self._compiled[kind]


@cache
def shipped_schemas() -> Schemas:
    """The schemas that come with the program."""
    return Schemas(shipped("schema"))


def judge(document: Document, schemas: Schemas | None = None) -> ShapeResult:
    """Hold a spec against the schema of its kind.

    Args:
        document: the spec as read.
        schemas: other schemas than the shipped ones.

    Returns:
        The kind, every fault of shape and units, the quantities and the references.
    """
    schemas = schemas or shipped_schemas()
    kind = _kind(document, schemas)
    if isinstance(kind, Finding):
        return ShapeResult("", [kind])
    compiled = schemas.compiled(kind)
    judgement = _Judgement(document, compiled.validator, ShapeResult(kind))
    data = document.data()
    judgement.visit(compiled.field, document.root, data, "")
    for fault in faults(compiled.validator, data):
        judgement.structure(fault.name, dotted(fault.path), fault.at_key, fault.message, fault.fixes)
    judgement.shape.findings.sort(key=lambda finding: finding.order)
    return judgement.shape


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


# --- schemas, made ready for a walk over our own words ---


@dataclass(slots=True)
class _Field:
    """What our own words say of one value, and of what lies in it."""

    schema: Any
    word: str = ""
    usual: misreading.Usual | None = None
    reference: str = ""
    keys: dict[str, _Field] = field(default_factory=dict)
    patterns: list[tuple[re.Pattern[str], _Field]] = field(default_factory=list)
    others: _Field | None = None
    firsts: list[_Field] = field(default_factory=list)
    items: _Field | None = None
    also: list[_Field] = field(default_factory=list)
    choices: list[tuple[list[Any], list[_Field]]] = field(default_factory=list)
    condition: tuple[Any, _Field, _Field] | None = None


@dataclass(frozen=True, slots=True)
class _Compiled:
    validator: Draft202012Validator
    field: _Field


def _field(schema: Any, root: Any, known: dict[str, _Field]) -> _Field:
    """Read what the walk needs from a schema; `known` holds the targets of references, by reference."""
    made = _Field(schema)
    if not isinstance(schema, dict):
        return made
    made.word = next((word for word in _OURS[:5] if schema.get(word)), "")
    if made.word == "quantity" and "band" in schema["quantity"]:
        wanted = schema["quantity"]
        low, high = (float(end) for end in wanted["band"])
        made.usual = misreading.Usual(wanted.get("show", wanted["unit"]), (low, high))
    made.reference = schema.get("reference", "")
    if reference := schema.get("$ref"):
        if reference not in known:
            known[reference] = _Field(schema)
            target = _field(local_target(root, reference), root, known)
            for name in _Field.__slots__:
                setattr(known[reference], name, getattr(target, name))
        made.also.append(known[reference])
    made.keys = {key: _field(inner, root, known) for key, inner in schema.get("properties", {}).items()}
    for pattern, inner in schema.get("patternProperties", {}).items():
        made.patterns.append((re.compile(pattern), _field(inner, root, known)))
    if isinstance(schema.get("additionalProperties"), dict):
        made.others = _field(schema["additionalProperties"], root, known)
    made.firsts = [_field(inner, root, known) for inner in schema.get("prefixItems", ())]
    if isinstance(schema.get("items"), dict):
        made.items = _field(schema["items"], root, known)
    made.also += [_field(inner, root, known) for inner in schema.get("allOf", ())]
    for word in ("oneOf", "anyOf"):
        if branches := schema.get(word):
            made.choices.append((branches, [_field(inner, root, known) for inner in branches]))
    if "if" in schema:
        then, otherwise = schema.get("then", True), schema.get("else", True)
        made.condition = (schema["if"], _field(then, root, known), _field(otherwise, root, known))
    return made


# --- one spec ---


@dataclass(slots=True)
class _Judgement:
    """One spec being judged: what is known of it so far."""

    document: Document
    validator: Draft202012Validator
    shape: ShapeResult
    settled: set[str] = field(default_factory=set)

    def visit(self, rule: _Field, node: Node, data: Any, key: str) -> None:
        """Walk spec and schema together."""
        if rule.word and key not in self.settled and len(self.shape.findings) < MOST_FAULTS:
            self.settled.add(key)
            self.value(rule, node, key)
        elif isinstance(data, str) and isinstance(rule.schema, dict):
            self.text(rule.schema, data, key)
        if rule.reference and isinstance(data, str):
            self.shape.references.append((key, rule.reference, data))
        if isinstance(node, Mapping):
            for name, (_, inner) in node.entries.items():
                path = f"{key}.{name}" if key else name
                for inner_rule in _rules_of(rule, name):
                    self.visit(inner_rule, inner, data[name], path)
        elif isinstance(node, Sequence) and (rule.items or rule.firsts):
            for number, inner in enumerate(node.items):
                each = rule.firsts[number] if number < len(rule.firsts) else rule.items
                if each:
                    self.visit(each, inner, data[number], f"{key}[{number}]")
        for also in rule.also:
            self.visit(also, node, data, key)
        for schemas, rules in rule.choices:
            self.visit(rules[likely_branch(self.validator, schemas, data)], node, data, key)
        if rule.condition:
            holds = self.validator.evolve(schema=rule.condition[0]).is_valid(data)
            self.visit(rule.condition[1 if holds else 2], node, data, key)

    def text(self, described: dict[str, Any], text: str, key: str) -> None:
        """Judge a text that is for people: it says something, and a short one is on one line."""
        if text and not text.strip() and described.get("minLength"):
            self.report("shape.length", key, "the text is empty: it has spaces only")
        elif "\n" in text.strip() and described.get("maxLength", _ONE_LINE + 1) <= _ONE_LINE:
            self.report("shape.form", key, "a short text has a line break", ("write it on one line",))

    def value(self, rule: _Field, node: Node, key: str) -> None:
        """Judge one value by our own words."""
        if not isinstance(node, Scalar):
            what = "a group of keys" if isinstance(node, Mapping) else "a list"
            words, fixes = _for_example(rule)
            self.report("shape.type", key, f"one value is required here, not {what}{words}", fixes)
        elif value(node) is None or (not node.text.strip() and not node.quoted):
            words, fixes = _for_example(rule)
            self.report("shape.type", key, f"the value is missing{words}", fixes)
        elif rule.word == "quantity":
            self.quantity(rule, node.text, key)
        elif rule.word == "code":
            self.code(node, key)
        elif rule.word == "slug":
            self.slug(node, key)
        else:
            self.day(rule.word, node, key)

    def quantity(self, rule: _Field, text: str, key: str) -> None:
        try:
            found = parse(text, rule.schema["quantity"].get("unit", conversion.ANY), rule.usual)
        except QuantityFault as fault:
            self.report(
                fault.name, key, fault.message, (fault.hint,) if fault.hint else (), fault.column_offset
            )
            return
        self.shape.quantities[key] = found
        self.form(rule, found, key)
        low, high = rule.usual.band if rule.usual else (-math.inf, math.inf)
        above = rule.schema["quantity"].get("above")
        if above is not None and not found.low > above:
            self.report("units.band", key, f"{found.text} is not above {above:g}")
        elif not (low <= found.low and found.high <= high):
            self.out_of_band(rule, (low, high), found, key)
        elif not found.unit and rule.schema.get("type") == "string":
            fixes = () if found.toleranced else (f"write {Decimal(found.written[1]).scaleb(2):f} %",)
            self.report("units.quantity", key, "a number without a unit is not allowed here", fixes)

    def form(self, rule: _Field, found: Quantity, key: str) -> None:
        """Judge the form in which a quantity is written: range, or tolerance."""
        wanted = rule.schema["quantity"]
        tolerance = wanted.get("tolerance", "allowed")
        if wanted.get("range"):
            if found.form != "limits":
                low, _, high = found.written
                ends = f"write {low} to {high} {found.unit}".rstrip()
                fix = ends if found.toleranced else "write both limits, with the word to between them"
                self.report("units.range", key, "a range with two limits is required here", (fix,))
        elif tolerance == "required" and not found.toleranced:
            fix = f"write ± and the tolerance after {found.written[1]}"
            self.report("units.tolerance", key, "the tolerance is missing", (fix,))
        elif tolerance == "none" and found.toleranced:
            alone = f"write {found.written[1]} {found.unit}".rstrip()
            fix = alone if found.form != "limits" else "write one number"
            self.report("units.tolerance", key, "no tolerance is allowed here", (fix,))

    def out_of_band(self, rule: _Field, band: tuple[float, float], found: Quantity, key: str) -> None:
        wanted = rule.schema["quantity"]
        shown = wanted.get("show", found.canonical)
        low, high = (f"{conversion.in_unit(end, found.canonical, shown):.6g}" for end in band)
        words = f"{found.text} is outside the plausible {low} to {high} {conversion.written(shown)}".rstrip()
        title = rule.schema.get("title")
        words = f"{title} {words}" if title else words
        inside = band[0] <= found.nominal <= band[1]  # then the tolerance is what is too wide
        halves = found.canonical != "mm" or _ROUND.search(key) is not None
        slip = (
            None
            if inside
            else misreading.likely_slip(found.nominal, *band, found.canonical, found.unit, halves=halves)
        )
        if slip is None:
            self.report("units.band", key, words)
            return
        right = "" if slip.unit is None else with_unit(found.text, conversion.written(slip.unit))
        fix = f"if so, write {right}" if right else ""
        self.report("units.slip", key, f"{words}; it {slip.words}", (fix,) if fix else ())

    def code(self, node: Scalar, key: str) -> None:
        shown = one_line(node.text, 40) or "empty text"
        if not _CODE.fullmatch(node.text):
            fix = 'write whole inches, then two digits of sixteenths from 00 to 15, such as "202"'
            self.report("shape.code", key, f"{shown} is not a size code", (fix,))
        elif not node.quoted:
            self.report(
                "shape.code", key, "a size code is text, not a number", (f'write "{shown}" with quotes',)
            )

    def slug(self, node: Scalar, key: str) -> None:
        text, shown = node.text, one_line(node.text, 40) or "empty text"
        if not _SLUG.fullmatch(text) or len(text) > _LONGEST_SLUG:
            wanted = f"lower-case words and digits joined by hyphens, at most {_LONGEST_SLUG} characters"
            plain = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:_LONGEST_SLUG].strip("-")
            fixes = (f"write {plain}",) if plain and plain not in _DEVICES else ()
            self.report("shape.id", key, f"{shown} is not a valid name: {wanted}", fixes)
        elif text in _DEVICES:
            self.report("shape.id", key, f"{shown} cannot be a name: some systems reserve it for a device")
        elif not isinstance(value(node), str):
            self.report(
                "shape.id",
                key,
                f"{shown} without quotes is not read as text",
                (f'write "{shown}" with quotes',),
            )

    def day(self, word: str, node: Scalar, key: str) -> None:
        from datetime import datetime  # noqa: PLC0415 - already there, the YAML reader needs it

        form, what, wanted = _DAYS[word]
        shown = one_line(node.text, 40) or "empty text"
        try:
            real = datetime.fromisoformat(node.text) if form.fullmatch(node.text) else None
        except ValueError:
            real = None
        if real and not _YEARS[0] <= real.year <= _YEARS[1]:
            message = f"{shown} is outside the plausible years {_YEARS[0]} to {_YEARS[1]}"
            self.report("shape.date", key, message)
        elif not real:
            self.report("shape.date", key, f"{shown} is not a {what}", (f"write {wanted}",))
        elif not node.quoted:
            self.report("shape.date", key, f"a {what} is written as text", (f'write "{shown}" with quotes',))

    def structure(self, name: str, key: str, at_key: bool, message: str, fixes: tuple[str, ...]) -> None:
        """Report a fault of structure, unless our own words settled it."""
        if key in self.settled and name in _SETTLED_HERE:
            return
        place = self.document.key_place(key) if at_key else self.document.place(key)
        self.shape.findings.append(Finding(f"shape.{name}", "error", place, message, fixes))

    def report(self, name: str, key: str, message: str, fixes: tuple[str, ...] = (), offset: int = 0) -> None:
        place = self.document.place(key, offset)
        self.shape.findings.append(Finding(name, "error", place, message, fixes))


def _rules_of(rule: _Field, name: str) -> list[_Field]:
    """The rules for one key: its own, those whose pattern it fits, else the rule for all others."""
    found = [rule.keys[name]] if name in rule.keys else []
    if rule.patterns:
        found += [inner for pattern, inner in rule.patterns if pattern.search(name)]
    return found or ([rule.others] if rule.others else [])


def _for_example(rule: _Field) -> tuple[str, tuple[str, ...]]:
    """An example from the schema: for a quantity as part of the message, since its numbers are no fix."""
    sample = example(rule.schema)
    if sample is None:
        return "", ()
    text = as_written(sample, rule.schema)
    return (
        (f"; an example is {text}", ()) if rule.word == "quantity" else ("", (f"write for example {text}",))
    )
