"""A whole book judged: what is found, what is left out, and in what order it is reported."""

from __future__ import annotations

import datetime
import pickle
from collections.abc import Mapping
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.book.records import Limit
from kb.checks import STAGES, check_book, one_format
from kb.checks.catalog import RULES
from kb.checks.one_format import check_format, check_formats
from kb.checks.report import Report
from tests.conftest import TODAY, MakeBook, judged

R330 = "formats/b211-330.yaml"


def test_the_same_book_gives_the_same_report(demo: Book, demo_report: Report) -> None:
    """Judged twice, a book gives the same findings in the same order."""
    assert check_book(demo, today=TODAY).findings == demo_report.findings


def test_findings_are_in_the_order_of_their_places(demo_report: Report, make_book: MakeBook) -> None:
    """Findings of all stages are reported by file, line and column."""
    root = make_book(
        ["b211-330", "b211-355"],
        [(R330, "bore: 66.030", "bore: 66.039"), ("formats/b211-355.yaml", "stages: 11", "stages: 7")],
    )
    for report in (demo_report, judged(root)):
        assert len(report.findings) > 3
        assert report.findings == sorted(report.findings, key=lambda one: one.order)


def test_all_faults_of_a_stage_are_reported_then_it_stops(make_book: MakeBook) -> None:
    """Two faults of shape are both reported; geometry and mechanics of the format are listed as skipped."""
    root = make_book(
        ["b211-330", "b211-355"], [(R330, "layers: 22", "layers: 0"), (R330, "  web: 0.90 mm\n", "")]
    )
    report = judged(root)
    assert sorted(one.name for one in report.findings) == ["shape.missing-key", "shape.number"]
    (skipped,) = report.skipped
    assert skipped.what == R330
    assert skipped.stages == STAGES[STAGES.index("shape") + 1 :]
    assert skipped.stages[-2:] == ("geometry", "mechanics")
    assert set(report.verdicts) == {"b211-355"}


def test_a_shape_that_does_not_close_stops_before_mechanics(make_book: MakeBook) -> None:
    """All faults of the shape are reported; nothing is said of strength or seam of a can that is none."""
    root = make_book(
        ["b211-330"],
        [
            (R330, "bore: 66.156", "bore: 66.262"),
            (R330, "depth: 10.60", "depth: 6.60"),
            (R330, "end_hook: 1.61", "end_hook: 1.21"),
        ],
    )
    report = judged(root)
    assert sorted(one.name for one in report.findings) == ["dome.profile-closes", "ironing.bore-order"]
    (skipped,) = report.skipped
    assert (skipped.what, skipped.stages) == ("b211-330", ("mechanics",))
    assert {one.rule.reads for one in report.verdicts["b211-330"]} == {"case"}


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("600 GPa", "0 GPa"),
        ("600 GPa", "-600 GPa"),
        ("value: 0.76", "value: 0"),
        ("value: 0.33 mm", "value: 12 mm"),
    ],
)
def test_a_setting_that_no_formula_takes_is_reported_first(
    make_book: MakeBook, value: str, text: str
) -> None:
    """A setting outside its plausible band is a finding at its line, not a fault in a formula."""
    report = judged(make_book(["b211-330"], [("limits.yaml", value, text)]))
    assert [one.name for one in report.findings] == ["units.band"]
    assert "outside the plausible" in report.findings[0].message


def test_a_file_that_is_missing_leaves_its_formats_out(make_book: MakeBook) -> None:
    """Without its end a format is not judged, which is said beside the reference to nothing."""
    root = make_book(["b211-330", "b202-200"])
    (root / "ends/curlew-202.yaml").unlink()
    report = judged(root)
    assert [one.name for one in report.findings] == ["book.unknown-id"]
    assert [(one.what, one.stages) for one in report.skipped] == [("b211-330", ("geometry", "mechanics"))]


def test_only_the_formats_required_are_judged(demo: Book) -> None:
    """With some formats selected, the rest and the book as a whole are left alone, the waivers too."""
    report = check_book(demo, today=TODAY, formats={"b202-200", "b211-568-206"})
    assert report.formats == ("b202-200", "b211-568-206")
    assert set(report.verdicts) == {"b202-200", "b211-568-206"}
    assert report.findings == []


def test_reviews_come_due(demo: Book) -> None:
    """On a later day every limit and setting past its review is a warning, and the waiver has lapsed."""
    report = check_book(demo, today=datetime.date(2029, 1, 1), formats=None)
    assert demo.limits is not None
    due = [one for one in report.findings if one.name == "limits.review"]
    assert len(due) == len(demo.limits.limits) + len(demo.limits.settings)
    assert {one.severity for one in due} == {"warning"}
    assert len([one for one in report.findings if one.name == "waiver.lapsed"]) == 1


