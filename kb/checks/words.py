"""Numbers and verdicts as a reader sees them: units, digits that mean something, a true minus."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence

from kb.book.conversion import PERCENT_FIGURES, exact_number, in_unit, moved, numbers, percent
from kb.book.conversion import number as number  # noqa: PLC0414 - part of what this file offers
from kb.book.finding import Edit, Finding, Measure, Place, one_line
from kb.book.records import Limit
from kb.checks.judge import Verdict
from kb.route.assemble import Assembled
from kb.route.study import Spread


def in_reader_unit(value: float, *, unit: str, show: str) -> float:
    """A value of the unit inside in the reader's unit."""
    return value if unit == show else in_unit(value, unit, show)


def quantity(value: float, *, unit: str, show: str) -> str:
    """A value with its unit, in the reader's unit.

    Example:
        >>> quantity(0.3897, unit="-", show="%"), quantity(620.0, unit="N", show="N")
        ('39 %', '620.0 N')
    """
    return quantities([value], unit=unit, show=show)[0]


def quantities(
    values: Sequence[float], *, unit: str, show: str, spread: Spread | None = None, apart: bool = True
) -> list[str]:
    """Values of one quantity with their unit, in the reader's unit: to the second figure of its tolerance."""
    texts = figures(values, unit=unit, show=show, spread=spread, apart=apart)
    return [f"{one}{_after(show)}" for one in texts]


def figures(
    values: Sequence[float], *, unit: str, show: str, spread: Spread | None = None, apart: bool = True
) -> list[str]:
    """The numbers of `quantities`, without their unit."""
    if show == "count":
        return [f"{one:.0f}" for one in values]
    shown = [in_reader_unit(one, unit=unit, show=show) for one in values]
    band = 0.0
    if spread is not None:
        low, high = (in_reader_unit(one, unit=unit, show=show) for one in (spread.low, spread.high))
        band = abs(high - low) / 2
    return numbers(shown, show=show, tolerance=band, apart=apart)


def quantity_moved(old: float, new: float, *, unit: str, show: str) -> bool:
    """Whether a value moved by at least its fourth figure."""
    if show == "count":
        return abs(new - old) >= 1
    return moved(*(in_reader_unit(one, unit=unit, show=show) for one in (old, new)))


def _after(show: str) -> str:
    return "" if show in {"-", "count"} else f" {show}"


def exact_quantity(value: float, *, unit: str, show: str) -> str:
    """A value that someone wrote, such as a limit, with its unit and without zeros at its end."""
    figure = f"{value:.0f}" if show == "count" else exact_number(in_reader_unit(value, unit=unit, show=show))
    return figure + _after(show)


def limit_ends(limit: Limit | Verdict, *, unit: str, show: str) -> str:
    """The ends of a limit or a verdict, such as `at least 3 % and at most 8 %`."""
    ends = (("at least", limit.least), ("at most", limit.most))
    return " and ".join(
        f"{word} {exact_quantity(float(value), unit=unit, show=show)}"
        for word, value in ends
        if value is not None
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
    """The limits of a verdict in the reader's unit, such as `at most 42 %`."""
    return limit_ends(verdict, unit=verdict.rule.unit, show=verdict.rule.show)


def source(verdict: Verdict) -> str:
    """Where a plant's limit comes from, its owner and its review date; "" for a limit in the specs."""
    limit = verdict.limit
    return "" if limit is None else limit_source(limit)


def _message(verdict: Verdict) -> str:
    rule = verdict.rule
    _, value, limit = verdict.tightest
    if not math.isfinite(value):
        return f"{verdict.said} cannot be calculated at the worst corner of the tolerances"
    text, nominal, _ = quantities(
        (value, verdict.spread.nominal, limit), unit=rule.unit, show=rule.show, spread=verdict.spread
    )
    where = f" at the worst corner ({nominal} nominal)" if nominal != text else ""
    return f"{verdict.said} {text}{where}; {limit_words(verdict)}{_against(verdict)}"


def _against(verdict: Verdict) -> str:
    return f", {verdict.against}" if verdict.against else ""


def value_words(verdict: Verdict) -> str:
    """The value of a verdict that is nearest to its limit; one outside never looks like the limit."""
    _, value, limit = verdict.tightest
    rule = verdict.rule
    return quantities(
        (value, limit), unit=rule.unit, show=rule.show, spread=verdict.spread, apart=not verdict.passed
    )[0]


def value_and_limit(verdict: Verdict) -> str:
    """What was measured, its value and its limits."""
    return f"{verdict.said} {value_words(verdict)}; {limit_words(verdict)}{_against(verdict)}"


def margin_moved(old: float, new: float) -> bool:
    """Whether a margin moved by at least the last place that `margin_words` shows."""
    return moved(100 * old, 100 * new, figures=PERCENT_FIGURES)


def margin_words(margin: float) -> str:
    """A margin as a signed percentage."""
    return percent(margin) if math.isfinite(margin) else "not calculated"
