"""The plant settings that a route reads."""

from __future__ import annotations

from typing import NamedTuple


class RouteSetting(NamedTuple):
    """What is declared of a setting.

    Attributes:
        unit: its unit inside.
        words: what it is.
        low, high: what is plausible, in its unit inside: a slip shows here, before a formula meets a number
            outside its domain.
    """

    unit: str
    words: str
    low: float
    high: float


_DECLARED: dict[str, tuple[str, str, float, float]] = {
    "draw-efficiency": ("-", "drawing efficiency in the limiting draw ratio by strain ratio", 0.4, 1.0),
    "draw-friction": ("-", "friction of sheet on draw die and draw pad", 0.0, 0.5),
    "draw-peak-rim": ("-", "rim ÷ blank diameter at the highest drawing force", 0.6, 1.0),
    "redraw-ear-growth": (
        "-",
        "growth of ears in the redraw: 0 none, 1 in proportion to hoop strain",
        0.0,
        2.0,
    ),
    "thickness-bound": ("-", "limiting draw ratio of very thick sheet", 1.5, 3.0),
    "thickness-slope": ("-", "loss of limiting draw ratio per thousandth of gauge ÷ diameter", 0.0, 3.0),
    "die-friction": ("-", "friction between wall and ring", 0.0, 0.5),
    "punch-friction": ("-", "friction between wall and punch", 0.0, 0.5),
    "ring-pressure-share": (
        "-",
        "pressure that opens the ring ÷ flow stress of the wall",
        0.001,
        3.0,
    ),
    "ring-modulus": ("MPa", "elastic modulus of the rings", 150_000.0, 800_000.0),
    "ring-poisson": ("-", "Poisson's ratio of the rings", 0.1, 0.4),
    "ring-expansion": ("1/K", "heat expansion of the rings", 1e-6, 3e-5),
    "punch-expansion": ("1/K", "heat expansion of the punch", 1e-6, 3e-5),
    "dome-draw-in": (
        "-",
        "share of the dome's extra surface drawn in over the nose, not stretched",
        0.0,
        1.0,
    ),
    "baked-rise": ("MPa", "rise of the flow stress of baked body stock above its yield strength", 0.0, 150.0),
    "baked-rise-strain": ("-", "plastic strain in which baked stock takes 63 % of that rise", 0.001, 1.0),
    "stand-friction": ("-", "friction between the stand and the plate under it", 0.0, 1.0),
    "dome-calibration": ("-", "measured over computed dome reversal", 0.3, 3.0),
    "base-load-calibration": ("-", "measured over computed axial load of the base", 0.3, 3.0),
    "shoulder-load-calibration": ("-", "measured over computed axial load of the shoulder", 0.3, 3.0),
    "axial-calibration": ("-", "measured over computed axial load of the wall", 0.3, 3.0),
    "end-calibration": ("-", "measured over computed pressure at which the end buckles", 0.3, 3.0),
    "trial-prior": (
        "-",
        "standard uncertainty of a calibration factor before the first trials, about 1",
        0.01,
        1.0,
    ),
    "neck-wall-exponent": ("-", "thickening of the neck: 0.5 free to lengthen, 1 at fixed length", 0.0, 1.5),
    "neck-friction": ("-", "friction between neck and die", 0.0, 0.5),
    "neck-bends": ("-", "bends and unbends of the wall in a neck stage, spread over its two radii", 0.0, 4.0),
    "hot-temperature": ("degC", "temperature of the hot can, in a pasteuriser or a car", 40.0, 90.0),
    "outside-coating": ("mm", "ink and varnish on the outside of the can, on one side", 0.0, 0.1),
    "pallet-can-gap": ("mm", "clearance from can to can in a pallet layer", 0.0, 2.0),
    "pallet-least-fill": ("-", "minimum cans in a layer, as a share of the fullest layer", 0.0, 1.0),
    "seam-allowance": ("mm", "seam thickness beyond its five layers", 0.0, 1.0),
    "body-hook-loss": ("mm", "flange width minus the body hook", 0.0, 1.2),
    "running-share": ("-", "share of the calendar in which a bodymaker runs", 0.05, 1.0),
    "tolerance-sigmas": (
        "-",
        "standard deviations in half a tolerance, for the simulation of cans",
        1.0,
        8.0,
    ),
    "review-result-move": (
        "-",
        "change of a result, as a share of it, from which a review lists it",
        0.0,
        0.5,
    ),
    "review-band-move": (
        "-",
        "change of a result, as a share of its limits' window, from which a review lists it",
        0.0,
        1.0,
    ),
    "review-near-limit": ("-", "margin below which a review lists a limit as near", 0.0, 1.0),
    "review-margin-move": ("-", "change of a margin from which a review lists it", 0.0, 1.0),
}

SETTINGS = {name: RouteSetting(*declared) for name, declared in _DECLARED.items()}

OPTIONAL = (
    "review-result-move",
    "review-band-move",
    "review-near-limit",
    "review-margin-move",
    "trial-prior",
)
"""Settings that no route reads and a book may omit: a review then lists every change, and fewer than four
trials calibrate nothing."""

NEEDED = frozenset(SETTINGS) - frozenset(OPTIONAL)
"""Settings that a route needs."""
