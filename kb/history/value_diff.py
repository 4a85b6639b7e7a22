"""What a change of a file means: value by value in trade words, and what of it means nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from kb.book.conversion import alike, in_unit, number, same_value
from kb.book.finding import Place, one_line
from kb.book.keys import quantity_at
from kb.book.load import Spec
from kb.book.quantity import Quantity, format_in
from kb.book.structure import dotted
from kb.book.tree import Document, Mapping, Node, Scalar
from kb.book.tree import Sequence as List
from kb.history.change_types import Kind, Names, Steps, kinds_of, re_expressed, term
from kb.history.versions import Files, Match, ValuePair, pairs, said, written

State = Literal[  # `invalid` can be read, and has findings of shape or units
    "changed",
    "no change in meaning",
    "added",
    "renamed",
    "moved",
    "released",
    "withdrawn",
    "deleted",
    "invalid",
    "unreadable",
    "readable again",
]

SAME: State = "no change in meaning"

LONGEST = 160
"""Characters of a value that one line has room for."""

_REGISTER = "sheet-codes"


@dataclass(frozen=True, slots=True)
class Spanned:
    """Least, target and most of a value, in the unit it is reported in."""

    least: float
    target: float
    most: float


@dataclass(frozen=True, slots=True)
class ValueChange:
    """One value that means something else than before.

    Attributes:
        key: dotted key in the file that has it.
        station: the part of the file, in trade words.
        words: the value's name in trade words.
        old: as it was written, "" where it is new.
        new: as it is written, "" where it is gone.
        old_place: where it was; none where it is new.
        new_place: where it is; none where it is gone.
        kinds: what sort of change it is.
        difference: new minus old in the new unit, with its sign; "" where there is none.
        share: the same as a share of the tolerance band; none without a band.
        overlap: share of the old tolerance band that is still allowed; none without two bands.
        band: how the tolerance band moved, in words; "" where it did not.
        rewritten: the old value in the new unit, where the unit has changed; "" where it has not.
        was: least, target and most before, in the new unit; none where it is no quantity.
        now: the same now.
    """

    key: str
    station: str
    words: str
    old: str
    new: str
    old_place: Place | None
    new_place: Place | None
    kinds: tuple[Kind, ...]
    difference: str = ""
    share: float | None = None
    overlap: float | None = None
    band: str = ""
    rewritten: str = ""
    was: Spanned | None = None
    now: Spanned | None = None


@dataclass(frozen=True, slots=True)
class ChangedFile:
    """One file of the book that is not as it was.

    Attributes:
        kind: kind of spec, "" for a file that cannot be read.
        was: its id before, where it has another one now.
        title: its title, or its kind where it has none.
        states: what became of it.
        changes: what means something else, in process order.
        rewritten: equal values in another unit.
        unmeaning: what else differs and means nothing.
    """

    kind: str
    id: str
    was: str
    title: str
    file: str
    states: tuple[State, ...]
    kinds: tuple[Kind, ...]
    changes: tuple[ValueChange, ...]
    rewritten: tuple[ValueChange, ...]
    unmeaning: tuple[str, ...]

    @property
    def editorial(self) -> bool:
        """Whether nothing in it but its words has changed."""
        return set(self.kinds) <= {"editorial"} and self.states in {("changed",), ("no change in meaning",)}


def changed_file(match: Match, names: Names) -> ChangedFile | None:
    """What became of a file; None when its text is the same."""
    old, new = match.old, match.new
    spec = new or old
    if spec is None or (old and new and old.document.texts == new.document.texts and not match.renamed):
        return None
    found = list(_compared(old, new, names)) if old and new and match.kind != _REGISTER else []
    ordered = [change for change, _ in sorted(found, key=lambda one: one[1])]
    changes = tuple(one for one in ordered if one.kinds)
    rewritten = tuple(one for one in ordered if not one.kinds)
    unmeaning = _register(old, new) if match.kind == _REGISTER else ()
    if old and new and match.kind != _REGISTER:
        unmeaning = tuple(_unmeaning(old, new, rewritten, bool(changes)))
    return ChangedFile(
        kind=match.kind,
        id=spec.id,
        was=old.id if old and match.renamed else "",
        title=getattr(spec.record, "title", "") or match.kind.replace("-", " "),
        file=spec.document.file,
        states=tuple(_states(match)) or ("changed" if changes or match.kind == _REGISTER else SAME,),
        kinds=tuple(dict.fromkeys(kind for change in changes for kind in change.kinds)),
        changes=changes,
        rewritten=rewritten,
        unmeaning=unmeaning,
    )


def _states(match: Match) -> Iterator[State]:
    old, new = match.old, match.new
    before, after = (getattr(one.record, "status", "") if one else "" for one in (old, new))
    if old is None:
        yield "added"
    if new is None:
        yield "deleted"
    if match.renamed:
        yield "renamed"
    if after == "withdrawn" != before and old is not None:
        yield "withdrawn"
    if after == "released" != before:
        yield "released"


def _register(old: Spec | None, new: Spec | None) -> tuple[str, ...]:
    before, after = ({one.digest for one in spec.record.codes} if spec else set() for spec in (old, new))
    counted = []
    for count, words in ((len(after - before), "recorded"), (len(before - after), "taken out")):
        if count:
            counted.append(f"{count} sheet code{'s' if count > 1 else ''} {words}")
    return tuple(counted)


# --- value by value ---------------------------------------------------------------------------


def _compared(old: Spec, new: Spec, names: Names) -> Iterator[tuple[ValueChange, tuple[object, ...]]]:
    """Values that differ, and quantities in another unit, each with what sorts it."""
    for pair in pairs(old.document, new.document):
        if pair.key in {"kind", "id"} and len(pair.steps) == 1:
            continue
        if pair.order:
            yield _reordered(new, pair, names), (term(new.kind, pair.steps, names=names).order, "")
            continue
        before, after = _quantity(old, pair.old), _quantity(new, pair.new)
        differs = not _equal(before, after) if before and after else said(pair.before) != said(pair.after)
        rewritten = bool(before and after and before.unit != after.unit)
        if (differs and not _by_default(old, new, pair)) or (rewritten and not differs):
            named = term(new.kind, pair.steps, pair.members, names=names)
            kinds = _kinds(new.kind, pair.key, before, after) if differs else ()
            yield (
                ValueChange(
                    key=pair.key,
                    station=named.station,
                    words=named.words,
                    old=_one_line_value(pair.before, before),
                    new=_one_line_value(pair.after, after),
                    old_place=_place(old.document, pair.old),
                    new_place=_place(new.document, pair.new),
                    kinds=kinds,
                    **(_in_numbers(before, after) if before and after else {}),  # type: ignore[arg-type]
                ),
                (named.order, named.words),
            )


def _kinds(kind: str, key: str, old: Quantity | None, new: Quantity | None) -> tuple[Kind, ...]:
    if old is not None and new is not None and re_expressed(old, new):
        return ("re-expressed",)
    return kinds_of(kind, key, old, new)


def _reordered(new: Spec, pair: ValuePair, names: Names) -> ValueChange:
    named = term(new.kind, pair.steps, pair.members, names=names)
    before, after = pair.order
    return ValueChange(
        key=pair.key,
        station=named.station,
        words=f"{named.words}, order",
        old=one_line(", ".join(before), LONGEST),
        new=one_line(", ".join(after), LONGEST),
        old_place=None,
        new_place=new.document.place(pair.key),
        kinds=kinds_of(new.kind, pair.key, None, None),
    )


def _quantity(spec: Spec, steps: Steps | None) -> Quantity | None:
    return None if steps is None else quantity_at(spec.record, dotted(steps))


def _place(document: Document, steps: Steps | None) -> Place | None:
    return None if steps is None else document.place(dotted(steps))


def _equal(one: Quantity, other: Quantity) -> bool:
    """Whether two quantities are the same, however written."""
    if one.canonical != other.canonical or one.toleranced != other.toleranced:
        return False
    return same_value(_ends(one), _ends(other))


def _by_default(old: Spec, new: Spec, pair: ValuePair) -> bool:
    """Whether one side only writes out what the other leaves to be understood."""
    if pair.old is not None and pair.new is not None:
        return False
    missing = object()
    one, other = (_in_record(spec.record, pair.steps, missing) for spec in (old, new))
    return one is not missing and one == other


def _in_record(record: object, steps: Steps, missing: object) -> object:
    found = record
    for step in steps:
        if isinstance(step, int):
            if not isinstance(found, tuple) or step >= len(found):
                return missing
            found = found[step]
        else:
            found = found.get(step, missing) if isinstance(found, dict) else getattr(found, step, missing)
        if found is missing:
            return missing
    return found


def _one_line_value(node: Node | None, quantity: Quantity | None) -> str:
    return one_line(quantity.text if quantity else written(node), LONGEST)


def joined(first: ValueChange, last: ValueChange) -> ValueChange:
    """Two changes of one value, one after the other, as one; its old and new are equal if nothing remains."""
    moves = [one.difference.partition(" ") for one in (first, last) if one.difference]
    unit = {unit for _, _, unit in moves}
    difference = ""
    if len(unit) == 1 and not (first.rewritten or last.rewritten):
        total = sum(Decimal(move.replace("−", "-")) for move, _, _ in moves)
        difference = f"{total:+f} {unit.pop()}".rstrip().replace("-", "−") if total else ""
    return replace(last, old=first.old, old_place=first.old_place, was=first.was, difference=difference)


# --- in numbers -------------------------------------------------------------------------------


def _in_numbers(old: Quantity, new: Quantity) -> dict[str, object]:
    """How far a quantity moved, in the unit it has now."""
    if old.canonical != new.canonical:
        return {}
    unit = new.unit.removeprefix("-")
    was, now = (Spanned(*(_in(end, one, new.unit) for end in _ends(one))) for one in (old, new))
    band = (old if old.toleranced else new).high - (old if old.toleranced else new).low
    moved = 0.0 if alike(old.nominal, new.nominal) else new.nominal - old.nominal
    bands = old.toleranced and new.toleranced
    shared = max(0.0, min(old.high, new.high) - max(old.low, new.low))
    return {
        "difference": f"{_difference(old, new)} {unit}".rstrip() if moved else "",
        "share": moved / band if band and moved else None,
        "overlap": min(1.0, max(0.0, shared / (old.high - old.low)))
        if bands and old.high > old.low
        else None,
        "band": _band_words(old, new, unit),
        "rewritten": _rewritten(old, new) if old.unit != new.unit else "",
        "was": was,
        "now": now,
    }


def _ends(one: Quantity) -> tuple[float, float, float]:
    return one.low, one.nominal, one.high


def _in(value: float, one: Quantity, unit: str) -> float:
    return in_unit(value, one.canonical, unit) if unit else value


def _difference(old: Quantity, new: Quantity) -> str:
    if old.unit == new.unit:
        return f"{Decimal(new.written[1]) - Decimal(old.written[1]):+f}".replace("-", "−")
    moved = _in(new.nominal, new, new.unit) - _in(old.nominal, old, new.unit)
    return f"{'+' if moved > 0 else ''}{number(moved)}"


def _band_words(old: Quantity, new: Quantity, unit: str) -> str:
    if not old.toleranced and not new.toleranced:
        return ""
    if not old.toleranced or not new.toleranced:
        return "tolerance dropped" if old.toleranced else "tolerance given"
    before, after = (_in(one.high, one, new.unit) - _in(one.low, one, new.unit) for one in (old, new))
    if alike(before, after, scale=abs(_in(new.nominal, new, new.unit))):
        return ""
    return f"band {number(before)} → {number(after)} {unit}".rstrip()


def _rewritten(old: Quantity, new: Quantity) -> str:
    """The old value in the new unit, with a digit more than the new one has."""
    return format_in(_in(old.nominal, old, new.unit), new.unit or "-", new.decimals + 1)


# --- what means nothing -----------------------------------------------------------------------


def _unmeaning(old: Spec, new: Spec, rewritten: tuple[ValueChange, ...], meaning: bool) -> Iterator[str]:
    """What else is not as it was: units, decimals, quotes, comments, order."""
    found = list(pairs(old.document, new.document))
    twins = [(_quantity(old, one.old), _quantity(new, one.new)) for one in found]
    counted = {
        "units": bool(rewritten),
        "form of numbers": any(
            a and b and a.unit == b.unit and a.text != b.text and _equal(a, b) for a, b in twins
        ),
        "quotes": any(_quoted(one.before) != _quoted(one.after) for one in found if one.before and one.after),
        "comments": _comments(old.document) != _comments(new.document),
        "order of keys": not meaning and _key_order(old.document.root) != _key_order(new.document.root),
    }
    yield from (words for words, holds in counted.items() if holds)
    if not meaning and not any(counted.values()):
        yield "spacing"


def _key_order(node: Node) -> list[object]:
    if isinstance(node, Mapping):
        return [(name, _key_order(entry.node)) for name, entry in node.entries.items()]
    return [_key_order(one) for one in node.items] if isinstance(node, List) else []


def _quoted(node: Node | None) -> bool:
    return isinstance(node, Scalar) and node.quoted


def _comments(document: Document) -> list[str]:
    """Lines that hold a comment alone, and ends of lines that look like one."""
    return [f"#{line.partition('#')[2]}" for line in document.text.splitlines() if "#" in line]


_FAULTY: dict[str, State] = {"references": "moved", "shape": "invalid", "units": "invalid"}
"""What became of a file, by the stage of its findings."""


def below(file: str, *sides: Files) -> str:
    """A shown file's path below its book, whichever version it is of."""
    for shown in sorted({side.shown for side in sides} - {"", "."}, key=len, reverse=True):
        if file.startswith(f"{shown.rstrip('/')}/"):
            return file[len(shown.rstrip("/")) + 1 :]
    return file


