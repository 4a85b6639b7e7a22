"""A check or a review as JUnit XML: a suite for the files and one for each format, a case for each check.

In a check the cases of a format are the checks that judged it, in a review those whose finding moved.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from xml.etree import ElementTree

from kb.book.finding import Finding, Severity, one_line
from kb.output.document import FindingEntry, check_entry, review_entry
from kb.output.outcome import Outcome
from kb.review.model import CheckMoved, Review

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def check_junit(outcomes: Sequence[Outcome], *, severity: Severity = "error") -> str:
    """A check as JUnit XML."""
    top = ElementTree.Element("testsuites", name="sizebook")
    for outcome in outcomes:
        _files(top, outcome, severity)
        for ident in outcome.report.formats:
            _format(top, outcome, ident, severity)
    return _written(top)


def review_junit(review: Review, *, severity: Severity = "error") -> str:
    """A review as JUnit XML."""
    top = ElementTree.Element("testsuites", name="sizebook review")
    shown = review.head.shown or "."
    for ident, moved in _by_format(review).items():
        suite = _suite(top, f"{shown}: {ident or 'files'}")
        groups: dict[tuple[str, str], list[FindingEntry]] = {}
        for one in moved:
            group = ident or one.finding.place.file
            groups.setdefault((group, one.finding.name), []).append(review_entry(one, severity))
        for (group, name), found in groups.items():
            _case(suite, group, name, found)
        if not groups:
            _case(suite, ident or "files", "no check moved", [])
    if review.not_judged:
        suite = _suite(top, f"{shown}: not judged")
        for words in review.not_judged:
            _skipped_case(suite, "not judged", words, words)
    _verdict(_suite(top, f"{shown}: verdict"), review)
    return _written(top)


# --- a check ----------------------------------------------------------------------------------


def _files(top: ElementTree.Element, outcome: Outcome, severity: Severity) -> None:
    suite = _suite(top, f"{outcome.shown}: files")
    found = [one for one in outcome.report.findings if not one.subject]
    for file in sorted({one.place.file for one in found}):
        here = [one for one in found if one.place.file == file]
        for name in sorted({one.name for one in here}):
            _case(suite, file, name, _named(outcome, here, name, severity))
    if not found:
        _case(suite, outcome.shown, "files", [])


def _format(top: ElementTree.Element, outcome: Outcome, ident: str, severity: Severity) -> None:
    suite = _suite(top, f"{outcome.shown}: {ident}")
    verdicts = outcome.report.verdicts.get(ident, ())
    found = [one for one in outcome.report.findings if one.subject == ident]
    names = dict.fromkeys([*(one.rule.name for one in verdicts), *(one.name for one in found)])
    for name in names:
        _case(suite, ident, name, _named(outcome, found, name, severity))
    for skipped in outcome.report.skipped:
        if skipped.what == ident:
            for stage in skipped.stages:
                _skipped_case(suite, ident, stage, skipped.why)


def _named(outcome: Outcome, found: Iterable[Finding], name: str, severity: Severity) -> list[FindingEntry]:
    return [check_entry(outcome, one, severity) for one in found if one.name == name]


# --- a review ---------------------------------------------------------------------------------


def _by_format(review: Review) -> dict[str, list[CheckMoved]]:
    """What moved by format, each under its newer id; "" for what is found on files."""
    formats = {one.was or one.id: one.id for one in review.touched} | {
        one.id: one.id for one in review.touched
    }
    about: dict[str, list[CheckMoved]] = {"": [], **{one.id: [] for one in review.touched}}
    for one in review.checks:
        subject = one.finding.subject
        about.setdefault(formats.get(subject, subject), []).append(one)
    return about


def _verdict(suite: ElementTree.Element, review: Review) -> None:
    """The verdict as a case, which fails where people must approve; what blocks fails cases of its own."""
    case = _testcase(suite, "verdict", "verdict")
    if review.outcome == "needs approval":
        failure = ElementTree.SubElement(
            case, "failure", message=_clean(review.verdict), type="needs approval"
        )
        failure.text = "\n".join(_clean(f"{one.owner}: {'; '.join(one.because)}") for one in review.approvals)
    else:
        ElementTree.SubElement(case, "system-out").text = _clean(review.verdict)


# --- suites and cases -------------------------------------------------------------------------


def _suite(top: ElementTree.Element, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(top, "testsuite", name=_clean(name))


def _testcase(suite: ElementTree.Element, group: str, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(suite, "testcase", classname=_clean(group), name=_clean(name))


def _skipped_case(suite: ElementTree.Element, group: str, name: str, why: str) -> None:
    ElementTree.SubElement(_testcase(suite, group, name), "skipped", message=_clean(why))


def _case(suite: ElementTree.Element, group: str, name: str, found: Sequence[FindingEntry]) -> None:
    """One check: failed by what blocks, skipped by what is waived or not judged, otherwise passed."""
    case = _testcase(suite, group, name)
    failing = [one for one in found if one.blocks]
    skipped = [] if failing else [one for one in found if one.skipped][:1]
    for one in failing[:1]:
        failure = ElementTree.SubElement(case, "failure", message=_clean(one.words), type=_clean(name))
        failure.text = _text(failing)
    for one in skipped:
        ElementTree.SubElement(case, "skipped", message=_clean(f"{_state(one)}{one.words}"))
    rest = [one for one in found if one not in failing and one not in skipped]
    if rest:
        ElementTree.SubElement(case, "system-out").text = _text(rest)


def _text(found: Sequence[FindingEntry]) -> str:
    return "\n".join(_clean(line) for one in found for line in _lines(one))


def _lines(entry: FindingEntry) -> Iterator[str]:
    one = entry.finding
    span = one.place.span
    place = f"{one_line(one.place.file)}:{span.line}:{span.column}"
    yield f"{_state(entry)}{place}: {one.severity}: {entry.words}"
    if one.source:
        yield f"limit: {one_line(one.source)}"
    yield from (f"fix: {fix}" for fix in one.fixes)


def _state(entry: FindingEntry) -> str:
    return f"{entry.state}: " if entry.state else ""


def _written(top: ElementTree.Element) -> str:
    for suite in top:
        suite.set("tests", str(len(suite)))
        for attribute, tag in (("failures", "failure"), ("skipped", "skipped")):
            suite.set(attribute, str(sum(case.find(tag) is not None for case in suite)))
    for attribute in ("tests", "failures", "skipped"):
        top.set(attribute, str(sum(int(suite.get(attribute, "0")) for suite in top)))
    ElementTree.indent(top)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(top, encoding="unicode") + "\n"


def _clean(text: str) -> str:
    """Text without what XML cannot hold, such as control characters."""
    return _NOT_XML.sub("", one_line(text))
