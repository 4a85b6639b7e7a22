"""Which file of one version is which of the other: by kind and id, else by what it says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from kb.book.load import Spec
from kb.review.books import Files

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
    return sum(old.get(key) == new.get(key) for key in keys) / len(keys) if keys else 0.0


def _values(spec: Spec) -> Iterator[tuple[str, Any]]:
    for name, inner in spec.document.data().items():
        if name not in _OWN:
            yield from _inside(spec, name, inner)


def _inside(spec: Spec, key: str, data: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(data, dict):
        for name, inner in data.items():
            yield from _inside(spec, f"{key}.{name}", inner)
    elif isinstance(data, list):
        for i, inner in enumerate(data):
            yield from _inside(spec, f"{key}[{i}]", inner)
    else:
        found = spec.quantities.get(key)
        yield key, data if found is None else (found.low, found.nominal, found.high)
