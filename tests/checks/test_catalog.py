"""The list of checks against the modules that declare them, and each check's own description."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import reduce
from typing import Any, get_args, get_type_hints

import pytest

from kb.book.keys import quantity_at
from kb.book.load import Book
from kb.book.records import End, Line, Material, Plant, SizeFormat
from kb.checks import stations
from kb.checks.catalog import GEOMETRY, MECHANICS, RETIRED, RULES
from kb.checks.rule import Rule
from kb.route.assemble import Assembled
from kb.route.settings import SETTINGS

MODULES = [
    importlib.import_module(f"kb.checks.stations.{one.name}")
    for one in pkgutil.iter_modules(stations.__path__)
]
LISTED = (*GEOMETRY, *MECHANICS)
EVERY = pytest.mark.parametrize("rule", LISTED, ids=lambda rule: rule.name)


def test_the_catalog_lists_what_the_modules_declare() -> None:
    """Every check declared in a module of checks is listed once, and no other is."""
    declared = [one for module in MODULES for one in vars(module).values() if isinstance(one, Rule)]
    assert sorted(one.name for one in declared) == sorted(one.name for one in LISTED)
    assert {id(one) for one in declared} == {id(one) for one in LISTED}
    assert len(RULES) == len(LISTED)


def test_a_name_is_never_used_twice() -> None:
    """Names are unique, and none of them is one that was given up."""
    names = [one.name for one in LISTED]
    assert len(set(names)) == len(names)
    assert not set(names) & set(RETIRED)


def test_shapes_come_before_routes() -> None:
    """What reads a case is judged first, before there is a route; the rest reads a route or a run."""
    assert {one.reads for one in GEOMETRY} == {"case"}
    assert {one.reads for one in MECHANICS} == {"route", "run"}
    assert {one.severity for one in GEOMETRY} == {"error"}
    assert not any(one.waivable for one in GEOMETRY)


def test_seal_and_pressure_are_never_waived() -> None:
    """No check of the seam's tightness or of what holds the pressure may be waived."""
    guards = {
        "seam.overlap",
        "seam.overlap-share",
        "seam.butting",
        "seam.free-space",
        "seam.hooks-in-seam",
        "flange.curl-clearance",
        "end.rated-pressure",
        "can.warm-pressure",
        "can.hot-pressure",
        "can.hoop-stress",
        "dome.reversal",
    }
    assert {one.name for one in LISTED if not one.waivable} - {one.name for one in GEOMETRY} == guards - {
        "seam.hooks-in-seam"
    }
    assert not RULES["seam.hooks-in-seam"].waivable


@EVERY
def test_names_are_station_and_quantity(rule: Rule) -> None:
    """A name is a station, a dot, and words joined by hyphens."""
    assert re.fullmatch(r"[a-z]+\.[a-z]+(-[a-z]+)*", rule.name)
    stations = "stock blank cup redraw punch ironing dome trim neck flange seam end format can pallet line"
    assert rule.station in stations.split()


@EVERY
def test_every_check_explains_itself(rule: Rule) -> None:
    """A check has a title of one sentence and shows why, from what data, by what formula, and what to do."""
    assert rule.title.endswith(".")
    assert set(rule.sections) == {"Why", "Data", "Formula", "To fix"}
    for head, text in rule.sections.items():
        assert len(text) > 3, head
    for head in ("Why", "To fix"):
        assert rule.sections[head].endswith((".", ")"))


def keys_of(record: type, prefix: str = "") -> Iterator[str]:
    """Every key a record may have, list positions as `[]`."""
    for item in fields(record):
        hint = get_type_hints(record)[item.name]
        key = f"{prefix}{item.name}"
        yield key
        inner = [one for one in (hint, *get_args(hint)) if is_dataclass(one)]
        for one in inner:
            yield from keys_of(one, f"{key}[]." if one is not hint else f"{key}.")
        if not inner and get_args(hint) and get_args(hint)[-1] is ...:
            yield f"{key}[]"


FORMAT_KEYS = set(keys_of(SizeFormat))
WORDS = {
    "material": set(keys_of(Material)),
    "end": set(keys_of(End)),
    "plant": set(keys_of(Plant)),
    "machine": {key.removeprefix("machines[].") for key in keys_of(Line)},
}


@EVERY
def test_data_names_keys_that_are_there(rule: Rule) -> None:
    """What looks like a key under Data is one, of the format or of the kind of file named before it."""
    data = rule.sections["Data"]
    for key in re.findall(r"[a-z_]+(?:\[\])?(?:\.[a-z_]+(?:\[\])?)+", data):
        assert key in FORMAT_KEYS, key
    for what, known in WORDS.items():
        for phrase in re.findall(
            rf"(?<![a-z]){what} ((?:[a-z]+_[a-z_]+)(?:(?:, | and )(?:[a-z]+_[a-z_]+))*)", data
        ):
            for word in re.split(", | and ", phrase):
                assert word in known, (what, word)
    loose = set(re.findall(r"\b[a-z]+_[a-z_]+\b", data))
    everywhere = {
        part for keys in (FORMAT_KEYS, *WORDS.values()) for key in keys for part in re.split(r"[.\[\]]+", key)
    }
    assert loose <= everywhere


@EVERY
def test_formula_names_functions_that_are_there(rule: Rule) -> None:
    """Every formula named by its place in the code is there."""
    for path in re.findall(r"kb(?:\.[A-Za-z_]+)+", rule.sections["Formula"]):
        _, package, module, *names = path.split(".")
        found: Any = importlib.import_module(f"kb.{package}.{module}")
        assert reduce(getattr, names, found) is not None
        assert names, f"{path} is a module, not a formula"
    assert re.match(r"(Definition|Derived|kb\.)", rule.sections["Formula"])


def test_plant_limits_are_those_of_the_demo_book(demo: Book) -> None:
    """The demo sets a limit for each check that wants one, in the check's unit, and each setting but one.

    It has no prior for a calibration on fewer than four trials.
    """
    spec, limits = demo.only("limits"), demo.limits
    assert spec is not None
    assert limits is not None
    assert set(limits.limits) == {one.name for one in LISTED if one.limit == "plant"}
    assert set(limits.settings) == set(SETTINGS) - {"trial-prior"}
    for name, limit in limits.limits.items():
        assert limit.least is not None or limit.most is not None
        for end in ("least", "most"):
            quantity = quantity_at(spec.record, f"limits.{name}.{end}")
            assert quantity is None or quantity.canonical == RULES[name].limit_unit


@EVERY
def test_what_a_check_gives_fits_its_declaration(rule: Rule, formats: Mapping[str, Assembled]) -> None:
    """A check gives limits when they are its own, a floor at most beside the plant's, and points to a key."""
    from kb.checks.judge import measure  # noqa: PLC0415

    for assembled in formats.values():
        if rule.reads == "case":
            given = list(rule.measure(assembled.case))
        else:
            given = [one for _, one in measure(assembled.study.nominal, (rule,))]
        for one in given:
            part, _, key = one.at.partition(".")
            assert assembled.specs[part].place(key).key == key
            if rule.limit == "spec":
                assert one.least is not None or one.most is not None
                assert one.against
            else:
                assert one.most is None
                assert one.least is None or (one.least == 0.0 and rule.reads == "case")
            assert one.what
            assert one.what[0].islower() or one.what.startswith(("N", "H"))
