"""The lightest format within the rules, and why it cannot be lighter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from kb.book.conversion import in_unit
from kb.book.keys import quantities, quantity_at
from kb.book.load import Book
from kb.book.quantity import Quantity, with_target
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.consistency.limits import yardstick
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.checks.words import in_reader_unit
from kb.design.optimum import BINDS, Infeasible, Optimum, Problem, least, price
from kb.design.sizes import FOLLOWING, FreeSizes, LimitSide, free_sizes
from kb.design.targets import NoDesign
from kb.route.assemble import Assembled, assemble
from kb.route.metal import MetalUse, cans_a_year, metal_use
from kb.route.study import Study
from kb.units import Samples

FREE = (
    "format.stock.gauge",
    "format.blank.diameter",
    "format.blank.die_clearance",
    "format.cup.die_bore",
    "format.redraw.die_bore",
    "format.punch.neck_diameter",
    "format.punch.step_height",
    "format.ironing.rings[].bore",
    "format.trim.height",
)
"""FreeSizes that are free by default: metal and the tools that set the walls. No customer sees them."""

REACH = 0.15
"""How far a free size is searched to either side, as a share of it."""

WALLS = ("bore", "die_bore", "neck_diameter")
"""Diameters that set a wall or a gap: they are searched one gauge to either side."""

NOT_IN_MODEL = {
    "format.dome": "How the can stands and stacks, and runs on conveyors, is not calculated.",
    "format.punch.nose": "How the can stands and stacks, and runs on conveyors, is not calculated.",
    "format.neck": "Change parts of necker, filler and seamer are not calculated.",
    "format.flange": "Change parts of filler and seamer are not calculated.",
    "format.cup": "Tool wear and marks of the cup tools are not calculated.",
    "format.ironing": "Ring wear and tear-offs at speed are not calculated.",
}
"""What no check knows of a size, by the beginning of its key."""

LOST = 2e-3
"""Room that rounding may take from a rule, as a share of its limit."""

GUARDS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Room kept inside each rule for rounding, as shares of the most that rounding can take from it."""

PROBE = 0.002
"""By this share of itself, or of half its window, a limit is moved to find its price by solving again."""


LADDER = (0.90, 0.95, 1.00, 1.05, 1.10)
"""Values of a target on its curve, as shares of the format's own."""


@dataclass(frozen=True)
class Change:
    """A size that changes.

    Attributes:
        key: its key in the format
        old: as written now
        new: to write
        follows: whether it only says what the tools make
    """

    key: str
    old: str
    new: str
    follows: bool


@dataclass(frozen=True)
class Binding:
    """A limit that keeps the format from being lighter.

    Attributes:
        side: the limit
        limit: the limit in the reader's unit
        unit: that unit
        price: coil saved by one unit [kg per 1000 cans per unit]
        looser: the same, found by solving again with the limit 0.2 % looser
        tighter: likewise 0.2 % tighter; not-a-number where that has no answer
        percent: coil saved by 1 % of the limit, or of half its window [kg per 1000 cans]
    """

    side: LimitSide
    limit: float
    unit: str
    price: float
    looser: float
    tighter: float
    percent: float


class CurvePoint(NamedTuple):
    """The least coil for one value of a target.

    Attributes:
        value: the target, in the unit inside
        text: the target as the format would write it
        coil: least coil [kg per 1000 cans]; not-a-number where nothing passes every check
        binding: checks that bind, the dearest first
    """

    value: float
    text: str
    coil: float
    binding: tuple[str, ...]


@dataclass(frozen=True)
class Lighter:
    """The lightest format found.

    Attributes:
        ident: id of the format it begins with
        before: its coil [kg per 1000 cans]
        exact: coil of the best sizes before rounding [kg per 1000 cans]
        after: coil with the sizes as written [kg per 1000 cans]
        changes: what to write
        binding: limits that bind, the dearest first
        ends: free sizes that end at the end of their range
        ranges: free sizes with their ranges, in the unit inside
        residual: how far the conditions of a best point are from holding [-]
        starts: starts of the search, and how many came to the same coil
        guard: room kept for rounding, as a share of the most that rounding can take [-]
        warnings: what no check knows of the sizes that change
        verdicts: every check of the format as written
        against: the target of the curve, such as `axial_load`; "" for none
        curve: least coil for several values of this target, from less to more
        metal: metal before and after, with money and energy as far as the plant's file gives prices
    """

    ident: str
    before: float
    exact: float
    after: float
    changes: tuple[Change, ...]
    binding: tuple[Binding, ...]
    ends: tuple[str, ...]
    ranges: Mapping[str, tuple[float, float]]
    residual: float
    starts: tuple[int, int]
    guard: float
    warnings: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    against: str = ""
    curve: tuple[CurvePoint, ...] = ()
    metal: tuple[MetalUse, MetalUse] | None = None


