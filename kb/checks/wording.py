"""Verdicts as findings: one line in trade words, with where the limit comes from."""

from __future__ import annotations

import math

from kb.book.conversion import moved
from kb.book.finding import Edit, Finding, Measure, Place
from kb.checks.judge import Verdict
from kb.checks.words import limit_source, number, quantity, quantity_moved
from kb.route.assemble import Assembled

MARGIN_FIGURES = 3
"""Significant figures of a margin in %."""


def finding(
    assembled: Assembled, verdict: Verdict, fixes: tuple[str, ...], edits: tuple[Edit, ...] = ()
) -> Finding:
    """A failed verdict as a finding at the value's own place. In a draft an error is a warning.

    Args:
        assembled: the format, for the place in its files
        verdict: a verdict that failed
        fixes: sentences that say what to change
        edits: the same as data, where a fix is computed
    """
    rule = verdict.rule
    margin, value, limit = verdict.tightest
    severity, message = rule.severity, _message(verdict)
    if severity == "error" and assembled.spec.record.status == "draft":
        severity, message = "warning", message + "; an error once released"
    nominal = verdict.nominal_passed is False
    return Finding(
        name=rule.name,
        severity=severity,
        place=place_of(assembled, verdict.at),
        message=message,
        fixes=fixes,
        edits=edits,
        source=source(verdict),
        measure=Measure(
            what=verdict.what,
            value=value,
            unit=rule.unit,
            case="nominal" if nominal and value == verdict.spread.nominal else "worst corner",
            limit=limit,
            sense="least" if limit == verdict.least and not value > limit else "most",
            margin=margin if math.isfinite(margin) else None,
            nominal=verdict.spread.nominal,
        ),
        subject=assembled.spec.id,
    )


def place_of(assembled: Assembled, at: str) -> Place:
    """Where a key of the case stands in the files."""
    part, _, key = at.partition(".")
    return assembled.specs[part].place(key)


def limit_words(verdict: Verdict) -> str:
    """The limits in the reader's unit, such as `at most 42.00 %`."""
    rule = verdict.rule
    ends = []
    for word, limit in (("at least", verdict.least), ("at most", verdict.most)):
        if limit is not None:
            ends.append(f"{word} {quantity(limit, unit=rule.unit, show=rule.show)}")
    return " and ".join(ends)


def source(verdict: Verdict) -> str:
    """Where a plant's limit comes from, its owner and its review date; "" for a limit in the specs."""
    limit = verdict.limit
    return "" if limit is None else limit_source(limit)


def _message(verdict: Verdict) -> str:
    rule = verdict.rule
    _, value, _ = verdict.tightest
    if not math.isfinite(value):
        return f"{verdict.what} cannot be calculated at the worst corner of the tolerances"
    text = quantity(value, unit=rule.unit, show=rule.show)
    nominal = quantity(verdict.spread.nominal, unit=rule.unit, show=rule.show)
    cornered = quantity_moved(verdict.spread.nominal, value, unit=rule.unit, show=rule.show)
    where = f" at the worst corner ({nominal} nominal)" if cornered else ""
    against = f", {verdict.against}" if verdict.against else ""
    return f"{verdict.what} {text}{where}; {limit_words(verdict)}{against}"


def margin_moved(old: float, new: float) -> bool:
    """Whether a margin moved by at least the last place that `margin_words` shows."""
    return moved(100 * old, 100 * new, figures=MARGIN_FIGURES)


def margin_words(margin: float) -> str:
    """A margin as a signed percentage."""
    return f"{number(100 * margin, figures=MARGIN_FIGURES)} %" if math.isfinite(margin) else "not calculated"
