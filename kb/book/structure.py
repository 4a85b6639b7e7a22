"""What a spec's structure lacks against its schema, in plain words.

jsonschema finds the faults; this file says them without the words of JSON, narrows `oneOf` and `anyOf`
down to the form that was probably meant, and names what to write, with an example from the schema.
"""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from kb.book.conversion import with_article
from kb.book.finding import one_line
from kb.book.tree import value_of

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator, ValidationError

Path: TypeAlias = tuple[str | int, ...]

MOST_FAULTS = 100
"""Faults reported of one spec; with so many, the rest would be noise."""

_LONGEST_EXAMPLE = 100
_MOST_COUNTED = 1e15
_TYPES = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "object": "a group of keys",
    "array": "a list",
    "null": "nothing",
}


class Fault(NamedTuple):
    """A fault of structure: its name after `shape.`, where, the words, and the keys that would fix it."""

    name: str
    path: Path
    at_key: bool
    message: str
    fixes: tuple[str, ...] = ()
    wanted: tuple[str, ...] = ()


def dotted(path: Sequence[str | int]) -> str:
    """A path as the reader sees it: `ironing.rings[1].bore`."""
    key = ""
    for step in path:
        key += f"[{step}]" if isinstance(step, int) else f".{step}" if key else step
    return key


def validator_of(schema: Any) -> Draft202012Validator:
    """The standard's validator, with a fast test for repeated items; 5.0 is no whole number in a spec."""
    made: Draft202012Validator = _validator_class()(schema)
    return made


@cache
def _validator_class() -> Any:
    from jsonschema import Draft202012Validator, ValidationError, validators  # noqa: PLC0415 - slow to load

    def whole(_: Any, instance: Any) -> bool:
        return isinstance(instance, int) and not isinstance(instance, bool)

    def unique(_: Any, wanted: Any, items: Any, __: Any) -> Iterator[ValidationError]:
        if wanted and isinstance(items, list) and _second(items) is not None:
            yield ValidationError("repeated")

    def form(validator: Any, wanted: Any, value: Any, schema: Any) -> Iterator[ValidationError]:
        if "quantity" not in schema:  # such a pattern is for editors; the keyword says more
            yield from Draft202012Validator.VALIDATORS["pattern"](validator, wanted, value, schema)

    return validators.extend(  # type: ignore[no-untyped-call]
        Draft202012Validator,
        {"uniqueItems": unique, "pattern": form},
        type_checker=Draft202012Validator.TYPE_CHECKER.redefine("integer", whole),
    )


def faults(errors: Iterable[ValidationError], validator: Draft202012Validator) -> list[Fault]:
    """Errors of structure in plain words, without repetition, at most `MOST_FAULTS`."""
    found: dict[Fault, None] = {}
    for error in errors:
        if len(found) < MOST_FAULTS:
            found.update(dict.fromkeys(_in_words(error, validator)))
    return [fault for fault in found if not _implied(fault, found)][:MOST_FAULTS]


def _implied(fault: Fault, others: Collection[Fault]) -> bool:
    """Whether a fault follows from another: a missing key from a misspelt one, a choice from its type."""
    if fault.name == "missing-key":
        guesses = [(name,) for name in fault.wanted]
        return any(
            other.name == "unknown-key" and other.path[:-1] == fault.path[:-1] and other.wanted[:1] in guesses
            for other in others
        )
    if fault.name in ("choice", "form", "length", "number"):
        return any(other.name == "type" and other.path == fault.path for other in others)
    return False


def _second(items: list[Any]) -> int | None:
    """Position of the first item that an earlier one equals."""
    seen: set[str] = set()
    for number, item in enumerate(items):
        text = json.dumps(item, sort_keys=True)
        if text in seen:
            return number
        seen.add(text)
    return None


