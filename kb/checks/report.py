"""What `check` knows when it is done: findings, verdicts, and what could not be judged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from kb.book.finding import Finding, Severity
from kb.checks.judge import Verdict

RANK: dict[Severity, int] = {"note": 0, "warning": 1, "error": 2}


@dataclass(frozen=True, slots=True)
class Skipped:
    """A format or file that some stages did not reach, and why."""

    what: str
    stages: tuple[str, ...]
    why: str


@dataclass(slots=True)
class Report:
    """The outcome of a check.

    Attributes:
        findings: all findings, in the order of their places.
        verdicts: judged values by format, passing ones too.
        skipped: what was not judged.
        formats: formats that were looked at.
        also: by format, the answer of the work done beside the checks.
    """

    findings: list[Finding] = field(default_factory=list)
    verdicts: dict[str, Sequence[Verdict]] = field(default_factory=dict)
    skipped: list[Skipped] = field(default_factory=list)
    formats: tuple[str, ...] = ()
    also: dict[str, Any] = field(default_factory=dict)

    def worst(self) -> Severity | None:
        """The gravest severity found."""
        return max((one.severity for one in self.findings), key=lambda s: RANK[s], default=None)

    def counts(self) -> Mapping[Severity, int]:
        """How many findings of each severity."""
        return {
            level: sum(one.severity == level for one in self.findings)
            for level in ("error", "warning", "note")
        }
