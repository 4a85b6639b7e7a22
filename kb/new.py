"""A small book to begin with: two formats of the demo book and all that they need, for a plant of its own."""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from kb.book.compose import SHORT, as_yaml, edited
from kb.book.finding import one_line
from kb.book.load import FOLDERS, TOP_FILES, Book, Spec, load
from kb.book.records import Limits
from kb.book.records_floor import Changeover, Floor
from kb.book.tree import Document
from kb.errors import SizebookError
from kb.folders import shipped
from kb.output.io import umask, write_atomic

START = ("b211-330", "b211-355")
"""The formats of the demo book that a new book begins with: two, so that a changeover can be planned."""

LINE = "heron"
"""The line of the demo book that makes them."""

SCHEMAS = ".schema"
"""Where the new book keeps the schemas for the editor; the check passes over hidden folders."""

_NO_WAIVERS = """\
# Temporary waivers: one check, one format, an end date. None yet.
kind: waivers
waivers: []
"""
_HINT = re.compile(r"(?m)^# yaml-language-server: .*\n")
_NOTE = "# Inherited from the demo book. Replace each value by that of your plant, and confirm it.\n"
_EVIDENCE = re.compile(
    r"[Pp]lant|invented|measured|trial|record|filler|seamer|[Pp]ast |Agreed|of both", re.ASCII
)
"""Words of a source by which the demo plant speaks of itself."""

DEMO = "Demo value, not of this plant"
"""The source of a value that only the demo plant has evidence for."""


class CannotMake(SizebookError):  # noqa: N818 - printed to the reader in one line
    """The new book would overwrite a file, or its folder cannot be made."""


@dataclass(frozen=True)
class NewPlant:
    """What a new book is called: the names of its plant and of its line."""

    plant: str = "New plant"
    line: str = "Line 1"

    def __post_init__(self) -> None:
        for name in (self.plant, self.line):
            if not _slug(name) or not name.isprintable() or len(name) > LONGEST_NAME:
                raise CannotMake(
                    f"{one_line(name, 60) or 'an empty text'} is no name: use letters a to z or digits, "
                    f"at most {LONGEST_NAME} characters"
                )


LONGEST_NAME = 60


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def new_book(target: Path, named: NewPlant | None = None) -> list[str]:
    """Make a new book in a folder that is empty or not there yet; give the files made, with forward slashes.

    It is written beside its place and put there when it is complete, so an interruption leaves nothing
    half-written. Its limits and settings are marked as not confirmed. The evidence of the demo plant is left
    out: waivers, past changeovers, codes, timed steps and the settings of its machines.

    Raises:
        CannotMake: if something is there, or there is no folder to make it in.
        OSError: if it cannot be written.
    """
    target = Path(os.path.realpath(target))
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise CannotMake(f"{target.name} is not an empty folder")
    if not target.parent.is_dir():
        raise CannotMake(f"folder {target.parent.name} does not exist")
    beside = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}-", suffix=".partial"))
    try:
        _write(beside, named or NewPlant())
        made = sorted(path.relative_to(beside).as_posix() for path in beside.rglob("*") if path.is_file())
        _put(beside, target)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return made


def _put(beside: Path, target: Path) -> None:
    """Move the finished book to its place; an empty folder that is there stays that folder."""
    if not target.exists():
        os.chmod(beside, 0o777 & ~umask())
        os.rename(beside, target)
        return
    moved: list[Path] = []
    try:
        for part in sorted(beside.iterdir()):
            moved.append(target / part.name)
            os.rename(part, moved[-1])
    except BaseException:
        for part in moved:
            shutil.rmtree(part) if part.is_dir() else part.unlink(missing_ok=True)
        raise


def _write(folder: Path, named: NewPlant) -> None:
    demo = shipped("specs")
    book = load(demo, shown="", formats=[demo / FOLDERS["size-format"] / f"{one}.yaml" for one in START])
    line = _slug(named.line)
    for spec in _needed(book):
        name = f"{FOLDERS[spec.kind]}/{spec.id}.yaml" if spec.kind in FOLDERS else TOP_FILES[spec.kind]
        file = folder / (f"{FOLDERS['line']}/{line}.yaml" if spec.kind == "line" else name)
        file.parent.mkdir(parents=True, exist_ok=True)
        text = _HINT.sub("", _OWN.get(spec.kind, _as_it_is)(spec, named))
        short = spec.kind == "size-format" and spec.document.base is not None
        write_atomic(file, _hint(name, SHORT if short else "") + _NOTE + text)
    write_atomic(folder / TOP_FILES["waivers"], _hint(TOP_FILES["waivers"]) + _NO_WAIVERS)
    readme = (shipped("site") / "new" / "README.md").read_text(encoding="utf-8")
    write_atomic(
        folder / "README.md", readme.format(plant=named.plant, line=line, first=START[0], second=START[1])
    )
    schemas = folder / SCHEMAS
    schemas.mkdir()
    (schemas / SHORT).parent.mkdir()
    for schema in (*sorted(shipped("schema").glob("*.json")), shipped("schema") / f"{SHORT}.json"):
        write_atomic(schemas / schema.relative_to(shipped("schema")), schema.read_bytes())


