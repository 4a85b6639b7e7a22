"""A review as workflow commands: read back as the host's runner reads them."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from typing import NamedTuple

import pytest

from kb.book.finding import Finding, Severity, Span
from kb.output.ci import MOST, command, review_annotations
from kb.review.model import CheckMoved, CheckState, Review
from tests.review.story import Story
from tests.review.test_story import EXPECTED, reviewed


class Shown(NamedTuple):
    """An annotation as a host shows it."""

    kind: str
    properties: dict[str, str]
    message: str


def plain(text: str) -> str:
    """A text with its escapes undone, the per cent sign last."""
    for code, letter in (("%0D", "\r"), ("%0A", "\n"), ("%3A", ":"), ("%2C", ","), ("%25", "%")):
        text = text.replace(code, letter)
    return text


def shown(text: str) -> list[Shown]:
    """The annotations of a log."""
    found = []
    for line in text.splitlines():
        if parts := re.fullmatch(r"::([a-z]+) ([^:]*)::(.*)", line):
            pairs = (pair.partition("=") for pair in parts[2].split(","))
            found.append(Shown(parts[1], {key: plain(value) for key, _, value in pairs}, plain(parts[3])))
    return found


def moved(
    made: Review, count: int, severity: Severity = "error", state: CheckState = "newly fails"
) -> Review:
    """A review with many findings like its first, on lines that did not change."""
    first = made.checks[0].finding
    spans = [Span(200 + i, 1, 200 + i, 5) for i in range(count)]
    found = [
        replace(first, severity=severity, place=replace(first.place, span=span), message=f"number {i}")
        for i, span in enumerate(spans)
    ]
    return replace(made, checks=tuple(CheckMoved(state, one, None, one.message) for one in found))


@pytest.mark.parametrize("name", EXPECTED)
def test_every_new_finding_is_annotated(story: Story, name: str) -> None:
    """What is new or worse is annotated by its severity; what is fixed is not; the verdict ends the log."""
    made = reviewed(story, name)
    listed = [
        one.finding
        for one in made.checks
        if one.state
        in {"newly fails", "needs approval", "newly warns", "newly noted", "worsened", "newly waived"}
    ]
    kinds = {"error": "error", "warning": "warning", "note": "notice"}
    text = review_annotations(made)
    assert Counter((one.kind, one.properties["title"]) for one in shown(text)) == Counter(
        (kinds[one.severity], one.name) for one in listed
    )
    assert text.splitlines()[-1] == f"sizebook review: {made.verdict}"
    assert len(text.splitlines()) == len(listed) + 1


def test_an_annotation_is_at_the_value(story: Story) -> None:
    """File, line and columns are those of the value; message, limit and fix follow on lines of their own."""
    made = reviewed(story, "gauge-down")
    first = shown(review_annotations(made))[0]
    finding = made.checks[0].finding
    assert first.properties == {
        "file": finding.place.file,
        "line": "55",
        "endLine": "55",
        "col": "11",
        "endColumn": "26",
        "title": "trim.allowance",
    }
    lines = first.message.split("\n")
    assert lines[0] == f"newly fails: {finding.message}"
    assert [one.partition(":")[0] for one in lines[1:]] == ["Limit", "Fix", "Fix"]


def test_a_cause_elsewhere_is_pointed_at(story: Story) -> None:
    """A tightened limit fails a format whose file did not change: reported at the limit, with the cause."""
    made = reviewed(story, "limit-tightened")
    found = shown(review_annotations(made))
    assert len(found) == len(made.checks) > 0
    for one, moved_ in zip(found, made.checks, strict=True):
        place = moved_.finding.place
        assert one.properties["file"].endswith("specs/limits.yaml")
        assert one.message.startswith(f"{place.file}:{place.span.line}:{place.span.column}: newly fails: ")
        assert "because of least allowed, trim.allowance 1.5 mm → 3.5 mm" in one.message


@pytest.mark.parametrize("severity", ["error", "warning", "note"])
def test_the_tenth_counts_the_rest(story: Story, severity: Severity) -> None:
    """Of eleven of a kind nine are shown, and the tenth says that two more are in the summary."""
    found = shown(review_annotations(moved(reviewed(story, "gauge-down"), 11, severity)))
    assert len(found) == MOST
    assert found[-1].message == f"2 more {severity}s in the summary"
    assert "file" not in found[-1].properties


def test_ten_are_all_shown(story: Story) -> None:
    """Of ten of a kind none is left out."""
    found = shown(review_annotations(moved(reviewed(story, "gauge-down"), 10)))
    assert len(found) == MOST
    assert all("file" in one.properties for one in found)


def test_changed_lines_come_first(story: Story) -> None:
    """With more findings than are shown, the one on a changed line is the first, though found last."""
    made = reviewed(story, "gauge-down")
    (gauge,) = [one for one in made.files[0].changes if one.key == "stock.gauge"]
    assert gauge.new_place is not None
    many = moved(made, 30)
    here: Finding = replace(many.checks[-1].finding, place=gauge.new_place, message="on the changed line")
    checks = (*many.checks, CheckMoved("newly fails", here, None, here.message))
    first = shown(review_annotations(replace(many, checks=checks)))[0]
    assert first.message.startswith("newly fails: on the changed line")
    assert first.properties["line"] == "16"


def test_what_is_new_comes_before_what_is_worse(story: Story) -> None:
    """Findings that only got worse give way to those that are new."""
    made = reviewed(story, "gauge-down")
    worse, new = moved(made, 10, state="worsened"), moved(made, 3)
    found = shown(review_annotations(replace(made, checks=(*worse.checks, *new.checks))))
    assert [one.message.partition(":")[0] for one in found[:4]] == ["newly fails"] * 3 + ["worsened"]


def test_columns_are_left_out_over_several_lines(story: Story) -> None:
    """A stretch of several lines has no columns, which the host reads within one line only."""
    made = reviewed(story, "gauge-down")
    first = made.checks[0].finding
    long = replace(first, place=replace(first.place, span=Span(3, 1, 5, 2)))
    (one,) = shown(review_annotations(replace(made, checks=(CheckMoved("newly fails", long, None, "x"),))))
    assert (one.properties["line"], one.properties["endLine"]) == ("3", "5")
    assert not {"col", "endColumn"} & set(one.properties)


@pytest.mark.parametrize(
    "text", ["a\n::error::b", "100 %0A", "a,line=1::b", "\r\n::stop-commands::x", "%25", ":,"]
)
def test_no_text_ends_a_command(text: str) -> None:
    """For any text, the command is one line, and the text is read back as it was."""
    line = command("warning", {"file": text, "title": text}, text)
    assert len(line.splitlines()) == 1
    (one,) = shown(line)
    assert one == ("warning", {"file": text, "title": text}, text)
