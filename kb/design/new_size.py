"""A new size from a few targets: a format of the book, with heights and blank moved and then centred."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kb.book import keys, schema, source
from kb.book.compose import in_full, on_standard
from kb.book.finding import Span
from kb.book.keys import quantity_at
from kb.book.load import Book, Spec
from kb.book.records import SizeFormat
from kb.book.tree import Scalar
from kb.checks.consistency.limits import yardstick
from kb.checks.fix_search import HEIGHTS
from kb.checks.one_format import FormatResult, check_format
from kb.checks.words import exact_quantity, quantity
from kb.design.draft import unapproved, with_edits
from kb.design.lightest import FREE, Change, metal_of, rounded, search_range, written_changes
from kb.design.optimum import NEAR, Optimum, Problem, Widest, conflict, least, widest
from kb.design.sizes import FreeSizes, LimitSide, free_sizes
from kb.design.targets import DesignTargets, NoDesign
from kb.route.assemble import Assembled, assemble
from kb.route.case import Case
from kb.route.metal import MetalUse
from kb.route.study import Study
from kb.units import Samples

LAYERS = "format.pallet.layers"

TOOLS = ("blank", "cup", "redraw", "punch", "ironing", "dome", "neck", "flange")
"""Blocks of a format whose sizes are tools."""

ROOM = 0.05
"""Room kept inside each limit where it can be had, as a share of the limit or of half its window."""

OF_WIDEST = 0.8
"""Share of the most room that can be had which is kept; the rest serves the coil."""

ROUNDS = 8
"""Rounds in which limits that can have more room than others get it."""


@dataclass(frozen=True)
class Tool:
    """A size of a tool: the formats of the book that have it already; none where it must be made."""

    key: str
    size: str
    had_by: tuple[str, ...]


@dataclass(frozen=True)
class NewSize:
    """A new size that passes every check.

    Attributes:
        text: the draft as YAML
        changes: sizes that differ from the former format, with the reason beside each
        tools: sizes of tools that differ from the former format
        tightest: the limits with least room, and that room
        coil: its coil [kg per 1000 cans]
        result: the draft as `check` judges it
        metal: metal of the former format and of the draft; money and energy as far as the plant gives prices
    """

    text: str
    changes: tuple[tuple[Change, str], ...]
    tools: tuple[Tool, ...]
    tightest: tuple[tuple[LimitSide, float], ...]
    coil: float
    result: FormatResult
    metal: tuple[MetalUse, MetalUse] | None = None


class Conflict(NoDesign):
    """The targets cannot all be met; the text names the smallest set of rules that conflict."""


def new_size(book: Book, targets: DesignTargets) -> NewSize:
    """A complete draft that meets the targets.

    Args:
        book: a loaded book
        targets: what the size must do

    Returns:
        The draft with the reason of each size, tools to make, and the limits with least room.

    Raises:
        Conflict: if no sizes within the ranges meet the targets.
        NoDesign: if the targets name what is not there, or the draft cannot be calculated.
    """
    former = book.of("size-format").get(targets.like)
    if former is None:
        raise NoDesign(f"format {targets.like} is not in the book")
    if targets.ident in book.of("size-format"):
        raise NoDesign(f"format {targets.ident} is in the book already; give another id")
    text = _begun(former, targets)
    assembled = _assembled(book, text, targets.ident)
    sizes = _guessed(book, former.record, assembled, targets.keep)
    best, sizes, kept = _placed(sizes, lightest=targets.lightest)
    problem = sizes.problem.widened(-kept)
    point, _, _ = rounded(assembled, sizes, best, problem)
    changes = written_changes(assembled, sizes, point)
    reasons = [_reason(sizes.around(point), one) for one in changes]
    edits = {one.key: (one.new, reason) for one, reason in zip(changes, reasons, strict=True)}
    if "pallet.layers" not in targets.values:
        edits[LAYERS.removeprefix("format.")] = (
            str(_layers(sizes.at(point).case)),
            "as many as the pallet takes",
        )
    spec = _spec(text, targets.ident)
    text = with_edits(text, {key: (spec.place(key).span, *edit) for key, edit in edits.items()})
    result = check_format(_with(book, _spec(text, targets.ident)), targets.ident)
    if failed := sorted({one.rule.name for one in result.verdicts if not one.passed}):
        raise NoDesign(f"the sizes as written fail {', '.join(failed)}; this is a fault of the search")
    there, before = sizes.around(point), assemble(book, targets.like)
    inside = there.problem.rules(point[None])[0]
    standard = book.of("body-standard").get(former.record.standard)
    return NewSize(
        text=on_standard(text, _spec(text, targets.ident).record, standard.record) if standard else text,
        changes=tuple(zip(changes, reasons, strict=True)),
        tools=tuple(_tools(book, changes)),
        tightest=tuple((there.sides[i], float(inside[i])) for i in np.argsort(inside)[:8]),
        coil=float(there.study.nominal.blank.coil_mass) / 1000,
        result=result,
        metal=metal_of(book, targets.ident, before.study, there.study) if before else None,
    )


# --- the beginning: the former format's text with the required values -------------------------


def _begun(former: Spec[SizeFormat], targets: DesignTargets) -> str:
    """The former format's text under the new name, with the values of the targets."""
    record = former.record
    document = in_full(former.document, record)
    values = {
        "id": targets.ident,
        "revision": "1",
        "status": "draft",
        "why": f'"Designed from targets, beginning with {record.id} revision {record.revision}."',
        **targets.values,
    }
    edits: dict[str, tuple[Span, str, str]] = {}
    for key, value in values.items():
        if not isinstance(document.node(key), Scalar):
            raise NoDesign(f"{record.id} has no key {key}; add it to the draft afterwards")
        edits[key] = (document.place(key).span, value, "target" if key in targets.values else "")
    return unapproved(with_edits(document.text, edits))


