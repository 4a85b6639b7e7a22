"""README and DEVELOPERS say what is so: their commands, their output, their files."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from kb.book.load import Book
from kb.checks.catalog import RULES
from kb.cli import main
from kb.drawing import draw
from kb.extras import PACKAGES
from kb.output.svg import svg
from kb.route.assemble import assemble

HOUSE = Path(__file__).resolve().parents[1]
README = (HOUSE / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")

BLOCKS = re.findall(r"^```\n(python3 -m venv .+)\n```$", README, flags=re.MULTILINE)
"""The commands that set up, and that run the tests."""

SHOWN = re.findall(r"^\$ sizebook (.+)\n((?:.*\n)*?)```$", README, flags=re.MULTILINE)

EDITS = {
    "check specs/formats/regular-330.yaml": ("bore: 66.030 ±0.001 mm", "bore: 66.040 ±0.001 mm"),
    "check specs/formats/sleek-325.yaml": ("gauge: 0.255 ±0.004 mm", "gauge: 0.0100 ±0.0002 mm"),
}
"""What README tells the reader to edit before a command."""


AS_OF = "--as-of 2026-11-25"
"""The day of what README shows."""

ONE_TEST = "tests/test_docs.py -k test_files_that_are_named_are_there"
CUT = "cut here"


def test_readme_runs_as_typed(tmp_path: Path) -> None:
    """In a fresh copy, one shell runs each command as README shows it, and prints what README shows.

    pip takes the packages from this environment instead of an index.
    """
    clone = tmp_path / "clone"
    unshipped = (".git", ".venv", ".*_cache", ".hypothesis", "__pycache__", "build", "dist")
    shutil.copytree(HOUSE, clone, ignore=shutil.ignore_patterns(*unshipped))
    set_up, tests = BLOCKS
    typed = [f"{set_up} {AS_OF}"]
    for number, command in enumerate(EDITS):
        name, text = edited(command, clone)
        (tmp_path / f"{number}.yaml").write_text(text, encoding="utf-8")
        typed += [f"cp {tmp_path}/{number}.yaml {name}; sizebook {command} {AS_OF}"]
    done = typed_in_a_shell(f"; echo {CUT}\n".join((*typed, tests)), clone)
    assert done.returncode == 0, done.stderr
    assert "not found" not in done.stderr
    assert done.stdout.split(f"{CUT}\n")[:-1] == [output for _, output in SHOWN]
    again = typed_in_a_shell(tests, clone)
    assert again.returncode == 0, again.stderr
    assert "1 passed" in again.stdout


def edited(command: str, folder: Path) -> tuple[str, str]:
    """The name of a command's file, and its text with the edit that README asks for."""
    name = command.rpartition(" ")[2]
    text = (folder / name).read_text(encoding="utf-8")
    before, after = EDITS[command]
    assert text.count(before) == 1
    return name, text.replace(before, after)


def typed_in_a_shell(script: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """What a fresh, strict shell does with commands; of the tests it runs a single one."""
    here = os.pathsep.join(path for path in sys.path if path.endswith("site-packages"))
    offline = {"PYTHONPATH": here, "PIP_NO_INDEX": "1", "PIP_NO_DEPS": "1", "PIP_NO_BUILD_ISOLATION": "0"}
    return subprocess.run(
        ["bash", "--noprofile", "--norc", "-uo", "pipefail", "-c", script],
        cwd=folder,
        env={"PATH": os.defpath, "LC_ALL": "C.UTF-8", "PYTEST_ADDOPTS": ONE_TEST, **offline},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


def test_readme_shows_commands() -> None:
    """The page shows the demo book checked, and each of the edits."""
    assert [command for command, _ in SHOWN] == ["check specs", *EDITS]


@pytest.mark.parametrize(("command", "output"), SHOWN, ids=[command for command, _ in SHOWN])
def test_readme_shows_what_comes_out(command: str, output: str, tmp_path: Path) -> None:
    """What the page prints under a command is what the command prints."""
    shutil.copytree(HOUSE / "specs", tmp_path / "specs")
    if command in EDITS:
        name, text = edited(command, tmp_path)
        (tmp_path / name).write_text(text, encoding="utf-8")
    words = [*command.split(), *AS_OF.split()]
    done = subprocess.run(
        [sys.executable, "-m", "kb.cli", *words], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.stdout == output


def test_the_picture_is_what_the_book_draws(demo: Book) -> None:
    """README's picture is the drawing of the demo format as it is today."""
    assembled = assemble(demo, "regular-330")
    assert assembled is not None
    drawn = svg(draw(assembled, assembled.study.nominal, "ironing"))
    assert (HOUSE / "site/docs/ironing.svg").read_text(encoding="utf-8") == drawn, (
        "sizebook drawing regular-330 --view ironing --to site/docs"
    )


def test_every_command_is_in_the_table() -> None:
    """README's table names each command, and no other."""
    assert set(re.findall(r"^\| `sizebook (\w+)", README, flags=re.MULTILINE)) == set(main.commands)


def test_files_that_are_named_are_there() -> None:
    """Each path in backticks in DEVELOPERS.md exists."""
    named = re.findall(r"`((?:kb|tests|specs|schema|site)/[\w./-]*[\w/])`", DEVELOPERS)
    assert named
    assert [one for one in named if not (HOUSE / one).exists()] == []


def test_the_worked_check_is_not_a_real_one() -> None:
    """The example of a new check stays an example: its name is free."""
    assert "redraw.sleeve-overlap" in DEVELOPERS
    assert "redraw.sleeve-overlap" not in RULES


# --- version and licence ----------------------------------------------------------------------

FONTS = HOUSE / "site/fonts"
PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def test_every_page_names_the_same_version() -> None:
    """The newest version of the changelog, the citation and the examples are those of pyproject.toml."""
    version = PROJECT["version"]
    changes = (HOUSE / "CHANGELOG.md").read_text(encoding="utf-8")
    assert re.findall(r"^## (\S+) \(\d{4}-\d\d-\d\d\)$", changes, flags=re.MULTILINE)[0] == version
    assert f"sizebook, version {version} " in README
    review = (HOUSE / "site/docs/review.md").read_text(encoding="utf-8")
    assert set(re.findall(r"\bv(\d+\.\d+\.\d+)\b", review)) == {version}


def test_the_licence_is_the_one_that_is_declared() -> None:
    """LICENSE is the whole Apache License 2.0, and the fonts' licences travel with the package too."""
    text = (HOUSE / "LICENSE").read_bytes()
    digest = "cfc7749b96f63bd31c3c42b5c471bf756814053e847c10f3eb003417bc523d30"
    assert hashlib.sha256(text).hexdigest() == digest
    assert PROJECT["license"].startswith("Apache-2.0 ")
    files = {
        path.relative_to(HOUSE).as_posix() for one in PROJECT["license-files"] for path in HOUSE.glob(one)
    }
    assert files == {"LICENSE", *(path.relative_to(HOUSE).as_posix() for path in FONTS.glob("LICENCE-*"))}
    assert len(files) > 1


def test_every_extra_is_in_the_table() -> None:
    """README's table names the core and each optional part, and no other."""
    named = re.findall(r"^\| `sizebook(?:\[(\w+)\])?` \|", README, flags=re.MULTILINE)
    assert set(named) == {"", "all", *PACKAGES}
