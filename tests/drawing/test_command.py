"""`sizebook drawing` from the command line."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book.load import Book
from kb.cli import main


@pytest.mark.slow
@pytest.mark.parametrize("words", [("--dxf", "--to", "out/can"), ("--view", "can", "--to", "out")])
def test_a_drawing_cut_short_leaves_the_old_one(
    demo: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    """For CAD or for a page, the old file stays until the new one is complete."""
    monkeypatch.chdir(tmp_path)
    name = "can" if "--dxf" in words else "can.svg"
    file = Path("out") / name
    file.parent.mkdir()
    file.write_text("old", encoding="utf-8")
    command = ["drawing", "b211-330", *words, "--book", str(demo.root)]

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", full)
        printed = CliRunner().invoke(main, command)
    assert (printed.exit_code, printed.stderr) == (2, f"sizebook: {file}: No space left on device\n")
    assert file.read_text(encoding="utf-8") == "old"
    assert os.listdir("out") == [name]
    assert CliRunner().invoke(main, command).exit_code == 0
    assert file.read_bytes().startswith(b"  0\nSECTION" if "--dxf" in words else b"<svg")
