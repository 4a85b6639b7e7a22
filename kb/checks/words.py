"""Numbers as a reader sees them: the reader's unit, digits that mean something, a true minus."""

from __future__ import annotations

import os
from collections.abc import Sequence

from kb.book.conversion import in_unit, moved
from kb.book.conversion import number as number  # noqa: PLC0414 - part of what this file offers
from kb.book.finding import one_line
from kb.book.records import Limit


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


def limit_ends(limit: Limit, *, unit: str, show: str) -> str:
    """The ends of a limit in the reader's unit, such as `at least 3.00 % and at most 8.00 %`."""
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
