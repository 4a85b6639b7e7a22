"""A lighter format, or a new size, as text for a person; a lighter format as JSON for a program."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from kb.book.conversion import exact_number, numbers, percent
from kb.checks.words import exact_quantity, number
from kb.design.lightest import Binding, CurvePoint, Lighter
from kb.design.new_size import NewSize
from kb.output.json_reports import json_text
from kb.route.metal import MetalUse

SCHEMA = "sizebook-lightweight/1"

PLOT = 24
"""Places of a plot of letters."""

TRUST = (
    "Strength is an estimate until calibrated on the plant's own trials. Make a trial before you buy a tool."
)


def as_text(lighter: Lighter) -> str:
    """Coil before and after, what to change, what binds with its price, and what no check knows."""
    lines = [
        f"{lighter.ident}: coil {lighter.before:.2f} → {lighter.after:.2f} kg per 1000 cans "
        f"({_percent(lighter.after, lighter.before)}). The new sizes pass every check.",
        f"Sizes without rounding need {lighter.exact:.2f} kg. No lighter sizes were found within these "
        "limits and ranges.",
        f"Starts of the search: {lighter.starts[0]}, at this coil: {lighter.starts[1]}. "
        f"Error of the conditions of a best point: {lighter.residual:.1e}.",
        "",
        "Change:",
    ]
    rows = [
        (one.key, one.old, one.new, "follows the tools" if one.follows else "") for one in lighter.changes
    ]
    lines += _table(("key", "now", "new", ""), rows)
    lines += [
        "",
        "Why not lighter: limits that bind, and the coil that a looser limit saves, kg per 1000 cans.",
    ]
    lines += ["The price of one unit is checked: solved again with the limit 0.2 % looser, then tighter."]
    lines += _table(
        ("check", "limit", "for 1 %", "for one unit", "solved again", "owner"),
        [_bound(one) for one in lighter.binding],
    )
    if lighter.metal and lighter.metal[1].coil_price is not None:
        lines += ["", f"In money, {lighter.metal[1].currency} per 1000 cans, scrap not credited:"]
        lines += _table(
            ("check", "for 1 %", "for one unit"),
            [_in_money(one, lighter.metal[1]) for one in lighter.binding],
        )
    if lighter.metal:
        lines += ["", "Metal:", *_metal(*lighter.metal, "now")]
    if lighter.ends:
        lines += ["", f"At the end of the range searched: {', '.join(lighter.ends)}."]
    if lighter.curve:
        lines += ["", f"Coil against {lighter.against}:"]
        lines += _table((lighter.against, "kg per 1000", "plot", "binds"), list(_curve(lighter.curve)))
    lines += ["", *(f"Not checked: {one}" for one in lighter.warnings), TRUST]
    return "\n".join(lines) + "\n"


def new_size_as_text(made: NewSize) -> str:
    """What was found for the targets, the tools to make, and the limits with least room."""
    spec = made.result
    lines = [
        f"{spec.ident}: a draft that passes every check; coil {made.coil:.2f} kg per 1000 cans.",
        "",
        "Sizes that differ, with the limit nearest to each:",
        *_table(
            ("key", "former", "new", ""), [(one.key, one.old, one.new, why) for one, why in made.changes]
        ),
        "",
        *(["Metal:", *_metal(*made.metal, "former"), ""] if made.metal else []),
        "Tools to make or to find:",
        *_table(
            ("key", "size", "in use for"),
            [(one.key, one.size, ", ".join(one.had_by) or "no format of this book") for one in made.tools],
        ),
        "",
        "Limits with least room:",
        *_table(
            ("check", "limit", "room"),
            [
                (
                    side.rule.name,
                    f"{'at most' if side.upper else 'at least'} "
                    f"{exact_quantity(side.limit, unit=side.rule.unit, show=side.rule.show)}",
                    percent(room),
                )
                for side, room in made.tightest
            ],
        ),
        "",
        TRUST,
    ]
    return "\n".join(lines) + "\n"


def _bound(one: Binding) -> tuple[str, ...]:
    unit = "" if one.unit in {"-", "count"} else f" {one.unit}"
    word = "at most" if one.side.upper else "at least"
    per = unit or " 1"
    again = "/".join("-" if math.isnan(price) else number(price) for price in (one.looser, one.tighter))
    return (
        one.side.rule.name,
        f"{word} {exact_number(one.limit)}{unit}",
        f"{one.percent:.3f}",
        f"{number(one.price)} per{per}",
        again,
        one.side.own.owner if one.side.own else one.side.against,
    )


def _curve(points: Sequence[CurvePoint]) -> Iterator[tuple[str, ...]]:
    """Each point with a mark between the least coil, at the left, and the most, at the right."""
    found = [one.coil for one in points if not math.isnan(one.coil)]
    least, most = min(found, default=0.0), max(found, default=0.0)
    for one in points:
        if math.isnan(one.coil):
            yield one.text, "none", "", "nothing passes every check"
        else:
            at = round((PLOT - 1) * (one.coil - least) / ((most - least) or 1.0))
            plot = f"|{' ' * at}o{' ' * (PLOT - 1 - at)}|"
            yield one.text, f"{one.coil:.2f}", plot, ", ".join(one.binding[:3])


def _in_money(one: Binding, metal: MetalUse) -> tuple[str, str, str]:
    price = metal.coil_price or 0.0
    per = "1" if one.unit in {"-", "count"} else one.unit
    return one.side.rule.name, f"{one.percent * price:.3f}", f"{number(one.price * price)} per {per}"


def _metal(former: MetalUse, new: MetalUse, word: str) -> Iterator[str]:
    """Scrap, money and energy before and after, and where the plant's values come from."""
    before = {one.key: one for one in former.rows}
    rows = []
    for one in new.rows:
        if (was := before.get(one.key)) is not None and was.unit == one.unit:
            change = sorted((one.low - was.low, one.high - was.high))
            rows.append(
                (
                    one.words,
                    *(_ends(*ends) for ends in ((was.low, was.high), (one.low, one.high), change)),
                    one.unit,
                )
            )
        else:
            rows.append((one.words, "", _ends(one.low, one.high), "", one.unit))
    yield from _table(("", word, "new", "change", ""), rows)
    yield from (f"  {source}." for source in dict.fromkeys((*former.sources, *new.sources)))


