"""README and DEVELOPERS are true: their commands, their output, their files."""

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
from kb.errors import PACKAGES
from kb.output.svg import svg
from kb.route.assemble import assemble

HOUSE = Path(__file__).resolve().parents[1]
README = (HOUSE / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")

BLOCKS = re.findall(r"^```\n(python3 -m venv .+\n(?:.+\n)*?)```$", README, flags=re.MULTILINE)
"""The commands that set up, and that run the tests."""

SHOWN = re.findall(r"^\$ sizebook (.+)\n((?:.*\n)*?)```$", README, flags=re.MULTILINE)
"""The command that README shows, and the finding under it."""

AS_OF = "--as-of 2026-11-25"
"""The day of what README shows."""

MOST_LINES = 110
ONE_TEST = "tests/test_docs.py -k test_files_that_are_named_are_there"
CUT = "cut here"


def unwrapped(text: str) -> str:
    """A text with single spaces, however its lines are broken."""
    return " ".join(text.split())


def test_readme_is_short() -> None:
    """README has at most 110 lines."""
    assert len(README.splitlines()) <= MOST_LINES


def test_readme_runs_as_typed(tmp_path: Path) -> None:
    """In a fresh copy, one shell sets up, checks the book, publishes the site and runs the tests as shown.

    pip takes the packages from this environment instead of an index.
    """
    clone = tmp_path / "clone"
    unshipped = (".git", ".venv", ".*_cache", ".hypothesis", "__pycache__", "build", "dist")
    shutil.copytree(HOUSE, clone, ignore=shutil.ignore_patterns(*unshipped))
    set_up, tests = BLOCKS
    dated = re.sub(r"^sizebook .+$", rf"\g<0> {AS_OF}", set_up, flags=re.MULTILINE)
    done = typed_in_a_shell(f"{dated}echo {CUT}\n{tests}", clone)
    assert done.returncode == 0, done.stderr
    assert "not found" not in done.stderr
    checked, tested = done.stdout.split(f"{CUT}\n")
    (_, finding), *_ = SHOWN
    assert unwrapped(finding) in unwrapped(checked)
    assert (clone / "build/site/index.html").is_file()
    assert "1 passed" in tested
    again = typed_in_a_shell(tests, clone)
    assert again.returncode == 0, again.stderr
    assert "1 passed" in again.stdout


def typed_in_a_shell(script: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """What a fresh, strict shell does with commands; of the tests it runs a single one."""
    here = os.pathsep.join(path for path in sys.path if path.endswith("site-packages"))
    offline = {"PYTHONPATH": here, "PIP_NO_INDEX": "1", "PIP_NO_DEPS": "1", "PIP_NO_BUILD_ISOLATION": "0"}
    return subprocess.run(
        ["bash", "--noprofile", "--norc", "-euo", "pipefail", "-c", script],
        cwd=folder,
        env={"PATH": os.defpath, "LC_ALL": "C.UTF-8", "PYTEST_ADDOPTS": ONE_TEST, **offline},
        capture_output=True,
        text=True,
        check=False,
        timeout=480,
    )


def test_readme_shows_one_finding() -> None:
    """The page shows one command with its output: a check of the demo book."""
    assert [command for command, _ in SHOWN] == ["check specs"]


@pytest.mark.slow
@pytest.mark.parametrize(("command", "finding"), SHOWN, ids=[command for command, _ in SHOWN])
def test_readme_shows_a_finding_of_today(command: str, finding: str) -> None:
    """The finding that the page shows is in what the command prints: place, values, limit and a fix."""
    words = [*command.split(), *AS_OF.split()]
    done = subprocess.run(
        [sys.executable, "-m", "kb.cli", *words], cwd=HOUSE, capture_output=True, text=True, check=False
    )
    assert unwrapped(finding) in unwrapped(done.stdout)
    assert {"limit:", "fix:"} <= set(finding.split())


def test_readme_shows_a_format_of_the_book() -> None:
    """Each line of the format that the page shows is in the file of the demo book, in its order."""
    (shown,) = re.findall(r"^```yaml\n((?:.*\n)*?)```$", README, flags=re.MULTILINE)
    written = iter((HOUSE / "specs/formats/b211-330.yaml").read_text(encoding="utf-8").splitlines())
    assert [line for line in shown.splitlines() if line not in written] == []


def test_the_picture_is_what_the_book_draws(demo: Book) -> None:
    """README's picture is the drawing of the demo format as it is today."""
    assembled = assemble(demo, "b211-330")
    assert assembled is not None
    drawn = svg(draw(assembled, assembled.study.nominal, "ironing"))
    assert (HOUSE / "site/docs/ironing.svg").read_text(encoding="utf-8") == drawn, (
        "sizebook drawing b211-330 --view ironing --to site/docs"
    )


def test_every_command_is_in_the_table() -> None:
    """README's table names each command, and no other."""
    assert set(re.findall(r"^\| `sizebook (\w+)", README, flags=re.MULTILINE)) == set(main.commands)


def test_files_that_are_named_are_there() -> None:
    """Each path in backticks in DEVELOPERS.md exists, but for the files that the steps of a recipe make."""
    named = set(re.findall(r"`((?:kb|tests|specs|schema|site)/[\w./-]*[\w/])`", DEVELOPERS))
    made = set(re.findall(r"^\d\. `([\w./-]+)`, (?:a module|its template)", DEVELOPERS, re.M))
    assert len(named) > len(made) == 2
    assert {one for one in named if not (HOUSE / one).exists()} == made


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
    table = README.partition("| install |")[2].partition("\n\n")[0]
    assert set(re.findall(r"`sizebook(?:\[(\w+)\])?`", table)) == {"", "all", *PACKAGES}
