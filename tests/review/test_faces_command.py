"""The output formats of `sizebook review` by their options: exit codes, files, bytes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from kb.cli import main
from kb.cli.review import OUTPUTS
from tests.review.story import R330, Story

DAY = "2026-11-02"
PROGRAMS = sorted(set(OUTPUTS) - {"text"})


def run(*words: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["review", *words, "--as-of", DAY])


@pytest.fixture
def house(story: Story, monkeypatch: pytest.MonkeyPatch) -> Story:
    """The story, around the current folder."""
    monkeypatch.chdir(story.folder)
    return story


@pytest.mark.parametrize("face", OUTPUTS)
def test_every_face_leaves_with_the_same_code(house: Story, face: str) -> None:
    """The form of a review has no say in whether it blocks."""
    assert run("gauge-down^1", "gauge-down", "--output", face).exit_code == 1
    assert run("gauge-back^1", "gauge-back", "--output", face).exit_code == 0
    refused = run("nonsense", "--output", face)
    assert (refused.exit_code, refused.stdout) == (2, "")


@pytest.mark.parametrize("face", PROGRAMS)
def test_same_revisions_same_bytes(house: Story, face: str) -> None:
    """Two processes write the same bytes of the same revisions, with any order of hashing."""
    words = [sys.executable, "-m", "kb.cli", "review", "start", "repaired", "--as-of", DAY, "--output", face]
    listed = [
        subprocess.run(
            words,
            cwd=house.folder,
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
            capture_output=True,
            check=False,
        )
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    ]
    assert listed[0].stdout == listed[1].stdout != b""
    assert (listed[0].returncode, listed[0].stderr) == (1, b"")


@pytest.mark.parametrize("face", PROGRAMS)
def test_a_file_holds_what_would_be_printed(house: Story, small: Story, face: str) -> None:
    """With --to the same text is in the file, nothing on standard output, the verdict on standard error."""
    printed = run("gauge-down^1", "gauge-down", "--output", face)
    target = small.folder / "made"
    result = run("gauge-down^1", "gauge-down", "--output", face, "--to", str(target))
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith(f"{target} written: Blocked: 2 checks newly fail")
    assert target.read_text(encoding="utf-8") == printed.stdout


def test_paths_are_those_of_the_repository(house: Story) -> None:
    """At the top of the repository, files are named as the host names them."""
    record = json.loads(run("gauge-down^1", "gauge-down", "--output", "json").stdout)
    assert record["files"][0]["file"] == f"specs/{R330}"
    first = run("gauge-down^1", "gauge-down", "--output", "annotations").stdout
    assert first.startswith(f"::error file=specs/{R330},line=55,")
    text = run("gauge-down^1", "gauge-down", "--output", "markdown").stdout
    assert text.startswith("<!-- sizebook review: specs -->\n")


def test_severity_reaches_the_faces(house: Story) -> None:
    """A note that blocks fails its case and is the exit code that the log records."""
    words = ("metal-back^1", "metal-back", "--severity", "note", "--output")
    assert ElementTree.fromstring(run(*words, "junit").stdout).get("failures") == "1"
    (log,) = json.loads(run(*words, "sarif").stdout)["runs"]
    assert log["invocations"][0]["exitCode"] == 1
    assert log["properties"]["severity"] == "note"


def test_the_comment_keeps_its_length(house: Story) -> None:
    """--most-bytes bounds the comment; less than its frame needs is refused."""
    words = ("start", "repaired", "--output", "markdown", "--marker", "night", "--most-bytes")
    text = run(*words, "8192").stdout
    assert len(text.encode()) <= 8192
    assert text.startswith("<!-- sizebook review: night -->\n")
    assert "left out for length" in text
    assert run(*words, "8000").exit_code == 2


def test_help_of_the_length_is_the_length() -> None:
    """The command's own numbers are those of the report."""
    from kb.output.review import LEAST_BYTES, MOST_BYTES  # noqa: PLC0415 - only for this comparison

    (option,) = [one for one in main.commands["review"].params if one.name == "most_bytes"]
    assert option.default == MOST_BYTES
    assert getattr(option.type, "min", None) == LEAST_BYTES
