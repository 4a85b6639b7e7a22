"""Numbers and verdicts as a reader sees them: units, digits that mean something, a true minus."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence

from kb.book.conversion import in_unit, moved
from kb.book.conversion import number as number  # noqa: PLC0414 - part of what this file offers
from kb.book.finding import Edit, Finding, Measure, Place, one_line
from kb.book.records import Limit
from kb.checks.judge import Verdict
from kb.route.assemble import Assembled


def in_reader_unit(value: float, *, unit: str, show: str) -> float:
    """A value of the unit inside in the reader's unit."""
    return value if unit == show else in_unit(value, unit, show)


def quantity(value: float, *, unit: str, show: str) -> str:
    """A value with its unit, in the reader's unit.

    Example:
        >>> quantity(0.3897, unit="-", show="%"), quantity(620.0, unit="N", show="N")
        ('38.97 %', '620.0 N')
    """
    if show == "count":
        return f"{value:.0f}"
    figure = number(in_reader_unit(value, unit=unit, show=show))
    return figure if show == "-" else f"{figure} {show}"


def quantity_moved(old: float, new: float, *, unit: str, show: str) -> bool:
    """Whether a value moved by at least the last place that `quantity` shows."""
    if show == "count":
        return abs(new - old) >= 1
    return moved(*(in_reader_unit(one, unit=unit, show=show) for one in (old, new)))


def limit_ends(limit: Limit | Verdict, *, unit: str, show: str) -> str:
    """The ends of a limit or a verdict, such as `at least 3.00 % and at most 8.00 %`."""
    ends = (("at least", limit.least), ("at most", limit.most))
    return " and ".join(
        f"{word} {quantity(float(value), unit=unit, show=show)}" for word, value in ends if value is not None
    )


def limit_source(limit: Limit) -> str:
    """Where a limit comes from, its owner and its review date; a default says that it is one.

    Example:
        >>> limit_source(Limit("Trial 7", "cupping", "2027-06-30"))
        'Trial 7 (owner cupping, review 2027-06-30)'
        >>> limit_source(Limit("Common practice, no source", "not confirmed by this plant", ""))
        'Common practice, no source (default, not confirmed by this plant)'
    """
    owner = f"owner {limit.owner}, review {limit.review}" if limit.review else f"default, {limit.owner}"
    return one_line(f"{limit.source.rstrip('.')} ({owner})")


def plural(count: int, word: str) -> str:
    """A count with its word.

    Example:
        >>> plural(1, "note"), plural(3, "format")
        ('1 note', '3 formats')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


MOST_NAMES = 6


def some(names: Sequence[str], most: int = MOST_NAMES) -> str:
    """Names, the first few of many.

    Example:
        >>> some(["a", "b", "c"], most=2)
        'a, b, 1 more'
    """
    more = len(names) - most
    return ", ".join([*names[:most], *([f"{more} more"] if more > 0 else [])])


def folder_of(files: Sequence[str]) -> str:
    """The nearest folder that has all of some files.

    Example:
        >>> folder_of(["specs/ends/a.yaml", "specs/plant.yaml"])
        'specs'
    """
    return os.path.commonpath([os.path.dirname(file) for file in files]) or "."


# --- verdicts ----------------------------------------------------------------------------------

MARGIN_FIGURES = 2
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
    """The place of a key of the case in the files."""
    part, _, key = at.partition(".")
    return assembled.specs[part].place(key)


def limit_words(verdict: Verdict) -> str:
    """The limits of a verdict in the reader's unit, such as `at most 42.00 %`."""
    return limit_ends(verdict, unit=verdict.rule.unit, show=verdict.rule.show)


def source(verdict: Verdict) -> str:
    """Where a plant's limit comes from, its owner and its review date; "" for a limit in the specs."""
    limit = verdict.limit
    return "" if limit is None else limit_source(limit)


def _message(verdict: Verdict) -> str:
    rule = verdict.rule
    _, value, _ = verdict.tightest
    if not math.isfinite(value):
        return f"{verdict.said} cannot be calculated at the worst corner of the tolerances"
    text = quantity(value, unit=rule.unit, show=rule.show)
    nominal = quantity(verdict.spread.nominal, unit=rule.unit, show=rule.show)
    cornered = quantity_moved(verdict.spread.nominal, value, unit=rule.unit, show=rule.show)
    where = f" at the worst corner ({nominal} nominal)" if cornered else ""
    against = f", {verdict.against}" if verdict.against else ""
    return f"{verdict.said} {text}{where}; {limit_words(verdict)}{against}"


def margin_moved(old: float, new: float) -> bool:
    """Whether a margin moved by at least the last place that `margin_words` shows."""
    return moved(100 * old, 100 * new, figures=MARGIN_FIGURES)


def margin_words(margin: float) -> str:
    """A margin as a signed percentage."""
    return f"{number(100 * margin, figures=MARGIN_FIGURES)} %" if math.isfinite(margin) else "not calculated"
