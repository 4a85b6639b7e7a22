"""Times of a changeover: lengths, moments from the stop or the restart, and how they are printed."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import NamedTuple

from kb.sheet.labels import labels

MINUS = "−"
LONG = 90
"""Minutes above which a time is hours and minutes."""


def minutes(seconds: float) -> int:
    """Whole minutes, half a minute up.

    Example:
        >>> minutes(89), minutes(90), minutes(-300)
        (1, 2, -5)
    """
    return int((seconds + 30) // 60)


def clock(count: int) -> str:
    """Minutes as a number, as hours and minutes above 90.

    Example:
        >>> clock(90), clock(91), clock(340)
        ('90', '1:31', '5:40')
    """
    return str(count) if count <= LONG else f"{count // 60}:{count % 60:02d}"


def length(count: int) -> str:
    """A length of time in minutes with its unit.

    Example:
        >>> length(85), length(340)
        ('85 min', '5:40 h')
    """
    return f"{clock(count)} {'min' if count <= LONG else 'h'}"


@dataclass(frozen=True, slots=True)
class Moment:
    """A time in seconds from the stop T; in the part `after` from the restart R.

    Example:
        >>> [str(Moment(one)) for one in (-2700, 0, 1020, 20400)], str(Moment(300, "after"))
        (['T−45', 'T', 'T+17', 'T+5:40'], 'R+5')
    """

    seconds: int
    part: str = "stop"

    def __str__(self) -> str:
        count = minutes(self.seconds)
        sign = f"{MINUS}{clock(-count)}" if count < 0 else f"+{clock(count)}" if count else ""
        return f"{'R' if self.part == 'after' else 'T'}{sign}"

    def by_clock(self, stop: datetime.time, planned: int) -> str:
        """The time of day, for a stop at a time of day and a planned restart so many minutes after it.

        Example:
            >>> Moment(-1200).by_clock(datetime.time(6, 0), 90)
            '05:40'
            >>> Moment(300, "after").by_clock(datetime.time(23, 0), 90)
            '00:35'
        """
        count = stop.hour * 60 + stop.minute + minutes(self.seconds)
        if self.part == "after":
            count += planned
        return f"{count // 60 % 24:02d}:{count % 60:02d}"


class Times(NamedTuple):
    """How moments are printed: from the stop, or by the clock where the time of the stop is given.

    `planned` is the length of the stop in minutes.
    """

    stop: datetime.time | None
    planned: int

    def said(self, moment: Moment) -> str:
        """A moment as it is printed."""
        return moment.by_clock(self.stop, self.planned) if self.stop else str(moment)

    @property
    def note(self) -> str:
        """What the times mean."""
        w = labels("changeover")
        words: str = w.by_clock.format(stop=f"{self.stop:%H:%M}") if self.stop else w.times
        return words
