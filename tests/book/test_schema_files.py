"""The schema files: valid in themselves, and in step with the records."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from jsonschema import Draft202012Validator

from kb.book import records
from kb.book.conversion import ANY, CANONICAL, in_unit, written
from kb.book.keys import RECORDS
from kb.book.misreading import Usual
from kb.book.quantity import Quantity, QuantityFault, parse
from kb.book.source import read
from kb.folders import shipped

GOOD = Path(__file__).parents[1] / "specs_good"
SCHEMAS: dict[str, dict[str, Any]] = {
    path.stem: json.loads(path.read_text(encoding="utf-8"))
    for path in sorted(shipped("schema").glob("*.json"))
}
KINDS = tuple(SCHEMAS)
VOCABULARY = json.loads((shipped("schema") / "meta" / "vocabulary.json").read_text(encoding="utf-8"))
CHECK_NAME = "^[a-z]+(-[a-z]+)*\\.[a-z]+(-[a-z]+)*$"


# --- schema against records -------------------------------------------------------------------


def differences(record: type, schema: dict[str, Any], at: str, extra: tuple[str, ...] = ()) -> Iterator[str]:
    """Where a block of a schema and its record do not say the same."""
    hints = get_type_hints(record, include_extras=True)
    names = [*extra, *hints]
    properties = schema.get("properties", {})
    if schema.get("type") != "object" or schema.get("additionalProperties") is not False:
        yield f"{at}: not a closed group"
    if set(properties) != set(names):
        yield f"{at}: keys {sorted(set(properties) ^ set(names))} on one side only"
    needed = {f.name for f in fields(record) if f.default is MISSING and f.default_factory is MISSING}
    if odd := set(schema.get("required", ())) ^ (needed | set(extra)):
        yield f"{at}: required {sorted(odd)} on one side only"
    for name in set(properties) & set(hints):
        yield from _of_value(hints[name], properties[name], f"{at}.{name}")


def _of_value(hint: Any, schema: dict[str, Any], at: str) -> Iterator[str]:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        (inner,) = (argument for argument in arguments if argument is not type(None))
        yield from _of_value(inner, schema, at)
    elif origin is Annotated:
        note = arguments[-1]
        if isinstance(note, records.Reference):
            rest = {name: value for name, value in schema.items() if name != "reference"}
            yield from _of_value(arguments[0], rest, at)
            if schema.get("reference") != note.kind:
                yield f"{at}: not a reference to {note.kind}"
        else:
            yield from _of_quantity(note, schema, at)
    elif origin is tuple:
        if schema.get("type") != "array":
            yield f"{at}: not a list"
        yield from _of_value(arguments[0], schema.get("items", {}), f"{at}[]")
    elif origin is dict and (is_dataclass(arguments[1]) or get_origin(arguments[1]) is Annotated):
        yield from _of_value(arguments[1], schema.get("additionalProperties", {}), f"{at}.*")
    elif is_dataclass(hint) and hint is not records.Band:
        yield from differences(hint, schema, at)  # type: ignore[arg-type]
    elif not _same_form(hint, schema):
        yield f"{at}: not {hint}"


def _same_form(hint: Any, schema: dict[str, Any]) -> bool:
    """Whether a schema wants what a field without a unit of its own holds."""
    form = schema.get("type")
    if get_origin(hint) is Literal:
        return form == "string" and tuple(schema.get("enum", ())) == get_args(hint)
    if hint == dict[str, str]:
        inner = schema.get("properties", {}).values()
        return form == "object" and all(value.get("type") == "string" for value in inner)
    if hint is records.Band:
        quantity = schema.get("quantity", {})
        return form == "string" and quantity.get("range") is True and quantity["unit"] == "mm"
    wanted = {str: "string", int: "integer", bool: "boolean"}[hint]
    return form == wanted and not {"quantity", "enum", "reference"} & schema.keys()


def _of_quantity(alias: str, schema: dict[str, Any], at: str) -> Iterator[str]:
    quantity = schema.get("quantity")
    if quantity is None or quantity.get("range"):
        yield f"{at}: not a quantity"
    elif (unit := quantity.get("unit", ANY)) != alias:
        yield f"{at}: unit {unit} is not the record's {alias}"


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_of_file_has_the_keys_of_its_record(kind: str) -> None:
    """Schema and record name the same keys, required where there is no default, in the same units."""
    assert list(differences(RECORDS[kind], SCHEMAS[kind], kind, ("kind",))) == []


def test_every_record_has_a_schema() -> None:
    """Each kind that can be made into a record is declared to readers and editors."""
    assert set(KINDS) == set(RECORDS)


def _spoil(schema: dict[str, Any], way: str) -> None:
    stock, seam = schema["properties"]["stock"], schema["properties"]["seam"]
    if way == "lost key":
        del stock["properties"]["earing"]
    elif way == "new key":
        seam["properties"]["droop"] = {"type": "string"}
    elif way == "no longer required":
        seam["required"].remove("length")
    elif way == "other unit":
        stock["properties"]["gauge"]["quantity"]["unit"] = "N"
    elif way == "other choices":
        schema["properties"]["status"]["enum"].pop()
    else:
        schema["properties"]["lines"]["type"] = "string"


@pytest.mark.parametrize(
    "way", ["lost key", "new key", "no longer required", "other unit", "other choices", "no list"]
)
def test_the_comparison_sees_a_schema_out_of_step(way: str) -> None:
    """Each sort of drift between schema and record is noticed."""
    spoilt = copy.deepcopy(SCHEMAS["size-format"])
    _spoil(spoilt, way)
    assert list(differences(records.SizeFormat, spoilt, "size-format", ("kind",)))


# --- schemas in themselves --------------------------------------------------------------------


def properties(schema: dict[str, Any], at: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every property of a schema, however deep, with its path."""
    for name, inner in schema.get("properties", {}).items():
        yield f"{at}.{name}", inner
        yield from properties(inner, f"{at}.{name}")
    if isinstance(schema.get("items"), dict):
        yield from properties(schema["items"], f"{at}[]")
    if isinstance(schema.get("additionalProperties"), dict):
        yield from properties(schema["additionalProperties"], f"{at}.*")


