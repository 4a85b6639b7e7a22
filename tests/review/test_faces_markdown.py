"""A review as Markdown: one comment, in the order of reading, no longer than asked for."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from kb.output.review_markdown import (
    LEAST_BYTES,
    MOST_BYTES,
    MOST_MARGINS,
    hidden_mark,
    review_markdown,
)
from kb.review.model import CheckMoved, MarginMoved, Review
from tests.conftest import TODAY
from tests.review.story import Story
from tests.review.test_story import EXPECTED, reviewed


def comment(made: Review, *, most_bytes: int = MOST_BYTES) -> str:
    """The comment of the day of the tests."""
    return review_markdown(made, as_of=TODAY, most_bytes=most_bytes)


def many(made: Review, times: int) -> Review:
    """A review with its changes, findings and formats many times over."""
    (file,) = made.files
    return replace(
        made,
        files=(replace(file, changes=file.changes * times),),
        touched=tuple(replace(one, id=f"{one.id}-{i}") for i in range(times) for one in made.touched),
        checks=made.checks * times,
        not_judged=("the weather",) * times,
    )


def test_the_mark_comes_first_and_names_the_book(story: Story) -> None:
    """The first line is the hidden mark of the book, the verdict the first that shows."""
    lines = comment(reviewed(story, "gauge-down")).splitlines()
    assert re.fullmatch(r"<!-- sizebook review: \S+/specs -->", lines[0])
    assert lines[1].startswith("**sizebook review** – **Blocked&#58; 2 checks newly fail; ")
    base, head = reviewed(story, "gauge-down").base, reviewed(story, "gauge-down").head
    assert (
        lines[3] == f"Before: gauge-down&#94;1 &#40;{base.commit[:12]}&#41;, 2026-01-02 08&#58;00, start<br>"
    )
    assert lines[4] == f"Now: gauge-down &#40;{head.commit[:12]}&#41;, 2026-01-03 08&#58;00, gauge-down<br>"
    assert lines[5] == f"Checked as of {TODAY.isoformat()}"


def test_a_marker_names_the_comment(story: Story) -> None:
    """With a marker of its own a job finds its own comment."""
    text = review_markdown(reviewed(story, "comment"), as_of=TODAY, marker="heron")
    assert text.startswith("<!-- sizebook review: heron -->\n")


@pytest.mark.parametrize("name", ["-->", "a\nb", "a -- b", "<!--", "", "\u202e", "a--b", "a%2Db"])
def test_no_name_closes_the_mark(name: str) -> None:
    """Whatever a marker holds, the mark is one remark of one line."""
    assert re.fullmatch(r"<!-- sizebook review: [\w./%~-]+ -->", hidden_mark(name))
    assert "--" not in hidden_mark(name).removeprefix("<!--").removesuffix("-->")


def test_other_names_give_other_marks() -> None:
    """Two names never share a mark, not even when one is the other's writing."""
    names = ["a--b", "a%2D%2Db", "a-b", "a b", "a%20b", "A-b"]
    assert len({hidden_mark(name) for name in names}) == len(names)


def test_the_order_of_reading(story: Story) -> None:
    """What changed comes before what it does, margins before checks, use before whose word is needed."""
    titles = re.findall(r"(?:### |<summary>)([^<\n]+)", comment(reviewed(story, "gauge-down")))
    assert titles == [
        "What changed",
        "What it does",
        "More results that moved",
        "Margins",
        "Checks",
        "Where it is used",
        "Related values not changed",
        "Approval required from",
    ]


def test_the_gauge_is_told_with_its_bands(story: Story) -> None:
    """Gauge 4 microns down on a band of 8: the bars overlap by half, on one scale."""
    (row,) = [
        line for line in comment(reviewed(story, "gauge-down")).splitlines() if "| stock gauge<" in line
    ]
    was, now = re.findall("<code>([^<]+)</code>", row)
    assert len(was) == len(now) == 24
    assert (was.index("("), now.index(")")) == (8, 15)
    assert (was[-1], now[0]) == (")", "(")
    assert was.count("+") == now.count("+") == 1
    assert "−50.0 % of the band" in row
    assert "50 % of the old band still allowed" in row


@pytest.mark.parametrize("name", EXPECTED)
def test_tables_are_whole(story: Story, name: str) -> None:
    """Every row of a table has as many cells as its head; every fold that opens closes."""
    text = comment(reviewed(story, name))
    cells = 0
    for line in text.splitlines():
        if not line.startswith("|"):
            cells = 0
        elif cells:
            assert line.count("|") == cells, line
        else:
            cells = line.count("|")
    assert text.count("<details>") == text.count("</details>") <= 1
    assert len(text.encode()) <= MOST_BYTES


