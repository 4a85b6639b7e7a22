"""What a check is: a function that measures, beside what a reader needs to know of it.

A check only measures and says where. kb/checks/judge.py compares with the limit, at nominal and at
the worst corner; kb/checks/words.py words the finding. So a check that passes has value and margin too.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from kb.book.finding import Severity
from kb.book.records import Limit
from kb.route.stations import Route
from kb.route.study import pick
from kb.units import Number

Reads = Literal["case", "route", "run"]
"""What a check looks at: the case before its route is computed, the route, or the route on one line."""

LimitFrom = Literal["plant", "spec"]
"""Whether the limit is in limits.yaml or in the specs themselves (a target, a machine's range)."""

_READS: dict[str, Reads] = {"Case": "case", "Route": "route", "LineRun": "run"}

UNCONFIRMED = "not confirmed by this plant"
"""The owner of a limit that no plant has written."""


class Measured(NamedTuple):
    """One value that a check has measured.

    Attributes:
        at: key that the finding points to.
        what: the quantity in trade words.
        value: its value in the unit of the check.
        least: the min, if the limit is in the specs. Beside a plant's limit it is a floor that the plant
            cannot undercut, such as the zero below which there is no shape.
        most: the max, if the limit is in the specs.
        scale: turns a plant's limit that is a ratio into the unit of the value.
        against: where a limit in the specs comes from.
        levers: keys of a fix, where they depend on the index.
        result: key of the station result that the value is, such as `trimmed.allowance` or `ironed[1].thin`.
            `route` shows the limit in the row of this result. Empty for a value that is no result.
    """

    at: str
    what: str
    value: Number
    least: Number | None = None
    most: Number | None = None
    scale: Number = 1.0
    against: str = ""
    levers: tuple[str, ...] = ()
    result: str = ""


def measured_result(route: Route, result: str, at: str, what: str, **more: Any) -> Measured:
    """A station result, measured by its key, such as `trimmed.allowance` or `ironed[1].thin`."""
    return Measured(at, what, pick(result)(route), result=result, **more)


@dataclass(frozen=True, slots=True)
class Rule:
    """A check by name, with its unit, its limit's place and its words."""

    name: str
    severity: Severity
    reads: Reads
    limit: LimitFrom
    unit: str
    show: str
    limit_unit: str
    waivable: bool
    levers: tuple[str, ...] | None
    measure: Callable[..., Iterator[Measured]]
    default: Limit | None
    has_margin: bool

    def limit_in(self, limits: Mapping[str, Limit]) -> Limit | None:
        """The plant's limit, or the default; None if there is neither, or if the limit is in the specs."""
        return limits.get(self.name, self.default) if self.limit == "plant" else None

    def has_limit(self, limits: Mapping[str, Limit]) -> bool:
        """Whether there is a limit to judge by."""
        return self.limit == "spec" or self.limit_in(limits) is not None

    def levers_of(self, measured: Measured) -> tuple[str, ...]:
        """Keys whose change can fix a finding: those named; by default the key that the finding points to."""
        return measured.levers or ((measured.at,) if self.levers is None else self.levers)

    def __reduce__(self) -> tuple[Callable[[str], Rule], tuple[str]]:
        """Travel between processes by name: a check is code, not data."""
        return _by_name, (self.name,)

    @property
    def limit_show(self) -> str:
        """The unit in which a reader sees the limit."""
        return self.show if self.limit_unit == self.unit else self.limit_unit

    @property
    def station(self) -> str:
        """The part of the name before the dot."""
        return self.name.split(".")[0]

    @property
    def title(self) -> str:
        """The first line of the check's description."""
        return inspect.cleandoc(self.measure.__doc__ or "").splitlines()[0]

    @property
    def sections(self) -> dict[str, str]:
        """The description's parts, each as one paragraph: Why, Data, Formula, To fix."""
        doc = inspect.cleandoc(self.measure.__doc__ or "")
        parts = re.split(r"^(Why|Data|Formula|To fix):\s", doc, flags=re.MULTILINE)[1:]
        return {head: " ".join(body.split()) for head, body in zip(parts[::2], parts[1::2], strict=True)}


def _by_name(name: str) -> Rule:
    from kb.checks.catalog import RULES  # noqa: PLC0415  (the catalog is made of rules)

    return RULES[name]


def rule(
    name: str,
    unit: str,
    *,
    show: str = "",
    limit_unit: str = "",
    severity: Severity = "error",
    limit: LimitFrom = "plant",
    waivable: bool = True,
    levers: tuple[str, ...] | None = None,
    margin: bool = True,
    least: float | None = None,
    most: float | None = None,
    source: str = "",
) -> Callable[[Callable[..., Iterator[Measured]]], Rule]:
    """Declare a check. The annotation of its function says whether it reads a case, a route or a run.

    Args:
        name: `station.quantity`, never renamed, never reused
        unit: unit inside of the measured value
        show: the reader's unit where it differs
        limit_unit: unit of the plant's limit where it differs, such as a ratio to what is required
        severity: what a finding of it is
        limit: where the limit is
        waivable: whether a waiver may cover it; seal and pressure safety may not, and never a check that
            reads the case, as nothing is judged of a shape that does not close
        levers: keys whose change can fix a finding; when left out, the key that the finding points to
        margin: whether a valid value has a margin; none where it is at its limit by definition, as counts are
        least: default of the smallest value allowed, in the unit of the limit
        most: default of the largest value allowed, likewise
        source: the publication or definition that the default comes from; "common practice, no source" and
            "from memory" are said. A number with no such source is no default: it belongs in limits.yaml.
    """

    def declare(measure: Callable[..., Iterator[Measured]]) -> Rule:
        reads = _READS[next(iter(measure.__annotations__.values()))]
        return Rule(
            name=name,
            severity=severity,
            reads=reads,
            limit=limit,
            unit=unit,
            show=show or unit,
            limit_unit=limit_unit or unit,
            waivable=waivable and reads != "case",
            levers=levers,
            measure=measure,
            default=Limit(source, UNCONFIRMED, "", least, most) if source else None,
            has_margin=margin and unit != "count",
        )

    return declare
