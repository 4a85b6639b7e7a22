"""Waivers: what they cover, until when, up to what, and what is said of those that cover nothing."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from kb.book.finding import Finding
from kb.checks.report import Report
from tests.conftest import Edit, MakeBook, judged

WAIVERS = "waivers.yaml"
DAY = datetime.date(2026, 11, 2)


@pytest.fixture
def trial(make_book: MakeBook) -> Path:
    """The demo's trial format alone, with its waiver of the redraw ratio."""
    return make_book(["b204-355"])


def changed(make_book: MakeBook, *edits: Edit, day: datetime.date = DAY) -> Report:
    """The trial format's book with changes, judged."""
    return judged(make_book(["b204-355"], edits), day)


def named(report: Report, name: str) -> list[Finding]:
    """The findings of a name."""
    return [one for one in report.findings if one.name == name]


def test_a_waiver_makes_its_finding_a_note(trial: Path) -> None:
    """While a waiver runs, what it covers is a note with its end, its reason and its place."""
    report = judged(trial)
    (finding,) = report.findings
    assert (finding.name, finding.severity, finding.waiver) == ("redraw.draw-ratio", "note", "waivers[0]")
    assert "(waived until 2027-04-30: One trial on the 204 punch" in finding.message
    assert report.counts()["error"] == 0


@pytest.mark.parametrize(
    ("day", "severity"),
    [("2027-04-29", "note"), ("2027-04-30", "note"), ("2027-05-01", "error")],
)
def test_a_waiver_holds_to_the_end_of_its_last_day(trial: Path, day: str, severity: str) -> None:
    """The last day still counts; the day after, the finding is an error again and the waiver is one too."""
    report = judged(trial, datetime.date.fromisoformat(day))
    (finding,) = named(report, "redraw.draw-ratio")
    assert finding.severity == severity
    lapsed = named(report, "waiver.lapsed")
    assert bool(lapsed) == (severity == "error")
    for one in lapsed:
        assert one.place.key == "waivers[0].expires"
        assert one.message == "the waiver of redraw.draw-ratio for b204-355 ended on 2027-04-30"


def test_a_worse_value_is_not_covered(make_book: MakeBook) -> None:
    """Past its ceiling the finding stays an error, and the waiver says how far it reaches."""
    report = changed(make_book, (WAIVERS, "ceiling: 1.435", "ceiling: 1.425"))
    (finding,) = named(report, "redraw.draw-ratio")
    (worse,) = named(report, "waiver.worsened")
    assert (finding.severity, finding.waiver) == ("error", "")
    assert worse.message == "b204-355 is at 1.431; the waiver of redraw.draw-ratio covers 1.425 at most"
    assert worse.place.key == "waivers[0].ceiling"
    assert not named(report, "waiver.unused")


def test_a_ceiling_below_a_least_reaches_down(make_book: MakeBook) -> None:
    """Where the limit is a least, the ceiling is how far below it the value may lie."""
    edits = [
        ("formats/b204-355.yaml", "web: 0.90 mm", "web: 0.60 mm"),
        (WAIVERS, "check: redraw.draw-ratio", "check: blank.web"),
    ]
    for ceiling, covered in (("0.55 mm", True), ("0.60 mm", True), ("0.65 mm", False)):
        report = judged(
            make_book(["b204-355"], [*edits, (WAIVERS, "ceiling: 1.435", f"ceiling: {ceiling}")], ceiling)
        )
        (finding,) = named(report, "blank.web")
        assert (finding.severity == "note") is covered, ceiling
        assert bool(named(report, "waiver.worsened")) is not covered


