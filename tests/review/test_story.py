"""Each commit of the story has the verdict, the kind and the findings that it should have."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import pytest

from kb.review.compare import review
from kb.review.model import Review
from tests.conftest import TODAY
from tests.review.story import Story, git


class Expected(NamedTuple):
    """What a review of one commit should say.

    `files` is what became of each file, `kinds` the sorts of change, `moved` the findings by state.
    """

    blocked: bool
    files: dict[str, tuple[str, ...]]
    kinds: set[str]
    moved: set[tuple[str, str]]

    @property
    def outcome(self) -> str:
        """What the review decides."""
        approve = any(state == "needs approval" for state, _ in self.moved)
        return "blocked" if self.blocked else "needs approval" if approve else "passes"


R330, R355, SLEEK, SLIM = "b211-330", "b211-355", "b204-355", "b202-200"
CHANGED, SAME = ("changed",), ("no change in meaning",)
PAPERS: set[str] = {"document", "editorial"}
SIZE = PAPERS | {"target moved"}

EXPECTED: dict[str, Expected] = {
    "gauge-down": Expected(
        True,
        {R330: CHANGED},
        SIZE | {"material"},
        {("newly fails", "dome.reversal"), ("newly fails", "trim.allowance")},
    ),
    "gauge-back": Expected(
        False, {R330: CHANGED}, SIZE | {"material"}, {("fixed", "dome.reversal"), ("fixed", "trim.allowance")}
    ),
    "ring-regrind": Expected(False, {R330: CHANGED}, SIZE | {"tool"}, set()),
    "tolerance-tightened": Expected(False, {R330: CHANGED}, PAPERS | {"tightened", "tool"}, set()),
    "tolerance-widened": Expected(False, {R330: CHANGED}, PAPERS | {"widened", "tool"}, set()),
    "end-not-seam": Expected(
        True,
        {R330: CHANGED, "dunlin-200": ("added", "released")},
        PAPERS | {"interface"},
        {("newly fails", "end.chuck-fit"), ("newly fails", "flange.curl-clearance")},
    ),
    "unit-rewritten": Expected(False, {R330: SAME}, set(), set()),
    "comment": Expected(False, {R330: SAME}, set(), set()),
    "key-order": Expected(False, {R330: SAME}, set(), set()),
    "quotes": Expected(False, {R330: SAME}, set(), set()),
    "decimals": Expected(False, {R330: SAME}, set(), set()),
    "limit-tightened": Expected(
        True, {"limits": CHANGED}, {"tightened", "limit"}, {("newly fails", "trim.allowance")}
    ),
    "waiver-added": Expected(
        False,
        {"waivers": CHANGED},
        {"waiver"},
        {("newly waived", "trim.allowance"), ("needs approval", "waiver.loosened")},
    ),
    "waiver-reworded": Expected(False, {"waivers": CHANGED}, {"waiver"}, set()),
    "waiver-lapsed": Expected(
        True,
        {"waivers": CHANGED},
        {"waiver"},
        {("newly fails", "trim.allowance"), ("newly fails", "waiver.lapsed")},
    ),
    "limit-back": Expected(
        False,
        {"limits": CHANGED, "waivers": CHANGED},
        {"widened", "limit", "waiver"},
        {
            ("fixed", "trim.allowance"),
            ("fixed", "waiver.lapsed"),
            ("needs approval", "limit.loosened"),
            ("needs approval", "limit.source-unchanged"),
        },
    ),
    "renamed": Expected(False, {"b211-355-tall": ("renamed",)}, {"document", "editorial"}, set()),
    "moved": Expected(True, {R330: ("moved",)}, set(), {("newly fails", "book.file-name")}),
    "moved-back": Expected(False, {R330: ("readable again",)}, set(), {("fixed", "book.file-name")}),
    "added": Expected(False, {SLIM: ("added", "released")}, set(), {("fixed", "book.unused")}),
    "withdrawn": Expected(False, {"b211-355-tall": ("withdrawn",)}, {"document"}, set()),
    "deleted-after": Expected(False, {"b211-355-tall": ("deleted",)}, set(), set()),
    "deleted-at-once": Expected(
        True,
        {SLIM: ("deleted",)},
        set(),
        {("newly fails", "revision.deleted"), ("newly noted", "book.unused")},
    ),
    "metal-swapped": Expected(
        False,
        {R330: CHANGED, "reed-3104": ("added",)},
        {"document", "editorial", "material"},
        set(),
    ),
    "metal-back": Expected(
        False, {R330: CHANGED}, {"document", "editorial", "material"}, {("newly noted", "book.unused")}
    ),
    "line-speed": Expected(False, {"heron": CHANGED}, {"target moved", "line"}, set()),
    "floor-words": Expected(False, {"floor": CHANGED}, {"floor"}, set()),
    "revision-forgotten": Expected(
        True,
        {R330: CHANGED},
        {"target moved", "tool"},
        {("newly fails", "revision.not-raised"), ("newly fails", "revision.no-reason")},
    ),
    "effective-back": Expected(
        True, {R330: CHANGED}, {"document", "editorial"}, {("newly fails", "revision.effective-back")}
    ),
    "reverted": Expected(
        True, {R330: CHANGED}, {"document", "editorial"}, {("newly fails", "revision.falls")}
    ),
    "withdrawn-with-waiver": Expected(
        True, {SLEEK: ("withdrawn",)}, {"document"}, {("newly fails", "revision.withdrawn-used")}
    ),
    "trial-again": Expected(False, {SLEEK: CHANGED}, {"document"}, {("fixed", "revision.withdrawn-used")}),
    "on-a-branch": Expected(False, {R330: CHANGED}, SIZE | {"tool"}, set()),
    "meanwhile": Expected(False, {"saltmarsh": CHANGED}, {"editorial"}, set()),
    "merged": Expected(False, {R330: CHANGED}, SIZE | {"tool"}, set()),
    "broken": Expected(True, {R330: ("unreadable",)}, set(), {("newly fails", "reading.tab")}),
    "repaired": Expected(False, {R330: ("readable again",)}, set(), {("fixed", "reading.tab")}),
    "end-deleted": Expected(
        True,
        {"curlew-202": ("deleted",)},
        set(),
        {
            ("newly fails", "revision.deleted"),
            ("newly fails", "book.unknown-id"),
            ("no longer checked", "redraw.draw-ratio"),
        },
    ),
    "end-restored": Expected(
        False,
        {"curlew-202": ("added", "released")},
        set(),
        {("fixed", "book.unknown-id"), ("newly waived", "redraw.draw-ratio")},  # it was not checked before
    ),
}


@cache
def reviewed(story: Story, name: str, *, whole: bool = False) -> Review:
    """The review of one commit against the one before it."""
    return review(f"{name}^1", name, book=story.book, today=TODAY, whole=whole)


@pytest.mark.parametrize("name", EXPECTED)
def test_a_commit_is_reported_for_what_it_is(story: Story, name: str) -> None:
    """Verdict, files, kinds of change and moved findings of a commit are those it was made for."""
    made, wanted = reviewed(story, name), EXPECTED[name]
    moved = {(one.state, one.finding.name) for one in made.checks}
    assert {one.id: one.states for one in made.files} == wanted.files
    assert set(made.kinds) == wanted.kinds
    assert moved == wanted.moved
    assert made.blocked is wanted.blocked
    assert made.outcome == wanted.outcome
    fails = len([one for one in made.checks if one.state == "newly fails"])
    if wanted.blocked:
        assert made.verdict.startswith(f"Blocked: {fails} check{'s' * (fails > 1)} newly fail")
    elif SAME in wanted.files.values():
        assert made.verdict == "No change in meaning: no check moved; no line and no sheet."
    else:
        head = "Needs approval: " if wanted.outcome == "needs approval" else "Passes: "
        assert made.verdict.startswith(head)


def test_the_story_is_long_enough() -> None:
    """The story has at least twenty commits, and each verdict occurs in it."""
    assert len(EXPECTED) >= 20
    assert {one.outcome for one in EXPECTED.values()} == {"blocked", "needs approval", "passes"}


@pytest.mark.parametrize("name", EXPECTED)
def test_judging_all_says_the_same(story: Story, name: str) -> None:
    """Reading and judging everything finds nothing that the reach of the change leaves out."""
    assert reviewed(story, name, whole=True) == reviewed(story, name)


def test_a_unit_in_another_writing_is_said_aloud(story: Story) -> None:
    """An equal value in another unit is no change in meaning, but it is reported as a change of unit."""
    (file,) = reviewed(story, "unit-rewritten").files
    (change,) = file.rewritten
    assert (change.words, change.old, change.new) == ("web", "0.90 mm", "900 um")
    assert file.changes == ()


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("unit-rewritten", "units"),
        ("comment", "comments"),
        ("key-order", "order of keys"),
        ("quotes", "quotes"),
        ("decimals", "form of numbers"),
    ],
)
def test_what_means_nothing_is_named(story: Story, name: str, what: str) -> None:
    """A change without meaning is one line that says what it is."""
    (file,) = reviewed(story, name).files
    assert file.unmeaning == (what,)
    assert reviewed(story, name).verdict.startswith("No change in meaning")


def test_a_moved_target_is_reported_in_its_band(story: Story) -> None:
    """Gauge 4 microns down on a band of 8: minus half the band, and half of the old band still allowed."""
    (file,) = reviewed(story, "gauge-down").files
    (change,) = [one for one in file.changes if one.key == "stock.gauge"]
    assert (change.station, change.words) == ("Body stock", "stock gauge")
    assert change.difference == "−0.008 mm"
    assert change.share == pytest.approx(-1.0)
    assert change.overlap == pytest.approx(0.0)
    assert change.new_place is not None
    assert change.new_place.file.endswith("specs/formats/b211-330.yaml")
    line = git(story.folder, "show", "gauge-down:specs/formats/b211-330.yaml").splitlines()[
        change.new_place.span.line - 1
    ]
    assert line[change.new_place.span.column - 1 :].startswith("0.254 ±0.004 mm")


@pytest.mark.parametrize(
    ("name", "words"),
    [("tolerance-tightened", "band 0.400 → 0.200 mm"), ("tolerance-widened", "band 0.200 → 0.600 mm")],
)
def test_a_tolerance_is_reported_by_its_width(story: Story, name: str, words: str) -> None:
    """A tolerance that changes about the same target has no difference but another band."""
    (change,) = [one for one in reviewed(story, name).files[0].changes if one.key == "punch.step_height"]
    assert (change.difference, change.share, change.band) == ("", None, words)


def test_effects_follow_the_metal(story: Story) -> None:
    """A lower gauge at the same blank shows as less metal and less trim, in the readers' units."""
    (one,) = reviewed(story, "gauge-down").touched
    found = {effect.key: effect for effect in one.effects}
    assert found["blank.mass"].share == pytest.approx(-0.008 / 0.262, rel=1e-3)
    assert found["blank.coil_mass"].unit == "kg"
    assert float(found["trimmed.allowance"].new) < float(found["trimmed.allowance"].old)
    assert all(effect.old != effect.new for effect in one.effects)
    assert one.folded > 0


