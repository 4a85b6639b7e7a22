"""The tree of a spec as written: text and places, no meaning yet.

Keys are addressed by a dotted path with list positions from 0, `ironing.rings[1].bore`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterator
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, NamedTuple, TypeAlias

from kb.book.finding import Place, Span

_WHOLE = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
_DECIMAL = re.compile(r"[-+]?(?:\.[0-9]+|(?:0|[1-9][0-9]*)(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_MOST_DIGITS = 18
_WORDS: dict[str, bool | None] = {"true": True, "false": False, "null": None, "~": None, "": None}


@dataclass(slots=True)
class Scalar:
    """One written value, as text."""

    text: str
    quoted: bool
    span: Span


def value(one: Scalar) -> str | int | float | bool | None:
    """A written value as the schema sees it; see `Document.data`."""
    return one.text if one.quoted else value_of(one.text)


def value_of(text: str) -> str | int | float | bool | None:
    """What unquoted text means: YAML 1.2's numbers, true, false and null; otherwise the text itself.

    A whole number longer than any count in a spec stays text, and so does a decimal too large to hold.

    Example:
        >>> value_of("12"), value_of("1e3"), value_of("010"), value_of("no")
        (12, 1000.0, '010', 'no')
    """
    if text in _WORDS:
        return _WORDS[text]
    if _WHOLE.fullmatch(text):
        return int(text) if len(text) <= _MOST_DIGITS else text
    if _DECIMAL.fullmatch(text):
        number = float(text)
        return number if abs(number) != float("inf") else text
    return text


class _NotedText(str):
    scalar: Scalar


class _NotedCount(int):
    scalar: Scalar


class _NotedNumber(float):
    scalar: Scalar


_NOTED: dict[type, Any] = {str: _NotedText, int: _NotedCount, float: _NotedNumber}


def noted(one: Scalar) -> Any:
    """A written value that knows its scalar (`noted(one).scalar`); true, false and nothing do not."""
    plain = value(one)
    kind = _NOTED.get(type(plain))
    if kind is None:
        return plain
    made = kind(plain)
    made.scalar = one
    return made


class Entry(NamedTuple):
    """A key's place and what is under it."""

    key_span: Span
    node: Node


@dataclass(slots=True)
class Mapping:
    """A group of keys."""

    span: Span
    entries: dict[str, Entry]


@dataclass(slots=True)
class Sequence:
    """A list."""

    span: Span
    items: list[Node]


Node: TypeAlias = Scalar | Mapping | Sequence


def scalar(node: Node) -> Scalar:
    """A node that is one value; `TypeError` for another."""
    if not isinstance(node, Scalar):
        raise TypeError("a group or list where one value is wanted")
    return node


def entries(node: Node) -> dict[str, Entry]:
    """The keys of a node that is a group; `TypeError` for another."""
    if not isinstance(node, Mapping):
        raise TypeError("no group of keys")
    return node.entries


def items(node: Node) -> list[Node]:
    """The members of a node that is a list; `TypeError` for another."""
    if not isinstance(node, Sequence):
        raise TypeError("no list")
    return node.items


class Override(NamedTuple):
    """A value that a document has in place of that of the document below.

    Attributes:
        key: key of both
        text: the value that counts, as written
        place: where it is
        other: the value of the document below, as written
        other_place: where that one is
    """

    key: str
    text: str
    place: Place
    other: str
    other_place: Place


