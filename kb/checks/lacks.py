"""What a book cannot do yet, and the file or entry that it lacks for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from kb.book.load import FOLDERS, TOP_FILES, Book


class Lack(NamedTuple):
    """One thing a book lacks.

    Attributes:
        what: the file or entry, such as `floor.yaml`.
        why: what is wrong with it: it is missing, or has faults.
        effect: what cannot be done for the lack of it.
    """

    what: str
    why: str
    effect: str

    @property
    def line(self) -> str:
        """The lack as one line."""
        return (
            f"{self.why} {self.what}: {self.effect}"
            if self.why == "no"
            else f"{self.what} {self.why}: {self.effect}"
        )


_EFFECTS = {
    "plant": "nothing can be checked, printed or published",
    "limits": "nothing can be checked or printed",
    "floor": "no setup sheet can be printed for use, and no changeover planned",
    "changeover": "no changeover can be planned",
    "sheet-codes": "no setup sheet has a recorded code; `sizebook sheet --record` creates the register",
}
_KINDS = {"size-format": "size formats", "line": "lines"}
_KIND_EFFECTS = {
    "size-format": "there is nothing to check",
    "line": "no setup sheet can be printed, and no changeover planned",
}


def lacks(book: Book) -> tuple[Lack, ...]:
    """What a book lacks to do all that it could.

    Args:
        book: a loaded book

    Returns:
        The lacks, those that stop most first.
    """
    return tuple(_lacks(book))


def _lacks(book: Book) -> Iterator[Lack]:
    for kind in ("plant", "limits"):
        yield from _file(book, kind)
    for kind, words in _KINDS.items():
        if not book.ids(kind):
            yield Lack(f"{words} in {FOLDERS[kind]}/", "no", _KIND_EFFECTS[kind])
    yield from _file(book, "floor")
    yield from _file(book, "changeover")
    changeover = book.only("changeover")
    if changeover is not None and not changeover.record.past:
        what = "past changeovers in changeover.yaml"
        yield Lack(what, "no", "planned times are not compared with recorded ones")
    released = any(one.record.status == "released" for one in book.of("size-format").values())
    if book.only("floor") is not None and released:
        yield from _file(book, "sheet-codes")


def _file(book: Book, kind: str) -> Iterator[Lack]:
    if book.only(kind) is None:
        name = TOP_FILES[kind]
        there = any(file == name or file.endswith(f"/{name}") for file in book.broken)
        faulty = there and (book.root / name).exists()
        yield Lack(name, "has errors" if faulty else "no", _EFFECTS[kind])