def _spec(text: str, ident: str) -> Spec[SizeFormat]:
    reading = source.read_text(text, f"{ident}.yaml")
    faults = reading.findings if reading.document is None else schema.judge(reading.document).findings
    if faults or reading.document is None:
        raise NoDesign(f"targets: {faults[0].place.key or 'the text'}: {faults[0].message}")
    record = keys.build("size-format", reading.document)
    assert isinstance(record, SizeFormat)
    return Spec("size-format", ident, reading.document, record)


def _with(book: Book, spec: Spec[SizeFormat]) -> Book:
    formats = {**book.specs["size-format"], spec.id: spec}
    return replace(book, specs={**book.specs, "size-format": formats})


def _assembled(book: Book, text: str, ident: str) -> Assembled:
    if yardstick(book).missing:
        raise NoDesign("limits.yaml lacks settings: run `sizebook check` first")
    spec = _spec(text, ident)
    for key, kind, name in spec.references:
        if name not in book.of(kind):
            raise NoDesign(f"targets: {key}: {kind} {name} is not in the book, or has errors")
    found = assemble(_with(book, spec), ident)
    if found is None:
        raise NoDesign("the book has errors: run `sizebook check` first")
    return found


def _guessed(book: Book, former: SizeFormat, assembled: Assembled, keep: Sequence[str]) -> FreeSizes:
    """The free sizes, beginning with heights and blank moved by the contents."""
    case = assembled.case
    free = [
        key
        for key in dict.fromkeys(free_sizes(case, [*FREE, *HEIGHTS]))
        if not any(
            key == f"format.{one}" or key.startswith((f"format.{one}.", f"format.{one}[")) for one in keep
        )
    ]
    for one in keep:
        if not any(key == one or key.startswith((f"{one}.", f"{one}[")) for key, _ in keys.values(former)):
            raise NoDesign(f"keep: {one} is no key of {former.id}")
    if not free:
        raise NoDesign("every size is kept; nothing can change")
    body, wall = float(case.at("format.punch.wall_diameter")), float(case.at("format.targets.thin_wall"))
    taller = float(case.format.fill.contents - former.fill.contents) / (np.pi / 4 * body**2)
    gauge = float(case.format.stock.gauge)
    values = {key: float(case.at(key)) + (taller if key in HEIGHTS else 0.0) for key in free}
    blank = "format.blank.diameter"
    if blank in values:
        values[blank] = float(np.sqrt(max(values[blank] ** 2 + 4 * body * taller * wall / gauge, 1.0)))
    ranges = tuple(search_range(key, value, gauge) for key, value in values.items())
    sizes = FreeSizes(assembled.study, yardstick(book).limits, tuple(free), ranges).around(
        np.array(list(values.values()))
    )
    study = sizes.study
    return replace(sizes, study=Study(study.case.put({LAYERS: _layers(study.case)}), study.inputs))


