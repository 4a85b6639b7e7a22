"""A repository with a book in it, made commit by commit, with no trace of who runs the tests."""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path

from kb.book.load import Book
from tests.conftest import copy_book

R330, R355, SLEEK = (f"formats/{one}.yaml" for one in ("b211-330", "b211-355", "b204-355"))
SLIM = "formats/b202-200.yaml"
END = "ends/curlew-202.yaml"
"""The end that the formats of the story take."""

FORMATS = ("b211-330", "b211-355", "b204-355")

NO_IDENTITY = {
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_SYSTEM": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_AUTHOR_NAME": "a plant",
    "GIT_AUTHOR_EMAIL": "plant@example.invalid",
    "GIT_COMMITTER_NAME": "a plant",
    "GIT_COMMITTER_EMAIL": "plant@example.invalid",
}
"""What keeps the settings and the name of the user out of their repositories."""


def git(folder: Path, *words: str, day: int = 1, given: bytes | None = None) -> str:
    """Run git in a folder, on a fixed day."""
    when = f"2026-{1 + day // 28:02d}-{1 + day % 28:02d}T08:00:00Z"
    clean = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    done = subprocess.run(
        ["git", *words],
        cwd=folder,
        env={**clean, **NO_IDENTITY, "GIT_AUTHOR_DATE": when, "GIT_COMMITTER_DATE": when},
        input=given,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode().strip()


class Story:
    """A repository with a small book in `specs`.

    Args:
        folder: an empty folder
        demo: the demo book, from which the small one is copied
    """

    def __init__(self, folder: Path, demo: Book, formats: tuple[str, ...] = FORMATS) -> None:
        self.folder, self.demo = folder, demo
        self.book = folder / "specs"
        copy_book(demo, self.book, formats)
        for name in ("floor.yaml",):
            (self.book / name).write_bytes((demo.root / name).read_bytes())
        git(folder, "init", "--quiet", "--initial-branch", "main")
        self.day = 0
        self.commit("start")

    def text(self, file: str) -> str:
        """A file of the book."""
        return (self.book / file).read_text(encoding="utf-8")

    def write(self, file: str, text: str) -> None:
        """Write a file of the book."""
        path = self.book / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def put(self, file: str, old: str, new: str) -> None:
        """Put a text in place of one that is in a file exactly once."""
        text = self.text(file)
        assert text.count(old) == 1, f"{old!r} is found {text.count(old)} times in {file}"
        self.write(file, text.replace(old, new))

    def key(self, file: str, name: str, value: str) -> None:
        """Write a key at the top of a file again."""
        lines = self.text(file).splitlines(keepends=True)
        (place,) = [i for i, line in enumerate(lines) if line.startswith(f"{name}: ")]
        lines[place] = f"{name}: {value}\n"
        self.write(file, "".join(lines))

    def raised(self, file: str, *edits: tuple[str, str]) -> None:
        """Change a format as the rules want it: under the next revision, with a reason."""
        for old, new in edits:
            self.put(file, old, new)
        (number,) = re.findall(r"^revision: (\d+)$", self.text(file), flags=re.MULTILINE)
        self.key(file, "revision", str(int(number) + 1))
        self.key(file, "why", f"Step {self.day + 1} of the story, revision {int(number) + 1}.")

    def commit(self, name: str) -> str:
        """Commit everything under a tag."""
        self.day += 1
        git(self.folder, "add", "--all", day=self.day)
        git(self.folder, "commit", "--quiet", "--message", name, day=self.day)
        return self.mark(name)

    def mark(self, name: str) -> str:
        """Tag the last commit."""
        git(self.folder, "tag", name)
        return git(self.folder, "rev-parse", name)
