"""Speed of `sizebook review`, measured beside a full check of the same book in the same run.

    .venv/bin/python tests/bench/review.py [FORMATS]

One format is changed in a repository with a book of many. Every figure is the median of its repeats on
this machine, now; what is worth keeping is the ratios.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from run import BIN, generated_book, seconds


def committed(folder: Path) -> None:
    """Make a folder a repository with one commit, without a trace of who runs this."""
    nobody = {
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_CONFIG_SYSTEM": os.devnull,
        "GIT_AUTHOR_NAME": "a plant",
        "GIT_AUTHOR_EMAIL": "plant@example.invalid",
        "GIT_COMMITTER_NAME": "a plant",
        "GIT_COMMITTER_EMAIL": "plant@example.invalid",
    }
    for words in (
        ["init", "--quiet", "--initial-branch", "main"],
        ["add", "--all"],
        ["commit", "--quiet", "--message", "start"],
    ):
        subprocess.run(["git", *words], cwd=folder, env={**os.environ, **nobody}, check=True)


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    sizebook = BIN / "sizebook"
    with tempfile.TemporaryDirectory() as scratch:
        book = generated_book(Path(scratch), count)
        committed(book)
        first = sorted((book / "formats").glob("*.yaml"))[0]
        text = re.sub(
            r"revision: (\d+)", lambda m: f"revision: {int(m[1]) + 1}", first.read_text("utf-8"), count=1
        )
        text = re.sub(r"(?m)^why: .*$", "why: A longer land.", text).replace("land: 0.50 mm", "land: 0.52 mm")
        first.write_text(text, encoding="utf-8")
        words: list[str | Path] = [sizebook, "review", "main", "--book", book]
        full = seconds([sizebook, "check", book], 3, may_find=True)
        near = seconds(words, 3)
        far = seconds([*words, "--all"], 1)
        print(f"{count} formats, full check             {full:7.2f} s")
        print(f"one of them changed, review        {near:7.2f} s   {near / full:5.2f} x full check")
        print(f"the same, all judged               {far:7.2f} s   {far / full:5.2f} x full check")


if __name__ == "__main__":
    main()
