"""Where a changed format is used: sheets with their codes, lines, changeovers, formats that share with it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

from kb.book.load import Book, Spec
from kb.book.records import SizeFormat
from kb.checks.consistency.limits import yardstick
from kb.history.change_types import under
from kb.review.minutes import Stops
from kb.review.model import ChangedFile, LineTouched, Sharing, SheetMoved
from kb.review.reach import Reached
from kb.sheet.content import NO_FLOOR, NoSheet, contents
from kb.sheet.issue import code, digest, issues

# --- sheets -----------------------------------------------------------------------------------


def sheets(reached: Reached, files: Sequence[ChangedFile], old: Book, new: Book) -> Iterator[SheetMoved]:
    """Setup sheets whose code is another one, or that came or went.

    Args:
        reached: formats whose sheets may say something else
        files: files that changed
        old: the older book
        new: the newer one

    Yields:
        A record each, by format and line.
    """
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
    """Lines that make formats in which something moved, or that change over in another way.

    Args:
        reached: the formats that are reached
        moved: ids of those in which something moved
        faulty: ids of formats that cannot be read in one of the versions
        old: the older book
        new: the newer one

    Returns:
        A record each, by line, and why changeovers of a line were not compared. Changeovers are ordered
        pairs of formats that are not withdrawn.
    """
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
    """The changeovers of a line, by the names that formats have in the reach.

    Args:
        reached: the formats
        line: id of the line
        books: the older book and the newer one
        faulty: formats that cannot be read in one of them; nothing is known of their changeovers
        touched: formats one of which each pair has; all pairs when left out
    """

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
    "the pack, punch and rings": (("punch", "ironing"), lambda one: (one.punch, one.ironing)),
}
"""What formats share: its name, keys whose change concerns it, and what is equal where it is shared."""


def sharing(reached: Reached, ident: str, keys: Sequence[str], old: Book, new: Book) -> Iterator[Sharing]:
    """Other formats that share with one what its change concerns.

    Args:
        reached: names of the formats before and now
        ident: a format
        keys: its keys that changed
        old: the older book
        new: the newer one

    Yields:
        A record for each thing that is shared, or was.
    """
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
