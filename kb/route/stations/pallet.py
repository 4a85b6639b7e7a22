"""The pallet, and the line that makes the can; checks measure more there, and `kb.route.run` the ram."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.process import pallet
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.dome import Domed
from kb.units import Mm, Ratio


@dataclass(frozen=True, slots=True)
class Palletized:
    """Cans in a layer of the pallet."""

    spacing: Mm = result("space of one can in a layer")
    fits: Ratio = result("cans that fit in a layer")
    fewest: Ratio = result("fewest cans that fill a layer")


def take_palletized(case: Case, domed: Domed) -> Palletized:
    """The layer, for cans with their outside coating and the gap between them."""
    board, setting = case.plant.pallet, case.setting
    spacing = domed.body_outside + 2 * setting["outside-coating"] + setting["pallet-can-gap"]
    fits = pallet.fullest_layer(
        length=board.length + 2 * board.overhang, width=board.width + 2 * board.overhang, diameter=spacing
    )
    # an exact share counts: a product this little above a whole number is that number
    fewest = np.ceil(setting["pallet-least-fill"] * fits - 1e-9)
    return Palletized(spacing=spacing, fits=fits, fewest=fewest)


STATION = Station(
    id="pallet",
    title="Pallet and line",
    short="Pallet",
    machine="palletizer",
    blocks=("pallet",),
    interface=("pallet",),
    results=(
        Results("palletized", "Pallet", Palletized, take_palletized, checks=("pallet",)),
        Results("line", "On the line"),
    ),
)
