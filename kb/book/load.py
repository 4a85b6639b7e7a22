"""A folder of specs as a book: every file read, judged and made into its record.

A file that fails stops there with all its findings; the others go on. What a book must hold once
(plant, limits) and what files say of one another (ids, references, owners) is judged here too.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, Literal, overload

from kb.book import keys, schema, source
from kb.book.finding import Finding, Place, Span
from kb.book.records import (
    INHERITED,
    KNOWN_MACHINES,
    SAME_IN_VARIANTS,
    End,
    Limits,
    Line,
    Material,
    Plant,
    SizeFormat,
    Trial,
    Waivers,
)
from kb.book.records_floor import Changeover, Floor, SheetCodes, Week
from kb.book.starter import with_book_values
from kb.book.tree import Document, Scalar

if TYPE_CHECKING:
    from typing_extensions import TypeVar  # Python 3.13 has its `default`

    R_co = TypeVar("R_co", covariant=True, default=Any)
else:
    from typing import TypeVar

    R_co = TypeVar("R_co", covariant=True)

FOLDERS = {
    "size-format": "formats",
    "body-standard": "standards",
    "end": "ends",
    "material": "materials",
    "line": "lines",
    "week": "weeks",
    "trial": "trials",
}
"""Where the files of each kind are; what a book has once is at the top."""

TOP_FILES = {
    "plant": "plant.yaml",
    "limits": "limits.yaml",
    "waivers": "waivers.yaml",
    "floor": "floor.yaml",
    "sheet-codes": "sheet-codes.yaml",
    "changeover": "changeover.yaml",
}

_FORMATS = FOLDERS["size-format"]


@dataclass(frozen=True, slots=True)
class Spec(Generic[R_co]):
    """One valid file: its record, and where each value of it is.

    `Spec[Floor]` is one of a kind that is known; `Spec` alone is one of any kind.
    """

    kind: str
    id: str
    document: Document
    record: R_co

    @property
    def references(self) -> Iterator[tuple[str, str, str]]:
        """Every id of another file in it: its key, the kind of the file, the id."""
        return (one for one in keys.references(self.record) if one[1] in FOLDERS)

    @property
    def machine_kinds(self) -> Iterator[tuple[str, str]]:
        """Every kind of machine that it names: its key, the kind."""
        return ((key, name) for key, kind, name in keys.references(self.record) if kind == "machine")

    def place(self, key: str) -> Place:
        return self.document.place(key)


@dataclass(frozen=True, slots=True)
class SpecReading:
    """A file as a record; with faults, its findings and the stage that stopped it."""

    spec: Spec | None
    findings: tuple[Finding, ...] = ()
    stage: str = ""


@dataclass(slots=True)
class Book:
    """All specs of a folder, the valid ones as records, the faults of the others as findings.

    Attributes:
        root: the folder.
        specs: valid files by kind and id.
        findings: faults found so far, in order.
        broken: for each file that could not be made a record, the stage that stopped it.
        unread: kind and id of the size formats that were not selected.
        closed: kinds whose folder cannot be read.
    """

    root: Path
    specs: dict[str, dict[str, Spec]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    broken: dict[str, str] = field(default_factory=dict)
    unread: set[tuple[str, str]] = field(default_factory=set)
    closed: set[str] = field(default_factory=set)

    @overload
    def of(self, kind: Literal["size-format"]) -> Mapping[str, Spec[SizeFormat]]: ...
    @overload
    def of(self, kind: Literal["end"]) -> Mapping[str, Spec[End]]: ...
    @overload
    def of(self, kind: Literal["material"]) -> Mapping[str, Spec[Material]]: ...
    @overload
    def of(self, kind: Literal["line"]) -> Mapping[str, Spec[Line]]: ...
    @overload
    def of(self, kind: Literal["week"]) -> Mapping[str, Spec[Week]]: ...
    @overload
    def of(self, kind: Literal["trial"]) -> Mapping[str, Spec[Trial]]: ...
    @overload
    def of(self, kind: str) -> Mapping[str, Spec]: ...
    def of(self, kind: str) -> Mapping[str, Spec]:
        """Valid files of a kind by id."""
        return self.specs.get(kind, {})

    @overload
    def only(self, kind: Literal["plant"]) -> Spec[Plant] | None: ...
    @overload
    def only(self, kind: Literal["limits"]) -> Spec[Limits] | None: ...
    @overload
    def only(self, kind: Literal["waivers"]) -> Spec[Waivers] | None: ...
    @overload
    def only(self, kind: Literal["floor"]) -> Spec[Floor] | None: ...
    @overload
    def only(self, kind: Literal["sheet-codes"]) -> Spec[SheetCodes] | None: ...
    @overload
    def only(self, kind: Literal["changeover"]) -> Spec[Changeover] | None: ...
    @overload
    def only(self, kind: str) -> Spec | None: ...
    def only(self, kind: str) -> Spec | None:
        """The one file of a kind at the top of the book."""
        return next(iter(self.of(kind).values()), None)

    def faulty(self, kind: str) -> set[str]:
        """Ids of the files of a kind that are there and have faults of their own."""
        return {Path(file).stem for file in self.broken if Path(file).parent.name == FOLDERS[kind]}

    def ids(self, kind: str) -> set[str]:
        """Ids of all files of a kind, those with faults and those not selected too."""
        return {*self.of(kind), *self.faulty(kind), *(ident for of, ident in self.unread if of == kind)}

    @property
    def machine_kinds(self) -> tuple[str, ...]:
        """The kinds of machine that a line can have: those that are known, and those of floor.yaml."""
        floor = self.only("floor")
        own = [one.machine for one in floor.record.machines] if floor else []
        return tuple(dict.fromkeys((*KNOWN_MACHINES, *own)))

    @property
    def plant(self) -> Plant | None:
        """The plant, if its file is valid."""
        spec = self.only("plant")
        return spec.record if spec else None

    @property
    def limits(self) -> Limits | None:
        """Limits and settings, if their file is valid."""
        spec = self.only("limits")
        return spec.record if spec else None

    @property
    def waivers(self) -> Waivers:
        """The waivers; none if the book has no such file."""
        spec = self.only("waivers")
        return spec.record if spec else Waivers(waivers=())


def book_folder(path: Path) -> Path | None:
    """The book that a path is in: the nearest folder upward that holds `plant.yaml`, or its `specs`."""
    start = path if path.is_dir() else path.parent
    real = Path(os.path.realpath(start))  # unlike resolve, it takes a loop of links for a plain name
    for folder in (start, *real.parents):
        if (folder / TOP_FILES["plant"]).is_file():
            return folder
        if (folder / "specs" / TOP_FILES["plant"]).is_file() and folder == start:
            return folder / "specs"
    return None


def load(root: Path, *, shown: str, formats: Iterable[Path] | None = None) -> Book:
    """Read a book; of its size formats only the given ones, if any are given.

    Its findings are those of reading, shape, units and references. `shown` is the folder as findings show it.
    """
    book = Book(root)
    wanted = None if formats is None else {os.path.realpath(path) for path in formats}
    files = list(_files(root, lambda error: _unread_folder(book, error, shown)))
    standards = root / FOLDERS["body-standard"]
    for path in sorted(files, key=lambda one: one.parent != standards):  # formats build on them
        name = path.relative_to(root).as_posix()
        is_format = name.startswith(f"{FOLDERS['size-format']}/")
        if wanted is not None and is_format and os.path.realpath(path) not in wanted:
            book.unread.add(("size-format", path.stem))
            continue
        _take_file(book, path, name, _joined(shown, name))
    _needs_top_files(book, shown)
    for spec in [one for kind in book.specs.values() for one in kind.values()]:
        book.findings += _reference_faults(book, spec)
    book.findings = with_book_values(book, book.findings)
    return book


def _joined(shown: str, name: str) -> str:
    return name if shown in {"", "."} else f"{shown.rstrip('/')}/{name}"


def _files(root: Path, unread: Callable[[OSError], None]) -> Iterator[Path]:
    """YAML files of a book in a fixed order; hidden ones and linked folders are left out.

    A folder that is named like a spec is one of them, for the reader to refuse.
    """
    for folder, folders, names in os.walk(root, onerror=unread):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted([*names, *folders]):
            if name.endswith((".yaml", ".yml")) and not name.startswith("."):
                yield Path(folder) / name


def _unread_folder(book: Book, error: OSError, shown: str) -> None:
    """A folder that cannot be listed: what is in it is unknown, so the book is not whole."""
    folder = os.path.relpath(os.fsdecode(error.filename), book.root)
    name = _joined(shown, "" if folder == "." else Path(folder).as_posix()) or "."
    message = f"the folder cannot be read: {(error.strerror or 'no reason given').lower()}"
    fix = "give the account that runs the check read permission"
    book.findings.append(_fault("reading.file", name.rstrip("/") or "/", message, fix))
    book.broken[name] = "reading"
    book.closed.update(kind for kind, of in FOLDERS.items() if folder in {".", of})


def _fault(name: str, file: str, message: str, *fixes: str) -> Finding:
    return Finding(name, "error", Place(file, "", Span(1, 1, 1, 1)), message, fixes)


def _take_file(book: Book, path: Path, name: str, shown: str) -> None:
    reading = read_spec(path, name, shown, book)
    book.findings += reading.findings
    if reading.spec is None:
        book.broken[shown] = reading.stage
    else:
        book.specs.setdefault(reading.spec.kind, {})[reading.spec.id] = reading.spec


def read_spec(path: Path, name: str, shown: str, book: Book | None = None) -> SpecReading:
    """Read one file of a book, without the files that it refers to but for the one that a format builds on.

    `name` is its path below the book, `shown` its path as findings show it, both with forward slashes. A
    format builds on a standard or format of `book`; a base format that is not in it yet is read from its
    folder.
    """
    real = Path(os.path.realpath(path))
    if book is not None and path.is_symlink() and not real.is_relative_to(os.path.realpath(book.root)):
        fault = _fault("reading.link", shown, "a link to a file outside the book", "copy the file here")
        return SpecReading(None, (fault,), "reading")
    raw = source.raw_bytes(path, shown)
    if isinstance(raw, source.Reading):
        return SpecReading(None, raw.findings, "reading")
    base, faults = _base_of(raw, shown, book)
    if base is None and faults is not None:
        return SpecReading(None, tuple(faults), "references")
    return _spec_in(raw, name, shown, base)


@dataclass(frozen=True, slots=True)
class _Base:
    """The document that a format builds on; two of the same files and texts are the same."""

    files: tuple[str, ...]
    texts: tuple[str, ...]
    document: Document = field(compare=False)


def _base_of(raw: bytes, shown: str, book: Book | None) -> tuple[_Base | None, Sequence[Finding] | None]:
    """What the bytes of a format build on, and why it cannot be read; None twice for a format in full."""
    if b"standard" not in raw and b"variant_of" not in raw:
        return None, None
    document = _document_in(raw, shown).document
    if document is None:
        return None, None
    base, standard = _id_at(document, "variant_of"), _id_at(document, "standard")
    if base:
        found, faults = _base_format(document, base, shown, book or Book(Path()))
    elif standard:
        found = (book.of("body-standard") if book else {}).get(standard)
        known = sorted(book.of("body-standard")) if book else []
        faulty = book is not None and standard in book.faulty("body-standard")
        missing = _unknown(document.place("standard"), "body-standard", standard, known)
        missing = missing if known else replace(missing, fixes=("add it to the folder standards",))
        faults = [] if faulty else [missing]
    else:
        return None, None
    if found is None:
        return None, faults
    return _Base(found.document.files, found.document.texts, found.document), None


def _id_at(document: Document, key: str) -> str:
    node = document.node(key)
    return node.text if isinstance(node, Scalar) else ""


def _base_format(
    document: Document, ident: str, shown: str, book: Book
) -> tuple[Spec | None, Sequence[Finding]]:
    """The base format of a label variant, and why it has none; one with errors has findings of its own."""
    place, own = document.place("variant_of"), Path(shown).stem
    spec = book.of("size-format").get(ident)
    if spec is not None:
        above = spec.record.variant_of
    else:
        known = sorted(path.stem for path in (book.root / _FORMATS).glob("*.yaml"))
        if ident not in known:
            return None, [_unknown(place, "size-format", ident, [one for one in known if one != own])]
        name = f"{_FORMATS}/{ident}.yaml"
        other_shown = f"{shown.rpartition('/')[0]}/{ident}.yaml".removeprefix("/")
        raw = source.raw_bytes(book.root / name, other_shown)
        other = None if isinstance(raw, source.Reading) else _document_in(raw, other_shown).document
        above = _id_at(other, "variant_of") if other else ""
        if not above:
            spec = read_spec(book.root / name, name, other_shown, book).spec
    if above:
        message = f"{ident} is {'this format itself' if ident == own else f'a label variant of {above}'}"
        loop = own in {ident, above}
        fix = "name a format that has values of its own" if loop else f"set variant_of to {above}"
        return None, [Finding("book.variant-base", "error", place, message, (fix,))]
    faults = [
        Finding(
            "book.variant-values",
            "error",
            document.key_place(key),
            f"{key} is written in a label variant of {ident}; only {ident} can give it",
            (
                f"delete {key}",
                f"or write a format in full: `sizebook export {ident} --flat` shows all values",
            ),
        )
        for key in SAME_IN_VARIANTS
        if document.node(key) is not None
    ]
    return (None, faults) if faults else (spec, [])


@lru_cache(maxsize=512)
def _document_in(raw: bytes, shown: str) -> source.Reading:
    return source.read_bytes(raw, shown)


@lru_cache(maxsize=512)
def _spec_in(raw: bytes, name: str, shown: str, base: _Base | None) -> SpecReading:
    """The spec in the bytes of a file; the same bytes under the same names are read once."""
    reading = _document_in(raw, shown)
    if reading.document is None:
        return SpecReading(None, reading.findings, "reading")
    document = reading.document
    if base is not None:
        variant = document.node("variant_of") is not None
        own = {"lines"} & document.root.entries.keys()
        names = {*SAME_IN_VARIANTS, "lines"} - own if variant else INHERITED
        document = document.upon(base.document, names)
    shape = schema.judge(document)
    if shape.findings:
        units_only = all(finding.name.startswith("units.") for finding in shape.findings)
        return SpecReading(None, tuple(shape.findings), "units" if units_only else "shape")
    record = keys.build(shape.kind, document)
    spec = Spec(shape.kind, getattr(record, "id", shape.kind), document, record)
    misplaced = _misplaced(spec, name)
    return SpecReading(None, (misplaced,), "references") if misplaced else SpecReading(spec)


def _misplaced(spec: Spec, name: str) -> Finding | None:
    """A file must be where its kind and id say, so that each id is found and is there once."""
    folder = FOLDERS.get(spec.kind)
    right = f"{folder}/{spec.id}.yaml" if folder else TOP_FILES[spec.kind]
    if name == right:
        return None
    at = "id" if folder and name.startswith(f"{folder}/") else "kind"
    message = f"this {spec.kind} is in {name}; its id and kind belong in {right}"
    return Finding("book.file-name", "error", spec.place(at), message, (f"name the file {right}",))


def _needs_top_files(book: Book, shown: str) -> None:
    for kind in ("plant", "limits"):
        file = _joined(shown, TOP_FILES[kind])
        if not book.of(kind) and file not in book.broken:
            book.findings.append(
                _fault(
                    "book.missing-file",
                    file,
                    f"the book has no {TOP_FILES[kind]}",
                    "`sizebook new DIR` makes a small book with an example",
                )
            )
            book.broken[file] = "reading"


def _reference_faults(book: Book, spec: Spec) -> Iterator[Finding]:
    for key, kind, ident in spec.references:
        if spec.document.inherits(key):  # the file that has it answers for it
            continue
        if ident in book.of(kind) or (kind, ident) in book.unread or ident in book.faulty(kind):
            continue
        if kind in book.closed:
            continue
        yield _unknown(spec.place(key), kind, ident, sorted(book.of(kind)))
    yield from _machine_faults(book, spec)
    plant = book.plant
    if plant is not None:
        yield from _owner_faults(spec, plant)


def _machine_faults(book: Book, spec: Spec) -> Iterator[Finding]:
    """Kinds of machine that no file lists, and those of floor.yaml that no line has."""
    if TOP_FILES["floor"] not in {Path(file).name for file in book.broken}:
        for key, kind in spec.machine_kinds:
            if kind not in book.machine_kinds:
                found = _unknown(spec.place(key), "kind of machine", kind, book.machine_kinds)
                yield replace(found, fixes=(*found.fixes, "or list it under machines in floor.yaml"))
    if spec.kind == "floor" and not book.faulty("line") and "line" not in book.closed:
        on_lines = [machine.kind for line in book.of("line").values() for machine in line.record.machines]
        known = tuple(dict.fromkeys((*KNOWN_MACHINES, *on_lines)))
        for i, one in enumerate(spec.record.machines):
            if one.machine not in known:
                place = spec.place(f"machines[{i}].machine")
                yield _unknown(place, "kind of machine", one.machine, known)


def _unknown(place: Place, kind: str, ident: str, known: Sequence[str]) -> Finding:
    """The finding on an id that is nowhere in the book."""
    near = get_close_matches(ident, known, n=1)
    hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known[:12])}"
    return Finding(
        "book.unknown-id",
        "error",
        place,
        f"{kind} {ident} is not in the book",
        (hint,) if known else (),
    )


def _owner_faults(spec: Spec, plant: Plant) -> Iterator[Finding]:
    for key, owner in _owners(spec):
        if owner not in plant.owners:
            near = get_close_matches(owner, plant.owners, n=1)
            fix = f"did you mean {near[0]}?" if near else f"owners in plant.yaml: {', '.join(plant.owners)}"
            yield Finding(
                "book.unknown-owner", "error", spec.place(key), f"owner {owner} is not in plant.yaml", (fix,)
            )


def _owners(spec: Spec) -> Iterator[tuple[str, str]]:
    record = spec.record
    if spec.kind == "limits":
        for name, one in record.limits.items():
            yield f"limits.{name}.owner", one.owner
        for name, one in record.settings.items():
            yield f"settings.{name}.owner", one.owner
    elif spec.kind == "waivers":
        for i, one in enumerate(record.waivers):
            yield f"waivers[{i}].owner", one.owner
            yield f"waivers[{i}].approver", one.approver
    elif spec.kind == "plant":
        yield from ((f"accounts[{i}].owner", one.owner) for i, one in enumerate(record.accounts))
        metal = keys.values(record.metal, "metal")
        yield from ((key, owner) for key, owner in metal if key.endswith(".owner"))
    elif hasattr(record, "owner"):
        yield "owner", record.owner
