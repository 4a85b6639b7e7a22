"""One edition of the site: a book, its check and its routes on a day, gathered once for all pages."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.records import SizeFormat
from kb.checks import check_book
from kb.checks.by_station import RouteReport, route_report
from kb.checks.catalog import MECHANICS
from kb.checks.judge import Verdict, judge_route
from kb.checks.report import Report
from kb.drawing import drawings
from kb.drawing.model import Drawing
from kb.history.log import BookLog
from kb.publish.changeovers import LineChanges, all_changes
from kb.route.assemble import Assembled, assemble
from kb.route.stations import Route
from kb.route.study import Study

if TYPE_CHECKING:
    from kb.book.records import Line

ON_LINE = tuple(rule for rule in MECHANICS if rule.reads == "run")


@dataclass(frozen=True, slots=True)
class Routed:
    """The route of a format with all that is computed from it."""

    assembled: Assembled
    route: Route
    report: RouteReport
    drawings: Mapping[str, Drawing]
    on_lines: Mapping[str, Sequence[Verdict]]

    def stoppers(self, line: str) -> list[Verdict]:
        """The failed checks that keep the format off a line."""
        return [one for one in self.on_lines[line] if not one.passed and one.rule.severity == "error"]


@dataclass(frozen=True, slots=True)
class FormatEdition:
    """A format with its verdicts and findings, and its route if it has one."""

    spec: Spec
    verdicts: Sequence[Verdict]
    findings: Sequence[Finding]
    routed: Routed | None

    @property
    def record(self) -> SizeFormat:
        """The format as declared."""
        record: SizeFormat = self.spec.record
        return record

    @property
    def errors(self) -> list[str]:
        """Messages of the findings that are errors."""
        return [one.message for one in self.findings if one.severity == "error"]

    @property
    def tightest(self) -> list[Verdict]:
        """Verdicts that have a margin, those nearest their limits first."""
        return sorted((one for one in self.verdicts if one.has_margin), key=lambda one: one.margin)


@dataclass(slots=True)
class Edition:
    """The book as it is published.

    Attributes:
        day: the day of the check.
        formats: formats by id, in order of contents.
        draft: label of a draft, which may be empty; none for one that is no draft.
        past: the log of its repository.
        pdf: whether the papers besides its setup sheets are built as PDF too.
    """

    book: Book
    report: Report
    day: datetime.date
    formats: dict[str, FormatEdition] = field(default_factory=dict)
    draft: str | None = None
    past: BookLog = field(default_factory=BookLog)
    pdf: bool = False
    _changes: dict[str, LineChanges] | None = field(default=None, init=False, repr=False)

    @property
    def changes(self) -> dict[str, LineChanges]:
        """The changeovers of each line, planned on first use."""
        if self._changes is None:
            self._changes = all_changes(self.book)
        return self._changes

    def title(self, ident: str, kind: str = "size-format") -> str:
        """Title of a spec, by default of a format; its id where the book has none."""
        spec = self.book.of(kind).get(ident)
        return spec.record.title if spec else ident

    def of_rule(self, name: str) -> Iterator[tuple[FormatEdition, Verdict]]:
        """Every verdict of a check, with its format."""
        for one in self.formats.values():
            for verdict in one.verdicts:
                if verdict.rule.name == name:
                    yield one, verdict


def gather(
    book: Book,
    day: datetime.date,
    draft: str | None = None,
    past: BookLog | None = None,
    *,
    pdf: bool = False,
) -> Edition:
    """Gather an edition; a format without a route is in it with its findings alone."""
    report = check_book(book, today=day)
    edition = Edition(book, report, day, draft=draft, past=past or BookLog(), pdf=pdf)
    skipped = {one.what for one in report.skipped}
    specs = book.of("size-format").values()
    for spec in sorted(specs, key=lambda one: (float(one.record.fill.contents), one.id)):
        verdicts = report.verdicts.get(spec.id, ())
        routed = None if spec.id in skipped or not verdicts else _routed(book, spec, verdicts)
        findings = [one for one in report.findings if one.subject == spec.id]
        edition.formats[spec.id] = FormatEdition(spec, verdicts, findings, routed)
    return edition


def _routed(book: Book, spec: Spec, verdicts: Sequence[Verdict]) -> Routed | None:
    assembled = assemble(book, spec.id)
    if assembled is None or book.limits is None:
        return None
    route = assembled.study.nominal
    return Routed(
        assembled=assembled,
        route=route,
        report=route_report(assembled, verdicts, book.limits.settings),
        drawings=drawings(assembled, route),
        on_lines={line.id: _on_line(assembled, line.record, book) for line in book.of("line").values()},
    )


def _on_line(assembled: Assembled, line: Line, book: Book) -> list[Verdict]:
    """The checks of a format on a line, whether or not it is declared to run there."""
    study = assembled.study
    moved = Study(replace(study.case, lines=(line,)), study.inputs)
    return judge_route(moved, ON_LINE, book.limits.limits if book.limits else {})
