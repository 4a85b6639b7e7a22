"""A review as Markdown: one comment, in the order of reading, no longer than the limit."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from kb.checks.words import margin_words
from kb.output.markdown import escaped
from kb.output.review import LEAST_BYTES, MOST_BYTES, MOST_OPEN, hidden_mark, review_markdown
from kb.review.model import CheckMoved, Effect, MarginMoved, PairMoved, Review
from kb.review.words import effects, sections
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
    """For any marker, the mark is one remark of one line."""
    assert re.fullmatch(r"<!-- sizebook review: [\w./%~-]+ -->", hidden_mark(name))
    assert "--" not in hidden_mark(name).removeprefix("<!--").removesuffix("-->")


def test_other_names_give_other_marks() -> None:
    """Two names never share a mark, not even when one is the other's writing."""
    names = ["a--b", "a%2D%2Db", "a-b", "a b", "a%20b", "A-b"]
    assert len({hidden_mark(name) for name in names}) == len(names)


def test_the_order_of_reading(story: Story) -> None:
    """What changed comes before what it does, margins before checks, use before approvals; all is folded."""
    text = comment(reviewed(story, "gauge-down"))
    assert re.findall(r"<summary>([^<\n]+)", text) == [
        "What changed",
        "What it does",
        "More results that moved",
        "Margins",
        "Checks",
        "Where it is used",
        "Related values not changed",
        "Approval required from",
        "What is listed",
    ]
    assert "\n#" not in text


@pytest.mark.parametrize("name", EXPECTED)
def test_the_first_lines_decide(story: Story, name: str) -> None:
    """At most 25 lines are open: the verdict, each failing check with one fix, the approvals, the effects."""
    made = reviewed(story, name)
    first, _, _ = comment(made).partition("<details>")
    lines = first.splitlines()
    assert len(lines) <= MOST_OPEN == 25
    assert escaped(made.verdict) in lines[1]
    failing = [one for one in made.checks if one.state in {"newly fails", "needs approval"}]
    for one in failing:
        found = [each for each in lines if f"&#91;{one.finding.name}&#93;" in each]
        assert found
        assert all(each.startswith(f"- **{one.state}** ") and each.count("Fix&#58;") == 1 for each in found)
    if made.approvals:
        (line,) = [each for each in lines if each.startswith("**Approval required from** ")]
        assert all(escaped(one.owner) in line for one in made.approvals)
    assert len(effects(made)) <= 5
    assert all(f"- {escaped(one)}" in lines for one in effects(made))


def test_many_findings_keep_the_first_lines_short(story: Story) -> None:
    """Of sixty formats that fail, the first lines have the worst of each check, and no more than 25 lines."""
    first, _, _ = comment(of_many_formats(reviewed(story, "gauge-down"), 60)).partition("<details>")
    assert len(first.splitlines()) <= MOST_OPEN
    assert "the worst of 60&#58;" in first


def test_effects_are_those_with_consequences(story: Story) -> None:
    """A lower gauge: coil a year of its line, then the weakest margin; no more than five in all."""
    made = reviewed(story, "gauge-down")
    coil, margin, *_ = effects(made)
    (line,) = made.lines
    (mass,) = [one for one in made.touched[0].effects if one.key == "blank.coil_mass"]
    tonnes = mass.change / 1e6 * line.speed * 60 * 24 * 365  # kg per 1000 cans, cans a minute
    found = re.search(r"; −([\d.]+) t in a year of line heron at 2000 cans/min, no stops$", coil)
    assert found is not None
    assert float(found[1]) == pytest.approx(-tonnes, rel=0.005)
    assert margin.startswith("b211-330: margin of trim allowance at the ear valleys ")


def test_the_longest_changeover_is_an_effect(story: Story) -> None:
    """Minutes come third: a changeover that takes longer is an effect, one that takes less is none."""
    made = reviewed(story, "gauge-down")
    (line,) = made.lines
    longer = PairMoved("a", "b", 60.0, 95.0, "label", "metal", True, True, "")
    shorter = replace(longer, old="c", before=95.0, after=60.0)
    made = replace(made, lines=(replace(line, moved=(longer, shorter)),))
    assert effects(made)[2] == "changeover a → b: label 60 min → metal 95 min"
    text = comment(made)
    assert "| a → b | label 60 min | metal 95 min |" in text
    assert "c → b" not in text


@pytest.mark.parametrize("name", EXPECTED)
def test_what_got_better_is_not_listed(story: Story, name: str) -> None:
    """Findings that are fixed or eased, wider margins and findings as before have no line."""
    made = reviewed(story, name)
    text = comment(made)
    assert not re.search(r"\| (\*\*)?(fixed|eased|now passes)\b|as before", text)
    wider = [one for each in made.touched for one in each.margins if one.before and one.after > one.before]
    for one in wider:
        assert f"{escaped(one.old)} → {escaped(one.new)} | {margin_words(one.before or 0)} →" not in text


def test_a_change_back_is_no_news(story: Story) -> None:
    """A revert that fixes two checks passes, and its comment lists no check."""
    text = comment(reviewed(story, "gauge-back"))
    assert "**Passes&#58; no check is worse; " in text
    assert "<summary>Checks</summary>" not in text
    assert "Fails, or is loosened" not in text


