"""Every output format of a review with hostile texts only."""

from __future__ import annotations

import json
import re
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, get_type_hints
from xml.etree import ElementTree

import pytest
from jsonschema import Draft4Validator, Draft202012Validator

from kb.folders import shipped
from kb.output.ci import review_annotations, review_junit, review_sarif
from kb.output.json_reports import review_json
from kb.output.review import review_markdown
from kb.review.model import NEW, Review
from tests.conftest import TODAY
from tests.review.story import Story
from tests.review.test_story import reviewed

HARM = (
    "</td><script>alert(1)</script>|[x](http://a.b)\n::error::all @all --> <!-- sizebook review: specs -->"
    " ]]> & \"'\u202e\x00\x1b[31m `c` ## $x$ %0A::warning::y, www.a.b \udcff {{ 7*7 }} ${{ github.token }}"
)


def harmed(value: Any) -> Any:
    """A record with harm in place of each text that is free; check names and fixed words stay."""
    if isinstance(value, tuple):
        return tuple(harmed(one) for one in value)
    if not is_dataclass(value) or isinstance(value, type):
        return value
    hints = get_type_hints(type(value))
    changed = {}
    for field in fields(value):
        old = getattr(value, field.name)
        if hints[field.name] is str and field.name not in {"name", "verdict", "waiver"}:
            changed[field.name] = HARM
        elif hints[field.name] == tuple[str, ...]:
            changed[field.name] = (HARM, HARM)
        else:
            changed[field.name] = harmed(old)
    return replace(value, **changed)


@pytest.fixture(
    scope="module", params=["gauge-down", "unit-rewritten", "waiver-added", "end-not-seam", "broken"]
)
def hostile(request: pytest.FixtureRequest, story: Story) -> Review:
    """Reviews of the story with harm in all their texts."""
    made: Review = harmed(reviewed(story, request.param))
    return made


def test_markdown_shows_it_and_does_not_obey(hostile: Review) -> None:
    """No tag, link, mention, remark or table bar of a text does anything in the comment."""
    text = review_markdown(hostile, as_of=TODAY, most_bytes=1_000_000)
    mark, _, rest = text.partition("\n")
    assert re.fullmatch(r"<!-- sizebook review: [^\s<>]+ -->", mark)
    assert set(re.findall(r"<[^>]*>?", rest)) <= {
        *("<br>", "<code>", "</code>", "<details>", "</details>", "<summary>", "</summary>")
    }
    assert not re.search(r"\]\(|@[a-z]|www\.|://|\x1b|\x00|\u202e", rest)
    assert rest.replace("`sizebook review`", "").count("`") == 0
    heads = {line.count("|") for line in rest.splitlines() if line.startswith("| ---")}
    assert {line.count("|") for line in rest.splitlines() if "|" in line} - {0} <= heads | {6}
    text.encode()


def test_json_fits_its_schema(hostile: Review) -> None:
    """The record is valid and can be written in UTF-8; no text in it has a second line."""
    text = review_json(hostile, as_of=TODAY)
    text.encode()
    schema = json.loads((shipped("schema") / "output/review-report.json").read_text(encoding="utf-8"))
    assert [one.message for one in Draft202012Validator(schema).iter_errors(json.loads(text))] == []
    assert "\\n" not in text.replace("\\\\", "")


def test_sarif_fits_its_schema(hostile: Review) -> None:
    """The log is valid, its addresses are addresses, and bracketed words are no links."""
    log = json.loads(review_sarif(hostile))
    schema = json.loads(
        (Path(__file__).parents[1] / "output/sarif-schema-2.1.0.json").read_text(encoding="utf-8")
    )
    assert [one.message for one in Draft4Validator(schema).iter_errors(log)] == []
    for one in log["runs"][0]["results"]:
        uri = one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert re.fullmatch(r"[A-Za-z0-9/._~%-]+", uri)
        assert "](" not in one["message"]["text"]
        assert all("](" not in each["justification"] for each in one.get("suppressions", ()))
    (invocation,) = log["runs"][0]["invocations"]
    assert all("](" not in one["message"]["text"] for one in invocation["toolExecutionNotifications"])


def test_annotations_are_one_line_each(hostile: Review) -> None:
    """There are as many lines as findings and a verdict; no text makes a command of its own."""
    text = review_annotations(hostile)
    listed = [one for one in hostile.checks if one.state in {*NEW, "worsened", "newly waived"}]
    lines = text.splitlines()
    assert len(lines) == len(listed) + 1
    for line in lines[:-1]:
        assert re.match(
            r"::(error|warning|notice) file=[^:,]*,line=\d+,endLine=\d+[^:]*,title=[a-z.-]+::", line
        )
        assert line.isprintable()
    assert "::" not in lines[-1]


def test_junit_is_well_formed(hostile: Review) -> None:
    """The report can be read, and a message in it is the text as printed."""
    top = ElementTree.fromstring(review_junit(hostile))
    failures = [one for one in top.iter("failure") if one.get("type") != "needs approval"]
    messages = [one.get("message", "") for one in failures]
    assert all("<script>alert(1)</script>" in one for one in messages)
    assert bool(messages) is (hostile.outcome != "passes")
