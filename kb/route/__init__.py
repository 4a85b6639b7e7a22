"""One format taken through every station.

`take` is the whole way; each station sees only the results that its `take` names.
"""

from __future__ import annotations

from typing import Any

from kb.route.case import Case
from kb.route.stations import STATIONS, Route

_STEPS = tuple((one.key, one.take, one.needs) for station in STATIONS for one in station.results if one.take)


def take(case: Case) -> Route:
    """Take a format through every station; each number has the shape of the samples it depends on.

    Args:
        case: a format whose geometry closes; its numbers may be samples
    """
    made: dict[str, Any] = {}
    for key, compute, needs in _STEPS:
        made[key] = compute(case, *(made[name] for name in needs))
    return Route(case=case, **made)