ALL = {path: schema for kind in KINDS for path, schema in properties(SCHEMAS[kind], kind)}


def with_examples(schema: dict[str, Any]) -> Iterator[tuple[dict[str, Any], Any]]:
    """The values in a property's examples, each with the part of the schema it is for."""
    for example in schema["examples"]:
        yield from _parts(schema, example)


def _parts(schema: dict[str, Any], value: Any) -> Iterator[tuple[dict[str, Any], Any]]:
    if isinstance(value, dict):
        for key, part in value.items():
            inner = schema.get("properties", {}).get(key) or schema["additionalProperties"]
            yield from _parts(inner, part)
    elif isinstance(value, list):
        for part in value:
            yield from _parts(schema["items"], part)
    else:
        yield schema, value


EXAMPLES = [(path, part, value) for path, schema in ALL.items() for part, value in with_examples(schema)]
QUANTITIES = [
    (path, part["quantity"], value)
    for path, part, value in EXAMPLES
    if "quantity" in part and part["quantity"]["dimension"] != "any"
]


def understood(quantity: dict[str, Any], value: Any) -> Quantity:
    """An example as the book would understand it."""
    return parse(str(value), quantity["unit"])


@pytest.mark.parametrize("kind", KINDS)
def test_a_schema_is_valid_json_schema(kind: str) -> None:
    """Every file is a JSON Schema of 2020-12, speaks our vocabulary, and names itself and its kind."""
    schema = SCHEMAS[kind]
    Draft202012Validator.check_schema(schema)
    assert list(Draft202012Validator(VOCABULARY).iter_errors(schema)) == []
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"] == f"https://sizebook.invalid/schema/{kind}.json"
    assert schema["properties"]["kind"]["const"] == kind
    assert schema["title"]
    assert schema["description"]


