"""How long a new size and a lighter format take, against a cold check of their book, measured in one run.

    .venv/bin/python tests/bench/design.py

Each is measured cold: with an empty cache folder, from the files. Times are of the processor.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

import kb  # noqa: E402

FORMAT = "b211-330"


def cold(what: str, work: Callable[[], Any]) -> float:
    """Processor time of some work with an empty cache folder [s], printed with its name."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SIZEBOOK_CACHE"] = folder
        before = sum(os.times()[:4])
        start = time.perf_counter()
        work()
        spent = sum(os.times()[:4]) - before
    print(
        f"{what:28}{spent:8.1f} s of the processor{time.perf_counter() - start:8.1f} s by the clock",
        flush=True,
    )
    return spent


def targets() -> str:
    """The targets that the page on a new size shows."""
    page = (HOUSE / "site/docs/new-size.md").read_text(encoding="utf-8")
    (text,) = [
        one for one in re.findall(r"```yaml\n(.*?)```", page, re.DOTALL) if "kind: design-targets" in one
    ]
    return text


def main() -> None:
    """Print the times, each as a ratio to the check."""
    book = HOUSE / "specs"
    check = cold("check of the demo book", lambda: kb.check(kb.load(book)))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "targets.yaml"
        file.write_text(targets(), encoding="utf-8")
        made = {
            "design of a new size": cold("design of a new size", lambda: kb.design(kb.load(book), file)),
            f"lightweight {FORMAT}": cold(
                f"lightweight {FORMAT}", lambda: kb.lightweight(kb.load(book), FORMAT, keep=["dome"])
            ),
        }
    for name, spent in made.items():
        print(f"{name:28}{spent / check:8.2f} x the check")


if __name__ == "__main__":
    main()