def lightest(
    book: Book,
    ident: str,
    *,
    keep: Sequence[str] = (),
    free: Sequence[str] = (),
    against: str = "",
    starts: int = 2,
) -> Lighter:
    """The lightest format within the rules.

    Args:
        book: a loaded book
        ident: id of a format
        keep: beginnings of keys that keep their value, such as `punch` or `stock.gauge`
        free: keys that are free beside the usual ones, such as `dome.depth`
        against: a target whose curve is computed too, such as `axial_load`
        starts: starts of the search

    Returns:
        The sizes to write, which pass every check, and the limits that bind with their prices.

    Raises:
        NoDesign: if the format cannot be calculated, no key is free, the target is none that the format must
            hold, or nothing passes every check.
    """
    assembled, asked = _question(book, ident, keep, free)
    if against:
        _known_target(assembled, against)
    best, sizes = _solved(asked, starts)
    written, verdicts, guard = rounded(assembled, sizes, best, sizes.problem)
    changes = tuple(written_changes(assembled, sizes, written))
    metal = metal_of(book, ident, assembled.study, sizes.at(written))
    return Lighter(
        ident=ident,
        before=float(assembled.study.nominal.blank.coil_mass) / 1000,
        exact=best.goal,
        after=float(sizes.at(written).nominal.blank.coil_mass) / 1000,
        changes=changes,
        binding=tuple(sorted(_binding(sizes, best), key=lambda one: -one.percent)),
        ends=tuple(
            _short(key) for key, prices in zip(sizes.keys, best.range_prices.T, strict=True) if prices.any()
        ),
        ranges={_short(key): between for key, between in zip(sizes.keys, sizes.ranges, strict=True)},
        residual=best.residual,
        starts=best.starts,
        guard=guard,
        warnings=tuple(
            dict.fromkeys(
                words
                for start, words in NOT_IN_MODEL.items()
                if any(f"format.{one.key}".startswith(start) for one in changes if not one.follows)
            )
        ),
        verdicts=tuple(verdicts),
        against=against,
        curve=tuple(_curve(assembled, asked, against)) if against else (),
        metal=metal,
    )


def metal_of(book: Book, ident: str, former: Study, new: Study) -> tuple[MetalUse, MetalUse] | None:
    """Metal of a former and a new format, with the cans a year of an id; None without prices."""
    year = cans_a_year(book, ident)
    before, after = (metal_use(one.case, one.nominal, year) for one in (former, new))
    return (before, after) if before and after else None


def _curve(assembled: Assembled, sizes: FreeSizes, against: str) -> Iterator[CurvePoint]:
    """Least coil for several values of a target, from less to more."""
    written = _quantity(assembled, f"format.targets.{against}")
    for share in LADDER:
        value = share * written.nominal
        study = sizes.at(sizes.start)
        case = study.case.with_nominals({f"format.targets.{against}": value})
        text = with_target(written, in_unit(value, written.canonical, written.unit))
        try:
            best, solved = _solved(replace(sizes, study=Study(case, study.inputs)), 1)
        except NoDesign:
            yield CurvePoint(value, text, float("nan"), ())
            continue
        prices = best.prices
        binding = dict.fromkeys(solved.sides[i].rule.name for i in np.argsort(-prices) if prices[i] > 0)
        yield CurvePoint(value, text, best.goal, tuple(binding))


def _known_target(assembled: Assembled, against: str) -> None:
    """Refuse a target that the format need not hold."""
    wanted = [
        one
        for one, _ in quantities(assembled.spec.record.targets)
        if f"format.targets.{one}" not in FOLLOWING
    ]
    if against not in wanted:
        ident = assembled.spec.record.id
        raise NoDesign(f"{against} is no target that {ident} must hold; give {' or '.join(wanted)}")


# --- the question -----------------------------------------------------------------------------


def _question(
    book: Book, ident: str, keep: Sequence[str], free: Sequence[str]
) -> tuple[Assembled, FreeSizes]:
    by = yardstick(book)
    assembled = assemble(book, ident) if not by.missing else None
    if assembled is None:
        raise NoDesign(f"{ident} cannot be calculated: run `sizebook check` first")
    case = assembled.case
    wanted = [f"format.{key}" for key in free]
    for key in wanted:
        if not free_sizes(case, [key]):
            raise NoDesign(f"{ident} has no key {key.removeprefix('format.')}")
    keys = [
        key
        for key in free_sizes(case, [*FREE, *wanted])
        if isinstance(case.at(key), float) and not any(_is_under(key, one) for one in keep)
    ]
    for one in keep:
        if not any(_is_under(key, one) for key in free_sizes(case, [*FREE, *wanted])):
            raise NoDesign(f"{one} is not a free size; free are {', '.join(_short(key) for key in FREE)}")
    if not keys:
        raise NoDesign("every size is kept; nothing can change")
    sizes = FreeSizes(assembled.study, by.limits, tuple(dict.fromkeys(keys)), ())
    gauge = float(case.format.stock.gauge)
    ranges = [search_range(key, float(case.at(key)), gauge) for key in sizes.keys]
    sizes = FreeSizes(sizes.study, sizes.limits, sizes.keys, tuple(ranges))
    if sizes.stuck:
        names = ", ".join(dict.fromkeys(one.rule.name for one in sizes.stuck))
        raise NoDesign(f"{ident} fails {names}, which no free size moves")
    return assembled, sizes


