"""What a size is checked against cannot move without approval: each such change has a verdict of its own."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from kb.cli import main
from kb.output.ci import review_sarif
from kb.output.json_reports import review_json
from kb.output.review import review_markdown, review_text
from kb.review.compare import review
from kb.review.model import EXIT_CODES, Review
from tests.conftest import TODAY
from tests.review.story import R330, Story

LIMITS, METAL = "limits.yaml", "materials/marsh-3104.yaml"
GAUGE = ("gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm")
BLANK = ("diameter: 137.80 ±0.03 mm", "diameter: 139.20 ±0.03 mm")
"""With the thinner gauge the trim needs a larger blank, so that no other check fails."""

SETTING = "  dome-calibration:\n    value: 1.031\n"
TRIAL = f'{SETTING}    source: "8 trials of the plant, 2026-03-18 to 2026-09-15; '


def limit(name: str, end: str, old: str, new: str) -> tuple[str, str, str]:
    """An edit of one limit."""
    return LIMITS, f"  {name}:\n    {end}: {old}\n", f"  {name}:\n    {end}: {new}\n"


def looked_at(story: Story, **asked: bool) -> Review:
    """The work tree against the first commit."""
    return review("start", book=story.book, today=TODAY, **asked)


def edited(story: Story, *edits: tuple[str, str, str]) -> Review:
    """The review of a book with texts put in place of others; a format under its next revision."""
    for file, old, new in edits:
        story.put(file, old, new)
    if any(file == R330 for file, _, _ in edits):
        story.raised(R330)
    return looked_at(story)


def found(made: Review) -> dict[str, str]:
    """The findings that need approval or block, with their words."""
    new = {"needs approval", "newly fails"}
    return {one.finding.name: one.words for one in made.checks if one.state in new}


def place(made: Review, name: str) -> str:
    """File and key of a finding."""
    (one,) = [each.finding.place for each in made.checks if each.finding.name == name]
    return f"{one.file.rpartition('specs/')[2]} {one.key}"


# --- what must not pass -----------------------------------------------------------------------


def test_a_looser_limit_that_guards_pressure_is_blocked(small: Story) -> None:
    """The dome's least from 1.00 to 0.80: an error at the limit, with both numbers and what to do."""
    made = edited(small, limit("dome.reversal", "least", "1.00", "0.80"))
    assert (made.outcome, made.exit_code) == ("blocked", 1)
    assert made.verdict.startswith("Blocked: 1 limit loosened, 1 source unchanged; ")
    assert found(made)["limit.loosened"] == (
        "dome.reversal: least 1.00 → 0.80; no format fails at the former limit"
    )
    assert place(made, "limit.loosened") == "limits.yaml limits.dome.reversal.least"
    (fix,) = next(one.finding.fixes for one in made.checks if one.finding.name == "limit.loosened")
    assert fix == "restore least 1.00, or have quality approve the new limit with its source"


def test_a_looser_limit_that_guards_the_seam_is_blocked(small: Story) -> None:
    """The seam's overlap from 0.70 to 0.20 mm is an error, though no format needs it."""
    made = edited(small, limit("seam.overlap", "least", "0.70 mm", "0.20 mm"))
    assert made.outcome == "blocked"
    assert "seam.overlap: least 0.70 mm → 0.20 mm" in found(made)["limit.loosened"]


def test_a_looser_limit_needs_approval(small: Story) -> None:
    """The axial load's least from 1.00 to 0.50 needs the approval of its owner, though no format needs it."""
    made = edited(small, limit("can.axial-load", "least", "1.00", "0.50"))
    assert (made.outcome, made.exit_code) == ("needs approval", 3)
    assert made.verdict.startswith("Needs approval: 1 limit loosened, 1 source unchanged; ")
    assert set(found(made)) == {"limit.loosened", "limit.source-unchanged"}
    assert {one.owner: one.because for one in made.approvals} == {"quality": ("limit can.axial-load",)}


def test_a_setting_that_makes_cans_stronger_needs_approval(small: Story) -> None:
    """The trial's pressure raised with its source untouched is found at the source."""
    made = edited(small, (LIMITS, SETTING, SETTING.replace("1.031", "1.060")))
    assert made.outcome == "needs approval"
    assert found(made) == {
        "limit.source-unchanged": "dome-calibration: value 1.031 → 1.060; source, owner and "
        "review date are unchanged"
    }
    assert place(made, "limit.source-unchanged") == "limits.yaml settings.dome-calibration.source"


