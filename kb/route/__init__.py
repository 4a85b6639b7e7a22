"""One format taken through every station.

`take` is the whole way in order; each step sees only what came before it.
"""

from __future__ import annotations

from kb.route.case import Case
from kb.route.finishing import take_filled, take_flanged, take_necked, take_seam, take_strength
from kb.route.forming import (
    take_blank,
    take_cup,
    take_domed,
    take_ironed,
    take_redrawn,
    take_stroke,
    take_trimmed,
)
from kb.route.stations import Route


def take(case: Case) -> Route:
    """Take a format through every station.

    Args:
        case: a format whose geometry has been judged; its numbers may be samples

    Returns:
        The complete route; each number has the shape of the samples it depends on.
    """
    blank = take_blank(case)
    cup = take_cup(case, blank)
    redrawn = take_redrawn(case, blank, cup)
    ironed = take_ironed(case, blank, redrawn)
    stroke = take_stroke(case, redrawn, ironed)
    last = ironed[-1]
    domed = take_domed(case, blank, cup, last)
    trimmed = take_trimmed(case, blank, last, domed)
    necked = take_necked(case, last)
    flanged = take_flanged(case, last, domed, trimmed)
    filled = take_filled(case, last, domed, flanged)
    return Route(
        case=case,
        blank=blank,
        cup=cup,
        redrawn=redrawn,
        ironed=ironed,
        stroke=stroke,
        domed=domed,
        trimmed=trimmed,
        necked=necked,
        flanged=flanged,
        seam=take_seam(case, flanged),
        filled=filled,
        strength=take_strength(case, last, domed, filled),
    )
