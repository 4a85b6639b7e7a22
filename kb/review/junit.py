"""A review as JUnit XML: suites for the files and the formats reached, a case for each check that moved."""

from __future__ import annotations

import re
from collections.abc import Sequence
from xml.etree import ElementTree

from kb.book.finding import Severity, one_line
from kb.checks.report import RANK
from kb.review.findings import NEW
from kb.review.model import CheckMoved, Review

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

_SKIPPED = ("newly waived", "no longer judged")


def as_junit(review: Review, *, severity: Severity = "error") -> str:
    """A review as JUnit XML.

    Args:
        review: the review
        severity: from which severity a new finding fails its case, as the review was made with

    Returns:
        The XML text. A format of which no check moved is a suite with one passing case.
    """
    top = ElementTree.Element("testsuites", name="sizebook review")
    shown = review.head.shown or "."
    formats = {one.was or one.id: one.id for one in review.touched} | {
        one.id: one.id for one in review.touched
    }
    about: dict[str, list[CheckMoved]] = {"": [], **{one.id: [] for one in review.touched}}
    for one in review.checks:
        subject = one.finding.subject
        about.setdefault(formats.get(subject, subject), []).append(one)
    for ident, moved in about.items():
        suite = ElementTree.SubElement(top, "testsuite", name=_clean(f"{shown}: {ident or 'files'}"))
        _cases(suite, ident, moved, severity)
    if review.not_judged:
        suite = ElementTree.SubElement(top, "testsuite", name=_clean(f"{shown}: not judged"))
        for words in review.not_judged:
            case = ElementTree.SubElement(suite, "testcase", classname="not judged", name=_clean(words))
            ElementTree.SubElement(case, "skipped", message=_clean(words))
    _verdict(ElementTree.SubElement(top, "testsuite", name=_clean(f"{shown}: verdict")), review)
    _count(top)
    ElementTree.indent(top)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(top, encoding="unicode") + "\n"


def _verdict(suite: ElementTree.Element, review: Review) -> None:
    """The verdict as a case, which fails where people must approve; what blocks fails cases of its own."""
    case = ElementTree.SubElement(suite, "testcase", classname="verdict", name="verdict")
    if review.outcome == "needs approval":
        failure = ElementTree.SubElement(
            case, "failure", message=_clean(review.verdict), type="needs approval"
        )
        failure.text = "\n".join(_clean(f"{one.owner}: {'; '.join(one.because)}") for one in review.approvals)
    else:
        ElementTree.SubElement(case, "system-out").text = _clean(review.verdict)


def _cases(suite: ElementTree.Element, ident: str, moved: Sequence[CheckMoved], severity: Severity) -> None:
    groups: dict[tuple[str, str], list[CheckMoved]] = {}
    for one in moved:
        groups.setdefault((ident or one.finding.place.file, one.finding.name), []).append(one)
    for (group, name), found in groups.items():
        case = ElementTree.SubElement(suite, "testcase", classname=_clean(group), name=_clean(name))
        _outcome(case, name, found, severity)
    if not groups:
        ElementTree.SubElement(suite, "testcase", classname=_clean(ident or "files"), name="no check moved")


def _outcome(case: ElementTree.Element, name: str, found: Sequence[CheckMoved], severity: Severity) -> None:
    """Failed by what blocks, skipped by what is waived or not judged, else passed."""
    failing = [one for one in found if one.state in NEW and _fails(one, severity)]
    skipped = [] if failing else [one for one in found if one.state in _SKIPPED][:1]
    if failing:
        failure = ElementTree.SubElement(case, "failure", message=_clean(failing[0].words), type=_clean(name))
        failure.text = _told(failing)
    if skipped:
        ElementTree.SubElement(case, "skipped", message=_clean(f"{skipped[0].state}: {skipped[0].words}"))
    rest = [one for one in found if one not in failing and one not in skipped]
    if rest:
        ElementTree.SubElement(case, "system-out").text = _told(rest)


def _fails(one: CheckMoved, severity: Severity) -> bool:
    """Whether a new finding blocks, or people must approve it."""
    return one.state == "needs approval" or RANK[one.finding.severity] >= RANK[severity]


def _told(moved: Sequence[CheckMoved]) -> str:
    return "\n".join(_clean(line) for one in moved for line in _lines(one))


def _lines(one: CheckMoved) -> list[str]:
    finding = one.finding
    span = finding.place.span
    place = f"{one_line(finding.place.file)}:{span.line}:{span.column}"
    limit = [f"limit: {one_line(finding.source)}"] if finding.source else []
    told = f"{one.state}: {place}: {finding.severity}: {one.words}"
    return [told, *limit, *(f"fix: {fix}" for fix in finding.fixes)]


def _count(top: ElementTree.Element) -> None:
    for suite in top:
        suite.set("tests", str(len(suite)))
        for attribute, tag in (("failures", "failure"), ("skipped", "skipped")):
            suite.set(attribute, str(sum(case.find(tag) is not None for case in suite)))
    for attribute in ("tests", "failures", "skipped"):
        top.set(attribute, str(sum(int(suite.get(attribute, "0")) for suite in top)))


def _clean(text: str) -> str:
    """Text without what XML cannot hold, such as control characters."""
    return _NOT_XML.sub("", one_line(text))