@pytest.mark.parametrize("name", EXPECTED)
def test_nothing_of_the_review_is_lost(story: Story, name: str) -> None:
    """With room enough each change, finding, margin, sheet and role has its line, and nothing is left out."""
    made = reviewed(story, name)
    text = comment(made, most_bytes=1_000_000)
    assert "left out" not in text
    rows = [
        line for line in text.splitlines() if line.startswith(("| ", "- ")) and not line.startswith("| ---")
    ]
    heads = len(re.findall(r"^\| --- ", text, flags=re.MULTILINE))
    told = [
        *(change for file in made.files for change in (*file.changes, *file.rewritten)),
        *(one for file in made.files for one in file.unmeaning[:1]),
        *(effect for one in made.touched for effect in one.effects),
        *(1 for one in made.touched if one.folded or not all(effect.main for effect in one.effects)),
        *(margin for one in made.touched for margin in one.margins[:MOST_MARGINS]),
        *(1 for one in made.touched if len(one.margins) > MOST_MARGINS),
        *(what_if for one in made.touched for what_if in one.what_ifs if not what_if.fails),
        *(1 for one in made.touched for count in (one.still, one.not_asked) if count),
        *made.checks,
        *made.former,
        *([1] if made.unchanged else []),
        *made.sheets,
        *made.lines,
        *(1 for one in made.touched for _ in (*one.sharing, *one.waivers)),
        *made.prompts,
        *made.approvals,
        *made.notes,
        *made.not_judged,
    ]
    assert len(rows) - heads == len(told)


@pytest.mark.parametrize("most", [LEAST_BYTES, 12_000, MOST_BYTES])
def test_a_long_review_is_cut_to_length_and_says_so(story: Story, most: int) -> None:
    """However much there is, the comment keeps its length, what newly fails, and the count of the rest."""
    made = many(reviewed(story, "gauge-down"), 60)
    full, text = comment(made, most_bytes=10_000_000), comment(made, most_bytes=most)
    assert len(text.encode()) <= most < len(full.encode())
    assert text.count("**newly fails**") >= 2
    (total,) = re.findall(
        r"^(\d+) lines left out for length; `sizebook review` lists all\.$", text, re.MULTILINE
    )
    here = [int(one) for one in re.findall(r"^(\d+) lines? left out here\.$", text, re.MULTILINE)]
    assert sum(here) == int(total) > 0


def of_many_formats(made: Review, count: int) -> Review:
    """A review in which the same moved in so many formats, each a little worse off than the one before."""
    (one,) = made.touched

    def worse(margin: MarginMoved, i: int) -> MarginMoved:
        return replace(margin, after=margin.after - i / 100)

    def later(check: CheckMoved, i: int) -> CheckMoved:
        assert check.finding.measure is not None
        measure = replace(check.finding.measure, margin=(check.finding.measure.margin or 0) - i / 100)
        finding = replace(check.finding, subject=f"format-{i}", measure=measure, message=f"of format-{i}")
        return replace(check, finding=finding, words=finding.message)

    return replace(
        made,
        touched=tuple(
            replace(one, id=f"format-{i}", margins=tuple(worse(margin, i) for margin in one.margins))
            for i in range(count)
        ),
        checks=tuple(later(check, i) for i in range(count) for check in made.checks),
    )


def test_no_part_crowds_out_another(story: Story) -> None:
    """Of a change that reaches sixty formats each part that is not folded keeps some of its lines."""
    made = many(reviewed(story, "gauge-down"), 60)
    for part in re.split(r"\n### ", comment(made))[1:]:
        assert re.search(r"^(\| (?!---|now|station|changeover)|- )", part, re.MULTILINE), part[:200]


def test_the_same_in_many_formats_is_told_once(story: Story) -> None:
    """Where a check newly fails in many formats the worst is told, with how many and which they are."""
    text = comment(of_many_formats(reviewed(story, "gauge-down"), 20))
    rows = [line for line in text.splitlines() if line.startswith("| **newly fails**")]
    assert len(rows) == 2
    assert all("of format-19" in row for row in rows)
    assert all("the worst of 20&#58; format-0, format-1, " in row and ", 14 more**" in row for row in rows)
    margins = [line for line in text.splitlines() if line.startswith("| **now fails**")]
    assert len(margins) == 2
    assert all("format-19 is the worst of 20&#58; format-0, " in row for row in margins)
    assert text.count("Of 20 formats") == 1


def test_the_same_in_three_formats_is_told_each(story: Story) -> None:
    """A few findings alike stand one by one."""
    text = comment(of_many_formats(reviewed(story, "gauge-down"), 3))
    assert text.count("| **newly fails**") == 6
    assert "the worst of" not in text


def test_what_decides_stays_longest(story: Story) -> None:
    """Cut short, the comment drops results that moved before it drops whose word is needed."""
    text = comment(many(reviewed(story, "gauge-down"), 8), most_bytes=24_000)
    assert "- body tooling&#58; document in b211-330" in text
    assert re.search(r"More results that moved</summary>\n\n\d+ lines left out here\.", text)
    assert "left out here" not in text.partition("### Checks")[2].partition("###")[0]


def test_a_changed_unit_is_loud(story: Story) -> None:
    """An equal value in another unit is one line that says so."""
    text = comment(reviewed(story, "unit-rewritten"))
    assert "- UNIT CHANGED, value equal&#58; web 0.90 mm → 900 um" in text
