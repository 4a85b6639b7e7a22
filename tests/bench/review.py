"""Speed of `sizebook review`, measured beside a full check of the same book in the same run.

    .venv/bin/python tests/bench/review.py [FORMATS]

One format is changed in a repository with a book of many; then a label, a ring, and a step of a changeover
in the demo book, whose changeovers are few enough to be compared. Every figure is the processor's time, the
median of its repeats on this machine, now; what is worth keeping is the ratios.
"""

from __future__ import annotations

import os
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from run import BIN, HOUSE, generated_book

LANTERN = "formats/b211-330-lantern.yaml"

EDITS = {
    "a label of the demo book": (LANTERN, r"(?m)^label: .*$", 'label: "Another one"', 3),
    "a ring of a format of it": (
        LANTERN,
        r"(bore: \d+\.\d\d)\d( ±0.001 mm, distance: 310)",
        r"\g<1>7\2",
        3,
    ),
    "a step of every changeover": (
        "changeover.yaml",
        "typical: 2 min, worst: 4",
        "typical: 9 min, worst: 12",
        1,
    ),
}
"""What is changed in the demo book: file, pattern, what is put there, and how often it is measured."""


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


def busy(command: list[str | Path], repeats: int) -> float:
    """Median processor time of a command that may have findings."""
    taken = []
    for _ in range(repeats):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run([str(word) for word in command], stdout=subprocess.DEVNULL, check=False)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
        if done.returncode not in {0, 1}:
            raise SystemExit(f"{command[0]} ended with {done.returncode}")
    return statistics.median(taken)


def changed(text: str, pattern: str, new: str) -> str:
    """A text in which the first match of a pattern is replaced."""
    found, count = re.subn(pattern, new, text, count=1)
    if not count:
        raise SystemExit(f"nothing like {pattern} in the demo book")
    return found


def demo_book(scratch: Path, file: str, pattern: str, new: str) -> list[str | Path]:
    """The command that reviews one edit of the demo book."""
    old, book = scratch / "old", scratch / "new"
    for copy in (old, book):
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(HOUSE / "specs", copy)
    path = book / file
    path.write_text(changed(path.read_text(encoding="utf-8"), pattern, new), encoding="utf-8")
    return [BIN / "sizebook", "review", old, book]


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
        full = busy([sizebook, "check", book], 3)
        near = busy(words, 3)
        far = busy([*words, "--all"], 1)
        print(f"{count} formats, full check             {full:7.2f} s")
        print(f"one of them changed, review        {near:7.2f} s   {near / full:5.2f} x full check")
        print(f"the same, all judged               {far:7.2f} s   {far / full:5.2f} x full check")
        demo = busy([sizebook, "check", HOUSE / "specs"], 3)
        print(f"demo book, full check              {demo:7.2f} s")
        for what, (file, pattern, new, repeats) in EDITS.items():
            took = busy(demo_book(Path(scratch), file, pattern, new), repeats)
            print(f"{what:34} {took:7.2f} s   {took / demo:5.2f} x full check")


if __name__ == "__main__":
    main()
