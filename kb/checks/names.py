"""The names of findings that no measuring check makes, with their texts from site/findings.yaml.

The file is read when a text is first needed. A check that prints text or JSON needs none: the code that makes
a finding gives its severity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

import yaml

from kb.book.finding import Severity
from kb.folders import shipped


@dataclass(frozen=True, slots=True)
class Name:
    """One name with its explanation.

    Attributes:
        title: the rule that holds when there is no finding, or the finding itself, in one line.
        why: the reason, one paragraph.
        to_fix: what to do.
        severity: severity of a finding of this name.
        approval: whether people must approve what the finding names.
    """

    title: str
    why: str
    to_fix: str
    severity: Severity
    approval: bool = False


@cache
def finding_names() -> Mapping[str, Name]:
    """Every name with its explanation, by stage.

    Example:
        >>> finding_names()["reading.tab"].title
        'Lines are indented with spaces.'
    """
    entries = [dict(one) for one in _read_findings()["findings"]]
    return MappingProxyType({one.pop("name"): Name(**one) for one in entries})


@cache
def groups() -> Mapping[str, str]:
    """Titles of the first parts of these names, in the order in which the stages run."""
    return MappingProxyType({one["id"]: one["title"] for one in _read_findings()["groups"]})


@cache
def approval_names() -> frozenset[str]:
    """Names of the findings that people must approve; only a review makes them."""
    return frozenset(name for name, one in finding_names().items() if one.approval)


@cache
def _read_findings() -> dict[str, Any]:
    """The file as plain values; libyaml reads it where PyYAML was built with it."""
    text = (shipped("site") / "findings.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return data
