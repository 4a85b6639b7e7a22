"""One format judged stage by stage, and many of them on all cores."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.pool import Pool
from typing import Any, TypeAlias

from kb.book.finding import Finding
from kb.book.load import Book
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.fix import fixes
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.checks.report import Skipped
from kb.checks.wording import finding
from kb.route.assemble import Assembled, assemble

MOST_FIXED = 12
"""Findings of one format for which fixes are computed; past that the format wants more than a number."""

WORTH_SHARING = 40
"""Formats from which on the work is shared among the cores; below it starting them takes longer."""


Also: TypeAlias = Callable[[Book, Assembled], Any]
"""Work on a format beside its checks, on the same study; its answer travels between processes."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What judging one format gave: its verdicts, its findings before waivers, what was not reached.

    Attributes:
        ident: id of the format.
        verdicts: its judged values.
        findings: its findings before waivers.
        skipped: what was not reached.
        also: the answer of the work beside the checks; nothing where the geometry does not close.
    """

    ident: str
    verdicts: tuple[Verdict, ...]
    findings: tuple[Finding, ...]
    skipped: Skipped | None
    also: Any = None


def check_formats(book: Book, idents: Sequence[str], also: Also | None = None) -> Iterator[Outcome]:
    """Judge formats, each on its own, in the order given.

    Args:
        book: a loaded book whose limits were found sound
        idents: ids of sound formats
        also: work to do on each format whose geometry closes

    Yields:
        An outcome for each; on systems that can fork, many formats share all cores.
    """
    cores = os.cpu_count() or 1
    can_fork = "fork" in multiprocessing.get_all_start_methods() and os.uname().sysname == "Linux"
    if len(idents) < WORTH_SHARING or cores < 2 or not can_fork:
        yield from (check_format(book, ident, also) for ident in idents)
        return
    _shared.append((book, also))
    gc.freeze()  # the workers need not look through the book for garbage
    try:
        with _pool(cores) as pool:
            yield from pool.imap(_check_shared, idents, chunksize=8)
    finally:
        gc.unfreeze()
        _shared.pop()


_shared: list[tuple[Book, Also | None]] = []
"""What the forked workers see; only outcomes travel between processes."""


def _pool(cores: int) -> Pool:
    """Workers that leave stopping to their parent, from their first moment on.

    Ctrl-C waits until all have started: a worker that it met between its start and its first line would
    print a traceback of its own.
    """
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        return multiprocessing.get_context("fork").Pool(cores, initializer=_leave_stopping_to_the_parent)
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


def _leave_stopping_to_the_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


def _check_shared(ident: str) -> Outcome:
    book, also = _shared[-1]
    return check_format(book, ident, also)


def check_format(book: Book, ident: str, also: Also | None = None) -> Outcome:
    """Judge one format.

    Args:
        book: a loaded book whose limits were found sound
        ident: id of a sound format
        also: work to do on it if its geometry closes

    Returns:
        The outcome; geometry that does not close stops before mechanics.
    """
    assembled = assemble(book, ident)
    if assembled is None or book.limits is None:
        why = "a file it refers to is missing or has faults"
        return Outcome(ident, (), (), Skipped(ident, ("geometry", "mechanics"), why))
    limits = book.limits.limits
    verdicts = judge_case(assembled.case, GEOMETRY, limits)
    skipped = answer = None
    if all(one.passed for one in verdicts):
        verdicts += judge_route(assembled.study, MECHANICS, limits, results=also is not None)
        answer = also(book, assembled) if also is not None else None
    else:
        skipped = Skipped(ident, ("mechanics",), "its geometry does not close")
    return Outcome(ident, tuple(verdicts), tuple(_findings(assembled, verdicts, book)), skipped, answer)


def _findings(assembled: Assembled, verdicts: Sequence[Verdict], book: Book) -> Iterator[Finding]:
    limits = book.limits.limits if book.limits else {}
    for i, verdict in enumerate(_tightest([one for one in verdicts if not one.passed])):
        cures = fixes(assembled, verdict, verdicts, limits) if i < MOST_FIXED else ()
        texts = tuple(cure.text for cure in cures) or _in_words(verdict)
        yield finding(assembled, verdict, texts)


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
