"""Speed and quality of changeover plans, measured in one run.

    .venv/bin/python tests/bench/changeover.py [FORMATS]

Times are of the processor, so that another program on the machine alters them little. A gap is by how much a
schedule may be longer than the shortest there is.
"""

from __future__ import annotations

import contextlib
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

from kb.book.load import Book, load  # noqa: E402
from kb.changeover.difference import OnLine  # noqa: E402
from kb.changeover.plan import Changeovers, Planner  # noqa: E402
from kb.scheduling.activities import Schedule  # noqa: E402
from kb.scheduling.plan import EFFORT  # noqa: E402
from kb.scheduling.sequence import Batch, best_order  # noqa: E402
from tests.bench.run import generated_book  # noqa: E402
from tests.changeover.small import all_compared  # noqa: E402

LINES = {"heron": "heron-days", "plover": "plover-days"}
WEEK_RUNS = 20
HOUR = 3600


@contextlib.contextmanager
def timed(what: str) -> Iterator[list[str]]:
    """Time what is done here and print it with the words put into the list."""
    words: list[str] = []
    start = time.process_time()
    yield words
    print(f"{what:44}{time.process_time() - start:8.2f} s   {'   '.join(words)}", flush=True)


def gap(one: Schedule) -> float:
    """By how much a schedule may be too long, of its length."""
    return (one.length - one.bound) / one.length if one.length else 0.0


def on_one_line(folder: Path, line: str, count: int) -> Path:
    """A book of so many formats on one line, of all the line's own sizes."""
    book = generated_book(folder, 6 * count)
    kept = 0
    for path in sorted((book / "formats").iterdir(), key=lambda one: one.stem[-4:]):
        here = re.search(r"^lines: \[.*\b" + line + r"\b.*\]", path.read_text(encoding="utf-8"), re.MULTILINE)
        if here and kept < count:
            kept += 1
        else:
            path.unlink()
    if (book / "weeks").is_dir():
        for path in (book / "weeks").iterdir():
            path.unlink()
    return book


def one_changeover(line: str, crew: str) -> None:
    """From the files to the plan of the pair with the most changes; then the plans of all pairs."""
    pairs = list(all_compared(OnLine(load(HOUSE / "specs", shown="specs"), line)))
    most = max(pairs, key=lambda one: sum(len(station.changes) for station in one.stations))
    with timed(f"{line}: one changeover, from the files") as words:
        book = load(HOUSE / "specs", shown="specs")
        plan = Planner(book, crew).plan(OnLine(book, line).difference(most.old, most.new))
        words.append(f"{most.old} to {most.new}, {len(plan.stop.slots)} works")
        words.append(f"{plan.stop.length / 60:.0f} min, gap {gap(plan.stop):.1%}")
    planner = Planner(book, crew)
    gaps, sizes = [], []
    with timed(f"{line}: every stop, full effort") as words:
        for one in all_compared(OnLine(book, line)):
            stop = planner.plan(one).stop
            gaps.append(gap(stop))
            sizes.append(len(stop.slots))
        words.append(f"{len(gaps)} pairs, {planner.solved} schedules, {min(sizes)} to {max(sizes)} works")
        words.append(f"gap: median {statistics.median(gaps):.1%}, worst {max(gaps):.1%}")
        middle = [one for one, size in zip(gaps, sizes, strict=True) if size <= 140]
        words.append(f"up to 140 works: {len(middle)} pairs, worst {max(middle, default=0):.1%}")


def many(book: Book, line: str, crew: str) -> None:
    """All stops of a line with many formats, and a week of runs of them."""
    with timed(f"{line}: matrix of {len(book.of('size-format'))} formats") as words:
        found = Changeovers(book, line, crew).matrix()
        gaps = [(one.seconds - one.bound) / one.seconds for one in found.stops.values() if one.seconds]
        words.append(f"{len(found.stops)} pairs, {found.solved} schedules, effort {EFFORT:g}")
        words.append(f"gap: median {statistics.median(gaps):.1%}, worst {max(gaps):.1%}")
    formats = found.formats
    jobs = [
        Batch(i + 1, formats[(7 * i) % len(formats)], 5 * HOUR, (i % 7 + 4) * 30 * HOUR)
        for i in range(WEEK_RUNS)
    ]
    with timed(f"{line}: week of {WEEK_RUNS} runs") as words:
        week = best_order(jobs, found.seconds, running=formats[0])
        words.append(f"lost {week.given.lost / 60:.0f} -> {week.best.lost / 60:.0f} min")
        words.append(f"late {week.given.lateness} -> {week.best.lateness} min")
        words.append("proven" if week.proven else "not proven")


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    for line, crew in LINES.items():
        one_changeover(line, crew)
    with tempfile.TemporaryDirectory() as scratch:
        many(load(on_one_line(Path(scratch), "heron", count), shown="book"), "heron", "heron-days")


if __name__ == "__main__":
    main()
