"""Help and completion of the command line."""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from kb.book.load import Book
from kb.cli import main
from tests.cli.situations import COMMANDS, PROGRAM

VERBS = {
    "Add", "Block", "Build", "Check", "Compare", "Draw", "Exit", "Keep", "Let", "Limit", "List", "Mark",
    "Name", "Overwrite", "Plan", "Print", "Read", "Search", "Serve", "Show", "Simulate", "Start", "Write",
}  # fmt: skip


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_gives_its_exit_codes(name: str) -> None:
    """The help of a command lists its exit codes, and 2 is always that of a command that could not run."""
    text = " ".join(CliRunner().invoke(main, [name, "--help"]).output.split())
    found = re.search(r"Exit codes: 0 [^.]*\b2 could not run\b", text)
    assert found is not None


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_begins_with_a_verb_and_has_its_default(name: str) -> None:
    """An option says what to do; one that takes a value also gives the default, unless it is required."""
    for one in main.commands[name].params:
        if not isinstance(one, click.Option) or one.hidden:
            continue
        assert one.help is not None
        assert one.help.split()[0] in VERBS, one.help
        if not one.is_flag and not one.required and one.default is None:
            assert "Default: " in one.help, one.help
        elif not one.is_flag and not one.required:
            assert one.show_default or "default" in one.help.lower(), one.help


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("rou", {"route"}),
        ("route b211-33", {"b211-330", "b211-330-beacon", "b211-330-lantern"}),
        ("sheet b211-330 --line p", {"plover"}),
        ("changeover b211-330 b204-", {"b204-250", "b204-355"}),
        ("changeover b211-330 b211-355 --line heron --crew h", {"heron-days"}),
        ("changeover --line plover --crew h", set()),
        ("week hero", {"heron-49"}),
        ("explain ironing.ring-r", {"ironing.ring-reduction"}),
        ("explain size-format.stock.g", {"size-format.stock.gauge"}),
        ("route --book nowhere b211", set()),
    ],
)
def test_a_shell_completes_ids_checks_and_keys(demo: Book, typed: str, found: set[str]) -> None:
    """Click's own mechanism completes formats, lines, crews, weeks, checks and keys of the book around."""
    words = f"sizebook {typed}"
    asked = {
        "_SIZEBOOK_COMPLETE": "bash_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": str(len(words.split()) - 1),
    }
    done = subprocess.run(
        PROGRAM, cwd=demo.root, env={**os.environ, **asked}, capture_output=True, text=True, check=False
    )
    shown = {line.partition(",")[2] for line in done.stdout.splitlines() if line}
    assert done.stderr == ""
    assert found <= shown
    assert bool(found) == bool(shown)
    assert all(one.startswith(typed.rsplit(maxsplit=1)[-1]) for one in shown)


def test_completion_in_no_book_is_silent(tmp_path: Path) -> None:
    """Outside a book, and in a book that cannot be read, completion offers nothing and says nothing."""
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "plant.yaml").write_bytes(b"\xff\xfe{")
    (broken / "changeover.yaml").write_text("kind: [", encoding="utf-8")
    for folder in (tmp_path, broken):
        for words in ("sizebook route b", "sizebook changeover --crew h"):
            last = str(len(words.split()) - 1)
            asked = {"_SIZEBOOK_COMPLETE": "bash_complete", "COMP_WORDS": words, "COMP_CWORD": last}
            done = subprocess.run(
                PROGRAM, cwd=folder, env={**os.environ, **asked}, capture_output=True, text=True, check=False
            )
            assert (done.stdout.strip(), done.stderr) == ("", "")


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("gauge", {"end.gauge", "material.gauge", "size-format.stock.gauge"}),
        ("bore", {"size-format.ironing.rings[].bore"}),
        ("stages", {"size-format.neck.stages", "line.machines[].stages"}),
        ("die-bore", {"size-format.cup.die_bore", "size-format.redraw.die_bore"}),
        ("ring-reduction", {"ironing.ring-reduction"}),
    ],
)
def test_the_last_part_of_a_path_finds_every_key(name: str, keys: set[str]) -> None:
    """`explain` finds each key, check and setting by the last part of its path, and lists all of them."""
    done = CliRunner().invoke(main, ["explain", name])
    assert done.exit_code == 0
    assert keys <= set(re.findall(r"^ *(\S+\.\S+) +\S", done.output, flags=re.MULTILINE))
    assert f"did you mean {name}" not in done.output
