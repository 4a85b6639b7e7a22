"""Waivers: permission to fail a check, with an end date and a ceiling, and their status."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.records import Waiver
from kb.checks.catalog import RULES
from kb.checks.rule import Rule
from kb.checks.words import exact_quantity, quantities

_WHY_NOT = {True: "decides whether the tools form a can", False: "checks seal or pressure"}


@dataclass(slots=True)
class Desk:
    """The book's waivers on a day, and which of them were used."""

    book: Book
    today: datetime.date
    used: set[int] = field(default_factory=set)

    @property
    def _spec(self) -> Spec | None:
        return self.book.only("waivers")

    def apply(self, findings: Sequence[Finding]) -> list[Finding]:
        """Findings with the waived ones turned into notes, and one more for each ceiling that is passed."""
        return [one for finding in findings for one in self._applied(finding)]

    def _applied(self, finding: Finding) -> Iterator[Finding]:
        for i, waiver in enumerate(self.book.waivers.waivers):
            if not _covers(waiver, finding) or not self._in_force(waiver):
                continue
            self.used.add(i)
            if _worsened(waiver, finding):
                yield finding
                yield self._fault(i, "waiver.worsened", "ceiling", _worsened_words(waiver, finding))
            else:
                message = f"{finding.message} (waived until {waiver.expires}: {waiver.reason})"
                yield replace(finding, severity="note", message=message, waiver=f"waivers[{i}]")
            return
        yield finding

    def faults(self, judged: Collection[str]) -> Iterator[Finding]:
        """A finding for each waiver that is lapsed, unused, not allowed, or names what does not exist.

        Args:
            judged: formats whose every stage ran; only there can a waiver be called unused
        """
        for i, waiver in enumerate(self.book.waivers.waivers):
            if waiver.check not in RULES:
                yield self._fault(i, "waiver.unknown-check", "check", f"check {waiver.check} does not exist")
            elif not _allowed(waiver):
                why = _WHY_NOT[RULES[waiver.check].reads == "case"]
                words = f"{waiver.check} {why} and cannot be waived"
                yield self._fault(i, "waiver.not-allowed", "check", words)
            elif self._lapsed(waiver):
                words = f"the waiver of {waiver.check} for {waiver.format} ended on {waiver.expires}"
                yield self._fault(i, "waiver.lapsed", "expires", words)
            elif not _unit_fits(waiver):
                text = waiver.ceiling.text
                words = f"a ceiling of {text} cannot be compared with {waiver.check}"
                yield self._fault(i, "waiver.unit", "ceiling", words)
            elif waiver.approver == waiver.owner:
                words = f"{waiver.owner} cannot approve its own waiver"
                yield self._fault(i, "waiver.approver", "approver", words)
            elif waiver.created > waiver.expires:
                words = f"the waiver ends on {waiver.expires}, before it was made on {waiver.created}"
                yield self._fault(i, "waiver.dates", "expires", words)
            elif waiver.format in judged and i not in self.used:
                words = f"{waiver.format} passes {waiver.check} without this waiver"
                yield self._fault(i, "waiver.unused", "check", words)

    def _in_force(self, waiver: Waiver) -> bool:
        begun = waiver.created <= self.today.isoformat()
        approved = waiver.approver != waiver.owner
        return begun and approved and not self._lapsed(waiver) and _allowed(waiver) and _unit_fits(waiver)

    def _lapsed(self, waiver: Waiver) -> bool:
        return waiver.expires < self.today.isoformat()

    def _fault(self, index: int, name: str, key: str, message: str) -> Finding:
        spec = self._spec
        if spec is None:  # a waiver comes from a file
            raise LookupError("a waiver without its file")
        fix = {
            "waiver.unknown-check": "`sizebook explain` lists the checks",
            "waiver.not-allowed": "remove the waiver and fix the format",
            "waiver.lapsed": "fix the format and remove the waiver, or have it approved again",
            "waiver.dates": "correct the wrong date",
            "waiver.unit": f"write it in {_unit_words(self.book.waivers.waivers[index].check)}",
            "waiver.approver": "have another role approve it",
            "waiver.unused": "remove the waiver",
            "waiver.worsened": "bring the value back within the ceiling, or have a new ceiling approved",
        }[name]
        return Finding(name, "error", spec.place(f"waivers[{index}].{key}"), message, (fix,))


def _canonical(rule: Rule) -> str:
    return "-" if rule.unit == "count" else rule.unit


def _unit_words(check: str) -> str:
    """The unit a check's ceiling is written in."""
    rule = RULES.get(check)
    return "" if rule is None else "a share or number" if _canonical(rule) == "-" else rule.show


def _covers(waiver: Waiver, finding: Finding) -> bool:
    same = waiver.check == finding.name and waiver.format == finding.subject
    return same and waiver.at in {"", finding.place.key}


def _unit_fits(waiver: Waiver) -> bool:
    """Whether a ceiling is in the unit of its check; one in another unit would cover anything."""
    return _canonical(RULES[waiver.check]) == waiver.ceiling.canonical


def _allowed(waiver: Waiver) -> bool:
    rule = RULES.get(waiver.check)
    return rule is not None and rule.waivable


def _worsened(waiver: Waiver, finding: Finding) -> bool:
    measure = finding.measure
    if measure is None:
        return False
    ceiling = float(waiver.ceiling)
    return measure.value < ceiling if measure.sense == "least" else measure.value > ceiling


def _worsened_words(waiver: Waiver, finding: Finding) -> str:
    rule, measure = RULES[waiver.check], finding.measure
    ceiling = float(waiver.ceiling)
    value = quantities((measure.value if measure else 0.0, ceiling), unit=rule.unit, show=rule.show)[0]
    covered = exact_quantity(ceiling, unit=rule.unit, show=rule.show)
    return f"{waiver.format} is at {value}; the waiver of {waiver.check} covers {covered} at most"
