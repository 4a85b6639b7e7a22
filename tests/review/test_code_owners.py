"""The code-owners file: every file of the book has its roles, the most specific line last."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kb.book.load import load
from kb.cli import main
from tests.conftest import judged
from tests.review.story import Story, git

ACCOUNTS = """accounts:
  - {owner: quality, account: "@plant/quality"}
  - {owner: body tooling, account: "@plant/bodies @plant/toolroom"}
  - {owner: metal buying, account: buying@plant.invalid}
  - {owner: cupping, account: "@plant/cups"}
  - {owner: necking, account: "@plant/necks"}
  - {owner: line leads, account: "@plant/leads"}
"""


def run(*words: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["review", "--code-owners", *words])


def rows(text: str) -> Iterator[tuple[str, list[str]]]:
    """Path and accounts of each line."""
    for line in text.splitlines():
        if not line.startswith("#"):
            path, *accounts = re.split(r"(?<!\\) +", line)
            yield path.replace("\\ ", " "), accounts


def asked(text: str, file: str) -> list[str]:
    """The accounts that a host requires for a file: those of the last line that fits."""
    fitting = [
        accounts
        for path, accounts in rows(text)
        if f"/{file}" == path or (path[-1] == "/" and f"/{file}".startswith(path))
    ]
    return fitting[-1]


@pytest.fixture
def mapped(small: Story, monkeypatch: pytest.MonkeyPatch) -> Story:
    """A book whose owners have accounts, around the current folder."""
    monkeypatch.chdir(small.folder)
    small.write("plant.yaml", small.text("plant.yaml") + ACCOUNTS)
    return small


def test_each_file_is_owned_by_its_roles(mapped: Story) -> None:
    """Format, metal, end, line, limits and waivers are asked of the roles that the book names."""
    text = run().output
    assert asked(text, "specs/formats/b211-330.yaml") == ["@plant/bodies", "@plant/toolroom"]
    assert asked(text, "specs/materials/marsh-3104.yaml") == ["buying@plant.invalid"]
    assert asked(text, "specs/ends/curlew-202.yaml") == ["@plant/quality"]
    assert asked(text, "specs/lines/heron.yaml") == ["@plant/leads"]
    limits = asked(text, "specs/limits.yaml")
    assert {"@plant/quality", "@plant/necks", "@plant/cups", "buying@plant.invalid"} <= set(limits)
    assert asked(text, "specs/waivers.yaml") == ["@plant/quality"]
    assert set(asked(text, "specs/formats/new.yaml")) == {"@plant/bodies", "@plant/toolroom"}
    assert len(asked(text, "specs/anything.yaml")) == 7
    assert "SET-ACCOUNT" not in text


def test_the_most_specific_line_is_last(mapped: Story) -> None:
    """No line is fitted by a later, wider one; the same book gives the same bytes."""
    paths = [path for path, _ in rows(run().output)]
    for i, path in enumerate(paths):
        assert not any(path.startswith(wider) for wider in paths[i + 1 :])
    assert run().output == run().output
    assert paths[0] == "/specs/"


def test_paths_begin_at_the_top_of_the_repository(
    mapped: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever the command is run, paths begin at the repository's top; spaces are escaped."""
    here = run().output
    monkeypatch.chdir(mapped.book / "formats")
    assert run().output == here
    monkeypatch.chdir(tmp_path)
    assert run("--book", str(mapped.book)).output == here
    git(mapped.folder, "mv", "specs", "plant book")
    printed = run("--book", str(mapped.folder / "plant book")).output
    assert "\n/plant\\ book/formats/b211-330.yaml " in printed


def test_an_owner_without_account_is_marked(small: Story, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without accounts the roles are placeholders, and the head of the file says what to do."""
    monkeypatch.chdir(small.folder)
    text = run().output
    assert "# TO DO: plant.yaml has no account for: cupping, body tooling, necking," in text
    assert asked(text, "specs/formats/b211-330.yaml") == ["@SET-ACCOUNT-OF-body-tooling"]


def test_an_account_of_nobody_is_found(mapped: Story) -> None:
    """An account of a role that the plant does not have is a finding at its place."""
    mapped.put("plant.yaml", "owner: necking, account", "owner: neckin, account")
    (one,) = [each for each in judged(mapped.book).findings if each.name == "book.unknown-owner"]
    assert (one.place.key, one.fixes) == ("accounts[4].owner", ("did you mean necking?",))
    mapped.put("plant.yaml", "owner: neckin, account", "owner: necking, account")
    assert not load(mapped.book, shown="").findings


def test_the_file_is_written(mapped: Story) -> None:
    """With --to it is a file, which the host reads."""
    done = run("--to", "CODEOWNERS")
    assert (done.exit_code, done.stdout) == (0, "")
    assert (mapped.folder / "CODEOWNERS").read_text(encoding="utf-8") == run().output


@pytest.mark.parametrize("words", [["main"], ["--book", "nowhere"]])
def test_what_cannot_be_written_is_one_line(mapped: Story, words: list[str]) -> None:
    """A base beside the option, or no book, is one plain line and exit code 2."""
    done = run(*words)
    assert (done.exit_code, done.stdout) == (2, "")
    assert re.fullmatch(r"sizebook: [^\n]+\n", done.stderr)


def test_a_faulty_file_has_no_owner(mapped: Story) -> None:
    """Where a file cannot be read its owner is not known, and nothing is written."""
    mapped.write("formats/broken.yaml", "kind: size-format\n\tid: x\n")
    done = run()
    assert (done.exit_code, done.stdout) == (2, "")
    assert "1 file of the book cannot be read or checked" in done.stderr