def test_a_review_is_due_the_day_after(demo: Book) -> None:
    """A review dated today is not yet overdue."""
    (first, *_) = sorted(one.review for one in (*demo.limits.limits.values(), *demo.limits.settings.values()))  # type: ignore[union-attr]
    day = datetime.date.fromisoformat(first)
    for later, overdue in ((0, False), (1, True)):
        report = check_book(demo, today=day + datetime.timedelta(days=later))
        assert any(one.name == "limits.review" for one in report.findings) is overdue


def test_worst_severity_and_counts(demo_report: Report) -> None:
    """A report shows its gravest severity and how many there are of each."""
    assert demo_report.worst() == "warning"
    assert sum(demo_report.counts().values()) == len(demo_report.findings)
    assert Report().worst() is None


def test_progress_is_reported_to_the_end(demo: Book) -> None:
    """Progress names each format, up to the last."""
    heard: list[tuple[int, int]] = []
    check_book(
        demo,
        today=TODAY,
        formats={"b202-200", "b211-568-206"},
        progress=lambda done, of: heard.append((done, of)),
    )
    assert heard[-1] == (2, 2)
    assert heard == sorted(heard)


def test_many_formats_on_all_cores_give_the_same(demo: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Shared among processes, formats are judged in the same order with the same outcome."""
    idents = ["b211-440-light", "b202-200", "b204-355"]
    alone = [check_format(demo, ident) for ident in idents]
    monkeypatch.setattr(one_format, "WORTH_SHARING", 1)
    shared = list(check_formats(demo, idents))
    assert [one.ident for one in shared] == idents
    assert [one.findings for one in shared] == [one.findings for one in alone]
    assert [one.verdicts for one in shared] == [one.verdicts for one in alone]


def test_a_check_travels_by_its_name() -> None:
    """A check sent to another process is the same check there."""
    for rule in RULES.values():
        assert pickle.loads(pickle.dumps(rule)) is rule


def test_equal_faults_at_one_place_are_one_finding(make_book: MakeBook) -> None:
    """Eight neck stages that take too much are one finding, the worst of them."""
    report = judged(make_book(["b211-330"], [(R330, "stages: 12", "stages: 8")]))
    failed = [one for one in report.verdicts["b211-330"] if not one.passed]
    names = ["neck.stage-load", "neck.stage-reduction"]
    assert sorted({one.rule.name for one in failed}) == names
    assert sorted(finding.name for finding in report.findings) == names
    for finding in report.findings:
        assert finding.measure is not None
        margins = [one.margin for one in failed if one.rule.name == finding.name]
        assert len(margins) == 8
        assert finding.measure.margin == pytest.approx(min(margins))


def test_the_worst_fault_at_one_place_is_reported(make_book: MakeBook) -> None:
    """Of thin and thick wall that one ring reduces too far, the finding is of the one that is worse off."""
    edits = [
        (R330, "bore: 66.255", "bore: 66.110"),
        (R330, "bore: 66.156", "bore: 66.090"),
        (R330, "neck_diameter: 65.720", "neck_diameter: 65.820"),
    ]
    report = judged(make_book(["b211-330"], edits))
    here = ("ironing.ring-reduction", "format.ironing.rings[0].bore")
    thin, thick = [one for one in report.verdicts["b211-330"] if (one.rule.name, one.at) == here]
    assert thick.margin < thin.margin < 0
    (finding,) = [
        one for one in report.findings if (one.name, one.place.key) == (here[0], "ironing.rings[0].bore")
    ]
    assert finding.measure is not None
    assert finding.measure.what == thick.what == "ring 1 reduction of the thick wall"


def test_what_a_broken_format_refers_to_is_not_called_unused(make_book: MakeBook) -> None:
    """While a format cannot be read, its end and metal may still be in use."""
    root = make_book(["b211-330"], [(R330, "layers: 22", "layers: 0")])
    assert [one.name for one in judged(root).findings] == ["shape.number"]


def test_formats_of_a_book_without_limits_are_not_judged(make_book: MakeBook) -> None:
    """Without limits the book says so once, and each format is said to be left out."""
    root = make_book(["b211-330"])
    (root / "limits.yaml").unlink()
    report = judged(root)
    assert [one.name for one in report.findings] == ["book.missing-file"]
    assert "b211-330" in {one.what for one in report.skipped}


def test_verdicts_are_kept_of_what_passes(demo_report: Report, limits: Mapping[str, Limit]) -> None:
    """A report keeps every value that was judged, so that margins can be shown, not failures alone."""
    for ident, verdicts in demo_report.verdicts.items():
        assert len(verdicts) > 90, ident
        assert {one.rule.name for one in verdicts if one.rule.limit == "plant"} == set(limits)


def test_a_folder_without_a_book_has_its_missing_files_reported(tmp_path: Path) -> None:
    """An empty folder lacks a plant and limits, and no more is reported."""
    report = check_book(load(tmp_path, shown=""), today=TODAY)
    assert [(one.name, one.place.file) for one in report.findings] == [
        ("book.missing-file", "limits.yaml"),
        ("book.missing-file", "plant.yaml"),
    ]
