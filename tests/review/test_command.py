"""`sizebook review` as it is run: exit codes, outputs, determinism."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kb.cli import main
from tests.review.story import R330, Story, git

DAY = "2026-11-02"


def run(*words: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["review", *words, "--as-of", DAY])


@pytest.fixture
def house(small: Story, monkeypatch: pytest.MonkeyPatch) -> Story:
    """A repository with a valid change in its work tree, around the current folder."""
    monkeypatch.chdir(small.folder)
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    return small


def test_a_valid_change_leaves_with_zero(house: Story) -> None:
    """A change that nothing new is found in passes; the verdict is the first line."""
    result = run("main")
    assert result.exit_code == 0
    printed = result.output.splitlines()
    assert printed[0] == "Passes: no check moved; 1 line, 1 sheet, 2 changeovers."
    assert re.fullmatch(r"before: main \([0-9a-f]{12}\), 2026-01-02 08:00, start", printed[1])
    assert printed[2] == "now: work tree, specs"
    assert "land length: 0.50 mm → 0.52 mm" in result.output


def test_a_failing_change_leaves_with_one(house: Story) -> None:
    """A new finding at or above the severity blocks; it is reported at its place."""
    house.put(R330, "gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm")
    result = run("main")
    assert result.exit_code == 1
    assert result.output.startswith("Blocked: 2 checks newly fail")
    assert re.search(
        r"newly fails: specs/formats/b211-330\.yaml:\d+:\d+: error: .*\[trim\.allowance\]", result.output
    )


def test_a_released_change_in_a_draft_warns(house: Story) -> None:
    """What a draft fails is a warning: it blocks when warnings count."""
    house.put(R330, "status: released", "status: draft")
    house.put(R330, "gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm")
    assert run("main").exit_code == 0
    assert run("main", "--severity", "warning").exit_code == 1


@pytest.mark.parametrize(
    "words",
    [["nonsense"], ["main", "nonsense"], ["main", "--book", "elsewhere"], ["main", "--output", "pdf"], []],
)
def test_what_cannot_run_leaves_with_two(house: Story, words: list[str]) -> None:
    """What cannot be run is one plain line on standard error."""
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert re.fullmatch(r"sizebook: \S.*\n", result.stderr)


def test_outside_of_any_repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no repository, that is what is said."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    result = run("main")
    assert result.exit_code == 2
    assert "not a git repository" in result.stderr


def test_a_review_goes_into_a_file(house: Story) -> None:
    """With --to the review is in the file and its verdict on standard error."""
    result = run("main", "--to", "review.txt")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr.startswith("review.txt written: Passes: ")
    assert (house.folder / "review.txt").read_text(encoding="utf-8") == run("main").output


def test_same_revisions_same_bytes(house: Story) -> None:
    """Two processes write the same bytes, with any order of hashing."""
    house.commit("land")
    words = [sys.executable, "-m", "kb.cli", "review", "start", "land", "--as-of", DAY]
    listed = [
        subprocess.run(
            words,
            cwd=house.folder,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=False,
        )
        for seed in ("1", "2")
    ]
    assert listed[0].stdout == listed[1].stdout
    assert listed[0].returncode == 0
    assert listed[0].stderr == b""


def test_no_name_or_setting_of_a_person_is_reported(house: Story) -> None:
    """Who made a commit is nowhere in the review."""
    git(house.folder, "config", "user.name", "Somebody Real")
    house.commit("land")
    output = run("start", "land").output
    assert "Somebody" not in output
    assert "a plant" not in output
    assert "example.invalid" not in output


def test_texts_of_the_book_cannot_break_out(house: Story) -> None:
    """Control characters and turns of writing never reach the terminal from any version."""
    house.key(R330, "why", '"\\e[31m\\u202e Step 2"')
    house.write("formats/\x1b[31mred.yaml", "kind: size-format\n")
    result = run("main")
    assert result.exit_code == 1
    assert all(line.isprintable() for line in result.output.splitlines())


def test_thresholds_come_from_the_book(house: Story) -> None:
    """A lower threshold shows more results; without the settings all changes are reported, with a note."""
    house.put(R330, "gauge: 0.262 ±0.004 mm", "gauge: 0.260 ±0.004 mm")
    coil = "coil per 1000 cans"
    first = run("main").output
    assert "more than 1.0 %, or by more than 5.0 %" in first
    assert coil not in first
    house.put(
        "limits.yaml", "  review-result-move:\n    value: 1 %", "  review-result-move:\n    value: 0.5 %"
    )
    assert coil in run("main").output
    house.write("limits.yaml", house.text("limits.yaml").partition("  review-result-move:")[0])
    last = run("main").output
    assert coil in last
    assert "limits.yaml has no review-result-move" in last


def test_colours_only_repeat_what_the_words_say(house: Story) -> None:
    """Taken out, the colours leave the same text."""
    house.put(R330, "gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm")
    coloured = CliRunner().invoke(main, ["review", "main", "--as-of", DAY, "--color"], color=True).output
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == run("main").output
    assert "\x1b[31m" in coloured
