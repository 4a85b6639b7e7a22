"""Write what editors show of each quantity into the schemas again: `python schema/make.py`."""

from __future__ import annotations

from pathlib import Path

from kb.book.hover import with_words

HERE = Path(__file__).parent

for path in (*HERE.glob("*.json"), *(HERE / "design").glob("*.json")):
    path.write_text(with_words(path.read_text(encoding="utf-8")), encoding="utf-8")