def test_every_property_is_described_for_people() -> None:
    """Title in lower case, a sentence of description, an example: on every property."""
    for path, schema in ALL.items():
        assert re.fullmatch(r"[a-z][a-z0-9 ',-]{1,39}", schema["title"]), path
        assert re.fullmatch(r"[A-Z0-9].{15,}[.]", schema["description"]), path
        assert len(schema["description"]) <= 260, path
        assert schema["examples"], path


def test_every_example_passes_its_own_schema() -> None:
    """What the editor offers as an example is accepted where it is offered."""
    for path, schema in ALL.items():
        for example in schema["examples"]:
            faults = [error.message for error in Draft202012Validator(schema).iter_errors(example)]
            assert faults == [], path


def test_our_keywords_have_their_exact_form() -> None:
    """A quantity says dimension, unit, band, tolerance rule and reader's unit, in known words."""
    whole = {"dimension", "unit", "band", "tolerance", "show"}
    for path, part, _ in EXAMPLES:
        quantity = part.get("quantity")
        if quantity is None:
            continue
        assert quantity["tolerance"] in {"required", "allowed", "none"}, path
        if quantity["dimension"] == "any":
            assert set(quantity) - {"above"} == {"dimension", "tolerance"}, path
            continue
        assert set(quantity) - {"range"} == whole, path
        assert quantity["unit"] == CANONICAL[quantity["dimension"]], path
        low, high = quantity["band"]
        assert low < high, path
        assert in_unit(low, quantity["unit"], quantity["show"]) < in_unit(
            high, quantity["unit"], quantity["show"]
        ), path


def test_a_bare_number_is_accepted_where_a_fraction_is_written_bare() -> None:
    """Fractions shown bare, and limits of any dimension, may be numbers; all else is text with a unit."""
    for path, part, _ in EXAMPLES:
        if "quantity" in part:
            bare = part["quantity"].get("show", "-") == "-"
            assert part["type"] == (["string", "number"] if bare else "string"), path


def test_examples_of_quantities_lie_in_their_bands() -> None:
    """Each example is understood, tolerance included, and is plausible by its own field's band."""
    for path, quantity, value in QUANTITIES:
        found = understood(quantity, value)
        low, high = quantity["band"]
        assert low <= found.low <= found.nominal <= found.high <= high, (path, value)


def test_examples_follow_the_tolerance_rule() -> None:
    """A tolerance exists where one is required, and only there; a range has two ends."""
    for path, quantity, value in QUANTITIES:
        found = understood(quantity, value)
        if quantity.get("range"):
            assert found.form == "limits", (path, value)
        elif quantity["tolerance"] != "allowed":
            assert found.toleranced == (quantity["tolerance"] == "required"), (path, value)


def test_a_number_without_its_unit_is_required_in_the_unit_of_the_first_example() -> None:
    """14 in place of 14 min gets the fix to write 14 min: the unit of a field's readers and examples."""
    asked = 0
    seen: set[str] = set()
    for path, quantity, value in QUANTITIES:
        if path in seen or not isinstance(value, str):
            continue
        seen.add(path)
        first = understood(quantity, value)
        assert written(quantity["show"]) == first.unit, path
        if first.canonical == "-":
            continue  # a bare number is a share, and is required in percent elsewhere
        usual = Usual(quantity["show"], tuple(quantity["band"]))
        with pytest.raises(QuantityFault) as caught:
            parse(first.written[1], quantity["unit"], usual)
        assert caught.value.hint == f"write {first.written[1]} {first.unit}", path
        asked += 1
    assert asked > 80


SLIPS = {"length": (25.4, 1000.0), "pressure": (6.894757, 1000.0), "force": (1000.0,), "volume": (1000.0,)}