def test_spent_margins_come_with_ways_back(story: Story) -> None:
    """What newly fails comes first among the margins, with its owner and with what would fix it."""
    (one,) = reviewed(story, "gauge-down").touched
    failing = [margin for margin in one.margins if margin.state == "now fails"]
    assert {margin.check for margin in failing} == {"trim.allowance", "dome.reversal"}
    assert one.margins[: len(failing)] == tuple(failing)
    assert all(margin.owner and margin.source for margin in failing)
    ways = {what_if.check: what_if.ways for what_if in one.what_ifs}
    assert any(way.startswith("set blank.diameter") for way in ways["trim.allowance"])


def test_the_seam_is_asked_after_when_the_end_moves(story: Story) -> None:
    """A new end without a new seam is asked about, and the word of the end's owner is needed."""
    made = reviewed(story, "end-not-seam")
    (asked,) = [one for one in made.prompts if one.moved == ("end",)]
    assert {"seam length", "seam thickness", "body hook", "plug diameter"} <= set(asked.still)
    assert asked.source == "common practice, no source"
    words = {one.owner: one.because for one in made.approvals}
    assert "interface in b211-330" in words["quality"]
    assert "limit flange.curl-clearance" in words["necking"]


def test_sheets_are_reported_by_their_codes(story: Story) -> None:
    """A change of size gives the sheet another code; one that the sheet does not print leaves it."""
    (sheet,) = reviewed(story, "gauge-down").sheets
    assert (sheet.format, sheet.line) == (R330, "heron")
    assert sheet.old != sheet.new
    assert all(len(code) == len("CDF-HJ") for code in (sheet.old, sheet.new))
    assert reviewed(story, "comment").sheets == ()
    assert reviewed(story, "gauge-back").sheets[0].old == sheet.new


