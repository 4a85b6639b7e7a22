"""Texts and files as the reader gives them."""

from __future__ import annotations

from pathlib import Path

from kb.book.finding import Finding
from kb.book.source import Reading, read, read_text
from kb.book.tree import Document


def document(text: str) -> Document:
    """A text that reads without faults."""
    reading = read_text(text, "spec.yaml")
    assert reading.findings == ()
    assert reading.document is not None
    return reading.document


def written(folder: Path, raw: bytes) -> Reading:
    """What reading a file with these bytes gives."""
    path = folder / "spec.yaml"
    path.write_bytes(raw)
    return read(path, "specs/spec.yaml")


def only(reading: Reading) -> Finding:
    """The one finding of a reading."""
    (finding,) = reading.findings
    return finding
