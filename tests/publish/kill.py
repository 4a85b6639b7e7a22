"""A program that publishes small sites and kills itself at every line of the code that changes folders.

Arguments: a folder to work in, and `exchange` or `moves` for how the site is put in place.

For each line it prints the name of what is wrong, if anything is. Its last line is the number of kills.
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
from pathlib import Path
from types import FrameType
from typing import Any

from kb.output import io
from kb.publish import target

TRACED = {one.__file__ for one in (target, io)}
NAMES = ("index.html", "a/page.html", "assets/book.js")


def publish_small(out: Path, book: Path, words: str) -> None:
    """Publish a site of three files, each of which holds some words."""
    with target.publishing(out, book) as scratch:
        made = scratch / "site"
        for name in NAMES:
            (made / name).parent.mkdir(parents=True, exist_ok=True)
            io.write_atomic(made / name, words)
        target.seal(made, NAMES)
        target.put_in_place(made, out)


def whole(site: Path) -> str:
    """The words of a site that is whole, "" for any other folder."""
    try:
        target.verify(site)
        words = {(site / name).read_text(encoding="utf-8") for name in NAMES}
    except (OSError, target.PublishError):
        return ""
    return words.pop() if len(words) == 1 else ""


def killed(number: int, out: Path, book: Path) -> bool:
    """Publish in a process that kills itself at a line, counted from the first; whether it came so far."""
    child = os.fork()
    if not child:
        left = number

        def at_line(frame: FrameType, event: str, _: Any) -> Any:
            nonlocal left
            if frame.f_code.co_filename not in TRACED:
                return None
            left -= event == "line"
            if not left:
                os.kill(os.getpid(), signal.SIGKILL)
            return at_line

        sys.settrace(at_line)
        publish_small(out, book, "new")
        sys.settrace(None)
        os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def main(folder: Path, way: str) -> None:
    """Kill at every line, and see what is there at once and after the next publish."""
    if way == "moves":
        target._exchange = lambda _one, _other: False
    book, out = folder / "book", folder / "out"
    book.mkdir()
    number = 0
    while True:
        shutil.rmtree(out, ignore_errors=True)
        publish_small(out / "site", book, "old")
        number += 1
        if not killed(number, out / "site", book):
            break
        there = whole(out / "site")
        if way == "exchange" and not there:
            print(f"line {number}: no whole site after the kill")
        if way == "moves" and not (there or whole(out / ".site.sizebook" / target.OLD)):
            print(f"line {number}: neither a whole site nor the former one after the kill")
        try:
            with target.publishing(out / "site", book):
                if not whole(out / "site"):
                    print(f"line {number}: no whole site after the next run")
        except target.PublishError as error:
            print(f"line {number}: {error}")
        if os.listdir(out) != ["site"]:
            print(f"line {number}: {sorted(os.listdir(out))} left")
    print(number - 1)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