def likely_branch(validator: Draft202012Validator, branches: Sequence[Any], data: Any) -> int:
    """Which of several allowed forms a value was probably meant to have, by its position.

    Its fixed words fit, its type fits, and it has the fewest faults.
    """

    def distance(number: int) -> tuple[bool, bool, int, bool]:
        branch = branches[number]
        errors = list(validator.evolve(schema=branch).iter_errors(data))
        fixed = any(error.validator in ("const", "enum") for error in errors)
        typed = any(error.validator == "type" and not error.path for error in errors)
        return typed, fixed, len(errors), not (isinstance(branch, dict) and {"const", "enum"} & branch.keys())

    return min(range(len(branches)), key=distance)


def example(schema: Any, depth: int = 3) -> Any:
    """A value that would do, taken from the schema; None when it names none."""
    if not isinstance(schema, dict):
        return None
    if schema.get("examples"):
        return schema["examples"][0]
    if "const" in schema or schema.get("enum"):
        return schema.get("const", (schema.get("enum") or [None])[0])
    if depth and schema.get("required"):
        members = {
            name: example(schema.get("properties", {}).get(name), depth - 1) for name in schema["required"]
        }
        return members if all(member is not None for member in members.values()) else None
    inner = example(schema.get("items"), depth - 1) if depth else None
    return None if inner is None else [inner]


def as_written(value: Any, schema: Any = None) -> str:
    """A value as a spec would have it, on one line."""
    described = schema if isinstance(schema, dict) else {}
    if isinstance(value, dict):
        inner = described.get("properties", {})
        return (
            "{" + ", ".join(f"{key}: {as_written(each, inner.get(key))}" for key, each in value.items()) + "}"
        )
    if isinstance(value, list):
        return "[" + ", ".join(as_written(each, described.get("items")) for each in value) + "]"
    if not isinstance(value, str):
        return json.dumps(value)
    if any(described.get(word) for word in ("code", "day", "moment")) or not _plain(value):
        return json.dumps(value, ensure_ascii=False)
    return value


def _plain(text: str) -> bool:
    """Whether text can be unquoted in a spec and stay text."""
    special = text[:1] in "!&*-?|>@`\"'%{}[],#:" or ": " in text or " #" in text or text[-1:] in ": "
    return bool(text) and not special and not set(text) & set(",[]{}") and isinstance(value_of(text), str)


# --- one function per keyword of the schema ---


def _in_words(error: Any, validator: Draft202012Validator) -> Iterator[Fault]:
    path = tuple(error.absolute_path)
    if "propertyNames" in error.absolute_schema_path:
        yield _key_form(error, path)
    elif error.validator in ("oneOf", "anyOf"):
        yield from _narrowed(error, path, validator)
    elif error.validator in ("additionalProperties", "unevaluatedProperties"):
        yield from _unknown_keys(error, path)
    elif error.validator in ("required", "dependentRequired"):
        yield from _missing_keys(error, path, validator)
    elif (word := _WORDERS.get(str(error.validator))) is not None:
        yield word(error, path)
    else:
        yield Fault(
            "form", path, False, f"{_shown(error.instance)} is not allowed here", _write(error.schema)
        )


def _unknown_keys(error: Any, path: Path) -> Iterator[Fault]:
    known = list(error.schema.get("properties", {}))
    where = dotted(path) or with_article(str(error.schema.get("title", "file of this kind")))
    allowed = error.schema.get("patternProperties", {})
    unknown = [
        name
        for name in error.instance
        if name not in known and not any(re.search(pattern, name) for pattern in allowed)
    ]
    for name in unknown[:MOST_FAULTS]:
        guess = closest(name, known, taken=error.instance)
        odd = [f"U+{ord(letter):04X}" for letter in name if not letter.isascii()]
        inside = f" (it contains {', '.join(odd[:3])})" if odd else ""
        free = [key for key in known if key not in error.instance]
        fixes = (f"did you mean {guess}?",) if guess else ()
        if free and not guess:
            fixes = (f"keys that can be added here: {', '.join(free)}",)
        words = f"{name}{inside} is not a key of {where}"
        yield Fault("unknown-key", (*path, name), True, words, fixes, (guess,) if guess else ())


def _missing_keys(error: Any, path: Path, validator: Draft202012Validator) -> Iterator[Fault]:
    if error.validator == "dependentRequired":
        names = [n for key, needs in error.validator_value.items() if key in error.instance for n in needs]
    else:
        names = error.validator_value
    for name in names:
        if name not in error.instance:
            yield _missing_key(error, path, name, validator)