def test_a_gauge_that_passes_by_a_looser_limit_is_blocked(small: Story) -> None:
    """A thinner gauge together with the dome's limit: the format and its pressure at the former limit."""
    made = edited(small, (R330, *GAUGE), (R330, *BLANK), limit("dome.reversal", "least", "1.00", "0.95"))
    assert made.outcome == "blocked"
    assert "1 format fails at the former limit" in made.verdict
    assert found(made)["limit.loosened"].endswith(
        "1 format fails at the former limit: "
        "b211-330 (dome reversal (calibrated, no trial in the book) 615 kPa; at least 620 kPa)"
    )
    (one,) = made.former
    assert (one.format, one.check, one.because) == ("b211-330", "dome.reversal", ("limit",))
    assert "dome.reversal" not in found(made)


def test_a_gauge_that_passes_by_a_lower_target_needs_approval(small: Story) -> None:
    """A thinner gauge together with the filler's pressure from 620 to 600 kPa is found at the target."""
    made = edited(
        small, (R330, *GAUGE), (R330, *BLANK), (R330, "dome_reversal: 620 kPa", "dome_reversal: 600 kPa")
    )
    assert (made.outcome, set(found(made))) == ("needs approval", {"target.moved-to-pass"})
    assert made.verdict.startswith(
        "Needs approval: 1 target moved to pass, 1 format fails at the former target"
    )
    assert found(made)["target.moved-to-pass"] == (
        "dome reversal pressure 620 kPa → 600 kPa: at the former target b211-330 fails, "
        "dome reversal (calibrated, no trial in the book) 615 kPa; at least 620 kPa [dome.reversal]"
    )
    assert place(made, "target.moved-to-pass") == f"{R330} targets.dome_reversal"
    reasons = {one.owner: one.because for one in made.approvals}
    assert "limit dome.reversal, failed at the former numbers" in reasons["quality"]


def test_a_wider_tolerance_of_an_agreed_size_needs_approval(small: Story) -> None:
    """A trimmed height that is off passes by a wider finished height, which is found there."""
    made = edited(
        small,
        (R330, "height: 117.21 ±0.10 mm", "height: 117.51 ±0.10 mm"),
        (R330, "finished_height: 114.85 ±0.35 mm", "finished_height: 114.85 ±0.90 mm"),
    )
    assert [(one.check, one.because) for one in made.former] == [("flange.finished-height", ("target",))]
    assert "114.85 ±0.35 mm → 114.85 ±0.90 mm" in found(made)["target.moved-to-pass"]
    assert place(made, "target.moved-to-pass") == f"{R330} flange.finished_height"


def test_a_stronger_metal_without_a_certificate_needs_approval(small: Story) -> None:
    """The yield strength raised with its source untouched is found at the source."""
    made = edited(small, (METAL, "yield_after_bake: 262 ±8 MPa", "yield_after_bake: 272 ±8 MPa"))
    assert (made.outcome, set(found(made))) == ("needs approval", {"material.certificate-unchanged"})
    assert "262 ±8 MPa → 272 ±8 MPa" in found(made)["material.certificate-unchanged"]
    assert place(made, "material.certificate-unchanged") == f"{METAL} source"
    assert "metal buying" in [one.owner for one in made.approvals]


def test_a_format_that_passes_by_another_setting_names_it(small: Story) -> None:
    """A thinner gauge with a stronger trial and a new source passes only by the setting, which is named."""
    made = edited(
        small,
        (R330, *GAUGE),
        (R330, *BLANK),
        (
            LIMITS,
            TRIAL,
            TRIAL.replace("1.031", "1.060").replace("8 trials", "9 trials"),
        ),
    )
    assert set(found(made)) == {"setting.moved-to-pass"}
    assert "1.031 → 1.060: 1 format fails at the former numbers" in found(made)["setting.moved-to-pass"]
    assert made.outcome == "needs approval"


def test_a_format_that_passes_by_another_metal_names_it(small: Story) -> None:
    """A thinner gauge with a stronger metal and a new certificate passes only by the metal."""
    made = edited(
        small,
        (R330, *GAUGE),
        (R330, *BLANK),
        (METAL, "yield_after_bake: 262 ±8 MPa", "yield_after_bake: 280 ±8 MPa"),
        (METAL, "Certificates of the demo supplier", "New certificates of the demo supplier"),
    )
    assert set(found(made)) == {"material.moved-to-pass"}
    assert made.outcome == "needs approval"
    assert made.former[0].because == ("material",)