@dataclass(slots=True)
class Document:
    """A spec as read: its text, its tree, and the place of everything in it."""

    file: str
    text: str
    root: Mapping
    base: Document | None = None
    own: Mapping | None = None

    def upon(self, base: Document, names: Container[str]) -> Document:
        """This document with the values of another under some keys, where it has none of its own."""
        own = base.own and _only(base.own, names)
        lower = Document(base.file, base.text, _only(base.root, names), base.base, own)
        return Document(self.file, self.text, _merged_groups(self.root, lower.root), lower, self.root)

    def inherits(self, key: str) -> bool:
        """Whether the value under a key is that of the document below."""
        return self.base is not None and bool(self._walk(key)[2]) and self.base.node(key) is not None

    @property
    def overrides(self) -> list[Override]:
        """The single values that a document has in place of those of the document below it."""
        if self.base is None or self.own is None:
            return []
        found = []
        for key in _scalars(self.own, ""):
            own, other = self.node(key), self.base.node(key)
            if isinstance(own, Scalar) and isinstance(other, Scalar):
                found.append(Override(key, own.text, self.place(key), other.text, self.base.place(key)))
        return [*found, *self.base.overrides]

    @property
    def texts(self) -> tuple[str, ...]:
        """The texts of its file and of the files below."""
        return (self.text,) if self.base is None else (self.text, *self.base.texts)

    @property
    def files(self) -> tuple[str, ...]:
        """Its file and the files below."""
        return (self.file,) if self.base is None else (self.file, *self.base.files)

    def node(self, key: str) -> Node | None:
        """What is at a dotted key path (`ironing.rings[1].bore`), or None."""
        found, _, rest = self._walk(key, self.root)
        return None if rest else found

    def place(self, key: str, offset: int = 0) -> Place:
        """Where to point for a key path, `offset` characters into a value that is written on one line.

        It is the value's place; for a group or list on several lines the place of its key, for a missing key
        the place of what would hold it. A value of the document below is in the file of that one.
        """
        if self.base is not None and self.inherits(key):
            return self.base.place(key, offset)
        found, above, rest = self._walk(key)
        span = found.span
        if not rest and isinstance(found, Scalar):
            return Place(self.file, key, self._inside(found, offset) if offset else span)
        if not rest and span.line == span.end_line:
            return Place(self.file, key, span)
        return Place(self.file, key, above or self._head(found))

    def key_place(self, key: str) -> Place:
        """Where the key itself is; for an item of a list, where the item is."""
        if self.base is not None and self.inherits(key):
            return self.base.key_place(key)
        _, above, rest = self._walk(key)
        return self.place(key) if above is None or rest else Place(self.file, key, above)

    def data(self, leaf: Callable[[Scalar], Any] = value) -> dict[str, Any]:
        """The tree as plain Python values.

        Quoted text stays text; unquoted whole numbers, decimals, true, false and null become what YAML 1.2
        says; all other values (`010`, `12:30`, `no`, `66.04 mm`) are text. Values that `noted` makes know
        their text.
        """
        top: dict[str, Any] = {}
        todo: list[tuple[Mapping | Sequence, Any]] = [(self.root, top)]
        while todo:
            node, into = todo.pop()
            if isinstance(node, Mapping):
                for key, (_, child) in node.entries.items():
                    into[key] = leaf(child) if isinstance(child, Scalar) else _opened(child, todo)
            else:
                into.extend(leaf(c) if isinstance(c, Scalar) else _opened(c, todo) for c in node.items)
        return top

    def _walk(self, key: str, root: Mapping | None = None) -> tuple[Node, Span | None, str]:
        """The deepest node on the way to a key, the span of the key above it, what is left of the path.

        By default the way is that of its own file.
        """
        node: Node = root or self.own or self.root
        above: Span | None = None
        rest = key
        while rest:
            if isinstance(node, Sequence):
                step = re.match(r"\[([0-9]{1,6})\]\.?", rest)
                if not step or int(step[1]) >= len(node.items):
                    break
                node, above, rest = node.items[int(step[1])], None, rest[step.end() :]
                continue
            name = _longest_key(node.entries, rest) if isinstance(node, Mapping) else None
            if name is None or not isinstance(node, Mapping):
                break
            above, node = node.entries[name]
            rest = rest[len(name) :].removeprefix(".")
        return node, above, rest

    def _head(self, node: Node) -> Span:
        """Where to point for something that has no key above it: its first key, or its first line."""
        if isinstance(node, Mapping):
            for entry in node.entries.values():
                return entry.key_span
        span = node.span
        line = self.text.split("\n", span.line)[span.line - 1].rstrip("\r")
        return Span(span.line, span.column, span.line, max(span.column, len(line) + 1))

    def _inside(self, scalar: Scalar, offset: int) -> Span:
        span = scalar.span
        if span.line != span.end_line:
            return span
        line = self.text.split("\n", span.line)[span.line - 1]
        begin = span.column + scalar.quoted + offset
        written = line[span.column - 1 + scalar.quoted :].startswith(scalar.text)
        return (
            Span(span.line, begin, span.line, span.end_column)
            if written and begin < span.end_column
            else span
        )


def _only(group: Mapping, names: Container[str]) -> Mapping:
    return Mapping(group.span, {name: one for name, one in group.entries.items() if name in names})


def _merged_groups(upper: Mapping, lower: Mapping) -> Mapping:
    """A group with the keys of both; a value of the upper one goes before."""
    entries = dict(upper.entries)
    for name, below in lower.entries.items():
        above = entries.get(name)
        entries[name] = Entry(above.key_span, _merged(above.node, below.node)) if above else below
    return Mapping(upper.span, entries)


def _merged(upper: Node, lower: Node) -> Node:
    """A list of groups takes its members one by one, as many as the upper one has; all else is the upper."""
    if isinstance(upper, Mapping) and isinstance(lower, Mapping):
        return _merged_groups(upper, lower)
    if isinstance(upper, Sequence) and isinstance(lower, Sequence):
        pairs = zip_longest(upper.items, lower.items[: len(upper.items)])
        return Sequence(upper.span, [_merged(one, below) if below else one for one, below in pairs])
    return upper


def _scalars(node: Node, key: str) -> Iterator[str]:
    if isinstance(node, Mapping):
        for name, entry in node.entries.items():
            yield from _scalars(entry.node, f"{key}.{name}" if key else name)
    elif isinstance(node, Sequence):
        for i, one in enumerate(node.items):
            yield from _scalars(one, f"{key}[{i}]")
    else:
        yield key


def _opened(
    node: Mapping | Sequence, todo: list[tuple[Mapping | Sequence, Any]]
) -> dict[str, Any] | list[Any]:
    into: dict[str, Any] | list[Any] = {} if isinstance(node, Mapping) else []
    todo.append((node, into))
    return into


def _longest_key(entries: dict[str, Entry], path: str) -> str | None:
    """The longest beginning of a key path that is a key here; a key may itself hold dots."""
    name = path
    while name not in entries:
        cut = max(name.rfind("."), name.rfind("["))
        if cut <= 0:
            return None
        name = name[:cut]
    return name
