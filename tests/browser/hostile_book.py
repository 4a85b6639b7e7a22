"""A small book that holds a harmful text in every free text of every kind of file, found by the schemas.

Each harmful text has a number, so that a test can say which one a page obeyed. Texts that were alike stay
alike, so that owners, skills and roles still refer to one another.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from kb.book.load import Book
from kb.folders import shipped
from tests.conftest import copy_book, put

FORMATS = ("b211-330", "b211-330-lantern", "b204-355")
"""Two formats whose changeover is planned soon, and one that has a waiver."""

SUM = "{{ 77777 * 3 }}"
RESULT = "233331"

FORMS = (
    "zq{n}'\"></script><img src=x onerror=p({n})> [x](javascript:p({n})) " + SUM + "{% raw %}{{ config }}"
    ' `c` **b** <b>x</b> &lt;i&gt; --8<-- "x" " onmouseover="p({n})" x=\' onfocus=\'p({n})\' autofocus y=\'',
    "zq{n}'\"></script><img src=x onerror=p({n})> [x](javascript:p({n})) " + SUM,
    "zq{n}'\"><img src=x onerror=p({n})> " + SUM + " [x](javascript:p({n}))",
    "zq{n}'\"></script><img src=x onerror=p({n})>",
    "zq{n}'\"><img src=x onerror=p({n})>",
)
"""Harmful texts, the longest first: each leaves an attribute, a script and a paragraph, if a page lets it."""

KEYWORDS = {"quantity", "slug", "code", "day", "moment", "reference", "enum", "const", "pattern"}
"""What makes a string of a schema something else than free text."""


def free_keys(kind: str) -> set[str]:
    """Keys of a kind of file that hold free text, `*` for every position of a list and every name."""
    schema = json.loads((shipped("schema") / f"{kind}.json").read_text(encoding="utf-8"))
    return {key for key, _ in _free(schema, "")}


def _free(schema: Any, key: str) -> Iterator[tuple[str, int]]:
    if not isinstance(schema, dict):
        return
    if schema.get("type") == "string" and not KEYWORDS & schema.keys():
        yield key, schema.get("maxLength", 1000)
    for name, part in schema.get("properties", {}).items():
        yield from _free(part, f"{key}.{name}".lstrip("."))
    yield from _free(schema.get("items"), f"{key}[]")
    yield from _free(schema.get("additionalProperties"), f"{key}.*".lstrip("."))
    for word in ("anyOf", "oneOf", "allOf"):
        for part in schema.get(word, ()):
            yield from _free(part, key)


class Planted:
    """The harmful texts of a book.

    Attributes:
        keys: texts that were replaced, by kind and key of their places.
        numbers: number of each by the text it took the place of.
    """

    def __init__(self) -> None:
        self.keys: dict[tuple[str, str], set[str]] = {}
        self.numbers: dict[str, int] = {}
        self._rooms: dict[str, int] = {}

    def measure(self, root: Path) -> None:
        """Find every free text and the room of the narrowest of its places."""
        for kind, key, node, room in self._places(root):
            self.keys.setdefault((kind, key), set()).add(node.value)
            self._rooms[node.value] = min(room, self._rooms.get(node.value, room))
        self.numbers = {text: number for number, text in enumerate(sorted(self._rooms), start=101)}

    def text(self, old: str) -> str:
        """The harmful text in the place of another."""
        made = [form.replace("{n}", str(self.numbers[old])) for form in FORMS]
        return next(one for one in made if len(one) <= self._rooms[old])

    def write(self, root: Path) -> None:
        """Put the harmful texts into the files."""
        for path in sorted(root.rglob("*.yaml")):
            tree = yaml.compose(path.read_text(encoding="utf-8"))
            for _, _, node, _ in self._of_file(tree):
                node.value, node.style = self.text(node.value), '"'
            path.write_text(yaml.serialize(tree, allow_unicode=True, width=10_000), encoding="utf-8")

    def _places(self, root: Path) -> Iterator[tuple[str, str, Any, int]]:
        for path in sorted(root.rglob("*.yaml")):
            yield from self._of_file(yaml.compose(path.read_text(encoding="utf-8")))

    def _of_file(self, tree: Any) -> Iterator[tuple[str, str, Any, int]]:
        kind = next(value.value for key, value in tree.value if key.value == "kind")
        schema = json.loads((shipped("schema") / f"{kind}.json").read_text(encoding="utf-8"))
        rooms = dict(_free(schema, ""))
        for key, node in _scalars(tree, "", rooms):
            yield kind, key, node, rooms[key]


def _scalars(node: Any, key: str, rooms: dict[str, int]) -> Iterator[tuple[str, Any]]:
    """The scalars of a tree whose keys are among some."""
    if isinstance(node, yaml.ScalarNode):
        if key in rooms:
            yield key, node
    elif isinstance(node, yaml.SequenceNode):
        for one in node.value:
            yield from _scalars(one, f"{key}[]", rooms)
    else:
        for name, one in node.value:
            own = f"{key}.{name.value}".lstrip(".")
            any_name = f"{key}.*".lstrip(".")
            known = any(room == own or room.startswith((f"{own}.", f"{own}[")) for room in rooms)
            yield from _scalars(one, own if known else any_name, rooms)


def hostile_book(demo: Book, root: Path) -> Planted:
    """Make a hostile book in a repository of its own.

    Args:
        demo: the demo book
        root: folder to make

    Returns:
        What was planted.
    """
    copy_book(demo, root, FORMATS)
    for name in ("floor.yaml", "changeover.yaml", "sheet-codes.yaml"):
        shutil.copy(demo.root / name, root / name)
    _fill(demo, root)
    with (root / "plant.yaml").open("a", encoding="utf-8") as plant:
        plant.write('accounts: [{owner: quality, account: "@quality"}]\napprovals: [quality]\n')
    planted = Planted()
    planted.measure(root)
    planted.write(root)
    (root / "formats" / "zq1'\"><img src=x onerror=p(1)>.yaml").write_text("kind: <img src=x onerror=p(2)>\n")
    git = ("git", "-c", "user.name=zq3<img src=x onerror=p(3)>", "-c", "user.email=roles@plant.invalid")
    subject = "zq4'\"></script><img src=x onerror=p(4)> [x](javascript:p(4)) " + SUM
    for command in (("init", "-q"), ("add", "-A"), ("commit", "-q", "-m", subject)):
        subprocess.run([*git, *command], cwd=root, check=True)
    return planted


def _fill(demo: Book, root: Path) -> None:
    """Give the book the free texts that the demo formats do without."""
    put(
        root,
        "formats/b211-330.yaml",
        "lines: [heron]\n",
        "lines: [heron]\nalso_called: [Old three thirty]\n"
        'approvals: [{role: quality, revision: 11, day: "2026-09-10", name: shift lead 2}]\n',
    )
    put(
        root,
        "plant.yaml",
        "  currency: EUR\n",
        "  currency: EUR\n  cans:\n    - {format: b211-330, cans: 9000000, source: An order of the year.,"
        ' owner: metal buying, date: "2026-11-02"}\n',
    )
    (root / "standards").mkdir()
    (root / "standards/211.yaml").write_text(
        'kind: body-standard\nid: "211"\ntitle: 211 body\nowner: body tooling\n'
        'why: One base profile.\nbody: "211"\n',
        encoding="utf-8",
    )
    (root / "trials").mkdir()
    shutil.copy(demo.root / "trials/reversal-2026-03-330.yaml", root / "trials")
    put(
        root,
        "changeover.yaml",
        "people: 2\n    skill: electrical\n    second: cupping\n",
        "people: 3\n    skill: electrical\n    second: cupping\n    third: printing\n",
    )
    past = (root / "changeover.yaml").read_text(encoding="utf-8").replace(": b211-500,", f": {FORMATS[1]},")
    (root / "changeover.yaml").write_text(past, encoding="utf-8")
    week = (demo.root / "weeks/heron-49.yaml").read_text(encoding="utf-8")
    runs = [line for line in week.splitlines() if "format:" not in line or f"{FORMATS[1]}," in line]
    (root / "weeks").mkdir()
    (root / "weeks/heron-49.yaml").write_text("\n".join(runs) + "\n", encoding="utf-8")
    waivers = (root / "waivers.yaml").read_text(encoding="utf-8")
    second = waivers[waivers.index("  - check:") :].replace(FORMATS[2], FORMATS[0])
    (root / "waivers.yaml").write_text(f"{waivers}{second}    at: ring 2\n", encoding="utf-8")