def test_a_format_that_passes_by_another_end_names_it(small: Story) -> None:
    """A higher design pressure that the former end would not hold is found at the end."""
    made = edited(
        small,
        ("plant.yaml", "design_pressure: 620 kPa (89.9 psi)", "design_pressure: 650 kPa"),
        ("ends/curlew-202.yaml", "rated_pressure: 640 kPa", "rated_pressure: 660 kPa"),
    )
    assert "640 kPa → 660 kPa: 3 formats fail" in found(made)["supply.moved-to-pass"]
    assert "620 kPa (89.9 psi) → 650 kPa" in found(made)["limit.loosened"]


def test_a_colder_warmest_day_needs_approval(small: Story) -> None:
    """A number that guards every can is found where it is, with the format that fails at the former one."""
    small.put("limits.yaml", "most: 760 kPa", "most: 1200 kPa")  # the hot can is not the question here
    small.commit("warm")
    small.put("plant.yaml", "warmest: 40 degC", "warmest: 20 degC")
    small.put(R330, "carbonation: 3.30", "carbonation: 4.60")
    small.raised(R330)
    made = review("warm", book=small.book, today=TODAY)
    assert (made.outcome, set(found(made))) == ("needs approval", {"limit.loosened"})
    assert "40 degC → 20 degC; 1 format fails at the former number: b211-330" in found(made)["limit.loosened"]
    assert "1 format fails at the former numbers of the plant" in made.verdict


def test_a_format_that_passes_by_a_wider_machine_names_it(small: Story) -> None:
    """A machine's range that is widened until a format fits is found at the line."""
    small.put("lines/heron.yaml", "can_height: 90 to 190 mm", "can_height: 130 to 190 mm")
    small.commit("narrow")
    small.put("lines/heron.yaml", "can_height: 130 to 190 mm", "can_height: 90 to 190 mm")
    made = review("narrow", book=small.book, today=TODAY)
    assert "130 to 190 mm → 90 to 190 mm" in found(made)["range.moved-to-pass"]
    assert made.outcome == "needs approval"


def test_a_limit_and_a_target_that_are_needed_together_are_both_named(small: Story) -> None:
    """Where neither move alone would do, the value fails at both former numbers and both are named."""
    made = edited(
        small,
        (R330, "gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm"),
        limit("dome.reversal", "least", "1.00", "0.97"),
        (R330, "dome_reversal: 620 kPa", "dome_reversal: 605 kPa"),
    )
    fails = [one for one in made.former if one.check == "dome.reversal"]
    assert [one.because for one in fails] == [("limit", "target")]
    assert {"limit.loosened", "target.moved-to-pass"} <= set(found(made))


def test_a_new_format_is_checked_by_the_former_limits(small: Story) -> None:
    """A format that comes together with a looser limit fails at the former one."""
    for name in ("formats/b211-440-light.yaml", "materials/reed-3104.yaml"):
        small.write(name, (small.demo.root / name).read_text(encoding="utf-8"))
    small.put("formats/b211-440-light.yaml", "dome_reversal: 620 kPa", "dome_reversal: 650 kPa")
    made = edited(small, limit("dome.reversal", "least", "1.00", "0.90"))
    assert [(one.format, one.value) for one in made.former] == [("b211-440-light", "626 kPa")]
    assert (
        "b211-440-light (dome reversal (calibrated, no trial in the book) 626 kPa"
        in found(made)["limit.loosened"]
    )


def test_a_deleted_limit_counts_as_loosened(small: Story) -> None:
    """A limit taken out of the file is a loosened limit, found where limits are."""
    text = small.text(LIMITS)
    block = re.search(r"  can\.axial-load:\n(?:    .*\n)+", text)
    assert block is not None
    small.write(LIMITS, text.replace(block[0], ""))
    made = looked_at(small)
    assert made.outcome != "passes"
    assert "can.axial-load: least 1.00 → none" in found(made)["limit.loosened"]
    assert place(made, "limit.loosened") == "limits.yaml limits"


def test_a_deleted_setting_is_reviewed(small: Story) -> None:
    """Without a setting nothing is computed and no sheet can be made, which is said in either direction."""
    text = small.text(LIMITS)
    block = re.search(r"  dome-calibration:\n(?:    .*\n)+", text)
    assert block is not None
    small.write(LIMITS, text.replace(block[0], ""))
    made = looked_at(small)
    assert made.outcome == "blocked"
    assert {one.why for one in made.sheets} == {"limits.yaml has findings"}
    small.commit("gone")
    small.write(LIMITS, text)
    assert review("gone", book=small.book, today=TODAY).outcome == "passes"


