"""Findings that say what the review knows: new ids, former values, conflicts, owners of stations."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from kb.book.finding import Finding
from kb.cli import main
from kb.history.change_types import RE_EXPRESSED
from kb.output.review import review_text
from kb.review.compare import review
from kb.review.model import Review
from tests.conftest import TODAY
from tests.review.story import R330, SLEEK, Story, git


def looked_at(story: Story) -> Review:
    """The work tree against the first commit."""
    return review("start", book=story.book, today=TODAY)


def finding(made: Review, name: str) -> Finding:
    """The one new finding of a name."""
    (one,) = [
        each.finding for each in made.checks if each.finding.name == name and each.state == "newly fails"
    ]
    return one


def test_a_renamed_format_is_known_by_its_new_id(small: Story) -> None:
    """A waiver that refers to the id before is given the id that the format has now."""
    git(small.folder, "mv", f"specs/{SLEEK}", "specs/formats/slender-355.yaml")
    small.put("formats/slender-355.yaml", "id: b204-355\n", "id: slender-355\n")
    made = looked_at(small)
    one = finding(made, "book.unknown-id")
    assert one.place.file.endswith("waivers.yaml")
    assert one.fixes == ("write slender-355: this change renames b204-355 to slender-355",)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("neck_radius: 5.0 mm", "neck_radius: 5.1 mm"),
        ("plug_diameter: 52.40 ±0.10 mm", "plug_diameter: 52.41 ±0.10 mm"),
        ("width: 2.08 ±0.10 mm", "width: 2.07 ±0.10 mm"),
    ],
)
def test_necking_approves_neck_and_flange(small: Story, old: str, new: str) -> None:
    """A key of the neck or the flange needs the approval of the role that owns their limits."""
    small.raised(R330, (old, new))
    reasons = {one.owner: one.because for one in looked_at(small).approvals}
    assert any(why in {"neck of b211-330", "flange of b211-330"} for why in reasons["necking"])


def test_necking_is_not_required_a_ring(small: Story) -> None:
    """A ring's bore is no matter of the necker."""
    small.raised(R330, ("bore: 66.030 ±0.001 mm", "bore: 66.031 ±0.001 mm"))
    reasons = {one.owner: one.because for one in looked_at(small).approvals}
    assert "ironing of b211-330" in reasons["body tooling"]
    assert "necking" not in reasons


def test_ten_times_the_value_before_is_said(small: Story) -> None:
    """A misplaced decimal point is reported by the value before, and the file is not called unreadable."""
    small.put(R330, "bore: 66.030 ±0.001 mm", "bore: 660.30 ±0.001 mm")
    made = looked_at(small)
    one = finding(made, "units.slip")
    assert one.message.endswith("; ten times the former 66.030 ±0.001 mm")
    assert one.fixes[0] == "look for a misplaced decimal point: before, it was 66.030 ±0.001 mm"
    (file,) = made.files
    assert file.states == ("invalid",)
    assert "unreadable" not in review_text(made)


def test_another_value_out_of_band_has_the_one_before(small: Story) -> None:
    """A value that is no power of ten off is reported with the value before alone."""
    small.put(R330, "bore: 66.030 ±0.001 mm", "bore: 999.0 ±0.001 mm")
    one = finding(looked_at(small), "units.band")
    assert one.message.endswith("; before: 66.030 ±0.001 mm")


def test_a_merge_conflict_is_named(small: Story) -> None:
    """Marks of an unfinished merge are named in check and in review, at the first of them."""
    line = "  gauge: 0.262 ±0.004 mm\n"
    small.put(R330, line, f"<<<<<<< HEAD\n{line}=======\n  gauge: 0.258 ±0.004 mm\n>>>>>>> thinner\n")
    one = finding(looked_at(small), "reading.conflict")
    assert one.message == "an unresolved merge conflict begins here"
    assert one.fixes == ("keep one version, and delete the lines <<<<<<<, ======= and >>>>>>>",)
    done = CliRunner().invoke(main, ["check", str(small.book)])
    assert done.exit_code == 1
    assert f":{one.place.span.line}:1: error: an unresolved merge conflict begins here" in done.output
    assert "key: value" not in done.output


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("bore: 66.030 ±0.001 mm", "bore: 2.59961 ±0.00004 in"),
        ("die_bore: 88.59 ±0.01 mm", "die_bore: 3.4878 ±0.0004 in"),
        ("height: 117.21 ±0.10 mm", "height: 4.6146 ±0.0039 in"),
    ],
)
def test_inches_within_rounding_are_no_tool_change(small: Story, old: str, new: str) -> None:
    """Inches that round to the millimetres before are re-expressed, without revision or approval."""
    small.put(R330, old, new)
    made = looked_at(small)
    (change,) = made.files[0].changes
    assert change.kinds == ("re-expressed",)
    assert RE_EXPRESSED in review_text(made)
    assert (made.outcome, made.approvals, made.prompts) == ("passes", (), ())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("bore: 66.030 ±0.001 mm", "bore: 2.600 ±0.00004 in"),
        ("bore: 66.030 ±0.001 mm", "bore: 2.5997 ±0.00004 in"),
        ("bore: 66.030 ±0.001 mm", "bore: 2.59961 ±0.00008 in"),
    ],
)
def test_inches_beyond_rounding_are_a_tool_change(small: Story, old: str, new: str) -> None:
    """Another target, or another tolerance, is a change of the tool in every unit."""
    small.put(R330, old, new)
    (change,) = looked_at(small).files[0].changes
    assert "tool" in change.kinds
