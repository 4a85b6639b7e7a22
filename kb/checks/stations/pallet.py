"""Checks of the pallet."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from kb.checks.rule import Measured, rule
from kb.process import pallet
from kb.route.stations import Route


@rule("pallet.layer", unit="count", limit="spec", levers=("format.pallet.per_layer",))
def pallet_layer(route: Route) -> Iterator[Measured]:
    """The declared number of cans fits in a layer and fills it.

    Why:
        The palletizer pattern is set by number. One can too many crushes its neighbours. Too few cans shift
        during transport.
    Data:
        pallet.per_layer, body diameter, plant pallet; settings for outside coating, can gap and least fill
    Formula:
        kb.process.pallet.best_layer for the coated body with the gap between cans
    To fix:
        Set the number that fits.
    """
    case, board, layer = route.case, route.case.plant.pallet, route.palletized
    # the pattern is named for the nominal size, the first of samples
    length, width, diameter = (
        float(np.ravel(size)[0])
        for size in (board.length + 2 * board.overhang, board.width + 2 * board.overhang, layer.spacing)
    )
    _, pattern = pallet.best_layer(length=length, width=width, diameter=diameter)
    yield Measured(
        "format.pallet.per_layer",
        "cans per layer",
        float(case.format.pallet.per_layer),
        least=layer.fewest,
        most=layer.fits,
        against=f"the number that fits, {pattern}",
    )


@rule("pallet.height", unit="mm", limit="spec", levers=("format.pallet.layers",))
def pallet_height(route: Route) -> Iterator[Measured]:
    """The loaded pallet is below the maximum height.

    Why:
        A higher pallet does not fit strapping machine, truck and rack.
    Data:
        pallet.layers, flange.finished_height, plant pallet
    Formula:
        Definition: pallet base, one layer of cans and one sheet for each layer, and a top sheet.
    To fix:
        Use one layer less.
    """
    case, board = route.case, route.case.plant.pallet
    layers = case.format.pallet.layers
    height = board.base + layers * (route.flanged.height + board.sheet) + board.sheet
    yield Measured(
        "format.pallet.layers", "pallet height", height, most=board.height, against="the plant's pallet"
    )