@pytest.mark.parametrize("file", [LIMITS, METAL, "plant.yaml", "waivers.yaml", "ends/curlew-202.yaml"])
def test_a_file_that_could_not_be_read_needs_approval(small: Story, file: str) -> None:
    """Where the former file has faults nothing can be compared, so its owners approve the new one."""
    text = small.text(file)
    small.write(file, text.replace("kind: ", "\tkind: ", 1))
    small.commit("faulty")
    small.write(file, text)
    made = review("faulty", book=small.book, today=TODAY)
    assert made.outcome == "needs approval"
    assert "1 file not compared" in made.verdict
    assert place(made, "limit.not-compared") == f"{file} kind"


def test_one_end_of_a_limit_may_be_loosened(small: Story) -> None:
    """A most that rises is loosened; so is one that is taken out."""
    words = "  cup.draw-clearance:\n    least: 1.02\n    most: 1.25\n"
    assert words in small.text(LIMITS)
    made = edited(small, (LIMITS, words, words.replace("1.25", "1.40")))
    assert "cup.draw-clearance: most 1.25 → 1.40" in found(made)["limit.loosened"]
    made = edited(small, (LIMITS, words.replace("1.25", "1.40"), words.partition("    most")[0]))
    assert "cup.draw-clearance: most 1.25 → none" in found(made)["limit.loosened"]


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (('expires: "2027-04-30"', 'expires: "2027-12-31"'), "extended from 2027-04-30 to 2027-12-31"),
        (("ceiling: 1.435", "ceiling: 1.45"), "ceiling 1.435 → 1.45"),
        (("approver: quality", "approver: cupping"), "approver quality → cupping"),
    ],
)
def test_a_wider_waiver_needs_approval(small: Story, edit: tuple[str, str], words: str) -> None:
    """A waiver that runs longer, or up to a higher ceiling, needs its approver; one that is cut does not."""
    made = edited(small, ("waivers.yaml", *edit))
    assert (made.outcome, found(made)) == (
        "needs approval",
        {"waiver.loosened": f"waiver of redraw.draw-ratio for b204-355: {words}"},
    )
    small.commit("wider")
    small.put("waivers.yaml", edit[1], edit[0])
    back = review("wider", book=small.book, today=TODAY)
    assert back.outcome == ("needs approval" if "approver" in words else "passes")


def test_a_waiver_that_comes_into_force_needs_approval(small: Story) -> None:
    """A ceiling in a unit that fitted no check covers nothing; in the right one it is another waiver."""
    small.put("waivers.yaml", "ceiling: 1.435", "ceiling: 2 mm")
    small.commit("no-ceiling")
    small.put("waivers.yaml", "ceiling: 2 mm", "ceiling: 1.435")
    made = review("HEAD", book=small.book, today=TODAY)
    assert found(made)["waiver.loosened"].endswith("ceiling 2 mm → 1.435")


def test_a_new_waiver_needs_approval(small: Story) -> None:
    """A waiver that was not there is reported with its end and its ceiling."""
    waivers = small.text("waivers.yaml")
    small.write("waivers.yaml", "kind: waivers\nwaivers: []\n")
    small.commit("none")
    small.write("waivers.yaml", waivers)
    made = review("none", book=small.book, today=TODAY)
    assert made.outcome == "needs approval"
    assert found(made)["waiver.loosened"].endswith("added, until 2027-04-30, up to 1.435")


# --- what needs none --------------------------------------------------------------------------


def tightened(story: Story) -> None:
    """A higher least."""
    story.put(*limit("seam.overlap", "least", "0.70 mm", "0.71 mm"))


def commented(story: Story) -> None:
    """A comment beside a limit."""
    story.put(LIMITS, "  seam.overlap:\n", "  # agreed again\n  seam.overlap:\n")


def in_another_unit(story: Story) -> None:
    """The same limit in another unit."""
    story.put(*limit("seam.overlap", "least", "0.70 mm", "700 um"))


def reviewed_again(story: Story) -> None:
    """Only another review date."""
    text = story.text(LIMITS)
    head, _, tail = text.partition("  seam.overlap:\n")
    story.write(LIMITS, f"{head}  seam.overlap:\n{tail.replace('2027-03-31', '2027-06-30', 1)}")


def lower_target(story: Story) -> None:
    """A target that no format needs."""
    story.raised(R330, ("axial_load: 0.80 kN", "axial_load: 0.79 kN"))


@pytest.mark.parametrize(
    "change",
    [tightened, commented, in_another_unit, reviewed_again, lower_target],
    ids=lambda one: one.__name__,
)
def test_what_loosens_nothing_needs_no_approval(small: Story, change: Callable[[Story], None]) -> None:
    """A tightened limit, a comment, another unit, a review date, a target without need: nothing is found."""
    change(small)
    made = looked_at(small)
    assert (made.outcome, found(made), made.former) == ("passes", {}, ())


