"""A check or a review as SARIF 2.1.0, the format in which code hosts read findings.

All checks are declared, not only those that found something: a check that ran and passed differs from one
that does not exist. Waived findings stay in as suppressed results with their reason. In a review each result
has its state: what is as before is unchanged, what is gone is absent, at its older place.

Source:
    OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, 2020; 3.27.24 (baselineState).
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote

from kb.book.finding import Finding, Severity, one_line
from kb.checks.catalog import RULES
from kb.checks.names import finding_names
from kb.output.document import FindingEntry, RunDocument, check_document, review_document
from kb.output.json_record import rounded, written
from kb.output.outcome import Outcome
from kb.review.model import Review

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def check_sarif(outcomes: Sequence[Outcome], *, severity: Severity = "error") -> str:
    """A check as a SARIF log with one run."""
    return _log(check_document(outcomes, severity))


def review_sarif(review: Review, *, severity: Severity = "error") -> str:
    """A review as a SARIF log with one run; each result has its state against the older version."""
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
                    {"level": "note", "message": {"text": _plain(f"skipped: {words}")}}
                    for words in document.not_judged
                ],
            }
        ],
        "results": [_result(one, index) for one in document.entries],
    }
    if document.properties:
        run["properties"] = dict(document.properties)
    return written({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _rules() -> list[dict[str, Any]]:
    told = [
        _rule(name, one.title, one.sections.get("Why", ""), one.sections.get("To fix", ""), one.severity)
        for name, one in RULES.items()
    ]
    told += [
        _rule(name, one.title, one.why, one.to_fix, one.severity) for name, one in finding_names().items()
    ]
    return sorted(told, key=lambda one: str(one["id"]))


def _rule(name: str, title: str, why: str, fix: str, severity: Severity) -> dict[str, Any]:
    return {
        "id": name,
        "shortDescription": {"text": title},
        "fullDescription": {"text": why or title},
        "help": {"text": fix or why or title},
        "defaultConfiguration": {"level": severity},
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
        "message": {"text": _plain(_message(one))},
        "locations": [{"physicalLocation": place}],
        "partialFingerprints": {"findingPlace/v1": _fingerprint(one)},
        "properties": _properties(entry),
    }
    if one.name in index:
        result["ruleIndex"] = index[one.name]
    if entry.baseline:
        result["baselineState"] = entry.baseline
    if one.waiver:
        reason = _plain(entry.reason)
        result["suppressions"] = [{"kind": "external", "status": "accepted", "justification": reason}]
    return result


def _message(one: Finding) -> str:
    parts = [one.message]
    if one.source:
        parts.append(f"Limit: {one_line(one.source)}")
    parts += [f"Fix: {fix}" for fix in one.fixes]
    return "\n".join(parts)


def _properties(entry: FindingEntry) -> dict[str, Any]:
    one = entry.finding
    told: dict[str, Any] = {"key": one_line(one.place.key), "fixes": list(one.fixes)}
    if one.subject:
        told["format"] = one.subject
    if entry.state:
        told["state"] = entry.state
    if entry.before:
        told["before"] = entry.before
    if one.measure:
        told |= {
            "value": rounded(one.measure.value),
            "limit": rounded(one.measure.limit),
            "unit": one.measure.unit,
            "margin": rounded(one.measure.margin),
        }
    return told


def _plain(text: str) -> str:
    """Text in which no viewer finds a link: `[words](address)` in a spec is words, not a link."""
    return text.replace("](", "] (")


def _uri(file: str) -> str:
    """A path as a URI reference; an absolute one becomes a file address."""
    address = quote(file, safe="/", errors="surrogateescape")
    return f"file://{address}" if PurePosixPath(file).is_absolute() else address


def _fingerprint(one: Finding) -> str:
    """The same for a finding as long as its name and place do not change, whatever its line is."""
    what = one.measure.what if one.measure else ""
    text = "\n".join([one.name, one.place.file, one.place.key, one.subject, what])
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:32]