def test_a_waiver_for_one_place_covers_no_other(make_book: MakeBook) -> None:
    """Narrowed to a key, a waiver covers the finding at that key only."""
    here = (WAIVERS, "    ceiling: 1.435", "    ceiling: 1.435\n    at: cup.punch_diameter")
    there = (WAIVERS, "    ceiling: 1.435", "    ceiling: 1.435\n    at: punch.wall_diameter")
    (finding,) = judged(make_book(["b204-355"], [here], "here")).findings
    assert finding.severity == "note"
    report = judged(make_book(["b204-355"], [there], "there"))
    assert [one.severity for one in named(report, "redraw.draw-ratio")] == ["error"]
    assert len(named(report, "waiver.unused")) == 1


def test_a_waiver_of_another_format_covers_nothing(make_book: MakeBook) -> None:
    """A waiver is for the one format it names."""
    root = make_book(["b204-355", "b204-330"], [(WAIVERS, "format: b204-355", "format: b204-330")])
    report = judged(root)
    assert [one.severity for one in named(report, "redraw.draw-ratio")] == ["error"]
    (unused,) = named(report, "waiver.unused")
    assert unused.message == "b204-330 passes redraw.draw-ratio without this waiver"


def test_a_waiver_that_nothing_needs_is_reported(make_book: MakeBook) -> None:
    """Once the format passes, the waiver is an error of its own."""
    report = changed(
        make_book,
        ("formats/b204-355.yaml", "punch_diameter: 82.00", "punch_diameter: 81.00"),
        ("formats/b204-355.yaml", "die_bore: 82.57", "die_bore: 81.57"),
    )
    (finding,) = report.findings
    assert (finding.name, finding.severity) == ("waiver.unused", "error")


def test_a_waiver_is_not_called_unused_where_nothing_was_judged(make_book: MakeBook) -> None:
    """A format whose shape does not close has not passed what its waiver covers."""
    report = changed(make_book, ("formats/b204-355.yaml", "depth: 9.90", "depth: 6.00"))
    assert {one.name for one in report.findings} == {"dome.profile-closes"}
    assert [one.what for one in report.skipped] == ["b204-355"]


@pytest.mark.parametrize(
    "check", ["seam.overlap", "dome.reversal", "can.warm-pressure", "flange.curl-clearance"]
)
def test_seal_and_pressure_cannot_be_waived(make_book: MakeBook, check: str) -> None:
    """A waiver of what checks seal or pressure is refused where it names the check."""
    report = changed(make_book, (WAIVERS, "check: redraw.draw-ratio", f"check: {check}"))
    (refused,) = named(report, "waiver.not-allowed")
    assert refused.message == f"{check} checks seal or pressure and cannot be waived"
    assert refused.place.key == "waivers[0].check"


def test_a_seam_stays_an_error_under_every_waiver(make_book: MakeBook) -> None:
    """A short overlap under a waiver of it is an error all the same."""
    report = changed(
        make_book,
        ("formats/b204-355.yaml", "end_hook: 1.61", "end_hook: 1.21"),
        (WAIVERS, "check: redraw.draw-ratio", "check: seam.overlap"),
        (WAIVERS, "ceiling: 1.435", "ceiling: 0.1 mm"),
    )
    assert [one.severity for one in named(report, "seam.overlap")] == ["error"]


def test_a_shape_cannot_be_waived(make_book: MakeBook) -> None:
    """A waived shape would leave seal and pressure unjudged without an error, so it stays one."""
    report = changed(
        make_book,
        ("formats/b204-355.yaml", "height: 155.18", "height: 145.18"),
        (WAIVERS, "check: redraw.draw-ratio", "check: trim.above-shoulder"),
        (WAIVERS, "ceiling: 1.435", "ceiling: 0.1 mm"),
    )
    assert [one.severity for one in named(report, "trim.above-shoulder")] == ["error"]
    (refused,) = named(report, "waiver.not-allowed")
    assert "decides whether the tools form a can" in refused.message


def test_a_misspelt_check_is_reported(make_book: MakeBook) -> None:
    """A waiver of a check that is not there covers nothing and says so."""
    report = changed(make_book, (WAIVERS, "check: redraw.draw-ratio", "check: redraw.draw-rate"))
    (unknown,) = named(report, "waiver.unknown-check")
    assert unknown.message == "check redraw.draw-rate does not exist"
    assert [one.severity for one in named(report, "redraw.draw-ratio")] == ["error"]


