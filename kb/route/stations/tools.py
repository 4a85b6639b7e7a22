"""The tools against one another; checks of geometry alone measure here, before any metal is formed."""

from __future__ import annotations

from kb.route.station import Results, Station

STATION = Station(
    id="shape",
    title="Tools together",
    short="Tools",
    description="Conditions that the tool dimensions must meet to form a can.",
    results=(Results("shape", "Shape of the tools"),),
)
