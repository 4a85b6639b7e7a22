"""Which formats a change reaches, and through which files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from kb.book.load import Book, Spec
from kb.book.records import Waiver
from kb.history.change_types import EDITORIAL
from kb.history.versions import Match
from kb.review.model import ChangedFile

_PRINTED_ONLY = ("floor",)
_NEITHER = ("sheet-codes", "changeover", "week")


@dataclass(slots=True)
class Reached:
    """The formats a change reaches, by their id now, or before where they are gone.

    Attributes:
        judged: formats whose numbers may move, with the files that reach them.
        printed: formats whose sheets may say something else, likewise; the judged ones are among them.
        was: for each, its id before; absent where it is new.
        now: for each, its id now; absent where it is gone.
    """

    judged: dict[str, tuple[str, ...]] = field(default_factory=dict)
    printed: dict[str, tuple[str, ...]] = field(default_factory=dict)
    was: dict[str, str] = field(default_factory=dict)
    now: dict[str, str] = field(default_factory=dict)


def reach(found: Sequence[Match], files: Sequence[ChangedFile], old: Book, new: Book) -> Reached:
    """Which formats changed files reach.

    Args:
        found: all files side by side
        files: those that changed
        old: the older book
        new: the newer one

    Returns:
        The formats, in order of their ids.
    """
    made = Reached()
    for one in found:
        if one.kind == "size-format":
            if one.old is not None:
                made.was[one.id] = one.old.id
            if one.new is not None:
                made.now[one.id] = one.new.id
    judged: dict[str, list[str]] = {}
    printed: dict[str, list[str]] = {}
    for file in files:
        words = _words(file)
        numbers, sheets = _moves(file)
        for ident in _reached(file, made, old, new) if sheets else ():
            printed.setdefault(ident, []).append(words)
            if numbers:
                judged.setdefault(ident, []).append(words)
    made.judged = {one: tuple(judged[one]) for one in sorted(judged)}
    made.printed = {one: tuple(printed[one]) for one in sorted(printed)}
    return made


def _words(file: ChangedFile) -> str:
    return (
        "its own file"
        if file.kind == "size-format"
        else f"{file.kind} {file.id}".replace(f"{file.kind} {file.kind}", file.kind)
    )


def _moves(file: ChangedFile) -> tuple[bool, bool]:
    """Whether a changed file can move numbers, and whether it can move what sheets say."""
    if file.kind in _NEITHER or not file.kind:
        return False, False
    gone_or_come = not {"changed", "no change in meaning"} & set(file.states)
    words = all(one.key.rpartition(".")[2] in EDITORIAL for one in file.changes) and file.kind != "waivers"
    numbers = (gone_or_come or (bool(file.changes) and not words)) and file.kind not in _PRINTED_ONLY
    written_anew = bool(file.rewritten) or "form of numbers" in file.unmeaning
    return numbers, gone_or_come or bool(file.changes) or written_anew


def _reached(file: ChangedFile, made: Reached, old: Book, new: Book) -> Iterator[str]:
    """Ids, as the reach names them, of the formats that one changed file reaches."""
    if file.kind == "size-format":
        yield file.id
        return
    names = {file.id, file.was} - {""}
    for ident in sorted({*made.was, *made.now}):
        sides = ((old, made.was.get(ident)), (new, made.now.get(ident)))
        if file.kind == "waivers":
            if len({_waivers_of(book, one) for book, one in sides}) > 1:
                yield ident
            continue
        specs = [(book, book.of("size-format")[one]) for book, one in sides if one is not None]
        if any(_refers(book, spec, file, names) for book, spec in specs):
            yield ident


def _refers(book: Book, spec: Spec, file: ChangedFile, names: set[str]) -> bool:
    record = spec.record
    if file.kind == "end":
        return record.end in names
    if file.kind == "line":
        return bool(names & set(record.lines))
    if file.kind == "material":
        end = book.of("end").get(record.end)
        return record.stock.material in names or (end is not None and end.record.material in names)
    return True


def _waivers_of(book: Book, ident: str | None) -> frozenset[Waiver]:
    """The waivers of a format, for whichever id it has."""
    return frozenset(replace(one, format="") for one in book.waivers.waivers if one.format == ident)
