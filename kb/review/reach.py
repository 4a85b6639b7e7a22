"""Which formats a change reaches, and where they are used: sheets, lines, changeovers, shared tools."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from kb.book.load import Book, Spec
from kb.book.records import SizeFormat, Waiver
from kb.checks.consistency.limits import yardstick
from kb.history.change_types import EDITORIAL, under
from kb.history.value_diff import ChangedFile
from kb.history.versions import Match
from kb.review.minutes import Stops
from kb.review.model import LineTouched, Sharing, SheetMoved
from kb.sheet.content import NO_FLOOR, NoSheet, contents
from kb.sheet.issue import code, digest, issues

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
    """Which formats changed files reach."""
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
        words = "its own file" if file.kind == "size-format" else file_words(file)
        numbers, sheets = _moves(file)
        for ident in _reached(file, made, old, new) if sheets else ():
            printed.setdefault(ident, []).append(words)
            if numbers:
                judged.setdefault(ident, []).append(words)
    made.judged = {one: tuple(judged[one]) for one in sorted(judged)}
    made.printed = {one: tuple(printed[one]) for one in sorted(printed)}
    return made


def file_words(file: ChangedFile) -> str:
    """The kind of a file and its id, unless a book has only one of the kind."""
    return file.kind if file.id == file.kind else f"{file.kind} {file.id}"


def _moves(file: ChangedFile) -> tuple[bool, bool]:
    """Whether a changed file can move numbers, and whether it can move what sheets say."""
    if file.kind in _NEITHER or not file.kind:
        return False, False
    gone_or_come = not {"changed", "no change in meaning"} & set(file.states)
    words = all(one.key.rpartition(".")[2] in EDITORIAL for one in file.changes) and file.kind != "waivers"
    numbers = (gone_or_come or (bool(file.changes) and not words)) and file.kind not in _PRINTED_ONLY
    rewritten = bool(file.rewritten) or "form of numbers" in file.unmeaning
    return numbers, gone_or_come or bool(file.changes) or rewritten


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
    if file.kind == "body-standard":
        return record.standard in names
    if file.kind == "material":
        end = book.of("end").get(record.end)
        return record.stock.material in names or (end is not None and end.record.material in names)
    return True


def _waivers_of(book: Book, ident: str | None) -> frozenset[Waiver]:
    """The waivers of a format, for whichever id it has."""
    return frozenset(replace(one, format="") for one in book.waivers.waivers if one.format == ident)


def sheets(reached: Reached, files: Sequence[ChangedFile], old: Book, new: Book) -> Iterator[SheetMoved]:
    """Setup sheets whose code is another one, or that came or went."""
    faulty = [not yardstick(book).whole for book in (old, new)]
    for ident in reached.printed:
        was, now = reached.was.get(ident), reached.now.get(ident)
        before, after = (
            _no_codes(book, name) if at_fault else _codes(book, name)
            for book, name, at_fault in zip((old, new), (was, now), faulty, strict=True)
        )
        status = new.of("size-format")[now].record.status if now else _state(files, ident)
        for line in sorted({*before, *after}):
            one, other = before.get(line, ("", "")), after.get(line, ("", ""))
            if one[0] == other[0] and was == now:
                continue
            past = issues(new, ident, line)
            recorded = bool(past) and past[-1].digest == other[0]
            codes = [code(each[0]) if each[0] else "" for each in (one, other)]
            why = other[1] or ("" if now else f"the format is {status}")
            yield SheetMoved(ident, line, status, codes[0], codes[1], recorded, why)


def _state(files: Sequence[ChangedFile], ident: str) -> str:
    return next((one.states[0] for one in files if (one.kind, one.id) == ("size-format", ident)), "deleted")


def _no_codes(book: Book, ident: str | None) -> dict[str, tuple[str, str]]:
    """For each line of a format why there is no sheet: limits or settings are missing or wrong."""
    lines = book.of("size-format")[ident].record.lines if ident else ()
    return dict.fromkeys(lines, ("", "limits.yaml has findings"))


def _codes(book: Book, ident: str | None) -> dict[str, tuple[str, str]]:
    """For each line of a format the digest of its sheet, or "" and why there is none."""
    if ident is None:
        return {}
    spec = book.of("size-format")[ident]
    if spec.record.status == "withdrawn":
        return dict.fromkeys(spec.record.lines, ("", "the format is withdrawn"))
    try:
        made = contents(book, ident, spec.record.lines)
    except NoSheet as error:
        return {line: ("", str(error)) for line in spec.record.lines}
    if any(NO_FLOOR in one.missing for one in made):
        return {}
    return {one.identity.line: (digest(one), "") for one in made}


# --- lines and changeovers --------------------------------------------------------------------


def lines(
    reached: Reached, moved: Iterable[str], faulty: Collection[str], old: Book, new: Book
) -> tuple[tuple[LineTouched, ...], tuple[str, ...]]:
    """Lines that make formats in which something moved, or that change over in another way."""
    here: dict[str, list[str]] = {}
    for ident in moved:
        for line in made_on(reached, ident, old, new):
            here.setdefault(line, []).append(ident)
    stops = Stops(old, new)
    moved_stops, not_compared = [], []
    for line in sorted({*here, *new.of("line")}):
        touched = here.get(line, [])
        otherwise = stops.another_way(line)
        if not touched and not otherwise:
            continue
        one = _Pairs(reached, line, (old, new), faulty, None if otherwise else touched)
        found = stops.lengths(line, one.in_both)
        spec = new.of("line").get(line) or old.of("line").get(line)
        made = LineTouched(
            id=line,
            title=spec.record.title if spec else line,
            speed=float(spec.record.speed) if spec else 0.0,
            formats=tuple(sorted(touched)),
            changeovers=one.reached_by(_driven(reached, touched)) if not otherwise else len(one.now),
            compared=found.compared,
            moved=found.moved,
            came=len(one.came),
            went=len(one.went),
        )
        if touched or found.moved or found.why_not:
            moved_stops.append(made)
        not_compared += [found.why_not] if found.why_not else []
    return tuple(moved_stops), tuple(not_compared)


def _driven(reached: Reached, touched: Iterable[str]) -> set[str]:
    """Formats that are reached by more than limits and waivers, which drive no part of a line."""
    return {one for one in touched if set(reached.printed.get(one, ())) - {"limits", "waivers"}}


class _Pairs:
    """The changeovers of a line, by the names that formats have in the reach."""

    def __init__(
        self,
        reached: Reached,
        line: str,
        books: tuple[Book, Book],
        faulty: Collection[str],
        touched: Collection[str] | None,
    ) -> None:
        sides = zip(books, (reached.was, reached.now), strict=True)
        ran, runs = (_running(book, names, line) for book, names in sides)
        self.now = _ordered(runs, touched)
        self._runs = runs
        self.came = [pair for pair in self.now if not {*pair} <= ran | set(faulty)]
        self.went = [pair for pair in _ordered(ran, touched) if not {*pair} <= runs | set(faulty)]
        self.in_both = [
            ((reached.was[one], reached.was[other]), (reached.now[one], reached.now[other]))
            for one, other in self.now
            if {one, other} <= ran
        ]

    def reached_by(self, formats: Collection[str]) -> int:
        """How many changeovers have one of some formats."""
        return len(_ordered(self._runs, formats))


def _running(book: Book, names: Mapping[str, str], line: str) -> set[str]:
    """The formats of a line that are not withdrawn, by the names that the reach has."""
    formats = book.of("size-format")
    return {
        ident
        for ident, name in names.items()
        if line in formats[name].record.lines and formats[name].record.status != "withdrawn"
    }


def _ordered(running: Collection[str], touched: Collection[str] | None) -> list[tuple[str, str]]:
    some = set(running if touched is None else touched)
    names = sorted(running)
    return [(one, other) for one in names for other in names if one != other and {one, other} & some]


def made_on(reached: Reached, ident: str, old: Book, new: Book) -> tuple[str, ...]:
    """Lines that make a format, now or before."""
    sides = ((old, reached.was.get(ident)), (new, reached.now.get(ident)))
    found = [line for book, one in sides if one for line in book.of("size-format")[one].record.lines]
    return tuple(sorted(set(found)))


# --- what is shared ---------------------------------------------------------------------------

_SHARED: dict[str, tuple[tuple[str, ...], Callable[[SizeFormat], object]]] = {
    "body metal {0.stock.material}": (("stock.material",), lambda one: one.stock.material),
    "end {0.end}": (("end", "seam", "flange", "neck.plug_diameter"), lambda one: one.end),
    "the cup tools": (("cup", "blank.diameter"), lambda one: (one.cup, one.blank.diameter)),
    "the matched set": (("punch", "ironing"), lambda one: (one.punch, one.ironing)),
}
"""What formats share: its name, keys whose change concerns it, and what is equal where it is shared."""


def sharing(reached: Reached, ident: str, keys: Sequence[str], old: Book, new: Book) -> Iterator[Sharing]:
    """Other formats that share with one what its change concerns."""
    now = reached.now.get(ident)
    if now is None:
        return
    for words, (concerned, part) in _SHARED.items():
        if not any(under(key, concerned) for key in keys):
            continue
        record = new.of("size-format")[now].record
        after = _sharers(new.of("size-format"), now, part)
        before = {
            reached_now
            for one in _sharers(old.of("size-format"), reached.was.get(ident), part)
            if (reached_now := _name_now(reached, one)) is not None
        }
        if before | after:
            yield Sharing(
                words.format(record),
                tuple(sorted(after & before)),
                tuple(sorted(before - after)),
                tuple(sorted(after - before)),
            )


def _sharers(
    formats: Mapping[str, Spec], ident: str | None, part: Callable[[SizeFormat], object]
) -> set[str]:
    if ident is None:
        return set()
    mine = part(formats[ident].record)
    return {one for one, spec in formats.items() if one != ident and part(spec.record) == mine}


def _name_now(reached: Reached, was: str) -> str | None:
    return next((now for now, before in reached.was.items() if before == was and now in reached.now), None)