def test_the_gauge_is_reported_without_a_drawing(story: Story) -> None:
    """Gauge 4 microns down on a band of 8 is reported in numbers; no band is drawn of signs in a table."""
    text = comment(reviewed(story, "gauge-down"))
    (row,) = [line for line in text.splitlines() if line.startswith("| Body stock&#58; stock gauge |")]
    assert "−100 % of the tolerance band; 0 % of the old band still allowed" in row
    assert not re.search(r"<code>|--[-+]|··", re.sub(r"\| --- |<!--|-->", "", text))


@pytest.mark.parametrize("name", EXPECTED)
def test_tables_are_whole_and_narrow(story: Story, name: str) -> None:
    """A table has at most four columns, every row as many cells as its head; every fold that opens closes."""
    text = comment(reviewed(story, name))
    cells = 0
    for line in text.splitlines():
        if not line.startswith("|"):
            cells = 0
        elif cells:
            assert line.count("|") == cells, line
        else:
            cells = line.count("|")
            assert cells - 1 <= 4, line
    assert text.count("<details>") == text.count("</details>")
    assert len(text.encode()) <= MOST_BYTES


def test_stages_are_one_row(story: Story) -> None:
    """A result of the twelve neck stages is one row with the least and the largest change."""
    made = reviewed(story, "end-not-seam")
    (one,) = [one for one in made.touched if one.id == "b211-330"]
    stages = [
        Effect("Neck, stage " + str(i), "diameter", f"necked[{i}].diameter", "60.0", "59.5", "mm",
               -0.3 - 0.025 * i, -0.005, None, True) for i in range(13)
    ]  # fmt: skip
    text = comment(replace(made, touched=(replace(one, effects=tuple(stages)),)))
    (row,) = [line for line in text.splitlines() if line.startswith("| diameter |")]
    assert "b211-330, 13 neck stages" in row
    assert "| −0.300 to −0.600 mm " in row


def test_the_same_result_of_many_formats_is_one_row(story: Story) -> None:
    """What moves alike in twenty formats is one row with their number."""
    text = comment(of_many_formats(reviewed(story, "gauge-down"), 20))
    (row,) = [line for line in text.splitlines() if line.startswith("| coil per 1000 cans |")]
    assert "| 20 formats, Blank |" in row


@pytest.mark.parametrize("name", EXPECTED)
def test_nothing_that_needs_action_is_lost(story: Story, name: str) -> None:
    """With room enough each change, finding, sheet and role has its line, and nothing is left out."""
    made = reviewed(story, name)
    text = comment(made, most_bytes=1_000_000)
    assert "left out" not in text
    rows = [line for line in text.partition("<details>")[2].splitlines() if line.startswith(("| ", "- "))]
    heads = len(re.findall(r"^\| --- ", text, flags=re.MULTILINE))
    parts = [one for one in sections(made) if one.title not in {"What it does", "More results that moved"}]
    listed = [
        *(change for file in made.files for change in (*file.changes, *file.rewritten)),
        *(one for file in made.files for one in file.unmeaning[:1]),
        *([1] if made.kinds else []),
        *(one for one in made.checks if one.state not in {"fixed", "eased"}),
        *made.former,
        *made.sheets,
        *made.lines,
        *(1 for one in made.touched for _ in (*one.sharing, *one.waivers)),
        *made.prompts,
        *made.approvals,
        *made.not_judged,
    ]
    margins = [row for one in parts if one.title in {"Margins", "Changeovers"} for row in one.rows]
    results = [row for one in sections(made) if one not in parts for row in one.rows]
    assert len(rows) - 2 * heads == len(listed) + len(margins) + len(results)


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
    """Of a change that reaches sixty formats each part keeps some of its lines."""
    made = many(reviewed(story, "gauge-down"), 60)
    for part in comment(made).split("<details>")[1:-1]:
        assert re.search(r"^(\| (?!---|now|value|result|changeover)|- )", part, re.MULTILINE), part[:200]


def test_the_same_in_many_formats_is_reported_once(story: Story) -> None:
    """Where a check newly fails in many formats the worst is reported, with how many and which they are."""
    text = comment(of_many_formats(reviewed(story, "gauge-down"), 20))
    rows = [line for line in text.splitlines() if line.startswith("| **newly fails**")]
    assert len(rows) == 2
    assert all("of format-19" in row for row in rows)
    assert all("the worst of 20&#58; format-0, format-1, " in row and ", 14 more**" in row for row in rows)
    margins = [line for line in text.splitlines() if line.startswith("| **now fails**")]
    assert len(margins) == 2
    assert all("format-19 is the worst of 20&#58; format-0, " in row for row in margins)


def test_the_same_in_three_formats_is_reported_each(story: Story) -> None:
    """A few findings alike stand one by one."""
    text = comment(of_many_formats(reviewed(story, "gauge-down"), 3))
    assert text.count("| **newly fails**") == 6
    assert "the worst of" not in text


def test_what_decides_stays_longest(story: Story) -> None:
    """Cut short, the comment drops values that changed before it drops checks and approvals."""
    text = comment(many(reviewed(story, "gauge-down"), 60), most_bytes=16_000)
    assert "- body tooling&#58; document in b211-330" in text
    assert "left out here" in text.partition("<summary>What changed<")[2].partition("</details>")[0]
    assert "left out here" not in text.partition("<summary>Checks<")[2].partition("</details>")[0]


def test_a_changed_unit_is_loud(story: Story) -> None:
    """An equal value in another unit is one line that says so."""
    text = comment(reviewed(story, "unit-rewritten"))
    assert "- UNIT CHANGED, value equal&#58; web 0.90 mm → 900 um" in text
