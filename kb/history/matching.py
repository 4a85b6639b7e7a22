"""Which file of one version is which of the other, and which value of a file is which.

Files are matched by kind and id, then by what they say; members of a list by their names.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from kb.book.keys import quantity_at
from kb.book.load import Spec
from kb.book.numbers import same_value
from kb.book.structure import as_written, dotted
from kb.book.tree import Document, Node, Scalar, value
from kb.book.tree import Mapping as Group
from kb.book.tree import Sequence as List
from kb.history.terms import Steps
from kb.history.versions import Files

ALIKE = 0.9
"""Share of equal values from which on a file under another id is the same file, renamed.

Formats of one body differ from one another in more than that; version stores guess renames likewise.
"""

_OWN = ("id", "title", "revision", "effective", "why", "status", "also_called")


@dataclass(frozen=True, slots=True)
class Match:
    """A file of either version, or of both."""

    kind: str
    old: Spec | None
    new: Spec | None

    @property
    def id(self) -> str:
        """Its id, the newer one where it has two."""
        spec = self.new or self.old
        return spec.id if spec else ""

    @property
    def renamed(self) -> bool:
        """Whether it has another id than before."""
        return self.old is not None and self.new is not None and self.old.id != self.new.id


def matches(old: Files, new: Files) -> list[Match]:
    """Sound files side by side.

    Args:
        old: the older version
        new: the newer one

    Returns:
        Each sound file once, by kind and id. An id that stands in a faulty file of the other version has
        not come or gone; it is left to what is said of faulty files.
    """
    found = []
    for kind in sorted({*old.book.specs, *new.book.specs}):
        before, after = old.book.of(kind), new.book.of(kind)
        found += [Match(kind, before[one], after[one]) for one in before if one in after]
        gone = {one: spec for one, spec in before.items() if one not in after}
        come = {one: spec for one, spec in after.items() if one not in before}
        for one, other in _renamed(gone, come):
            found.append(Match(kind, gone.pop(one), come.pop(other)))
        found += [Match(kind, spec, None) for spec in gone.values()]
        found += [Match(kind, None, spec) for spec in come.values()]
    return sorted(found, key=lambda one: (one.kind != "size-format", one.kind, one.id))


def _renamed(gone: Mapping[str, Spec], come: Mapping[str, Spec]) -> Iterator[tuple[str, str]]:
    """Ids before and now of files that say nearly the same; the most alike first, each once."""
    said = {id(spec): dict(_values(spec)) for spec in (*gone.values(), *come.values())}
    likes = sorted(
        (-_share(said[id(old)], said[id(new)]), one, other)
        for one, old in gone.items()
        for other, new in come.items()
    )
    olds, news = set(gone), set(come)
    for share, one, other in likes:
        if -share >= ALIKE and one in olds and other in news:
            olds.discard(one)
            news.discard(other)
            yield one, other


def _share(old: Mapping[str, Any], new: Mapping[str, Any]) -> float:
    keys = {*old, *new}
    return sum(same_value(old.get(key), new.get(key)) for key in keys) / len(keys) if keys else 0.0


def _values(spec: Spec) -> Iterator[tuple[str, Any]]:
    for name, inner in spec.document.data().items():
        if name not in _OWN:
            yield from _flat_values(spec, name, inner)


def _flat_values(spec: Spec, key: str, data: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(data, dict):
        for name, inner in data.items():
            yield from _flat_values(spec, f"{key}.{name}", inner)
    elif isinstance(data, list):
        for i, inner in enumerate(data):
            yield from _flat_values(spec, f"{key}[{i}]", inner)
    else:
        found = quantity_at(spec.record, key)
        yield key, data if found is None else (found.low, found.nominal, found.high)


# --- value by value ---------------------------------------------------------------------------

NAMED_BY: tuple[tuple[str, ...], ...] = (
    ("id",),
    ("check", "format", "at"),
    ("machine",),
    ("number",),
    ("digest",),
    ("step",),
    ("hazard",),
    ("name",),
)
"""Keys that tell the members of a list apart, whatever order they stand in; else their position does."""


ORDERLESS = ("waivers", "gauges", "codes", "history")
"""Lists whose order means nothing."""


class ValuePair(NamedTuple):
    """One value, or a group or list that only one side has.

    Attributes:
        old: the key before; none where it is new.
        new: the key now; none where it is gone.
        before: what stood there.
        after: what stands there.
        members: names of the list members on the way.
        order: members of a list before and now, where nothing but their order differs; else empty.
    """

    old: Steps | None
    new: Steps | None
    before: Node | None
    after: Node | None
    members: tuple[str, ...]
    order: tuple[tuple[str, ...], ...] = ()

    @property
    def steps(self) -> Steps:
        """The key, where it is now or else where it was."""
        return self.new if self.new is not None else self.old or ()

    @property
    def key(self) -> str:
        """The same, dotted."""
        return dotted(self.steps)


def pairs(old: Document, new: Document) -> Iterator[ValuePair]:
    """All values of two documents, side by side."""
    yield from _pairs(ValuePair((), (), old.root, new.root, ()))


def _pairs(pair: ValuePair) -> Iterator[ValuePair]:
    before, after = pair.before, pair.after
    if isinstance(before, Group) and isinstance(after, Group):
        for name in dict.fromkeys([*after.entries, *before.entries]):
            one, other = before.entries.get(name), after.entries.get(name)
            yield from _pairs(_under(pair, (name, one and one.node), (name, other and other.node)))
    elif isinstance(before, List) and isinstance(after, List):
        yield from _listed(pair, before, after)
    else:
        yield pair


def _under(
    pair: ValuePair,
    old: tuple[str | int, Node | None] | None,
    new: tuple[str | int, Node | None] | None,
    member: str = "",
) -> ValuePair:
    before, after = old[1] if old else None, new[1] if new else None
    return ValuePair(
        (*(pair.old or ()), old[0]) if old and before is not None else None,
        (*(pair.new or ()), new[0]) if new and after is not None else None,
        before,
        after,
        (*pair.members, member) if member else pair.members,
    )


def _listed(pair: ValuePair, before: List, after: List) -> Iterator[ValuePair]:
    by = _named_by(before, after)
    if by:
        olds, news = (
            {_member_name(one, by): (i, one) for i, one in enumerate(side.items)} for side in (before, after)
        )
        for name in dict.fromkeys([*news, *olds]):
            shown = news.get(name, olds.get(name))
            called = _called(shown[1], name) if shown else ""
            yield from _pairs(_under(pair, olds.get(name), news.get(name), called))
        stayed = tuple(
            tuple(_called(one, name) for name, (_, one) in side.items() if name in olds and name in news)
            for side in (olds, news)
        )
        if _names_in_both(olds, news) != _names_in_both(news, olds) and pair.key not in ORDERLESS:
            yield pair._replace(order=stayed)
    elif all(isinstance(one, Scalar) for one in (*before.items, *after.items)) and not _quantities(before):
        yield pair
    else:
        for i in range(max(len(before.items), len(after.items))):
            one = (i, before.items[i]) if i < len(before.items) else None
            other = (i, after.items[i]) if i < len(after.items) else None
            yield from _pairs(_under(pair, one, other))


def _names_in_both(
    side: dict[tuple[str, ...], Any], other: dict[tuple[str, ...], Any]
) -> list[tuple[str, ...]]:
    return [name for name in side if name in other]


def _quantities(side: List) -> bool:
    """Whether a list holds numbers in a row, such as plug diameters, rather than names."""
    return any(isinstance(one, Scalar) and one.text[:1].isdigit() and not one.quoted for one in side.items)


def _named_by(*sides: List) -> tuple[str, ...]:
    members = [one for side in sides for one in side.items]
    if not members or not all(isinstance(one, Group) for one in members):
        return ()
    for keys in NAMED_BY:
        names = [[_member_name(one, keys) for one in side.items] for side in sides]
        if all(each[0] for side in names for each in side) and all(
            len(set(side)) == len(side) for side in names
        ):
            return keys
    return ()


def _member_name(node: Node, keys: Sequence[str]) -> tuple[str, ...]:
    """What names a member; "" for a key it lacks."""
    if not isinstance(node, Group):
        return ("",)
    found = [node.entries[key].node if key in node.entries else None for key in keys]
    return tuple(one.text if isinstance(one, Scalar) else "" for one in found)


def _called(node: Node, name: Sequence[str]) -> str:
    """What a reader calls a member."""
    if isinstance(node, Group):
        for key in ("title", "name"):
            entry = node.entries.get(key)
            if entry is not None and isinstance(entry.node, Scalar):
                return entry.node.text
    return " ".join(filter(None, name))


# --- what stands there ------------------------------------------------------------------------


def said(node: Node | None) -> object:
    """What a node says, free of how it is written."""
    if node is None:
        return None
    if isinstance(node, Scalar):
        return value(node)
    if isinstance(node, Group):
        return {name: said(entry.node) for name, entry in node.entries.items()}
    return [said(one) for one in node.items]


def written(node: Node | None) -> str:
    """A node on one line, "" where there is none."""
    if node is None:
        return ""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, List) and all(isinstance(one, Scalar) for one in node.items):
        return ", ".join(written(one) for one in node.items) or "none"
    return as_written(said(node))
