"""Speed and memory of `sizebook`, measured beside a plain schema validator in the same run.

    .venv/bin/python tests/bench/run.py [FORMATS]

Every figure is the median of its repeats on this machine, now; what is worth keeping is the ratios.
The yardstick is the `check-jsonschema` command judging the shape, and only the shape, of the same
files against the same schema.
"""

from __future__ import annotations

import os
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from kb.book.compose import composed, values_of
from kb.book.load import load

HOUSE = Path(__file__).resolve().parents[2]
BIN = Path(sys.executable).parent
INSTALLED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""The environment of the commands: as an installation does, Python keeps what it has compiled."""


MOST_RECORDED = 400
"""Formats of which the sheets are measured: a register of many more is larger than a spec may be."""


BASES = 10
"""Bases that the formats of a generated book share."""


def generated_book(folder: Path, count: int) -> Path:
    """The demo book with `count` formats made from ten of its released ones, no two alike."""
    book = folder / "book"
    shutil.copytree(HOUSE / "specs", book)
    demo = load(book, shown="").of("size-format").values()
    texts = [composed(values_of(one.record)) for one in demo if one.record.status == "released"][:BASES]
    for path in (book / "formats").iterdir():
        path.unlink()
    shutil.rmtree(book / "weeks")  # they name formats of the demo book
    (book / "sheet-codes.yaml").unlink(missing_ok=True)  # `recorded` makes the codes of these formats
    (book / "waivers.yaml").write_text("kind: waivers\nwaivers: []\n", encoding="utf-8")
    for i in range(count):
        text = texts[i % len(texts)]
        text = re.sub(r"^id: (.*)$", rf"id: \1-{i:04d}", text, flags=re.MULTILINE)
        text = re.sub(r"^title: (.*)$", rf"title: \1, variant {i:04d}", text, flags=re.MULTILINE)
        longer = r"step_height: (\d+\.\d+)"
        text = re.sub(longer, lambda m, i=i: f"step_height: {float(m[1]) + i * 2e-5:.5f}", text)
        name = re.search(r"^id: (.*)$", text, flags=re.MULTILINE)[1]
        (book / "formats" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return book


def recorded(book: Path) -> Path:
    """The book with the code of each of its sheets in the register."""
    command = [BIN / "sizebook", "sheet", "--record", "--book", book]
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    return book


def without_floor(book: Path) -> Path:
    """A copy of the book without what only the sheets and changeovers need."""
    plain = Path(shutil.copytree(book, book.with_name("plain")))
    for name in ("floor.yaml", "changeover.yaml", "sheet-codes.yaml"):
        (plain / name).unlink(missing_ok=True)
    return plain


def seconds(command: list[str | Path], repeats: int, *, may_find: bool = False) -> float:
    """Median wall time of a command."""
    return measured(command, repeats, may_find=may_find)[0]


def measured(command: list[str | Path], repeats: int, *, may_find: bool = False) -> tuple[float, float]:
    """Median wall time of a command, and median time that its processes took of the processors."""
    taken, worked = [], []
    for _ in range(repeats):
        start, before = time.perf_counter(), _processor()
        done = subprocess.run(
            [str(word) for word in command], stdout=subprocess.DEVNULL, env=INSTALLED, check=False
        )
        taken.append(time.perf_counter() - start)
        worked.append(_processor() - before)
        if done.returncode not in ({0, 1} if may_find else {0}):
            raise SystemExit(f"{command[0]} ended with {done.returncode}")
    return statistics.median(taken), statistics.median(worked)


def _processor() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def changeovers(sizebook: Path) -> None:
    """Commands of the changeover, cold: first without kept plans, then with them."""
    commands = {
        "changeover": ["b211-330", "b211-500", "--line", "heron"],
        "changeover --matrix": ["--matrix", "--line", "heron"],
    }
    for name, words in commands.items():
        with tempfile.TemporaryDirectory() as cache:
            INSTALLED["SIZEBOOK_CACHE"] = cache
            command = [sizebook, "changeover", *words, "--book", HOUSE / "specs"]
            first, first_worked = measured(command, 1, may_find=True)
            again, again_worked = measured(command, 5, may_find=True)
            print(f"{name + ', no kept plan':31}{first:7.2f} s    {first_worked:.2f} s of processor")
            print(f"{name + ', kept plans':31}{again:7.2f} s    {again_worked:.2f} s of processor")
    del INSTALLED["SIZEBOOK_CACHE"]


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    sizebook, plain = BIN / "sizebook", BIN / "check-jsonschema"
    bare = seconds([sys.executable, "-c", "pass"], 15)
    print(f"start of Python alone          {1000 * bare:7.0f} ms")
    help_ = seconds([sizebook, "--help"], 15)
    print(f"sizebook --help                {1000 * help_:7.0f} ms   {help_ / bare:5.1f} x Python alone")
    one = seconds([sizebook, "check", HOUSE / "specs/formats/b211-330.yaml"], 7)
    print(f"one format, cold               {1000 * one:7.0f} ms   {one / bare:5.1f} x Python alone")
    changeovers(sizebook)
    with tempfile.TemporaryDirectory() as scratch:
        book = generated_book(Path(scratch), count)
        files = sorted((book / "formats").glob("*.yaml"))
        shape = seconds([plain, "--schemafile", HOUSE / "schema/size-format.json", *files], 3)
        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        INSTALLED["SIZEBOOK_CACHE"] = scratch
        cold = seconds([sizebook, "check", book], 1, may_find=True)
        full = seconds([sizebook, "check", book], 3, may_find=True)
        most = max(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, before)
        print(f"{count} formats, shape only      {shape:7.2f} s    check-jsonschema")
        print(f"{count} formats, full physics    {full:7.2f} s    {full / shape:5.2f} x shape only")
        print(f"the same, {BASES} bases to solve  {cold:7.2f} s")
        part = min(count, MOST_RECORDED)
        book = generated_book(Path(scratch) / "sheets", part)
        few, few_worked = measured([sizebook, "check", without_floor(book)], 3)
        all_, all_worked = measured([sizebook, "check", recorded(book)], 3)
        ratios = f"{all_ / few:5.2f} x no floor file; {all_worked / few_worked:.2f} x in processor time"
        print(f"{part} formats, no floor file   {few:7.2f} s")
        print(f"{part} formats, every sheet     {all_:7.2f} s    {ratios}")
        print(f"largest process                {most / 1024:7.0f} MiB")


if __name__ == "__main__":
    main()