def changed_files(found: Sequence[Match], old: Files, new: Files, names: Names) -> tuple[ChangedFile, ...]:
    """All files that differ.

    Valid files come first, formats before the others; then those that only ever had faults.
    """
    claims = old.claimed(), new.claimed()
    made = [file for one in found if (file := _valid_file(one, old, new, claims, names)) is not None]
    return (*made, *_faulty(found, old, new, claims))


def _valid_file(
    one: Match,
    old: Files,
    new: Files,
    claims: tuple[AnyMapping[str, str], AnyMapping[str, str]],
    names: Names,
) -> ChangedFile | None:
    """A file that is valid in one version at least; one with faults in the other has not come or gone."""
    file = changed_file(one, names)
    if file is None or (one.old and one.new):
        return file
    name = below(file.file, old, new)
    if one.new is None:
        faulty = name if name in new.broken else claims[1].get(one.id, "")
        state = _FAULTY.get(new.broken.get(faulty, ""), "unreadable")
        return replace(file, states=(state,), file=new.shown_as(faulty)) if faulty else file
    faulty = name if name in old.broken else claims[0].get(one.id, "")
    return replace(file, states=("readable again",)) if faulty else file


def _faulty(
    found: Sequence[Match], old: Files, new: Files, claims: tuple[AnyMapping[str, str], AnyMapping[str, str]]
) -> Iterator[ChangedFile]:
    """Files with faults that came, went or changed, and are no valid file's other version."""
    moved = {claims[1].get(one.id, "") for one in found if one.new is None}
    moved |= {claims[0].get(one.id, "") for one in found if one.old is None}
    for name in sorted({*old.broken, *new.broken} - {*old.valid, *new.valid} - moved):
        if name not in old.broken:
            state: State = "invalid" if new.broken[name] in {"shape", "units"} else "unreadable"
        elif name not in new.broken:
            state = "deleted"
        elif old.text(name) != new.text(name):
            state = "changed"
        else:
            continue
        side = old if state == "deleted" else new
        yield ChangedFile(
            kind="",
            id=name,
            was="",
            title="with errors",
            file=side.shown_as(name),
            states=(state,),
            kinds=(),
            changes=(),
            rewritten=(),
            unmeaning=(),
        )