def test_bands_are_narrow_enough_to_show_a_slip_of_unit() -> None:
    """An example taken for another unit (inch, thousandth, psi, kN, litre) falls outside its band."""
    for path, quantity, value in QUANTITIES:
        found = understood(quantity, value)
        low, high = quantity["band"]
        for factor in SLIPS.get(quantity["dimension"], ()):
            for slipped in (found.nominal * factor, found.nominal / factor):
                assert slipped == 0 or not low <= slipped <= high, (path, value, slipped)


def test_bands_are_narrow_enough_to_show_a_radius_or_a_doubled_wall() -> None:
    """An example of a diameter, bore, wall or gauge is out of band when halved or doubled."""
    for path, quantity, value in QUANTITIES:
        if re.search(r"(diameter|bore|wall|gauge)$", path):
            nominal = understood(quantity, value).nominal
            low, high = quantity["band"]
            assert nominal / 2 < low, path
            assert nominal * 2 > high, path


def test_examples_of_ids_codes_and_days_are_well_formed() -> None:
    """Ids are slugs, size codes digits with sixteenths below 16, days year-month-day."""
    for path, part, value in EXAMPLES:
        if part.get("slug"):
            assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", value), path
        if part.get("code"):
            assert re.fullmatch(r"[1-9]\d{2}", value), path
            assert int(value[1:]) < 16, path
        if part.get("day"):
            assert re.fullmatch(r"20\d\d-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", value), path
        if part.get("moment"):
            assert re.fullmatch(r"20\d\d-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01]) [0-2]\d:[0-5]\d", value), path


def test_references_name_kinds_of_spec() -> None:
    """A key that names another spec, or a kind of machine, says so, and is an id."""
    found = {part["reference"] for _, part, _ in EXAMPLES if "reference" in part}
    assert found == {"material", "line", "end", "size-format", "body-standard", "machine"}
    assert found <= {*KINDS, "machine"}
    assert all(part.get("slug") for _, part, _ in EXAMPLES if "reference" in part)


def test_display_units_are_units_of_their_sort() -> None:
    """What a machine's display may show are dimensions a quantity can have, in units that can be written."""
    display = SCHEMAS["line"]["properties"]["machines"]["items"]["properties"]["display"]
    for dimension, schema in display["properties"].items():
        for unit in schema["enum"]:
            assert parse(f"1 {unit}", CANONICAL[dimension]).unit == unit


# --- the good book ----------------------------------------------------------------------------


def good(name: str) -> dict[str, Any]:
    """A spec of the good book as the schema sees it."""
    document = read(GOOD / name, name).document
    assert document is not None
    return document.data()


FILES = sorted(path.relative_to(GOOD).as_posix() for path in GOOD.rglob("*.yaml"))
BOOK = {name: good(name) for name in FILES}


def faults(spec: dict[str, Any]) -> list[str]:
    """What a spec's schema says against it."""
    return [error.message for error in Draft202012Validator(SCHEMAS[spec["kind"]]).iter_errors(spec)]


def test_the_good_book_holds_every_kind() -> None:
    """There is a good example of each kind of file."""
    assert {spec["kind"] for spec in BOOK.values()} == set(KINDS)


@pytest.mark.parametrize("name", FILES)
def test_a_good_file_passes_its_schema(name: str) -> None:
    """Shape of every good file: no fault."""
    assert faults(BOOK[name]) == []


@pytest.mark.parametrize("name", FILES)
def test_quantities_of_a_good_file_are_plausible(name: str) -> None:
    """Every quantity of a good file is understood, is in its band and keeps its tolerance rule."""
    for part, value in _parts(SCHEMAS[BOOK[name]["kind"]], BOOK[name]):
        quantity = part.get("quantity", {"dimension": "any"})
        if quantity["dimension"] == "any":
            continue
        found = understood(quantity, value)
        assert quantity["band"][0] <= found.low <= found.high <= quantity["band"][1], value
        assert found.toleranced or quantity["tolerance"] != "required", value
        assert not found.toleranced or quantity["tolerance"] != "none" or quantity.get("range"), value


