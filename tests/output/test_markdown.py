"""A check as Markdown."""

from __future__ import annotations

import re
from dataclasses import replace

from kb.book.finding import Finding, Place, Span
from kb.checks.report import Report
from kb.output.document import CheckedBook
from kb.output.markdown import LONGEST, check_markdown, escaped


def rows(text: str) -> list[str]:
    """Rows of the tables, without their heads."""
    return [
        line
        for line in text.split("\n")
        if line.startswith("| ") and not line.startswith(("| line", "| ---"))
    ]


def test_every_finding_is_a_row_below_its_file(faulty: CheckedBook) -> None:
    """Each file has a table, each finding a row of four cells in it."""
    text = check_markdown([faulty])
    assert len(rows(text)) == len(faulty.report.findings)
    assert {row.count("|") for row in rows(text)} == {5}
    for file in {one.place.file for one in faulty.report.findings}:
        assert f"**{escaped(file)}**" in text


def test_summary_and_stages_are_reported(passing: CheckedBook, faulty: CheckedBook) -> None:
    """The comment begins with the summary and ends with what did not run."""
    formats = len(passing.book.of("size-format"))
    assert check_markdown([passing]).startswith(f"**sizebook check** – {formats} formats")
    assert check_markdown([passing]).endswith("All checks ran.\n")
    assert check_markdown([faulty]).rstrip().split("\n")[-1].startswith("Skipped&#58; ")


def test_hostile_text_is_shown_not_obeyed(hostile: CheckedBook) -> None:
    """Tags, links, mentions and table bars in a spec are shown as written and do nothing."""
    text = check_markdown([hostile])
    assert "<script" not in text
    assert not re.search(r"\]\(", text)
    assert not re.search(r"@[a-z]", text)
    assert not re.search(r"<(?!br>)", text)
    assert {row.count("|") for row in rows(text)} == {5}
    assert "\x1b" not in text


def test_addresses_are_not_linked() -> None:
    """Neither a full address nor one that begins with www becomes a link."""
    assert "www." not in escaped("see WWW.a.b or www.a.b").lower()
    assert "://" not in escaped("https://a.b")


def test_waived_findings_are_marked(passing: CheckedBook) -> None:
    """A waived finding says so beside its severity."""
    assert sum("| note, waived |" in row for row in rows(check_markdown([passing]))) == 1


def test_long_report_says_what_it_leaves_out(passing: CheckedBook) -> None:
    """A report too long for a comment keeps the errors, drops the rest and counts what it dropped."""
    place = Place("specs/a.yaml", "", Span(1, 1, 1, 2))
    note = Finding("book.unused", "note", place, "n" * 500)
    many = [replace(note, place=replace(place, span=Span(i, 1, i, 2))) for i in range(1, 400)]
    error = replace(note, severity="error", place=replace(place, file="specs/z.yaml"), message="grave")
    text = check_markdown([CheckedBook("specs", passing.book, Report(findings=[*many, error]))])
    assert len(text) <= LONGEST
    assert "grave" in text
    left = re.search(r"(\d+) findings left out", text)
    assert left is not None
    assert int(left[1]) + len(rows(text)) == len(many) + 1
    assert len(rows(text)) > 50
