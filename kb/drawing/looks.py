"""Colours, lines and hatches of the SVG face, as one style for all drawings.

A page sets `--drawing-ink`, `--drawing-soft`, `--drawing-paper`, `--drawing-metal`, `--drawing-end`,
`--drawing-tool`, `--drawing-strip` and `--drawing-trim` to give drawings its own colours; without that
they follow the reader's light or dark setting. In print all is black on white, whatever the page says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

LIGHT = {
    "paper": "#ffffff",
    "ink": "#15191e",
    "soft": "#46515c",
    "metal": "#a9bccf",
    "end": "#e4c88d",
    "tool": "#8d98a3",
    "strip": "#edf0f3",
    "trim": "#b3261e",
}
DARK = {
    "paper": "#15191e",
    "ink": "#eef1f4",
    "soft": "#b4bec8",
    "metal": "#40617f",
    "end": "#7a5f24",
    "tool": "#6f7b87",
    "strip": "#262d35",
    "trim": "#ff8a80",
}
_WHITE = {"paper", "metal", "end", "strip"}
PRINT = {name: "#ffffff" if name in _WHITE else "#000000" for name in LIGHT}


class Look(NamedTuple):
    """Fill and stroke, each a colour above, the stroke's width [px] and its dashes."""

    fill: str
    stroke: str
    width: float
    dashes: str = ""


LOOKS: dict[str, Look] = {
    "metal": Look("metal", "ink", 1.1),
    "end": Look("end", "ink", 1.1),
    "tool": Look("none", "ink", 0.9),
    "strip": Look("strip", "ink", 1.0),
    "blank": Look("metal", "ink", 1.0),
    "outline": Look("none", "ink", 1.1),
    "edge": Look("none", "soft", 0.6),
    "phantom": Look("none", "soft", 0.8, "9 2.5 2 2.5"),
    "centre": Look("none", "soft", 0.7, "12 3 2.5 3"),
    "trim": Look("none", "trim", 1.2, "6 3"),
    "thin": Look("none", "soft", 0.7),
    "head": Look("soft", "none", 0.0),
}

HATCHES = {"metal": ("ink", 45, 5), "end": ("ink", 135, 5), "tool": ("tool", 135, 6)}
"""Colour, slope [deg] and distance [px] of the lines on cut faces; neighbours differ."""

HATCHED_AS = {"metal": "metal", "end": "end", "tool": "tool", "blank": "metal"}
"""Which hatch a role takes."""


def attributes(colours: Mapping[str, str], role: str, filling: str = "", name: str = "") -> str:
    """Class and plain attributes of a role.

    Args:
        colours: by name
        role: a role of a shape, or `thin` and `head` for the lines and ends of dimensions
        filling: `hatched`, `plain` or `solid` where the role is a cut face
        name: of the drawing, which its hatches are called after
    """
    look = LOOKS[role]
    fill = colours.get(look.fill, look.fill)
    if filling == "hatched":
        fill = f"url(#{name}-{HATCHED_AS[role]})"
    elif filling == "solid" or (filling == "plain" and role == "metal" and colours is PRINT):
        fill = colours["ink"]
    stroke = colours.get(look.stroke, look.stroke)
    width = f' stroke-width="{look.width:g}" stroke-linejoin="round"' if look.width else ""
    dashes = f' stroke-dasharray="{look.dashes}"' if look.dashes else ""
    kind = f"dw-{role} dw-{filling}" if filling else f"dw-{role}"
    return f'class="{kind}" fill="{fill}" stroke="{stroke}"{width}{dashes}'


def hatches(colours: Mapping[str, str], name: str) -> Iterator[str]:
    """The hatches as patterns, called after a drawing."""
    yield "<defs>"
    for role, (line, slope, gap) in HATCHES.items():
        ground = ""
        if role != "tool":
            ground = f'<rect class="dw-{role}-ground" width="{gap}" height="{gap}" fill="{colours[role]}"/>'
        yield (
            f'<pattern id="{name}-{role}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse"'
            f' patternTransform="rotate({slope})">{ground}<path class="dw-hatch-{line}" d="M0 0V{gap}"'
            f' stroke="{colours[line]}" stroke-width="0.9"/></pattern>'
        )
    yield "</defs>"


def style() -> str:
    """The one style of all drawings; what does not know custom properties passes it over."""
    themed = [
        "".join(f"--dw-{key}:var(--drawing-{key},{value});" for key, value in scheme.items())
        for scheme in (LIGHT, DARK)
    ]
    printed = "".join(f"--dw-{key}:{value};" for key, value in PRINT.items())
    rules = [
        f".dw{{{themed[0]}}}",
        f"@media (prefers-color-scheme:dark){{.dw{{{themed[1]}}}}}",
        f"@media print{{.dw{{{printed}}}}}",
        ".dw-paper{fill:var(--dw-paper)}",
        ".dw-title,.dw-value{fill:var(--dw-ink)}.dw-name,.dw-note{fill:var(--dw-soft)}",
        ".dw-solid{fill:var(--dw-ink)}.dw-head{fill:var(--dw-soft)}",
        ".dw-hatch-ink{stroke:var(--dw-ink)}.dw-hatch-tool{stroke:var(--dw-tool)}",
        ".dw-strip{fill:var(--dw-strip)}",
    ]
    rules += [f".dw-{role}-ground,.dw-{role}.dw-plain{{fill:var(--dw-{role})}}" for role in ("metal", "end")]
    rules.append("@media print{.dw-metal.dw-plain{fill:#000000}}")
    rules += [
        f".dw-{role}{{stroke:var(--dw-{look.stroke})}}"
        for role, look in LOOKS.items()
        if look.stroke != "none"
    ]
    return f"@supports (color:var(--dw-ink)){{{''.join(rules)}}}"
