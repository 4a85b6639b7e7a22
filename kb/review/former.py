"""The newer sizes against the older limits, settings, targets, metals and ends: what passes by their move.

A crossed book has the formats of the newer version and some of the numbers they are checked against from the
older one. It is checked as any book is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from kb.book.conversion import alike
from kb.book.keys import at, put, quantities
from kb.book.load import Book, Spec
from kb.book.quantity import Quantity, as_quantity
from kb.book.records import Limits
from kb.checks.catalog import RULES
from kb.checks.judge import Verdict
from kb.checks.one_format import check_formats
from kb.checks.words import limit_words, value_words
from kb.history.change_types import EDITORIAL
from kb.history.versions import Match
from kb.review.effects import CheckedVersion, VerdictKey, verdict_key
from kb.review.model import FormerFails, FormerPart
from kb.review.reach import Reached
from kb.route.settings import SETTINGS

PARTS: tuple[FormerPart, ...] = ("limit", "setting", "target", "material", "end", "plant", "line")

_OF_FILES: tuple[FormerPart, ...] = ("material", "end", "line")
_ENDS = ("least", "most")
_TARGETS = "targets."

AGREED = ("flange.finished_height", "fill.headspace")
"""Sizes whose tolerance is agreed outside the plant; with the same target, a wider one is a moved target."""


class Pairs(NamedTuple):
    """Both books, and the older file of each newer one by kind and id."""

    old: Book
    new: Book
    before: Mapping[tuple[str, str], Spec]

    def spec(self, kind: str) -> tuple[Spec, Spec] | None:
        """The older and the newer file of a kind that a book has once."""
        old, new = self.old.only(kind), self.new.only(kind)
        return (old, new) if old and new else None


def paired(found: Iterable[Match], old: Book, new: Book) -> Pairs:
    """Both books with their files side by side."""
    return Pairs(old, new, {(one.kind, one.new.id): one.old for one in found if one.new and one.old})


def former_fails(pairs: Pairs, reached: Reached, after: CheckedVersion) -> tuple[FormerFails, ...]:
    """What passes now and fails at the former limits, settings, targets, metals, ends, plant or lines."""
    moved = [part for part in PARTS if _part_moved(pairs, part)]
    stopped = {one.what for one in after.report.skipped}
    names = [
        now
        for one in reached.judged
        if (now := reached.now.get(one)) and now in after.report.verdicts and now not in stopped
    ]
    if not moved or not names:
        return ()
    trials = [*([tuple(moved)] if len(moved) > 1 else []), *((part,) for part in moved)]
    failing: dict[tuple[str, VerdictKey], tuple[Verdict, list[FormerPart]]] = {}
    for trial in trials:
        crossed = crossed_book(pairs, trial)
        for outcome in check_formats(crossed, names, worded=False):
            here = after.report.verdicts[outcome.ident]
            passing = {verdict_key(one) for one in here} - {
                verdict_key(one) for one in here if not one.passed
            }
            for verdict in outcome.verdicts:
                if not verdict.passed and verdict_key(verdict) in passing:
                    worst, parts = failing.setdefault((outcome.ident, verdict_key(verdict)), (verdict, []))
                    parts += [one for one in trial if len(trial) == 1 and one not in parts]
                    if not worst.margin <= verdict.margin:
                        failing[outcome.ident, verdict_key(verdict)] = (verdict, parts)
    records = [
        FormerFails(
            format=ident,
            check=verdict.rule.name,
            key=verdict.at,
            what=verdict.said,
            value=value_words(verdict),
            limit=limit_words(verdict),
            because=tuple(parts or moved),
        )
        for (ident, _), (verdict, parts) in failing.items()
    ]
    return tuple(sorted(records, key=lambda one: (one.format, one.check, one.key, one.what)))


# --- the crossed book -------------------------------------------------------------------------


def crossed_book(pairs: Pairs, parts: Sequence[FormerPart]) -> Book:
    """The newer book with some of its parts as they were."""
    made = Book(pairs.new.root, {kind: dict(group) for kind, group in pairs.new.specs.items()})
    for kind in _OF_FILES:
        if kind in parts:
            group = {**pairs.old.of(kind), **pairs.new.of(kind)}
            made.specs[kind] = {ident: _renamed(pairs, spec) for ident, spec in group.items()}
    if "plant" in parts and (both := pairs.spec("plant")):
        made.specs["plant"] = {both[1].id: both[0]}
    if "target" in parts:
        formats = made.specs.get("size-format", {})
        made.specs["size-format"] = {ident: _with_targets(pairs, spec) for ident, spec in formats.items()}
    if both := pairs.spec("limits"):
        old, new = both
        limits, settings = dict(new.record.limits), dict(new.record.settings)
        if "limit" in parts:
            limits |= {name: old.record.limits[name] for name in usable(old, "limits")}
        if "setting" in parts:
            settings |= {name: old.record.settings[name] for name in usable(old, "settings")}
        made.specs["limits"] = {new.id: replace(new, record=Limits(limits, settings))}
    return made


def usable(spec: Spec, group: str) -> list[str]:
    """Names of the limits or settings of a file that are written in their check's or formula's own unit."""
    units = (
        {name: rule.limit_unit for name, rule in RULES.items() if rule.limit == "plant"}
        if group == "limits"
        else {name: one.unit for name, one in SETTINGS.items()}
    )
    given = getattr(spec.record, group)
    return [
        name
        for name, one in given.items()
        if name in units and all(each.canonical == units[name] for _, each in quantities(one))
    ]


def _renamed(pairs: Pairs, new: Spec) -> Spec:
    """The older version of a file under the ids that the newer book has."""
    old = pairs.before.get((new.kind, new.id))
    if old is None:
        return new
    record = replace(old.record, id=new.id)
    if new.kind == "end":
        metals = {spec.id: ident for (kind, ident), spec in pairs.before.items() if kind == "material"}
        record = replace(record, material=metals.get(record.material, record.material))
    return replace(old, id=new.id, record=record)


def _with_targets(pairs: Pairs, new: Spec) -> Spec:
    old = pairs.before.get((new.kind, new.id))
    if old is None:
        return new
    agreed = {key: was for key, was, now in _agreed(old, new) if alike(was, now)}
    return replace(new, record=put(replace(new.record, targets=old.record.targets), agreed))


def _agreed(old: Spec, new: Spec) -> Iterator[tuple[str, Quantity, Quantity]]:
    """The sizes that are agreed outside the plant, before and now."""
    for key in AGREED:
        yield key, as_quantity(at(old.record, key)), as_quantity(at(new.record, key))


def _part_moved(pairs: Pairs, part: FormerPart) -> bool:
    """Whether a part has other numbers than before in any file."""
    if part in {"limit", "setting"}:
        both = pairs.spec("limits")
        group, keys = ("limits", _ENDS) if part == "limit" else ("settings", ("value",))
        return both is not None and bool(list(_other(both, group, keys)))
    if part == "target":
        formats = [
            (old, pairs.new.of(kind)[ident])
            for (kind, ident), old in pairs.before.items()
            if kind == "size-format"
        ]
        return any(_targets(old) != _targets(new) or _wider(old, new) for old, new in formats)
    if part == "plant":
        both = pairs.spec("plant")
        return both is not None and _numbers_of_file(both[0]) != _numbers_of_file(both[1])
    here = pairs.new.of(part)
    return any(
        _numbers_of_file(old) != _numbers_of_file(here[ident])
        for (kind, ident), old in pairs.before.items()
        if kind == part
    )


def _other(both: tuple[Spec, Spec], group: str, keys: Sequence[str]) -> Iterator[str]:
    """Names under a group of limits.yaml whose number is another one."""
    old, new = (getattr(one.record, group) for one in both)
    for name in usable(both[0], group):
        before, after = old[name], new.get(name)
        if after is None or any(getattr(before, key) != getattr(after, key) for key in keys):
            yield name


def _targets(spec: Spec) -> list[tuple[str, float, float, float]]:
    return [
        (key, one.low, one.nominal, one.high)
        for key, one in sorted(quantities(spec.record))
        if key.startswith(_TARGETS)
    ]


def _wider(old: Spec, new: Spec) -> bool:
    """Whether an agreed size has the same target and another tolerance."""
    return any(
        alike(was, now) and (was.low, was.high) != (now.low, now.high) for _, was, now in _agreed(old, new)
    )


def _numbers_of_file(spec: Spec) -> Any:
    """What a file says to a formula: its record without words, and its tolerances."""
    words = {
        name: ""
        for name in (*EDITORIAL, "id", "revision", "effective", "status")
        if hasattr(spec.record, name)
    }
    return replace(spec.record, **words), {key: (one.low, one.high) for key, one in quantities(spec.record)}
