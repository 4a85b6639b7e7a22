"""The files that are not as they were, sound ones and faulty ones."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from kb.history.matching import Match
from kb.history.terms import Names
from kb.history.value_diff import ChangedFile, State, changed_file
from kb.history.versions import Files

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

    Args:
        found: sound files side by side
        old: the older version
        new: the newer one
        names: names of limits and settings with their words, in process order

    Returns:
        Sound files first, formats before the others; then files that only ever had faults.
    """
    claims = old.claimed(), new.claimed()
    made = [file for one in found if (file := _sound(one, old, new, claims, names)) is not None]
    return (*made, *_faulty(found, old, new, claims))


def _sound(
    one: Match, old: Files, new: Files, claims: tuple[Mapping[str, str], Mapping[str, str]], names: Names
) -> ChangedFile | None:
    """A file that is sound in one version at least; one with faults in the other has not come or gone."""
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
    found: Sequence[Match], old: Files, new: Files, claims: tuple[Mapping[str, str], Mapping[str, str]]
) -> Iterator[ChangedFile]:
    """Files with faults that came, went or changed, and are no sound file's other version."""
    moved = {claims[1].get(one.id, "") for one in found if one.new is None}
    moved |= {claims[0].get(one.id, "") for one in found if one.old is None}
    for name in sorted({*old.broken, *new.broken} - {*old.sound, *new.sound} - moved):
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
