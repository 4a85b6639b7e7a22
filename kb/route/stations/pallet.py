"""The pallet, and the line that makes the can; checks alone measure here, and `kb.route.run` the ram."""

from __future__ import annotations

from kb.route.station import Results, Station

STATION = Station(
    id="pallet",
    title="Pallet and line",
    short="Pallet",
    machine="palletizer",
    blocks=("pallet",),
    interface=("pallet",),
    results=(Results("pallet", "Pallet"), Results("line", "On the line")),
)
