"""The plant settings a route reckons with: name, unit inside, and what each is."""

from __future__ import annotations

SETTINGS: dict[str, tuple[str, str]] = {
    "cup-rim-thickening": ("-", "thickening of the cup's rim over the gauge"),
    "redraw-rim-thickening": ("-", "further thickening of the rim in the redraw"),
    "draw-efficiency": ("-", "drawing efficiency in the limiting draw ratio by strain ratio"),
    "thickness-bound": ("-", "limiting draw ratio of very thick sheet"),
    "thickness-slope": ("-", "loss of limiting draw ratio per thousandth of gauge over diameter"),
    "die-friction": ("-", "friction between wall and ring"),
    "punch-friction": ("-", "friction between wall and punch"),
    "ring-pressure-share": ("-", "pressure opening the ring, as a share of the wall's flow stress"),
    "ring-modulus": ("MPa", "elastic modulus of the rings"),
    "ring-poisson": ("-", "Poisson's ratio of the rings"),
    "ring-expansion": ("1/K", "heat expansion of the rings"),
    "punch-expansion": ("1/K", "heat expansion of the punch"),
    "dome-draw-in": ("-", "share of the dome's extra surface drawn in over the nose, not stretched"),
    "dome-trial-pressure": ("MPa", "dome reversal measured in the plant's trial"),
    "dome-trial-gauge": ("mm", "dome thickness of the trial cans"),
    "dome-trial-yield": ("MPa", "yield strength after baking of the trial cans"),
    "dome-trial-stand": ("mm", "stand diameter of the trial cans"),
    "dome-trial-exponent": ("-", "exponent of thickness over size in scaling the trial"),
    "axial-calibration": ("-", "measured over computed axial load"),
    "neck-wall-exponent": ("-", "thickening of the neck: 0.5 free to lengthen, 1 at fixed length"),
    "neck-friction": ("-", "friction between neck and die"),
    "seam-allowance": ("mm", "seam thickness beyond its five layers"),
    "body-hook-loss": ("mm", "flange width less the body hook it makes"),
    "running-share": ("-", "share of the calendar in which a bodymaker runs"),
    "tolerance-sigmas": ("-", "standard deviations in half a tolerance, for the scatter of cans"),
}