# --- the middle of the limits -----------------------------------------------------------------


def _placed(sizes: FreeSizes, *, lightest: bool) -> tuple[Optimum, FreeSizes, Samples]:
    """The least coil with room kept in every limit, at the worst corners of the sizes found."""
    point = sizes.start
    for _ in range(4):
        sizes = sizes.around(point)
        first = widest(sizes.problem, point, most=ROOM)
        if first.room < 0:
            raise Conflict(_conflict(sizes, point))
        kept = np.zeros(len(sizes.sides)) if lightest else _room_to_keep(sizes.problem, first)
        best = least(sizes.problem.widened(-kept), first.point)
        same = np.allclose(best.point, point, rtol=1e-5)
        point = best.point
        if same:
            break
    return best, sizes, kept


def _room_to_keep(problem: Problem, found: Widest) -> Samples:
    """Room for each limit: first as much as all can have; then more for those that can have more."""
    kept = np.zeros(len(problem.rules(found.point[None])[0]))
    among = np.ones(len(kept), dtype=bool)
    for _ in range(ROUNDS):
        kept[among] = OF_WIDEST * found.room
        among[found.tight] = False
        if found.room >= ROOM - NEAR * ROOM or not len(found.tight) or not among.any():
            break
        found = widest(problem.widened(-np.where(among, 0.0, kept)), found.point, among=among, most=ROOM)
    return kept


def _conflict(sizes: FreeSizes, point: Samples) -> str:
    parts = []
    limits = [(one.rule.name, one.at) for one in sizes.sides]
    for i, lacks in conflict(sizes.problem, point, limits):
        side = sizes.sides[i]
        limit = exact_quantity(side.limit, unit=side.rule.unit, show=side.rule.show)
        word = "at most" if side.upper else "at least"
        moved = side.limit + (1 if side.upper else -1) * lacks * side.scale
        to = quantity(moved, unit=side.rule.unit, show=side.rule.show)
        parts.append(
            f"{side.rule.name} ({word} {limit}"
            + (f"; alone it would need {to})" if math.isfinite(lacks) else ")")
        )
    return "these cannot hold together: " + ", ".join(parts)


# --- reasons, tools, layers -------------------------------------------------------------------


def _reason(sizes: FreeSizes, change: Change) -> str:
    """The tightest limit that moves with a size, with its value; what follows the tools says so."""
    if change.follows:
        return "follows the tools"
    i = sizes.keys.index(f"format.{change.key}")
    low, high = sizes.ranges[i]
    step = np.zeros(len(sizes.keys))
    step[i] = 1e-4 * (high - low)
    room, moved = sizes.problem.rules(np.stack([sizes.start, sizes.start + step]))
    moving = np.flatnonzero(np.abs(moved - room) > 1e-7)
    if not len(moving):
        return ""
    side = sizes.sides[moving[np.argmin(room[moving])]]
    inside = float(np.min(room[moving])) * side.scale
    value = side.limit - inside if side.upper else side.limit + inside
    shown = quantity(value, unit=side.rule.unit, show=side.rule.show)
    limit = exact_quantity(side.limit, unit=side.rule.unit, show=side.rule.show)
    return f"{side.rule.name} {shown}, {'at most' if side.upper else 'at least'} {limit}"


def _tools(book: Book, changes: Sequence[Change]) -> Iterator[Tool]:
    for one in changes:
        if one.key.split(".")[0] not in TOOLS or one.follows:
            continue
        had = [
            spec.id
            for spec in book.of("size-format").values()
            if (found := quantity_at(spec.record, one.key)) is not None and found.text == one.new
        ]
        yield Tool(one.key, one.new, tuple(had))


def _layers(case: Case) -> int:
    """Layers that fit the pallet at the finished height."""
    board, height = case.plant.pallet, float(case.band("format.flange.finished_height")[1])
    room = board.height - board.base - board.sheet  # a sheet is on top
    return math.floor(float(room) / (height + float(board.sheet)))
