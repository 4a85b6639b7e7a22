"""Every check has a book that breaks it: small patches on the demo book, each marked at the faulty line.

A patch is a YAML file of these keys:

    formats   demo formats in the book; the one that is changed, when left out
    file      the file that is changed, `replace` what is there once, `with` what is there then
    and       further changes: each `replace` and `with`, and `file` where it is another one
    add       files put in, each a copy of a demo file; `remove`: a file taken out
    at        text of the line the finding points to, where that is not the changed one; `in` its file
    also      other findings that come with it

The line that is found at fault, `with` or `at`, ends in `# expect:` and the names of the findings there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.book.load import Book
from kb.checks import one_format
from kb.checks.catalog import RULES
from kb.checks.names import approval_names, finding_names
from tests.book.marks import marked
from tests.conftest import copy_book, judged, put

HERE = Path(__file__).parent
PATCHES = sorted((HERE / "specs_bad").glob("*/*.patch.yaml"))


def name_of(path: Path) -> str:
    """A patch's name in the test report."""
    return f"{path.parent.name}/{path.name.removesuffix('.patch.yaml')}"


def read(path: Path) -> dict[str, Any]:
    """A patch as data."""
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    assert isinstance(data, dict)
    return data


def patched(patch: dict[str, Any], demo: Book, root: Path) -> None:
    """Make the book that a patch describes."""
    copy_book(demo, root, patch.get("formats") or [Path(patch["file"]).stem])
    for name, source in patch.get("add", {}).items():
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_bytes((demo.root / source).read_bytes())
    changes = [patch] if "replace" in patch else []
    for change in [*changes, *patch.get("and", ())]:
        put(root, change.get("file", patch.get("file")), change["replace"], change["with"])
    if "remove" in patch:
        (root / patch["remove"]).unlink()


def expected(path: Path, patch: dict[str, Any], root: Path) -> Iterator[tuple[str, int, str]]:
    """File, line and name of each finding that a patch's marks promise."""
    lines = path.read_text(encoding="utf-8").splitlines()
    for number, name in marked(path):
        key = lines[number - 1].partition(":")[0]
        assert key in {"with", "at", "remove"}, f"{path.name}:{number} marks a line of {key}"
        if key == "remove":
            yield patch["remove"], 1, name
        else:
            file = patch.get("in", patch["file"]) if key == "at" else patch["file"]
            yield file, line_of(patch[key], (root / file).read_text(encoding="utf-8")), name


def line_of(part: str, text: str) -> int:
    """The line on which a text that is there once ends."""
    assert text.count(part) == 1, f"{part!r} is found {text.count(part)} times"
    return text[: text.index(part) + len(part)].count("\n") + 1


@pytest.mark.parametrize("path", PATCHES, ids=map(name_of, PATCHES))
def test_patch_is_found_at_its_marks(
    path: Path, demo: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The marked lines are found at fault under the marked names, and no others.

    Fixes are left out: tests/checks/test_fixes.py searches them for the same patches.
    """
    monkeypatch.setattr(one_format, "MOST_FIXED", 0)
    patch, root = read(path), tmp_path / "specs"
    patched(patch, demo, root)
    report = judged(root)
    wanted = sorted(expected(path, patch, root))
    assert wanted, "no line is marked"
    places = {(one.place.file, one.place.span.line, one.name) for one in report.findings}
    assert set(wanted) <= places
    names = {one.name for one in report.findings}
    assert names == {name for _, _, name in wanted} | set(patch.get("also", ()))


@pytest.mark.parametrize("path", PATCHES, ids=map(name_of, PATCHES))
def test_patch_says_what_it_breaks(path: Path) -> None:
    """A patch begins with a sentence on what is wrong, and its name is one of its findings."""
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert re.fullmatch(r"# [A-Z0-9].*\.", first)
    name = path.name.removesuffix(".patch.yaml").split("--")[0]
    assert name in {found for _, found in marked(path)}


def test_every_check_has_a_patch() -> None:
    """Each check is broken here, and so is each other name that one book can be found at fault under.

    Files that cannot be read are beside the patches. Codes of sheets, revisions and what a review alone finds
    have tests of their own.
    """
    elsewhere = {"reading", "sheet", "revision"}
    others = {
        name
        for name in finding_names()
        if name.split(".")[0] not in elsewhere and name not in approval_names()
    }
    assert len(others) > 70
    shown = {name for path in PATCHES for _, name in marked(path)}
    assert sorted((set(RULES) | others) - shown) == []