def _is_under(key: str, beginning: str) -> bool:
    short = _short(key)
    return short == beginning or short.startswith((f"{beginning}.", f"{beginning}["))


def search_range(key: str, now: float, gauge: float) -> tuple[float, float]:
    """Where a free size is searched [mm]."""
    reach = gauge if key.rpartition(".")[2] in WALLS else REACH * now
    return now - reach, now + reach


def _short(key: str) -> str:
    return key.removeprefix("format.")


# --- the answer -------------------------------------------------------------------------------


def _solved(sizes: FreeSizes, starts: int) -> tuple[Optimum, FreeSizes]:
    """The best sizes; solved again with the worst corners there until these stay the same."""
    try:
        best = least(sizes.problem, sizes.start, starts=starts)
        for _ in range(4):
            there = sizes.around(best.point)
            again = least(there.problem, best.point)
            same = abs(again.goal - best.goal) <= 1e-6 * best.goal
            best, sizes = Optimum(**{**vars(again), "starts": best.starts}), there
            if same:
                break
    except Infeasible as error:
        raise NoDesign(
            f"nothing within the ranges passes every check; {_worst(sizes, error.room)}"
        ) from error
    return best, sizes


def _worst(sizes: FreeSizes, room: Samples) -> str:
    names = dict.fromkeys(sizes.sides[i].rule.name for i in np.argsort(room) if room[i] < -BINDS)
    return f"at the closest point these fail: {', '.join(list(names)[:4])}"


def rounded(
    assembled: Assembled, sizes: FreeSizes, best: Optimum, problem: Problem
) -> tuple[Samples, list[Verdict], float]:
    """The best sizes as the format writes them.

    Args:
        assembled: the format
        sizes: its free sizes
        best: the best point of the problem
        problem: the problem whose rules the sizes were found for

    Returns:
        The sizes, every check of them, and the room kept for rounding: the least at which all checks and the
        rules of the problem hold; where there is none, the least at which all checks hold.

    Raises:
        NoDesign: if no room is enough.
    """
    written = [_quantity(assembled, key) for key in sizes.keys]
    halves = [in_unit(0.5 * 10.0**-one.decimals, one.unit, one.canonical) for one in written]
    taken = np.abs(problem.rules(best.point + np.diag(halves)) - problem.rules(best.point[None])).sum(axis=0)
    passing = None
    for guard in GUARDS:
        try:
            inside = least(problem.widened(-guard * taken), best.point).point
        except Infeasible:
            break
        point = np.array([_as_written(*one) for one in zip(inside, written, strict=True)])
        study = sizes.at(point)
        with np.errstate(all="ignore"):
            verdicts = judge_case(study.case, GEOMETRY, sizes.limits)
            verdicts += judge_route(study, MECHANICS, sizes.limits)
        if all(one.passed for one in verdicts):
            passing = passing or (point, verdicts, guard)
            if np.min(problem.rules(point[None])[0]) >= -LOST:
                return point, verdicts, guard
    if passing:
        return passing
    raise NoDesign("the best sizes hold no longer every check when they are rounded as written")


def _quantity(assembled: Assembled, key: str) -> Quantity:
    found = quantity_at(assembled.specs["format"].record, _short(key))
    assert found is not None
    return found


def _as_written(value: float, written: Quantity) -> float:
    """A value rounded to the decimals and the unit in which the format writes it."""
    shown = in_unit(value, written.canonical, written.unit)
    return in_unit(round(shown, written.decimals), written.unit, written.canonical)


def written_changes(assembled: Assembled, sizes: FreeSizes, point: Samples) -> list[Change]:
    """Free sizes, and those that follow the tools, that a point writes otherwise than the format does."""
    case = sizes.at(point).case
    found = []
    for key in (*sizes.keys, *FOLLOWING):
        written = _quantity(assembled, key)
        shown = round(in_unit(float(case.at(key)), written.canonical, written.unit), written.decimals)
        new = with_target(written, shown)
        if new != written.text and shown != round(
            in_unit(written.nominal, written.canonical, written.unit), 9
        ):
            found.append(Change(_short(key), written.text, new, key in FOLLOWING))
    return found


def _binding(sizes: FreeSizes, best: Optimum) -> list[Binding]:
    found = []
    for i in np.flatnonzero(best.prices > 1e-9 * max(best.goal, 1.0)):
        side = sizes.sides[i]
        unit = side.rule.show
        one = in_reader_unit(side.scale, unit=side.rule.unit, show=unit) - in_reader_unit(
            0.0, unit=side.rule.unit, show=unit
        )
        found.append(
            Binding(
                side=side,
                limit=in_reader_unit(side.limit, unit=side.rule.unit, show=unit),
                unit=unit,
                price=float(best.prices[i]) / one,
                looser=price(sizes.problem, best, int(i), PROBE) / one,
                tighter=price(sizes.problem, best, int(i), -PROBE) / one,
                percent=float(best.prices[i]) / 100,
            )
        )
    return found