def _needed(book: Book) -> Iterator[Spec]:
    """Files of the formats the book begins with, of what they refer to and of the floor."""
    for kind in ("plant", "limits", "floor", "changeover"):
        yield from book.of(kind).values()
    todo, seen = [("size-format", one) for one in START], set()
    while todo:
        kind, ident = todo.pop()
        if (kind, ident) not in seen:
            seen.add((kind, ident))
            spec = book.of(kind)[ident]
            yield spec
            todo += [(kind, ident) for _, kind, ident in spec.references]


# --- what a new book has otherwise than the demo book -----------------------------------------


def _as_it_is(spec: Spec, _named: NewPlant) -> str:
    return spec.document.text


def _plant(spec: Spec, named: NewPlant) -> str:
    values = {
        "id": as_yaml(_slug(named.plant), quoted=False),
        "title": as_yaml(named.plant, quoted=True),
        "about": f'"{DEMO}: every number of this file."',
    }
    gone = ["metal"] if spec.record.metal else []
    return _without(spec.document, gone, edited(spec.document, values))


def _line(spec: Spec, named: NewPlant) -> str:
    titles = {
        f"machines[{i}].title": f'"{one.kind.capitalize()}"' for i, one in enumerate(spec.record.machines)
    }
    title = as_yaml(named.line, quoted=True)
    return edited(spec.document, {"id": as_yaml(_slug(named.line), quoted=False), "title": title, **titles})


def _format(spec: Spec, named: NewPlant) -> str:
    why = f'"{DEMO}: an example to begin with."'
    values = {
        "revision": "1",
        "status": "draft",
        "why": why,
        "lines[0]": as_yaml(_slug(named.line), quoted=False),
    }
    return edited(spec.document, values)


def _standard(spec: Spec, _named: NewPlant) -> str:
    return edited(spec.document, {"why": f'"{DEMO}: an example to begin with."'})


def _limits(spec: Spec, _named: NewPlant) -> str:
    """The limits, each not confirmed; a source of the demo plant says so."""
    values = {}
    record: Limits = spec.record
    for group, given in (("limits", record.limits), ("settings", record.settings)):
        for name, one in given.items():
            if _EVIDENCE.search(one.source):
                values[f"{group}.{name}.source"] = json.dumps(f"{DEMO}: {one.source}", ensure_ascii=False)
            values[f"{group}.{name}.review"] = f'"{one.review}"\n    confirmed: false'
    return edited(spec.document, values)


def _floor(spec: Spec, _named: NewPlant) -> str:
    """The floor without the settings of the demo plant's machines and the places of its stores."""
    record: Floor = spec.record
    gone = [f"machines[{i}].plant_settings" for i, one in enumerate(record.machines) if one.plant_settings]
    text = _without(spec.document, gone)
    return re.sub(r"(?m)^ +store: .*\n|, store: (?:\"[^\"\n]*\"|[^,}\n]*)(?=[,}])", "", text)


def _changeover(spec: Spec, named: NewPlant) -> str:
    """The steps with one crew, every time estimated, and no past."""
    record: Changeover = spec.record
    crews = [i for i, one in enumerate(record.crews) if one.line == LINE]
    first = crews[0]
    values = {
        f"crews[{first}].id": "days",
        f"crews[{first}].title": as_yaml(f"{named.line}, days", quoted=True),
        f"crews[{first}].line": as_yaml(_slug(named.line), quoted=False),
    }
    gone = ["past", *(f"crews[{i}]" for i in range(len(record.crews)) if i != first)]
    text = _without(spec.document, gone, edited(spec.document, values))
    return text.replace("basis: timed", "basis: estimated")


def _without(document: Document, gone: Iterable[str], text: str = "") -> str:
    """A text without the lines of some keys; the other keys are on the lines where they were."""
    lines = (text or document.text).split("\n")
    for key in sorted(gone, key=lambda one: document.key_place(one).span, reverse=True):
        node = document.node(key)
        assert node is not None
        del lines[document.key_place(key).span.line - 1 : node.span.end_line]
    return "\n".join(_without_head(lines))


def _without_head(lines: list[str]) -> list[str]:
    """Lines without the comments at their top, which speak of the demo plant."""
    first = next(i for i, one in enumerate(lines) if not one.startswith("#"))
    return lines[first:]


def _metal(spec: Spec, _named: NewPlant) -> str:
    return edited(spec.document, {"source": json.dumps(f"{DEMO}: {spec.record.source}", ensure_ascii=False)})


_OWN: Mapping[str, Callable[[Spec, NewPlant], str]] = {
    "plant": _plant,
    "line": _line,
    "size-format": _format,
    "body-standard": _standard,
    "limits": _limits,
    "material": _metal,
    "floor": _floor,
    "changeover": _changeover,
}


def _hint(name: str, kind: str = "") -> str:
    """The line by which an editor finds the schema of a file, from where the file is."""
    folder, _, _ = name.rpartition("/")
    kinds = {folder: kind for kind, folder in FOLDERS.items()}
    kind = kind or kinds.get(folder) or name.removesuffix(".yaml")
    up = "../" if folder else ""
    return f"# yaml-language-server: $schema={up}{SCHEMAS}/{kind}.json\n"
