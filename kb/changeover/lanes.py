"""The stop drawn: a lane for each member of the crew, time running down the page, the critical path in bold.

One drawing serves paper and page. Nothing in it hangs on a colour.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from html import escape
from typing import NamedTuple

from kb.changeover.jobs import at, minutes
from kb.changeover.sheet_model import ChangeContent, Hand, Job
from kb.changeover.words import ITSELF

WIDTH = 187.0
"""Width of the drawing [mm]."""

LOW, GROWTH, LONGEST = 60.0, 0.2, 118.0
"""A stop's height without its minutes, what each of them adds, and the most there is [mm]."""

_AXIS, _HEAD, _PITCH = 11.0, 6.0, 3.05
_SCALE = 1.05
"""Greatest length of a minute [mm]."""

_SIZE = 2.9
"""Size of all letters [mm]."""

_LETTER = 1.39
"""Width of a letter, on the wide side [mm]."""

_TICKS = (5, 10, 15, 30, 60)
_CLOSEST = 9.0

_FRAMES = {
    "path": 'class="path" fill="#dcdcdc" stroke="#000" stroke-width="0.8"',
    "tight": 'class="tight" fill="#fff" stroke="#000" stroke-width="0.3"',
    "loose": 'class="loose" fill="#fff" stroke="#000" stroke-width="0.22" stroke-dasharray="0.9 0.6"',
}


class Bar(NamedTuple):
    """A job in the lane of one member; `place` of `of` where works that need nobody run side by side."""

    job: Job
    place: int
    of: int


class Lane(NamedTuple):
    """A member's jobs inside the stop, none of which overlap in one place."""

    title: str
    bars: tuple[Bar, ...]


def lanes(content: ChangeContent) -> tuple[Lane, ...]:
    """The lanes of a stop: one for each member, and one for what runs by itself where anything does.

    Args:
        content: what the sheet says

    Returns:
        Lanes in the order of the crew.
    """
    inside = [one for one in content.jobs if one.part == "stop" and one.end > one.start]
    found = [_lane(hand, inside) for hand in content.crew]
    alone = [one for one in inside if not one.who]
    if alone:
        found.append(Lane(ITSELF, tuple(_side_by_side(alone))))
    return tuple(found)


def _lane(hand: Hand, jobs: Iterable[Job]) -> Lane:
    return Lane(hand.title, tuple(Bar(one, 0, 1) for one in jobs if hand.id in one.who))


def _side_by_side(jobs: Sequence[Job]) -> Iterator[Bar]:
    ends: list[int] = []
    placed = []
    for one in sorted(jobs, key=lambda job: (job.start, job.end, job.short)):
        place = next((i for i, end in enumerate(ends) if end <= one.start), len(ends))
        if place == len(ends):
            ends.append(0)
        ends[place] = one.end
        placed.append((one, place))
    yield from (Bar(one, place, len(ends)) for one, place in placed)


def lanes_svg(content: ChangeContent) -> str:
    """The lanes of a stop as a drawing.

    Args:
        content: what the sheet says

    Returns:
        SVG in millimetres; every text of the book stands in it as text.
    """
    drawn = lanes(content)
    length = max((bar.job.end for lane in drawn for bar in lane.bars), default=60)
    scale = min(_SCALE, min(LONGEST, LOW + GROWTH * length / 60) / (length / 60))
    height = _HEAD + scale * length / 60 + 1
    wide = (WIDTH - _AXIS) / max(1, len(drawn))
    parts = [
        '<svg xmlns="http://www.w3.org/2000/svg" class="lanes" role="img" '
        f'viewBox="0 0 {WIDTH:g} {height:.2f}" '
        f"font-family=\"'Libertinus Serif', 'Liberation Serif', serif\" font-size=\"{_SIZE}\">",
        f"<title>{escape(content.header.crew_title)}</title>",
        *_axis(length, scale),
    ]
    for i, lane in enumerate(drawn):
        left = _AXIS + i * wide
        parts.append(_text(left + wide / 2, 3.6, lane.title, wide + 3, middle=True, bold=True))
        for bar in lane.bars:
            share = (wide - 0.8) / bar.of
            parts += _bar(bar.job, left + 0.4 + bar.place * share, share, scale)
    return "\n".join((*parts, "</svg>\n"))


def _axis(length: int, scale: float) -> Iterator[str]:
    step = next((one for one in _TICKS if one * scale >= _CLOSEST), _TICKS[-1])
    for count in range(0, minutes(length) + 1, step):
        y = _HEAD + count * scale
        yield f'<path d="M{_AXIS - 1:g} {y:.2f}H{WIDTH:g}" stroke="#000" stroke-width="0.12"/>'
        yield _text(0, y + 1, at(count * 60), _AXIS, bold=True)


def _bar(job: Job, x: float, width: float, scale: float) -> Iterator[str]:
    y, height = _HEAD + job.start / 60 * scale, (job.end - job.start) / 60 * scale
    frame = _FRAMES["path" if job.path else "tight" if job.critical else "loose"]
    yield f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" {frame}/>'
    room = int((height + 0.35) / _PITCH)
    for i, line in enumerate(_label(job, room, width)):
        yield _text(x + 0.7, y + 2.4 + i * _PITCH, line, width, bold=job.path)


def _label(job: Job, room: int, width: float) -> list[str]:
    """Machine and phase, then the words of the step where there is room for all of them."""
    signs = max(4, int((width - 1.2) / _LETTER))
    if room < 1:
        return []
    head = textwrap.wrap(f"{job.short} {job.phase}", signs, break_on_hyphens=False)
    if len(head) > room:
        return [f"{_cut(job.short, max(2, signs - len(job.phase) - 1))} {job.phase}"]
    words = textwrap.wrap(job.text, signs)
    return [*head, *words] if len(head) + len(words) <= room else head


def _cut(text: str, signs: int) -> str:
    return text if len(text) <= signs else f"{text[: signs - 1].rstrip()}…"


def _text(x: float, y: float, words: str, room: float, *, middle: bool = False, bold: bool = False) -> str:
    extra = ' text-anchor="middle"' if middle else ""
    extra += ' font-weight="700"' if bold else ""
    return f'<text x="{x:.2f}" y="{y:.2f}"{extra}>{escape(_cut(words, max(4, int(room / _LETTER))))}</text>'
