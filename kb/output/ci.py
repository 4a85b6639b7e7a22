"""A check or a review for the programs of a code host: SARIF, JUnit XML, workflow commands.

SARIF: every check is declared, not only those with findings, so that a check that passed differs from one
that does not exist. A waived finding is a suppressed result with its reason. In a review each result has its
state: `unchanged` as before, `absent` gone, at its older place.

JUnit: a suite for the files and one for each format, a case for each check. In a check these are the checks
that ran on the format, in a review those whose finding moved; a format without one is a passing case.

Workflow commands: a host shows ten of a kind for each step and hides the rest, so the most important come
first and the tenth counts the others.

Source:
    OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, 2020; 3.27.24 (baselineState).
    Workflow commands: form and limit of ten from the host's public reference; escapes from memory.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib.metadata import version
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote
from xml.etree import ElementTree

from kb.book.finding import Finding, Place, Severity, one_line, place_words
from kb.checks.catalog import RULES
from kb.checks.names import Name, finding_names
from kb.checks.words import plural
from kb.history.value_diff import ChangedFile, ValueChange
from kb.output.document import (
    CheckedBook,
    FindingEntry,
    RunDocument,
    check_document,
    check_entry,
    review_document,
    review_entry,
)
from kb.output.json_reports import json_text, rounded
from kb.review.model import CheckMoved, Review
from kb.review.reach import file_words

# --- SARIF ------------------------------------------------------------------------------------

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def check_sarif(outcomes: Sequence[CheckedBook], *, severity: Severity = "error") -> str:
    """A check as a SARIF log."""
    return _log(check_document(outcomes, severity))


def review_sarif(review: Review, *, severity: Severity = "error") -> str:
    """A review as a SARIF log; each result has its state against the older version."""
    return _log(review_document(review, severity))


def _log(document: RunDocument) -> str:
    rules = _rules()
    index = {one["id"]: i for i, one in enumerate(rules)}
    run: dict[str, Any] = {
        "tool": {"driver": {"name": "sizebook", "version": version("sizebook"), "rules": rules}},
        "columnKind": "unicodeCodePoints",
        "invocations": [
            {
                "executionSuccessful": True,
                "exitCode": document.exit_code,
                "toolExecutionNotifications": [
                    {"level": "note", "message": {"text": _without_links(f"skipped: {words}")}}
                    for words in document.not_judged
                ],
            }
        ],
        "results": [_result(one, index) for one in document.entries],
    }
    if document.properties:
        run["properties"] = dict(document.properties)
    return json_text({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _rules() -> list[dict[str, Any]]:
    checks = {
        name: Name(one.title, one.sections.get("Why", ""), one.sections.get("To fix", ""), one.severity)
        for name, one in RULES.items()
    }
    named = {**checks, **finding_names()}
    return [_rule(name, named[name]) for name in sorted(named)]


def _rule(name: str, one: Name) -> dict[str, Any]:
    return {
        "id": name,
        "shortDescription": {"text": one.title},
        "fullDescription": {"text": one.why or one.title},
        "help": {"text": one.to_fix or one.why or one.title},
        "defaultConfiguration": {"level": one.severity},
    }


def _result(entry: FindingEntry, index: dict[str, int]) -> dict[str, Any]:
    one = entry.finding
    span = one.place.span
    region = {
        "startLine": span.line,
        "startColumn": span.column,
        "endLine": span.end_line,
        "endColumn": span.end_column,
    }
    place = {"artifactLocation": {"uri": _uri(one.place.file)}, "region": region}
    result: dict[str, Any] = {
        "ruleId": one.name,
        "level": one.severity,
        "message": {"text": _without_links(_with_limit(one.message, one))},
        "locations": [{"physicalLocation": place}],
        "partialFingerprints": {"findingPlace/v1": _fingerprint(one)},
        "properties": _properties(entry),
    }
    if one.name in index:
        result["ruleIndex"] = index[one.name]
    if entry.baseline:
        result["baselineState"] = entry.baseline
    if one.waiver:
        reason = _without_links(entry.reason)
        result["suppressions"] = [{"kind": "external", "status": "accepted", "justification": reason}]
    return result


def _with_limit(words: str, one: Finding) -> str:
    """A finding with its limit and its fixes, a line each."""
    limit = [f"Limit: {one_line(one.source)}"] if one.source else []
    return "\n".join([words, *limit, *(f"Fix: {fix}" for fix in one.fixes)])


def _properties(entry: FindingEntry) -> dict[str, Any]:
    one = entry.finding
    found: dict[str, Any] = {"key": one_line(one.place.key), "fixes": list(one.fixes)}
    if one.subject:
        found["format"] = one.subject
    if entry.state:
        found["state"] = entry.state
    if entry.before:
        found["before"] = entry.before
    if one.measure:
        found |= {
            "value": rounded(one.measure.value),
            "limit": rounded(one.measure.limit),
            "unit": one.measure.unit,
            "margin": rounded(one.measure.margin),
        }
    return found


def _without_links(text: str) -> str:
    """`[words](address)` in a spec is text; no viewer may make a link of it."""
    return text.replace("](", "] (")


def _uri(file: str) -> str:
    """A path as a URI reference; an absolute one becomes a file address."""
    address = quote(file, safe="/", errors="surrogateescape")
    return f"file://{address}" if PurePosixPath(file).is_absolute() else address


def _fingerprint(one: Finding) -> str:
    """The same for a finding as long as its name and place do not change, even if its line does."""
    what = one.measure.what if one.measure else ""
    text = "\n".join([one.name, one.place.file, one.place.key, one.subject, what])
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:32]


# --- JUnit XML --------------------------------------------------------------------------------

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def check_junit(outcomes: Sequence[CheckedBook], *, severity: Severity = "error") -> str:
    """A check as JUnit XML."""
    top = ElementTree.Element("testsuites", name="sizebook")
    for outcome in outcomes:
        _files(top, outcome, severity)
        for ident in outcome.report.formats:
            _format(top, outcome, ident, severity)
    return _xml(top)


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
    suite = _suite(top, f"{shown}: not checked") if review.not_judged else top
    for words in review.not_judged:
        _skipped_case(suite, "not checked", words, words)
    _verdict(_suite(top, f"{shown}: verdict"), review)
    return _xml(top)


def _files(top: ElementTree.Element, outcome: CheckedBook, severity: Severity) -> None:
    suite = _suite(top, f"{outcome.shown}: files")
    found = [one for one in outcome.report.findings if not one.subject]
    for file in sorted({one.place.file for one in found}):
        here = [one for one in found if one.place.file == file]
        for name in sorted({one.name for one in here}):
            _case(suite, file, name, _named(outcome, here, name, severity))
    if not found:
        _case(suite, outcome.shown, "files", [])


def _format(top: ElementTree.Element, outcome: CheckedBook, ident: str, severity: Severity) -> None:
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


def _named(
    outcome: CheckedBook, found: Iterable[Finding], name: str, severity: Severity
) -> list[FindingEntry]:
    return [check_entry(outcome, one, severity) for one in found if one.name == name]


def _by_format(review: Review) -> dict[str, list[CheckMoved]]:
    """What moved by format, each under its newer id; "" for what is found on files."""
    formats = {name: one.id for one in review.touched for name in (one.was, one.id) if name}
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


def _suite(top: ElementTree.Element, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(top, "testsuite", name=_clean(name))


def _testcase(suite: ElementTree.Element, group: str, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(suite, "testcase", classname=_clean(group), name=_clean(name))


def _skipped_case(suite: ElementTree.Element, group: str, name: str, why: str) -> None:
    ElementTree.SubElement(_testcase(suite, group, name), "skipped", message=_clean(why))


def _case(suite: ElementTree.Element, group: str, name: str, found: Sequence[FindingEntry]) -> None:
    """One check: failed by what blocks, skipped by what is waived or not checked, otherwise passed."""
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
    yield f"{_state(entry)}{place_words(one.place)}: {one.severity}: {entry.words}"
    if one.source:
        yield f"limit: {one_line(one.source)}"
    yield from (f"fix: {fix}" for fix in one.fixes)


def _state(entry: FindingEntry) -> str:
    return f"{entry.state}: " if entry.state else ""


def _xml(top: ElementTree.Element) -> str:
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


# --- workflow commands ------------------------------------------------------------------------

MOST = 10
"""Annotations of a kind that are shown."""

COMMANDS: dict[Severity, str] = {"error": "error", "warning": "warning", "note": "notice"}

_ANNOTATED = ("newly fails", "needs approval", "newly warns", "newly noted", "worsened", "newly waived")


def review_annotations(review: Review) -> str:
    """A review as workflow commands."""
    lines = _Lines(review.files)
    moved = [one for one in review.checks if one.state in _ANNOTATED]
    commands = [line for level in COMMANDS for line in _level(level, moved, lines, review)]
    return "\n".join([*commands, f"sizebook review: {one_line(review.verdict)}"]) + "\n"


def _level(level: Severity, moved: Sequence[CheckMoved], lines: _Lines, review: Review) -> Iterator[str]:
    here = sorted((one for one in moved if one.finding.severity == level), key=lines.order)
    shown = here if len(here) <= MOST else here[: MOST - 1]
    for one in shown:
        yield _annotation(one, lines, review)
    more = len(here) - len(shown)
    if more:
        words = f"{plural(more, f'more {level}')} in the summary"
        yield command(COMMANDS[level], {"title": "sizebook review"}, words)


def _annotation(one: CheckMoved, lines: _Lines, review: Review) -> str:
    finding = one.finding
    words, place = f"{one.state}: {one_line(one.words)}", finding.place
    cause = lines.cause(finding, _reaching(finding, review))
    if cause is not None and cause.new_place is not None:
        because = one_line(f"{cause.words} {cause.old} → {cause.new}")
        words = f"{place_words(place)}: {words}, because of {because}"
        place = cause.new_place
    return command(COMMANDS[finding.severity], _at(place, finding.name), _with_limit(words, finding))


def _reaching(finding: Finding, review: Review) -> tuple[str, ...]:
    """What reaches the format of a finding, in the words of the review."""
    return next((one.because for one in review.touched if finding.subject in {one.id, one.was or one.id}), ())


def _at(place: Place, title: str) -> dict[str, str]:
    span = place.span
    found = {"file": one_line(place.file), "line": str(span.line), "endLine": str(span.end_line)}
    if span.end_line == span.line:  # a host takes columns within one line only
        found |= {"col": str(span.column), "endColumn": str(max(span.column, span.end_column))}
    return {**found, "title": title}


def command(name: str, properties: Mapping[str, str], message: str) -> str:
    r"""A workflow command; nothing in its texts can end it or begin another.

    Example:
        >>> command("error", {"file": "a,b:c", "line": "1"}, "50 %\n::warning::x")
        '::error file=a%2Cb%3Ac,line=1::50 %25%0A::warning::x'
    """
    given = ",".join(f"{key}={_property(value)}" for key, value in properties.items())
    return f"::{name} {given}::{_data(message)}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


class _Lines:
    """What changed, by file and line."""

    def __init__(self, files: Sequence[ChangedFile]) -> None:
        self._files = {one.file: one for one in files}
        self._reach = {file_words(one): one for one in files}
        self._lines = {
            (place.file, line)
            for one in files
            for change in (*one.changes, *one.rewritten)
            if (place := change.new_place) is not None
            for line in range(place.span.line, place.span.end_line + 1)
        }

    def changed(self, finding: Finding) -> bool:
        """Whether a finding is on a changed line."""
        return (finding.place.file, finding.place.span.line) in self._lines

    def order(self, one: CheckMoved) -> tuple[int, bool]:
        """Order: new before worse, on a changed line before the rest."""
        return _ANNOTATED.index(one.state), not self.changed(one.finding)

    def cause(self, finding: Finding, reaching: Sequence[str]) -> ValueChange | None:
        """The change to point at, for a finding in a file that has not changed."""
        if finding.place.file in self._files:
            return None
        near = [self._reach[words] for words in reaching if words in self._reach]
        changes = [one for file in near for one in file.changes if one.new_place is not None]
        plain = [one for one in changes if not set(one.kinds) <= {"editorial", "document"}]
        return next(iter(plain or changes), None)