def test_the_good_book_refers_only_to_itself() -> None:
    """Materials, ends, lines and formats that are named exist, and owners are the plant's."""
    ids = {(spec["kind"], spec["id"]) for spec in BOOK.values() if "id" in spec}
    ids |= {("machine", kind) for kind in records.KNOWN_MACHINES}
    owners = set(BOOK["plant.yaml"]["owners"])
    for name, spec in BOOK.items():
        for part, value in _parts(SCHEMAS[spec["kind"]], spec):
            if "reference" in part:
                assert (part["reference"], value) in ids, (name, value)
            if part.get("title") in {"owner", "approver"}:
                assert value in owners, (name, value)


# --- what a schema refuses --------------------------------------------------------------------

NEEDS = {
    "cupper": {"speed", "across", "force", "strip_width"},
    "bodymaker": {"stroke", "rod", "ram_speed", "force", "can_height", "can_diameter", "service_cycles"},
    "necker": {"stages", "can_height", "can_diameter", "plug_diameter"},
}


def test_a_line_file_says_which_machines_are_known() -> None:
    """An editor shows the known kinds of machine, since a plant can have others."""
    kind = SCHEMAS["line"]["properties"]["machines"]["items"]["properties"]["kind"]
    assert f"{', '.join(records.KNOWN_MACHINES)}, or one listed in floor.yaml" in kind["description"]


@pytest.mark.parametrize(
    ("kind", "key"), [(kind, key) for kind, keys in NEEDS.items() for key in sorted(keys)]
)
def test_a_machine_needs_what_its_kind_is_judged_by(kind: str, key: str) -> None:
    """A cupper, bodymaker or necker without one of its own keys is refused, and the key is named."""
    line = copy.deepcopy(BOOK["lines/line-1.yaml"])
    (machine,) = (machine for machine in line["machines"] if machine["kind"] == kind)
    del machine[key]
    assert faults(line) == [f"'{key}' is a required property"]


def test_a_machine_of_another_kind_needs_no_ranges() -> None:
    """A tester with nothing but the common keys passes."""
    line = copy.deepcopy(BOOK["lines/line-1.yaml"])
    tester = {"id": "tester", "kind": "tester", "title": "Tester", "count": 1, "display": {}}
    line["machines"] = [tester]
    assert faults(line) == []


def test_a_limit_has_at_least_one_end() -> None:
    """A limit that lets everything pass is refused."""
    limits = copy.deepcopy(BOOK["limits.yaml"])
    del limits["limits"]["ironing.ring-reduction"]["most"]
    assert len(faults(limits)) == 1


@pytest.mark.parametrize(
    "name", ["ring-reduction", "ironing.Ring", "ironing.ring_reduction", "ironing.ring-"]
)
def test_a_limit_is_under_the_name_of_a_check(name: str) -> None:
    """Names that no check can have are refused, under limits and in waivers alike."""
    limits = copy.deepcopy(BOOK["limits.yaml"])
    limits["limits"][name] = limits["limits"]["ironing.ring-reduction"]
    assert len(faults(limits)) == 1
    (waivers,) = SCHEMAS["waivers"]["properties"]["waivers"]["examples"]
    assert faults({"kind": "waivers", "waivers": waivers}) == []
    assert len(faults({"kind": "waivers", "waivers": [waivers[0] | {"check": name}]})) == 1
    assert SCHEMAS["limits"]["properties"]["limits"]["propertyNames"]["pattern"] == CHECK_NAME


def test_a_book_may_have_no_waiver() -> None:
    """An empty list of waivers passes."""
    assert faults({"kind": "waivers", "waivers": []}) == []


@pytest.mark.parametrize(
    ("key", "value"),
    [("body", 211), ("body_code", "211"), ("effective", 20260914), ("status", "ready"), ("lines", [])],
)
def test_a_format_with_a_wrong_value_is_refused(key: str, value: Any) -> None:
    """Size codes and days that are not text, unknown keys and unknown states do not pass."""
    assert len(faults(BOOK["formats/tall-330.yaml"] | {key: value})) == 1