def test_an_unknown_format_is_reported(make_book: MakeBook) -> None:
    """A waiver of a format that is not in the book is a reference to nothing."""
    report = changed(make_book, (WAIVERS, "format: b204-355", "format: b204-357"))
    (unknown,) = named(report, "book.unknown-id")
    assert unknown.place.key == "waivers[0].format"
    assert unknown.fixes == ("did you mean b204-355?",)


def test_dates_the_wrong_way_round_are_reported(make_book: MakeBook) -> None:
    """A waiver that ends before it was made is an error, though it has not lapsed."""
    report = changed(make_book, (WAIVERS, 'created: "2026-10-01"', 'created: "2027-10-01"'))
    (dates,) = named(report, "waiver.dates")
    assert dates.severity == "error"
    assert dates.message == "the waiver ends on 2027-04-30, before it was made on 2027-10-01"


@pytest.mark.parametrize("ceiling", ["2 mm", "1.5 kN", "4 degC"])
def test_a_ceiling_of_another_unit_covers_nothing(make_book: MakeBook, ceiling: str) -> None:
    """A ceiling that cannot be held against the check is reported, and the finding stays."""
    report = changed(make_book, (WAIVERS, "ceiling: 1.435", f"ceiling: {ceiling}"))
    (finding,) = named(report, "redraw.draw-ratio")
    assert finding.severity == "error"
    (unit,) = named(report, "waiver.unit")
    assert ceiling in unit.message


def test_nobody_approves_their_own_waiver(make_book: MakeBook) -> None:
    """A waiver approved by its own owner covers nothing."""
    report = changed(make_book, (WAIVERS, "approver: quality", "approver: body tooling"))
    assert [one.severity for one in named(report, "redraw.draw-ratio")] == ["error"]
    assert len(named(report, "waiver.approver")) == 1


def test_an_unknown_approver_is_reported(make_book: MakeBook) -> None:
    """Who approves is one of the plant's roles, as who owns is."""
    report = changed(make_book, (WAIVERS, "approver: quality", "approver: qualty"))
    assert "quality" in named(report, "book.unknown-owner")[0].fixes[0]


def test_a_waiver_does_not_reach_back(make_book: MakeBook) -> None:
    """Before the day it was made a waiver covers nothing."""
    report = changed(make_book, (WAIVERS, 'created: "2026-10-01"', 'created: "2026-12-01"'))
    assert [one.severity for one in named(report, "redraw.draw-ratio")] == ["error"]


@pytest.mark.parametrize("ceiling", ["143.5 %", "1e3", "0"])
def test_a_ceiling_is_compared_as_the_share_it_is(make_book: MakeBook, ceiling: str) -> None:
    """A share may be written in percent or as a number, however far off."""
    report = changed(make_book, (WAIVERS, "ceiling: 1.435", f"ceiling: {ceiling}"))
    (finding,) = named(report, "redraw.draw-ratio")
    assert finding.severity in {"note", "error"}
    assert bool(named(report, "waiver.worsened")) == (finding.severity == "error")


def test_two_waivers_of_one_finding(make_book: MakeBook) -> None:
    """The first that covers it is used, so a second one is reported as unused."""
    text = (
        "    ceiling: 1.435\n"
        "  - check: redraw.draw-ratio\n    format: b204-355\n    reason: Again.\n    owner: body tooling\n"
        "    approver: quality\n    evidence: None.\n"
        '    created: "2026-10-01"\n    expires: "2027-04-30"\n    ceiling: 1.435'
    )
    report = changed(make_book, (WAIVERS, "    ceiling: 1.435", text))
    (finding,) = named(report, "redraw.draw-ratio")
    assert finding.waiver == "waivers[0]"
    (unused,) = named(report, "waiver.unused")
    assert unused.place.key == "waivers[1].check"
