"""The meaning of a check, a finding's name or a plant setting."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import Any

from kb.book.finding import one_line
from kb.book.load import Book
from kb.book.records import Limit, Setting
from kb.book.schema import shipped_schemas
from kb.checks.catalog import RULES
from kb.checks.names import finding_names, groups
from kb.checks.rule import Rule
from kb.checks.words import exact_quantity, limit_ends, limit_source, plural
from kb.route.settings import SETTINGS
from kb.route.validity import ranges, trials_of

WIDTH = 88


def explained(name: str, book: Book | None) -> list[str]:
    """What is known of a name that is not a key of a spec."""
    if name in RULES:
        return _check(RULES[name], book)
    if name in finding_names():
        one = finding_names()[name]
        return [f"{name} – {one.title}", *part("Why", one.why), *part("To fix", one.to_fix)]
    if name in SETTINGS:
        return _setting(name, book)
    group = [one for one in (*RULES, *finding_names()) if one.split(".")[0] == name]
    return [f"Checks of {name}:", *(f"  {one}  {_title(one)}" for one in group)] if group else []


def listing() -> list[str]:
    """All checks by station with their titles, then the other names, then the settings."""
    lines: list[str] = []
    wide = max(map(len, (*RULES, *finding_names(), *SETTINGS))) + 2
    for station, names in groupby(RULES, key=lambda name: name.split(".")[0]):
        lines += ["", station, *(f"  {name:{wide}}{_title(name)}" for name in names)]
    for station, names in groupby(finding_names(), key=lambda name: name.split(".")[0]):
        lines += ["", groups()[station], *(f"  {name:{wide}}{_title(name)}" for name in names)]
    lines += ["", "plant settings", *(f"  {name:{wide}}{one.words}" for name, one in SETTINGS.items())]
    return lines[1:]


def known() -> tuple[str, ...]:
    """Every name that `explain` knows."""
    return (*RULES, *finding_names(), *SETTINGS)


def keys(kind: str) -> list[str]:
    """Every key of a kind of spec, dotted, as its schema declares them.

    Example:
        >>> keys("plant")[:2]
        ['kind', 'id']
    """
    return list(_keys(shipped_schemas().schema(kind), ""))


def _keys(group: dict[str, Any], prefix: str) -> Iterator[str]:
    for name, schema in group.get("properties", {}).items():
        key, inner = f"{prefix}{name}", schema
        if schema.get("type") == "array":
            key, inner = f"{key}[]", schema["items"]
        elif isinstance(schema.get("additionalProperties"), dict):
            key = f"{key}.<{schema['propertyNames']['title']}>"
            inner = schema["additionalProperties"]
        yield key
        yield from _keys(inner, f"{key}.")


def limit_text(rule: Rule, limit: Limit) -> str:
    """A limit in the reader's unit, with its source, owner and review date."""
    of_required = rule.limit_unit != rule.unit
    ends = limit_ends(limit, unit=rule.limit_unit, show=rule.limit_show)
    return f"{ends}{' times the target' if of_required else ''}. {limit_source(limit)}."


def _title(name: str) -> str:
    return RULES[name].title if name in RULES else finding_names()[name].title


def _check(rule: Rule, book: Book | None) -> list[str]:
    parts = rule.sections
    lines = [f"{rule.name} – {rule.title}"]
    for head in ("Why", "Data", "Formula"):
        lines += part(head, parts.get(head, ""))
    lines += part("Limit", _limit(rule, book))
    lines += part("Default", _default(rule))
    lines += part("To fix", parts.get("To fix", ""))
    found = "an error (a warning in a draft)" if rule.severity == "error" else f"a {rule.severity}"
    lines += part("Found", f"as {found}")
    may = "yes, for one format, with an end date and a ceiling, in waivers.yaml"
    never = (
        "no, it decides whether the tools form a can"
        if rule.reads == "case"
        else "no, it checks seal or pressure"
    )
    return lines + part("Waivable", may if rule.waivable else never)


def _limit(rule: Rule, book: Book | None) -> str:
    if rule.limit == "spec":
        return "is in the specs: a target, a tolerance or the range of a machine"
    limits: Mapping[str, Limit] = book.limits.limits if book is not None and book.limits else {}
    if rule.name in limits:
        return limit_text(rule, limits[rule.name])
    if book is None or book.limits is None:
        return f"is in limits.yaml of the book under {rule.name}"
    return (
        "the default, because limits.yaml has none"
        if rule.default
        else "none in limits.yaml: the check is skipped"
    )


def _default(rule: Rule) -> str:
    if rule.limit == "spec":
        return ""
    return limit_text(rule, rule.default) if rule.default else "none; the plant must set its own"


def _setting(name: str, book: Book | None) -> list[str]:
    unit, words, *_ = SETTINGS[name]
    shown_unit = "none, a share or a count" if unit == "-" else unit
    lines = [f"{name} – plant setting: {words}", *part("Unit", shown_unit)]
    settings: Mapping[str, Setting] = book.limits.settings if book is not None and book.limits else {}
    if name not in settings:
        return lines + part("Value", f"is in limits.yaml of the book under settings, {name}")
    one = settings[name]
    value = f"{exact_quantity(float(one.value), unit=unit, show=unit)}. {one_line(one.source).rstrip('.')}"
    lines += part("Value", f"{value} (owner {one_line(one.owner)}, review {one_line(one.review)}).")
    return lines + part("Calibrated", _calibrated(name, book) if one.calibrated and book else "no")


def _calibrated(setting: str, book: Book) -> str:
    """The trials behind a calibrated setting, and the sizes for which it is valid."""
    trials, valid = trials_of(book, setting), ranges(book, setting)
    if not trials:
        return "yes, but the book has no trial of it"
    sizes = "; ".join(f"{key} {low:g} to {high:g} mm" for key, (low, high) in valid.items())
    return f"on {plural(len(trials), 'trial')}, for {sizes}. For other sizes the strength is an estimate."


def part(head: str, words: str) -> list[str]:
    """A headed paragraph; nothing when there are no words."""
    return textwrap.wrap(
        words,
        width=WIDTH,
        initial_indent=f"  {head + ':':12}",
        subsequent_indent=" " * 14,
        break_long_words=False,
        break_on_hyphens=False,
    )
