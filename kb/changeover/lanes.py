"""A picture of the stop: a lane for each member of the crew, time down the page, critical path in bold."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from kb.changeover.sheet_model import ChangeContent, Hand, Job
from kb.changeover.times import Moment, minutes
from kb.pictures import Caption, Curve, Picture, Rectangle
from kb.sheet.labels import labels

WIDTH = 187.0
"""Width of the drawing [mm]."""

LOW, GROWTH, LONGEST = 60.0, 0.2, 118.0
"""A stop's height without its minutes, what each of them adds, and the most there is [mm]."""

_AXIS, _HEAD, _PITCH = 11.0, 6.0, 3.05
_SCALE = 1.05
"""Greatest length of a minute [mm]."""

_LETTER = 1.39
"""Width of a letter, on the wide side [mm]."""

_LAYERS = ("grid", "loose", "tight", "path", "head", "text", "bold")
"""Looks from the lowest layer to the highest: the critical path is above other bars, words above all bars."""

_TICKS = (5, 10, 15, 30, 60)
_CLOSEST = 9.0


class LaneBar(NamedTuple):
    """A job in the lane of one member; `place` of `of` where works that need nobody run side by side."""

    job: Job
    place: int
    of: int


class Lane(NamedTuple):
    """A member's jobs inside the stop, none of which overlap in one place."""

    title: str
    bars: tuple[LaneBar, ...]


def lanes(content: ChangeContent) -> tuple[Lane, ...]:
    """The lanes of a stop: one for each member, and one for what runs by itself where anything does."""
    inside = [one for one in content.jobs if one.part == "stop" and one.end > one.start]
    found = [_lane(hand, inside) for hand in content.crew]
    alone = [one for one in inside if not one.who]
    if alone:
        found.append(Lane(labels("changeover").itself, tuple(_side_by_side(alone))))
    return tuple(found)


def _lane(hand: Hand, jobs: Iterable[Job]) -> Lane:
    return Lane(hand.title, tuple(LaneBar(one, 0, 1) for one in jobs if hand.id in one.who))


def _side_by_side(jobs: Sequence[Job]) -> Iterator[LaneBar]:
    ends: list[int] = []
    placed = []
    for one in sorted(jobs, key=lambda job: (job.start, job.end, job.short)):
        place = next((i for i, end in enumerate(ends) if end <= one.start), len(ends))
        if place == len(ends):
            ends.append(0)
        ends[place] = one.end
        placed.append((one, place))
    yield from (LaneBar(one, place, len(ends)) for one, place in placed)


def lanes_picture(content: ChangeContent) -> Picture:
    """The lanes of a stop as a picture."""
    drawn = lanes(content)
    length = max((bar.job.end for lane in drawn for bar in lane.bars), default=60)
    scale = min(_SCALE, min(LONGEST, LOW + GROWTH * length / 60) / (length / 60))
    wide = (WIDTH - _AXIS) / max(1, len(drawn))
    shapes: list[Rectangle | Curve | Caption] = [*_axis(length, scale)]
    for i, lane in enumerate(drawn):
        left = _AXIS + i * wide
        shapes.append(Caption(left + wide / 2, 3.6, _cut(lane.title, _signs(wide + 3)), "head"))
        for bar in lane.bars:
            share = (wide - 0.8) / bar.of
            shapes += _bar(bar.job, left + 0.4 + bar.place * share, share, scale)
    shapes.sort(key=lambda one: _LAYERS.index(one.look))
    return Picture("lanes", WIDTH, _HEAD + scale * length / 60 + 1, content.header.crew_title, tuple(shapes))


def _axis(length: int, scale: float) -> Iterator[Curve | Caption]:
    step = next((one for one in _TICKS if one * scale >= _CLOSEST), _TICKS[-1])
    for count in range(0, minutes(length) + 1, step):
        y = _HEAD + count * scale
        yield Curve(((_AXIS - 1, y), (WIDTH, y)), "grid")
        yield Caption(0, y + 1, _cut(str(Moment(count * 60)), _signs(_AXIS)), "bold")


def _bar(job: Job, x: float, width: float, scale: float) -> Iterator[Rectangle | Caption]:
    y, height = _HEAD + job.start / 60 * scale, (job.end - job.start) / 60 * scale
    yield Rectangle(x, y, width, height, "path" if job.path else "tight" if job.critical else "loose")
    room = int((height + 0.35) / _PITCH)
    for i, line in enumerate(_label(job, room, width)):
        look = "bold" if job.path else "text"
        yield Caption(x + 0.7, y + 2.4 + i * _PITCH, _cut(line, _signs(width)), look)


def _signs(width: float) -> int:
    """How many letters fit a width [mm], at least four."""
    return max(4, int(width / _LETTER))


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
