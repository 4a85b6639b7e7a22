"""What of limits.yaml can be judged by, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from kb.book.conversion import in_unit
from kb.book.finding import Finding
from kb.book.keys import quantity_at
from kb.book.load import Book, Spec
from kb.book.records import Limit, Limits
from kb.checks.catalog import RULES
from kb.checks.consistency.fault import fault
from kb.checks.rule import Rule
from kb.checks.words import limit_ends
from kb.route.settings import NEEDED, SETTINGS


@dataclass(frozen=True, slots=True)
class Yardstick:
    """What a book's formats are judged by.

    Attributes:
        limits: the plant's limits by check, those at fault left out.
        missing: settings that a route needs and that are missing or at fault.
        unjudged: checks that have no limit, neither the plant's nor a default.
        findings: what is wrong with limits.yaml.
    """

    limits: Mapping[str, Limit]
    missing: frozenset[str]
    unjudged: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def whole(self) -> bool:
        """Whether limits.yaml has no fault and no setting is missing."""
        return not self.missing and all(one.severity != "error" for one in self.findings)


def yardstick(book: Book) -> Yardstick:
    """Hold limits.yaml against the checks and the settings that a route needs.

    A limit at fault counts as missing: the check's default is used, or the check is not judged.
    """
    spec, limits = book.only("limits"), book.limits
    if spec is None or limits is None:
        return Yardstick({}, NEEDED, (), ())
    faults = [
        *_unknown(spec, limits.limits, limits.settings),
        *_at_fault(spec, limits.limits, limits.settings),
    ]
    keys = [one.place.key.split(".") for one in faults if one.name != "limits.unknown"]
    wrong = {".".join(key[:-1]) for key in keys}
    good = {name: one for name, one in limits.limits.items() if f"limits.{name}" not in wrong}
    settings = {name for name in limits.settings if f"settings.{name}" not in wrong}
    faults += _missing(spec, limits.limits, limits.settings)
    unjudged = tuple(name for name, rule in RULES.items() if not rule.has_limit(good))
    return Yardstick(good, NEEDED - settings, unjudged, tuple(faults))


def _wanted() -> dict[str, dict[str, str]]:
    limits = {name: rule.limit_unit for name, rule in RULES.items() if rule.limit == "plant"}
    return {"limits": limits, "settings": {name: one.unit for name, one in SETTINGS.items()}}


def _missing(
    spec: Spec[Limits], limits: Mapping[str, object], settings: Mapping[str, object]
) -> Iterator[Finding]:
    for name, rule in RULES.items():
        if rule.limit == "plant" and name not in limits:
            yield _no_limit(spec, rule)
    for name, one in SETTINGS.items():
        if name in NEEDED and name not in settings:
            message = f"setting {name} is missing ({one.words}); values that need it are skipped"
            fix = f"add {name} under settings; it is {_unit(one.unit)}"
            yield fault(spec, "settings", "limits.no-setting", message, fix)


def _no_limit(spec: Spec[Limits], rule: Rule) -> Finding:
    fix = f"add {rule.name} under limits; it is {_unit(rule.limit_unit)}"
    if rule.default is not None:
        ends = limit_ends(rule.default, unit=rule.limit_unit, show=rule.limit_show)
        message = f"{rule.name} has no limit of this plant; default: {ends}"
        return fault(spec, "limits", "limits.missing", message, fix, severity="note")
    message = f"{rule.name} is skipped: it has no limit of this plant, and no default"
    if rule.waivable:
        return fault(spec, "limits", "limits.not-judged", message, fix, severity="note")
    return fault(spec, "limits", "limits.unguarded", f"{message}; it is a check of seal or pressure", fix)


def _unknown(
    spec: Spec[Limits], limits: Mapping[str, object], settings: Mapping[str, object]
) -> Iterator[Finding]:
    wanted = _wanted()
    for group, given in (("limits", limits), ("settings", settings)):
        for name in given:
            if name not in wanted[group]:
                free = [one for one in wanted[group] if one not in given]
                near = get_close_matches(name, free, n=1)
                fix = f"did you mean {near[0]}?" if near else "take it out"
                message = f"no check or formula uses {name}"
                yield fault(spec, f"{group}.{name}", "limits.unknown", message, fix)


def _at_fault(
    spec: Spec[Limits], limits: Mapping[str, object], settings: Mapping[str, object]
) -> Iterator[Finding]:
    for group, given in (("limits", limits), ("settings", settings)):
        for name, unit in _wanted()[group].items():
            if name in given:
                yield from _unit_faults(spec, f"{group}.{name}", unit)
                yield from _band_faults(spec, group, name, unit)


def _unit(unit: str) -> str:
    return "a ratio, such as 0.42 or 42 %" if unit == "-" else f"a value in {unit}"


def _unit_faults(spec: Spec[Limits], key: str, unit: str) -> Iterator[Finding]:
    for end in ("least", "most", "value"):
        quantity = quantity_at(spec.record, f"{key}.{end}")
        if quantity is not None and quantity.canonical != unit:
            message = f"{quantity.text} is not {_unit(unit)}"
            yield fault(spec, f"{key}.{end}", "limits.unit", message, f"write it as {_unit(unit)}")
    least, most = (quantity_at(spec.record, f"{key}.{end}") for end in ("least", "most"))
    if least is not None and most is not None and least > most:
        message = f"the minimum {least.text} is above the maximum {most.text}"
        yield fault(spec, f"{key}.least", "limits.order", message, "exchange the two")


def _band_faults(spec: Spec[Limits], group: str, name: str, unit: str) -> Iterator[Finding]:
    quantity = quantity_at(spec.record, f"{group}.{name}.value")
    if quantity is None or quantity.canonical != unit:
        return
    _, _, low, high = SETTINGS[name]
    if not low <= quantity <= high:
        shown = quantity.unit or unit
        ends = " to ".join(f"{in_unit(end, unit, shown):.6g}" for end in (low, high))
        message = f"{name} {quantity.text} is outside the plausible {ends} {quantity.unit}".rstrip()
        yield fault(spec, f"{group}.{name}.value", "units.band", message)