def _missing_key(error: Any, path: Path, name: str, validator: Draft202012Validator) -> Fault:
    described = _described(validator.schema, error.absolute_schema_path, name)
    sample = example(described)
    shown = "" if sample is None else as_written(sample, described)
    numbers = '"quantity"' in json.dumps(described)  # those of an example are no fix
    line = f"{name}:" if numbers or len(shown) > _LONGEST_EXAMPLE else f"{name}: {shown}".rstrip()
    title = described.get("title", "") if isinstance(described, dict) else ""
    meaning = f" ({title})" if title and title != name.replace("_", " ") else ""
    where = f" in {dotted(path)}" if path else ""
    words = f"{name}{meaning} is missing{where}"
    if numbers and isinstance(sample, str):
        words += f"; an example is {shown}"
    return Fault("missing-key", (*path, name), False, words, (f"add `{line}`",), (name,))


def _described(schema: Any, steps: Sequence[str | int], name: str) -> Any:
    """What the schema says of a key, looked for along the way that led to a fault."""
    found: Any = None
    root = here = schema
    for step in steps:
        while isinstance(here, dict) and step not in here and "$ref" in here:
            here = local_target(root, here["$ref"])
        if isinstance(here, dict) and name in here.get("properties", {}):
            found = here["properties"][name]
        here = here[step]
        if step in ("properties", "items", "prefixItems", "additionalProperties"):
            found = None
    if isinstance(found, dict) and "$ref" in found:
        return {**local_target(root, found["$ref"]), **found}
    return found


def local_target(root: Any, reference: str) -> Any:
    """What a reference within one schema file (`#/$defs/length`) refers to."""
    here = root
    for step in reference.removeprefix("#").strip("/").split("/"):
        name = step.replace("~1", "/").replace("~0", "~")
        here = here[int(name)] if isinstance(here, list) else here[name] if name else here
    return here


def _narrowed(error: Any, path: Path, validator: Draft202012Validator) -> Iterator[Fault]:
    branches = error.validator_value
    causes = error.context or []
    if not causes:
        yield Fault(
            "form", path, False, f"{_shown(error.instance)} fits more than one of the forms allowed here"
        )
        return
    if all(cause.validator == "required" for cause in causes):
        names = list(dict.fromkeys(n for c in causes for n in c.validator_value if n not in c.instance))
        where = f" in {dotted(path)}" if path else ""
        fixes, words = (f"add `{names[0]}:`",), f"one of {', '.join(names)} is missing{where}"
        yield Fault("missing-key", (*path, names[0]), False, words, fixes, tuple(names))
        return
    mistyped = {cause.schema_path[0] for cause in causes if cause.validator == "type" and not cause.path}
    if len(mistyped) == len(branches):
        wanted = [str(name) for branch in branches for name in _types(branch.get("type"))]
        yield _type_words(error, path, list(dict.fromkeys(wanted)))
        return
    chosen = likely_branch(validator, branches, error.instance)
    for cause in causes:
        if cause.schema_path[0] == chosen:
            yield from _in_words(cause, validator)


def _types(wanted: Any) -> list[str]:
    return [wanted] if isinstance(wanted, str) else list(wanted or [])


def _type(error: Any, path: Path) -> Fault:
    return _type_words(error, path, _types(error.validator_value))


def _type_words(error: Any, path: Path, types: list[str]) -> Fault:
    wanted = " or ".join(_TYPES[name] for name in types)
    found, fixes = error.instance, _write(error.schema)
    if found is None:
        return Fault("type", path, False, f"the value is missing; {wanted} is required", fixes)
    if types == ["string"] and isinstance(found, int | float):
        fixes = fixes or (f'write "{json.dumps(found)}" with quotes',)
    if types == ["integer"] and isinstance(found, float) and found.is_integer():
        fixes = (f"write {found:.0f}",) if abs(found) < _MOST_COUNTED else ()
    if types == ["array"] and not isinstance(found, dict | list):
        fixes = (f"write [{as_written(found)}]",)
    return Fault("type", path, False, f"{wanted} is required here, not {_kind_of(found)}", fixes)