def _ends(low: float, high: float) -> str:
    return " to ".join(dict.fromkeys(numbers([low, high]) if low != high else numbers([low])))


def _percent(new: float, old: float) -> str:
    return percent(new / old - 1, signed=True)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
    return [
        "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in (head, *rows)
    ]


def as_json(lighter: Lighter) -> str:
    """The same as one JSON object; null is what has no answer."""
    record: dict[str, Any] = {
        "schema": SCHEMA,
        "format": lighter.ident,
        "coil": {"unit": "kg per 1000", "now": lighter.before, "exact": lighter.exact, "new": lighter.after},
        "changes": [
            {"key": one.key, "old": one.old, "new": one.new, "follows": one.follows}
            for one in lighter.changes
        ],
        "binding": [
            {
                "check": one.side.rule.name,
                "key": one.side.at,
                "what": one.side.what,
                "sense": "most" if one.side.upper else "least",
                "limit": one.limit,
                "unit": one.unit,
                "price": one.price,
                "looser": _known(one.looser),
                "tighter": _known(one.tighter),
                "percent": one.percent,
            }
            for one in lighter.binding
        ],
        "ends": list(lighter.ends),
        "ranges": {key: list(between) for key, between in lighter.ranges.items()},
        "residual": lighter.residual,
        "starts": list(lighter.starts),
        "guard": lighter.guard,
        "warnings": [*lighter.warnings, TRUST],
        "against": lighter.against or None,
        "curve": [
            {"value": one.value, "text": one.text, "coil": _known(one.coil), "binding": list(one.binding)}
            for one in lighter.curve
        ],
        "metal": _metal_record(*lighter.metal) if lighter.metal else None,
    }
    return json_text(record)


def _metal_record(former: MetalUse, new: MetalUse) -> dict[str, Any]:
    before = {one.key: one for one in former.rows}
    return {
        "currency": new.currency,
        "coil_price": new.coil_price,
        "rows": [
            {
                "key": one.key,
                "what": one.words,
                "unit": one.unit,
                "now": [was.low, was.high] if (was := before.get(one.key)) else None,
                "new": [one.low, one.high],
            }
            for one in new.rows
        ],
        "sources": list(dict.fromkeys((*former.sources, *new.sources))),
    }


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
