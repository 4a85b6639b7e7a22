"""A check as lines of text."""

from __future__ import annotations

import re

from kb.checks.report import Report, Skipped
from kb.output.document import CheckedBook
from kb.output.text import check_text

LINE = re.compile(r"[^:]+:\d+:\d+: (error|warning|note): .+ \[[a-z]+\.[a-z-]+\]")


def test_every_line_has_its_form(faulty: CheckedBook) -> None:
    """A finding is a line with place, severity, message and name; limit and fixes stand below it."""
    body, _, tail = check_text([faulty]).rstrip("\n").rpartition("\n\n")
    lines = body.split("\n")
    assert len(tail.split("\n")) == 2
    heads = [line for line in lines if not line.startswith("    ")]
    assert len(heads) == len(faulty.report.findings)
    assert [line for line in heads if not LINE.fullmatch(line)] == []
    rest = [line for line in lines if line.startswith("    ")]
    assert [line for line in rest if not re.match(r"    (limit|fix): \S", line)] == []


def test_limit_and_fix_are_reported(faulty: CheckedBook) -> None:
    """A blank too small is reported with limit, source, owner, review date and a number that fixes it."""
    text = check_text([faulty])
    found = re.search(r"formats/b211-330\.yaml:\d+:\d+: error: trim allowance.*\n((?:    .*\n)+)", text)
    assert found is not None
    assert re.search(r"    limit: .*\(owner .+, review \d{4}-\d\d-\d\d\)\n", found[1])
    assert 1 <= found[1].count("    fix: ") <= 2
    assert "set blank.diameter to" in found[1]


def test_summary_counts_the_open_ones(passing: CheckedBook) -> None:
    """The summary counts formats, values and findings by severity, waived ones apart."""
    report = passing.report
    values = sum(map(len, report.verdicts.values()))
    waived = sum(bool(one.waiver) for one in report.findings)
    assert waived == 1
    warnings = sum(one.severity == "warning" for one in report.findings)
    notes = sum(one.severity == "note" and not one.waiver for one in report.findings)
    *_, summary, last = check_text([passing]).rstrip("\n").split("\n")
    plural = "" if notes == 1 else "s"
    counts = f"0 errors, {warnings} warnings, {notes} note{plural}; 1 waived"
    assert summary == f"{len(report.formats)} formats, {values} values checked: {counts}"
    assert last == "all checks ran"


def test_last_line_says_what_did_not_run(faulty: CheckedBook) -> None:
    """The last line names the stages that were not reached, of what, and why."""
    last = check_text([faulty]).rstrip("\n").split("\n")[-1]
    assert last.startswith("skipped: ")
    assert "mechanics of b211-568-206 (its dimensions do not form a can)" in last
    assert "of specs/formats/b202-200.yaml (it has errors in reading)" in last


def test_colour_only_repeats_words(faulty: CheckedBook) -> None:
    """Taking the colours out of a coloured report gives the plain one."""
    coloured = check_text([faulty], coloured=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == check_text([faulty])
    assert "\x1b" not in check_text([faulty])


def test_hostile_text_stays_on_its_line(hostile: CheckedBook) -> None:
    """No control character of a spec reaches the terminal, and no text makes lines of its own."""
    text = check_text([hostile])
    assert all(letter.isprintable() or letter == "\n" for letter in text)
    heads = [line for line in text.split("\n") if re.match(r"specs/", line)]
    assert len(heads) == len(hostile.report.findings)


def test_many_skipped_formats_are_counted(passing: CheckedBook) -> None:
    """When the limits stop every format, the last line names some and counts the rest."""
    skipped = [Skipped(f"f-{i}", ("geometry", "mechanics"), "limits.yaml has errors") for i in range(40)]
    last = (
        check_text([CheckedBook("specs", passing.book, Report(skipped=skipped))]).rstrip("\n").split("\n")[-1]
    )
    assert last.endswith("f-5 and 34 more (limits.yaml has errors)")
    assert last.startswith("skipped: geometry and mechanics of f-0, f-1,")