def test_a_line_shows_its_changeovers(story: Story) -> None:
    """Of two formats on a line one changed: both changeovers between them are touched."""
    (line,) = reviewed(story, "gauge-down").lines
    assert (line.id, line.formats, line.changeovers) == ("heron", (R330,), 2)


def test_a_renamed_format_keeps_its_history(story: Story) -> None:
    """A format under another id is the same format; nothing comes or goes with it."""
    made = reviewed(story, "renamed")
    (file,) = made.files
    assert (file.id, file.was) == ("b211-355-tall", R355)
    assert made.touched[0].was == R355


def test_a_faulty_file_leaves_the_rest_reviewed(story: Story) -> None:
    """A format that cannot be read any more is not checked, which is said, and its findings are not fixed."""
    made = reviewed(story, "broken")
    assert any("b211-330" in one for one in made.not_judged)
    assert all(one.state != "fixed" for one in made.checks)
    (sheet,) = made.sheets
    assert (sheet.new, sheet.why) == ("", "the format is unreadable")


def test_severity_decides_what_blocks(story: Story) -> None:
    """A note that is new blocks when notes count, and not when errors are."""
    strict = review("metal-back^1", "metal-back", book=story.book, today=TODAY, severity="note")
    assert strict.blocked
    assert not reviewed(story, "metal-back").blocked


def test_the_whole_story_in_one_step(story: Story) -> None:
    """From the first commit to the last: what was done and undone on the way is not reported."""
    made = review("start", "end-restored", book=story.book, today=TODAY)
    (file,) = [one for one in made.files if one.id == R330]
    moved = {one.key for one in file.changes} - {"revision", "why"}
    assert moved == {"ironing.rings[2].bore", "punch.step_height", "dome.depth", "ironing.land"}
    assert [one.id for one in made.files if one.states == ("deleted",)] == [R355]


def test_the_work_tree_is_the_last_commit(story: Story) -> None:
    """Without HEAD the files on disk are compared; unchanged ones say that nothing changed."""
    made = review("end-restored", book=story.book, today=TODAY)
    assert (made.verdict, made.files, made.checks) == ("Nothing changed.", (), ())
    assert made.head.words == "work tree"