def test_a_limit_that_moves_with_its_source_is_only_loosened(small: Story) -> None:
    """With a source of its own the looser limit is found once."""
    made = edited(
        small,
        limit("can.axial-load", "least", "1.00", "0.90"),
        (
            LIMITS,
            "    least: 0.90\n    source: The filler's requirement\n",
            "    least: 0.90\n    source: Letter\n",
        ),
    )
    assert set(found(made)) == {"limit.loosened"}


def test_limits_move_no_changeover(small: Story) -> None:
    """A limit drives no part of a line: the verdict counts no changeover for it."""
    made = edited(small, limit("trim.allowance", "least", "1.5 mm", "1.6 mm"))
    assert made.touched
    assert "changeover" not in made.verdict


# --- in every output --------------------------------------------------------------------------


@pytest.fixture
def needing(small: Story, monkeypatch: pytest.MonkeyPatch) -> Story:
    """A work tree whose change needs approval, around the current folder."""
    monkeypatch.chdir(small.folder)
    small.put(*limit("can.axial-load", "least", "1.00", "0.50"))
    return small


def run(*words: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["review", *words, "--as-of", TODAY.isoformat()])


@pytest.mark.parametrize("output", ["text", "json", "sarif", "markdown", "junit", "annotations"])
def test_every_output_says_that_approval_is_needed(needing: Story, output: str) -> None:
    """The verdict is in each output, and the exit code is 3."""
    done = run("start", "--output", output)
    assert done.exit_code == 3
    assert "Needs approval" in done.output
    assert "limit.loosened" in done.output


def test_programs_are_given_the_outcome(needing: Story) -> None:
    """JSON, SARIF and JUnit carry the outcome where a program looks for it."""
    made = looked_at(needing)
    record = json.loads(review_json(made, as_of=TODAY))
    assert (record["outcome"], record["blocked"]) == ("needs approval", False)
    (log,) = json.loads(review_sarif(made))["runs"]
    assert log["invocations"][0]["exitCode"] == 3
    assert log["properties"]["outcome"] == "needs approval"
    top = ElementTree.fromstring(run("start", "--output", "junit").output.encode())
    failed = {case.get("name"): case.find("failure") for case in top.iter("testcase")}
    verdict = failed["verdict"]
    assert verdict is not None
    assert (verdict.get("type"), verdict.text) == ("needs approval", "quality: limit can.axial-load")
    assert failed["limit.loosened"] is not None


def test_former_numbers_are_printed(small: Story) -> None:
    """Text, comment and data list what fails at the former numbers."""
    made = edited(small, (R330, *GAUGE), (R330, *BLANK), limit("dome.reversal", "least", "1.00", "0.95"))
    value = "dome reversal (calibrated, no trial in the book) 615 kPa; at least 620 kPa"
    line = f"b211-330: {value}, at the former limit [dome.reversal]"
    assert f"\n  {line}\n" in review_text(made)
    comment = review_markdown(made, as_of=TODAY)
    assert "<summary>Passes now, fails at the former numbers</summary>" in comment
    assert json.loads(review_json(made, as_of=TODAY))["former"][0]["value"] == "615 kPa"


def test_severity_may_block_what_needs_approval(needing: Story) -> None:
    """With warnings blocking, a looser limit blocks."""
    done = run("start", "--severity", "warning")
    assert done.exit_code == 1
    assert done.output.startswith("Blocked: 1 limit loosened")


def test_ordinary_approvals_can_be_required(small: Story, monkeypatch: pytest.MonkeyPatch) -> None:
    """A change that passes exits with 3 where the approvals that the review lists are required."""
    monkeypatch.chdir(small.folder)
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    assert run("start").exit_code == 0
    done = run("start", "--require-approval")
    assert done.exit_code == 3
    assert done.output.startswith("Needs approval: approval required from body tooling; ")
    small.commit("land")
    small.put("plant.yaml", "kind: plant\n", "# plant\nkind: plant\n")
    assert run("land", "--require-approval").exit_code == 0


def test_the_help_lists_the_exit_codes() -> None:
    """Each exit code of the command is in its help."""
    printed = " ".join(CliRunner().invoke(main, ["review", "--help"]).output.split())
    (codes,) = re.findall(r"Exit codes: ([^.]*)\.", printed)
    assert re.findall(r"(?:^|; )(\d) ", codes) == ["0", "1", "2", "3"]
    assert {*EXIT_CODES.values(), 2} == {0, 1, 2, 3}
