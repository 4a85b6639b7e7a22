"""A small plant's way of changing over, made for the tests: a line, its crew, a library of steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from kb.blocks import Cell
from kb.book.load import Book
from kb.book.records_floor import Phase, Step, StepTime
from kb.changeover.difference import OnLine
from kb.changeover.model import Difference, DifferingValue, ItemChange, StationChanges
from kb.changeover.work import rooms_of, tasks_of
from kb.scheduling.activities import Operator

MINUTE = 60.0

CREW = (
    Operator("lead", frozenset({"quality", "necking", "electrical"})),
    Operator("cupper", frozenset({"cupping", "coil"})),
    Operator("body-a", frozenset({"bodymaking", "trimming"})),
    Operator("body-b", frozenset({"bodymaking", "trimming", "printing"})),
    Operator("neck", frozenset({"necking", "printing"})),
)

SHARED = {"hoist": 1, "torque-wrench": 2}


def step(
    ident: str, phase: Phase, minutes: float, machine: str = "", needs: str = "", **more: object
) -> Step:
    """A step, its worst time half as long again."""
    made = Step(
        id=ident,
        text=f"do {ident}",
        phase=phase,
        time=StepTime(minutes * MINUTE, 1.5 * minutes * MINUTE, "estimated"),
        needs=tuple(needs.split()),
    )
    if machine:
        made = replace(made, machine=machine)
    return replace(made, **more)


def station(number: int, kind: str, count: int, changes: str, ident: str = "") -> StationChanges:
    """A group of machines where parts of these ids change."""
    return StationChanges(
        number=number,
        id=ident or f"{kind}s",
        kind=kind,
        title=f"{kind.capitalize()}s",
        count=count,
        changes=tuple(change(one, count) for one in changes.split()),
        stays=(),
    )


def change(ident: str, count: int = 1) -> ItemChange:
    """A part that changes."""
    return ItemChange(ident, "part", f"the {ident}", "", (Cell("1"),), (Cell("2"),), 1, count, ("key",))


def difference(*stations: StationChanges, old: str = "a", new: str = "b") -> Difference:
    """Two formats that differ at these stations."""
    moved = (DifferingValue("key", "1", "2"),) if any(one.changes for one in stations) else ()
    return Difference("line", old, new, "height", moved, stations, (), ())


EVERYTHING = difference(
    station(1, "cupper", 1, "draw-die cup-punch feed-pitch coil"),
    station(2, "bodymaker", 8, "punch rings dome-die stroke"),
    station(3, "trimmer", 8, "trim-height"),
    station(4, "washer", 1, ""),
    station(5, "printer", 2, "plates mandrels"),
    station(6, "sprayer", 7, "nozzle-height"),
    station(7, "necker", 1, "dies pilots turret-height"),
    station(8, "tester", 1, "pocket"),
    station(9, "palletizer", 1, "layer"),
)

HEIGHT = difference(
    station(1, "cupper", 1, ""),
    station(2, "bodymaker", 8, "stroke"),
    station(3, "trimmer", 8, "trim-height"),
    station(4, "washer", 1, ""),
    station(5, "printer", 2, "mandrels"),
    station(6, "sprayer", 7, "nozzle-height"),
    station(7, "necker", 1, "turret-height"),
    station(8, "tester", 1, "pocket"),
    station(9, "palletizer", 1, "layer"),
)

LABEL = difference(
    station(1, "cupper", 1, ""),
    station(2, "bodymaker", 8, ""),
    station(3, "trimmer", 8, ""),
    station(5, "printer", 2, "plates"),
    station(7, "necker", 1, ""),
)


def _guards(kind: str, minutes: float, **more: object) -> list[Step]:
    return [
        step(f"{kind}-clear", "clear", 3, kind, "run-out", **more),
        step(f"{kind}-isolate", "isolate", minutes, kind, f"{kind}-clear", **more),
        step(f"{kind}-release", "release", minutes, kind, **more),
    ]


STEPS: tuple[Step, ...] = (
    step("kit-cart", "before", 25, because_of=("punch", "rings", "dome-die", "dies", "pilots")),
    step(
        "verify-packs",
        "before",
        20,
        "bodymaker",
        "kit-cart",
        because_of=("punch", "rings"),
        skill="bodymaking",
    ),
    step("stage-coil", "before", 15, "cupper", because_of=("coil",), skill="coil", uses=("hoist",)),
    step("masters-out", "before", 10, skill="quality"),
    step("brief", "before", 10, needs="kit-cart masters-out verify-packs", people=4),
    step("run-out", "clear", 6, people=2),
    *_guards("cupper", 3, skill="cupping"),
    *_guards("bodymaker", 1.5, each=True, skill="bodymaking"),
    *_guards("trimmer", 1, each=True, skill="trimming"),
    *_guards("printer", 2, each=True, skill="printing"),
    *_guards("sprayer", 1, each=True),
    *_guards("necker", 4, skill="necking"),
    step(
        "coil-change",
        "in",
        12,
        "cupper",
        because_of=("coil",),
        skill="coil",
        people=2,
        uses=("hoist",),
        hands_in=True,
    ),
    step(
        "die-set-out",
        "out",
        14,
        "cupper",
        because_of=("draw-die", "cup-punch"),
        skill="cupping",
        people=2,
        uses=("hoist",),
        hands_in=True,
    ),
    step(
        "die-set-in",
        "in",
        16,
        "cupper",
        "die-set-out",
        because_of=("draw-die", "cup-punch"),
        skill="cupping",
        people=2,
        uses=("hoist",),
        hands_in=True,
    ),
    step("feed", "set", 6, "cupper", "die-set-in", because_of=("feed-pitch",), skill="cupping"),
    step(
        "pack-out",
        "out",
        7,
        "bodymaker",
        each=True,
        because_of=("punch", "rings"),
        skill="bodymaking",
        hands_in=True,
    ),
    step(
        "pack-in",
        "in",
        9,
        "bodymaker",
        "pack-out",
        each=True,
        because_of=("punch", "rings"),
        skill="bodymaking",
        uses=("torque-wrench",),
        hands_in=True,
    ),
    step(
        "domer",
        "in",
        8,
        "bodymaker",
        "pack-in",
        each=True,
        because_of=("dome-die",),
        skill="bodymaking",
        hands_in=True,
    ),
    step(
        "stroke",
        "set",
        4,
        "bodymaker",
        "domer pack-in",
        each=True,
        because_of=("stroke",),
        skill="bodymaking",
    ),
    step("align", "verify", 3, "bodymaker", "stroke", each=True, skill="quality"),
    step(
        "trim-set",
        "set",
        5,
        "trimmer",
        each=True,
        because_of=("trim-height",),
        skill="trimming",
        hands_in=True,
    ),
    step(
        "mandrels", "in", 14, "printer", each=True, because_of=("mandrels",), skill="printing", hands_in=True
    ),
    step(
        "plates",
        "in",
        9,
        "printer",
        "mandrels",
        each=True,
        because_of=("plates",),
        skill="printing",
        hands_in=True,
    ),
    step("spray-set", "set", 4, "sprayer", each=True, because_of=("nozzle-height",), hands_in=True),
    step("dies-out", "out", 25, "necker", because_of=("dies",), skill="necking", people=2, hands_in=True),
    step(
        "dies-in",
        "in",
        35,
        "necker",
        "dies-out",
        because_of=("dies",),
        skill="necking",
        people=2,
        uses=("torque-wrench",),
        hands_in=True,
    ),
    step(
        "turret",
        "set",
        12,
        "necker",
        "dies-in",
        because_of=("turret-height",),
        skill="necking",
        hands_in=True,
    ),
    step("pocket", "in", 8, "tester", "run-out", because_of=("pocket",)),
    step("layer", "set", 5, "palletizer", "run-out", because_of=("layer",)),
    step("turn-by-hand", "verify", 5, "necker", "turret", skill="necking"),
    step("first-cups", "first-off", 6, "cupper", "cupper-release feed", skill="quality"),
    step(
        "first-bodies",
        "first-off",
        3,
        "bodymaker",
        "bodymaker-release align first-cups",
        each=True,
        skill="quality",
    ),
    step(
        "first-necks",
        "first-off",
        8,
        "necker",
        "necker-release first-bodies trimmer-release",
        skill="quality",
    ),
    step("first-prints", "first-off", 5, "printer", "printer-release", each=True, skill="printing"),
    step("cans-dry", "restart", 5, people=2),
    step("release-run", "restart", 4, needs="cans-dry", skill="quality"),
    step("clean-out", "after", 40, because_of=("punch", "rings", "dies"), people=2),
    step("register", "after", 15, needs="clean-out"),
)
"""What this plant knows how to do, some hundred tasks when everything changes."""

EQUIPMENT = SHARED | rooms_of(tasks_of(STEPS, EVERYTHING))
"""What is shared, and the machines that hands go into."""


def compared(book: Book, old: str, new: str, line: str) -> Difference:
    """What differs between two formats of a book."""
    return OnLine(book, line).difference(old, new)


def all_compared(on_line: OnLine) -> Iterator[Difference]:
    """What differs between all formats of a line, for every ordered pair of two."""
    idents = list(on_line.formats())
    yield from (on_line.difference(old, new) for old in idents for new in idents if old != new)
