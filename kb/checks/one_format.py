"""One format judged stage by stage, and many of them on all cores."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeAlias

from kb.book.finding import Finding
from kb.book.load import Book
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.consistency.floor import within_faults
from kb.checks.consistency.limits import Yardstick, yardstick
from kb.checks.fix import fixes
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.checks.report import Skipped
from kb.checks.words import finding
from kb.route.assemble import Assembled, assemble
from kb.route.settings import SETTINGS
from kb.workers import shared

MOST_FIXED = 12
"""Findings of one format for which fixes are computed; past that the format wants more than a number."""

WORTH_SHARING = 40
"""Formats from which on the work is shared among the cores; below it starting them takes longer."""


Also: TypeAlias = Callable[[Book, Assembled], Any]
"""Work on a format beside its checks, on the same study; its answer travels between processes."""


@dataclass(frozen=True, slots=True)
class FormatResult:
    """One format checked: its verdicts, its findings before waivers, what was not reached.

    Attributes:
        also: the answer of the work beside the checks; nothing where the geometry does not close.
    """

    ident: str
    verdicts: tuple[Verdict, ...]
    findings: tuple[Finding, ...]
    skipped: Skipped | None
    also: Any = None


def check_formats(
    book: Book,
    idents: Sequence[str],
    by: Yardstick | None = None,
    *,
    also: Also | None = None,
    worded: bool = True,
) -> Iterator[FormatResult]:
    """Check formats, each on its own, in the order given; on Linux, many formats share all cores.

    Args:
        book: a loaded book whose limits file is valid
        idents: ids of valid formats
        by: what they are judged by; read from the book when left out
        also: work to do on each format whose geometry closes
        worded: whether findings with their fixes are made of what fails; verdicts are made in any case
    """
    by = by or yardstick(book)
    check = partial(check_format, book, by=by, also=also, worded=worded)
    yield from map(check, idents) if len(idents) < WORTH_SHARING else shared(check, idents, at_once=8)


def check_format(
    book: Book,
    ident: str,
    by: Yardstick | None = None,
    *,
    also: Also | None = None,
    worded: bool = True,
) -> FormatResult:
    """Check one format; arguments as for `check_formats`.

    Geometry that does not close stops before mechanics. Values that need a missing setting are left out.
    """
    by = by or yardstick(book)
    assembled = assemble(book, ident, _stand_ins(by, PLACES[0]))
    if assembled is None:
        why = "a file it refers to is missing or has errors"
        return FormatResult(ident, (), (), Skipped(ident, ("geometry", "mechanics"), why))
    verdicts = judge_case(assembled.case, GEOMETRY, by.limits)
    skipped = answer = None
    if not all(one.passed for one in verdicts):
        skipped = Skipped(ident, ("mechanics",), "its dimensions do not form a can")
    elif by.missing:
        verdicts += _without_settings(book, ident, by)
        first, *more = sorted(by.missing)
        others = f" and {len(more)} more" if more else ""
        why = f"in part: limits.yaml lacks the setting {first}{others}"
        skipped = Skipped(ident, ("mechanics",), why)
    else:
        verdicts += _mechanics(assembled, by, results=also is not None)
        answer = also(book, assembled) if also is not None else None
    found = list(_findings(assembled, verdicts, by)) if worded else []
    if skipped is None and worded:
        found += within_faults(book, assembled)
    return FormatResult(ident, tuple(verdicts), tuple(found), skipped, answer)


PLACES = (0.01, 0.2, 0.4, 0.6, 0.8, 0.99)
"""Places in the plausible band of a setting that is missing, as fractions of its width."""


def _stand_ins(by: Yardstick, place: float) -> dict[str, float]:
    """A plausible number for each missing setting; no value that depends on it is kept."""
    missing = {name: SETTINGS[name] for name in by.missing}
    return {name: one.low + place * (one.high - one.low) for name, one in missing.items()}


def _without_settings(book: Book, ident: str, by: Yardstick) -> list[Verdict]:
    """Verdicts that are the same for all plausible values of the missing settings."""
    kept: list[Verdict] | None = None
    for place in PLACES:
        there = assemble(book, ident, _stand_ins(by, place))
        verdicts = _mechanics(there, by) if there else []
        same = {_all_of(one) for one in verdicts}
        kept = verdicts if kept is None else [one for one in kept if _all_of(one) in same]
    return kept or []


def _mechanics(assembled: Assembled, by: Yardstick, *, results: bool = False) -> list[Verdict]:
    """Verdicts on the route and the runs of a format, each with what its estimate rests on."""
    return judge_route(
        assembled.study, MECHANICS, by.limits, results=results, calibrated=assembled.calibrated
    )


def _all_of(one: Verdict) -> tuple[object, ...]:
    return one.rule.name, one.at, one.what, tuple(one.spread), one.least, one.most


def _findings(assembled: Assembled, verdicts: Sequence[Verdict], by: Yardstick) -> Iterator[Finding]:
    for i, verdict in enumerate(_tightest([one for one in verdicts if not one.passed])):
        computed = i < MOST_FIXED and not by.missing
        found = fixes(assembled, verdict, verdicts, by.limits) if computed else ()
        texts = tuple(one.edit.text for one in found) or _in_words(verdict)
        yield finding(assembled, verdict, texts, tuple(one.edit for one in found))


def _tightest(failed: Sequence[Verdict]) -> list[Verdict]:
    """The worst of the failures that one check has at one place: twelve equal neck stages are one finding."""
    worst: dict[tuple[str, str], Verdict] = {}
    for one in failed:
        key = (one.rule.name, one.at)
        if key not in worst or not one.margin >= worst[key].margin:
            worst[key] = one
    return list(worst.values())


def _in_words(verdict: Verdict) -> tuple[str, ...]:
    words = verdict.rule.sections.get("To fix", "")
    return (words,) if words else ()
