"""A check as JUnit XML: a suite for each format, a case for each check that judged it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from xml.etree import ElementTree

from kb.book.finding import Finding, Severity, one_line
from kb.checks.judge import Verdict
from kb.checks.report import RANK
from kb.report.outcome import Outcome

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def as_junit(outcomes: Sequence[Outcome], *, severity: Severity = "error") -> str:
    """A check as JUnit XML.

    Args:
        outcomes: the books checked
        severity: from which severity on a finding fails its case

    Returns:
        The XML text. What is found on files rather than formats is a suite of its own.
    """
    top = ElementTree.Element("testsuites", name="sizebook")
    for outcome in outcomes:
        about_files = [one for one in outcome.report.findings if not one.subject]
        _files(top, outcome, about_files, severity)
        for ident in outcome.report.formats:
            _format(top, outcome, ident, severity)
    for attribute in ("tests", "failures", "skipped"):
        top.set(attribute, str(sum(int(suite.get(attribute, "0")) for suite in top)))
    ElementTree.indent(top)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(top, encoding="unicode") + "\n"


def _files(top: ElementTree.Element, outcome: Outcome, found: Sequence[Finding], severity: Severity) -> None:
    suite = _suite(top, f"{outcome.shown}: files")
    for file in sorted({one.place.file for one in found}):
        here = [one for one in found if one.place.file == file]
        for name in sorted({one.name for one in here}):
            _case(suite, file, name, [one for one in here if one.name == name], severity)
    if not found:
        _case(suite, outcome.shown, "files", [], severity)
    _count(suite)


def _format(top: ElementTree.Element, outcome: Outcome, ident: str, severity: Severity) -> None:
    suite = _suite(top, f"{outcome.shown}: {ident}")
    verdicts: Iterable[Verdict] = outcome.report.verdicts.get(ident, ())
    found = [one for one in outcome.report.findings if one.subject == ident]
    names = list(dict.fromkeys([*(one.rule.name for one in verdicts), *(one.name for one in found)]))
    for name in names:
        _case(suite, ident, name, [one for one in found if one.name == name], severity)
    for skipped in outcome.report.skipped:
        if skipped.what == ident:
            for stage in skipped.stages:
                case = ElementTree.SubElement(suite, "testcase", classname=_clean(ident), name=stage)
                ElementTree.SubElement(case, "skipped", message=_clean(skipped.why))
    _count(suite)


def _suite(top: ElementTree.Element, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(top, "testsuite", name=_clean(name))


def _case(
    suite: ElementTree.Element, group: str, name: str, found: Sequence[Finding], severity: Severity
) -> None:
    """One check: failed by findings at or above the severity, skipped when only waived, else passed."""
    case = ElementTree.SubElement(suite, "testcase", classname=_clean(group), name=_clean(name))
    failing = [one for one in found if not one.waiver and RANK[one.severity] >= RANK[severity]]
    waived = [one for one in found if one.waiver]
    if failing:
        failure = ElementTree.SubElement(case, "failure", message=_clean(failing[0].message), type=name)
        failure.text = "\n".join(_clean(line) for one in failing for line in _lines(one))
    elif waived:
        ElementTree.SubElement(case, "skipped", message=_clean(waived[0].message))
    rest = [one for one in found if one not in failing and one not in waived]
    if rest:
        out = ElementTree.SubElement(case, "system-out")
        out.text = "\n".join(_clean(line) for one in rest for line in _lines(one))


def _lines(one: Finding) -> list[str]:
    span = one.place.span
    place = f"{one_line(one.place.file)}:{span.line}:{span.column}"
    limit = [f"limit: {one_line(one.source)}"] if one.source else []
    return [f"{place}: {one.severity}: {one.message}", *limit, *(f"fix: {fix}" for fix in one.fixes)]


def _count(suite: ElementTree.Element) -> None:
    suite.set("tests", str(len(suite)))
    for attribute, tag in (("failures", "failure"), ("skipped", "skipped")):
        suite.set(attribute, str(sum(case.find(tag) is not None for case in suite)))


def _clean(text: str) -> str:
    """Text without what XML cannot hold, such as control characters."""
    return _NOT_XML.sub("", one_line(text))
