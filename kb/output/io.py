"""Writing of documents: to a file, which is whole or unchanged, or to standard output, which may close."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TextIO

from kb.book.finding import one_line, printable

STANDARD_OUTPUT = "standard output"
"""The name of standard output in messages."""

_PLAIN = str.maketrans({"█": "#", "·": ".", "≥": ">=", "≤": "<=", "±": "+/-", "−": "-", "–": "-", "×": "x"})
"""Replacements of the trade's signs where the output is not UTF-8."""


def write_atomic(target: Path, content: str | bytes) -> None:
    """Write a file in one step: a reader finds the old content or the new, never a part.

    Raises:
        OSError: if it cannot be written, with the name of the target; the old content is kept.
    """
    try:
        _replace(Path(os.path.realpath(target)), content.encode() if isinstance(content, str) else content)
    except OSError as error:
        if error.errno is None:
            raise
        raise OSError(error.errno, os.strerror(error.errno), str(target)) from error


def write_together(contents: Mapping[Path, str | None]) -> None:
    """Write several files, or delete those that have None: all of them, or none.

    Raises:
        OSError: if one cannot be written or deleted, with its name; all files are as before.
    """
    before = {path: path.read_bytes() if path.exists() else None for path in contents}
    done: list[Path] = []
    try:
        for path, content in contents.items():
            done.append(path)
            if content is None:
                path.unlink()
            else:
                write_atomic(path, content)
    except BaseException:
        for path in reversed(done):
            old = before[path]
            if old is None:
                path.unlink(missing_ok=True)
            elif not path.exists() or path.read_bytes() != old:
                write_atomic(path, old)
        raise


def _replace(target: Path, data: bytes) -> None:
    if target.exists() and not target.is_file():  # a device cannot be replaced, a folder will refuse
        target.write_bytes(data)
        return
    mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~umask()
    number, beside = tempfile.mkstemp(dir=target.parent, prefix=".sizebook-")
    try:
        with open(number, "wb") as file:
            file.write(data)
        os.chmod(beside, mode)
        os.replace(beside, target)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def write_stdout(text: str, *, for_program: bool = False) -> None:
    """Write to standard output.

    Raises:
        OSError: if it cannot be written; a pipe whose reader has seen enough is no error.
    """
    out = sys.stdout
    if for_program and hasattr(out, "reconfigure"):
        out.reconfigure(encoding="utf-8", errors="backslashreplace")
    elif not for_program:
        text = printable(text, coloured=True)
        if not (out.encoding or "").lower().startswith("utf"):
            text = text.translate(_PLAIN)
    try:
        out.write(text)
        out.flush()
    except OSError as error:
        silence(out)
        if not isinstance(error, BrokenPipeError):
            raise OSError(error.errno, error.strerror, STANDARD_OUTPUT) from error


def notice(line: str) -> None:
    """Say something beside the report, in one line on standard error; never fails."""
    try:
        sys.stderr.write(one_line(" ".join(line.split())) + "\n")
        sys.stderr.flush()
    except (OSError, ValueError):  # there is nobody to say it to
        silence(sys.stderr)


def silence(stream: TextIO) -> None:
    """Send the rest of a stream nowhere, so that leaving does not fail on it again."""
    try:
        number = stream.fileno()
    except (OSError, ValueError):
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, number)
    os.close(nowhere)


def coloured(wanted: bool | None, *, in_file: bool = False) -> bool:
    """Whether to colour a report. Default: on a terminal without NO_COLOR."""
    if wanted is not None:
        return wanted
    if in_file or os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return sys.stdout.isatty() and os.environ.get("TERM") != "dumb"


def umask() -> int:
    """The permissions that new files are not to have."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
