"""Work that processes share."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PDF_THEN_SHARED = """
import datetime
from kb.book.load import load
from kb.folders import shipped
from kb.output.pdf import pdf
from kb.sheet.documents import codes_document
from kb.sheet.issue import code_list
from kb.workers import shared

codes = code_list(load(shipped("specs"), shown="specs"), "heron", made=datetime.datetime(2026, 11, 30))

def made(paper):
    return len(pdf(codes_document(codes), paper=paper))

print(made("a4"), *shared(made, ["a4", "letter"]))
"""
"""Make a PDF, then two by work that could be shared."""


@pytest.mark.slow
def test_work_is_not_shared_after_a_pdf(tmp_path: Path) -> None:
    """The library of PDFs has threads that a forked process lacks: there a second PDF would never end."""
    done = subprocess.run(
        [sys.executable, "-c", PDF_THEN_SHARED],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "SIZEBOOK_CACHE": str(tmp_path)},
    )
    first, again, letter = map(int, done.stdout.split())
    assert first == again
    assert letter > 0