def _kind_of(found: Any) -> str:
    if isinstance(found, dict):
        return "a group of keys"
    if isinstance(found, list):
        return "a list"
    if isinstance(found, bool):
        return json.dumps(found)
    return f"the text {_shown(found)}" if isinstance(found, str) else f"the number {_shown(found)}"


def _choice(error: Any, path: Path) -> Fault:
    choices = [as_written(each) for each in error.validator_value]
    guess = closest(one_line(str(error.instance), 60), choices)
    listed = f"choose one of {', '.join(choices)}"
    fixes = (f"did you mean {guess}?", listed) if guess else (listed,)
    return Fault("choice", path, False, f"{_shown(error.instance)} is not one of the choices here", fixes)


def _fixed(error: Any, path: Path) -> Fault:
    right = as_written(error.validator_value)
    return Fault("choice", path, False, f"{_shown(error.instance)} is not allowed here", (f"write {right}",))


def _key_form(error: Any, path: Path) -> Fault:
    name = str(error.instance)
    what = error.schema.get("title", "") if isinstance(error.schema, dict) else ""
    words = (
        f"{name} cannot be the name of {with_article(str(what))}" if what else f"{name} cannot be a key here"
    )
    return Fault("key", (*path, name), True, words, _write(error.schema))


def _length(error: Any, path: Path) -> Fault:
    count, limit = len(error.instance), error.validator_value
    things = {"Length": "character", "Items": "item", "Properties": "key"}[str(error.validator)[3:]]
    sense = "least" if str(error.validator).startswith("min") else "most"
    held = f"{count} {things}{'s' if count != 1 else ''}" if count else f"no {things}"
    fixes = _write(error.schema) if sense == "least" else ()
    return Fault("length", path, False, f"{held} here; {limit} is the {sense} allowed", fixes)


def _repeated(error: Any, path: Path) -> Fault:
    number = _second(error.instance) or 0
    words = f"{_shown(error.instance[number])} is in the list twice"
    return Fault("repeated", (*path, number), False, words, ("keep one of the two",))


def _bound(error: Any, path: Path) -> Fault:
    limit = _shown(error.validator_value)
    words = {
        "minimum": f"is less than {limit}, the minimum",
        "maximum": f"is more than {limit}, the maximum",
        "exclusiveMinimum": f"is not above {limit}",
        "exclusiveMaximum": f"is not below {limit}",
        "multipleOf": f"is not a multiple of {limit}",
    }[str(error.validator)]
    return Fault("number", path, False, f"{_shown(error.instance)} {words}")


def _pattern(error: Any, path: Path) -> Fault:
    return Fault(
        "form",
        path,
        False,
        f"{_shown(error.instance)} does not have the required form",
        _write(error.schema),
    )


_WORDERS: dict[str, Callable[[Any, Path], Fault]] = {
    "type": _type,
    "enum": _choice,
    "const": _fixed,
    "pattern": _pattern,
    "uniqueItems": _repeated,
    **dict.fromkeys(
        ("minLength", "maxLength", "minItems", "maxItems", "minProperties", "maxProperties"), _length
    ),
    **dict.fromkeys(("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "multipleOf"), _bound),
}


def closest(name: str, known: Sequence[str], taken: Sequence[str] | dict[str, Any] = ()) -> str | None:
    """The known name that a wrong one probably means, or None; names already taken are left out."""
    free = {key.lower().replace("-", "_"): key for key in known if key not in taken}
    found = difflib.get_close_matches(name.lower().replace("-", "_"), free, n=1, cutoff=0.6)
    return free[found[0]] if found else None


def _write(schema: Any) -> tuple[str, ...]:
    sample = None if '"quantity"' in json.dumps(schema) else example(schema)
    text = "" if sample is None else as_written(sample, schema)
    return (f"write for example {text}",) if text and len(text) <= _LONGEST_EXAMPLE else ()


def _shown(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)
    return one_line(text, 60) if text else "empty text"
