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
    "review-result-move": ("-", "share of itself by which a result moves before a review tells it"),
    "review-band-move": ("-", "share of its limits' window by which a result moves before a review tells it"),
    "review-near-limit": ("-", "margin below which a review calls a limit near"),
    "review-margin-move": ("-", "move of a margin from which on a review tells it"),
}

OPTIONAL = ("review-result-move", "review-band-move", "review-near-limit", "review-margin-move")
"""Settings that no route reads, and that a book may leave out: a review then tells whatever moved."""

PLAUSIBLE: dict[str, tuple[float, float]] = {
    "cup-rim-thickening": (0.0, 0.4),
    "redraw-rim-thickening": (0.0, 0.4),
    "draw-efficiency": (0.4, 1.0),
    "thickness-bound": (1.5, 3.0),
    "thickness-slope": (0.0, 3.0),
    "die-friction": (0.0, 0.5),
    "punch-friction": (0.0, 0.5),
    "ring-pressure-share": (0.001, 3.0),
    "ring-modulus": (150_000.0, 800_000.0),
    "ring-poisson": (0.1, 0.4),
    "ring-expansion": (1e-6, 3e-5),
    "punch-expansion": (1e-6, 3e-5),
    "dome-draw-in": (0.0, 1.0),
    "dome-trial-pressure": (0.2, 2.0),
    "dome-trial-gauge": (0.15, 0.45),
    "dome-trial-yield": (130.0, 480.0),
    "dome-trial-stand": (30.0, 80.0),
    "dome-trial-exponent": (0.5, 3.0),
    "axial-calibration": (0.3, 3.0),
    "neck-wall-exponent": (0.0, 1.5),
    "neck-friction": (0.0, 0.5),
    "seam-allowance": (0.0, 1.0),
    "body-hook-loss": (0.0, 1.2),
    "running-share": (0.05, 1.0),
    "tolerance-sigmas": (1.0, 8.0),
    "review-result-move": (0.0, 0.5),
    "review-band-move": (0.0, 1.0),
    "review-near-limit": (0.0, 1.0),
    "review-margin-move": (0.0, 1.0),
}
"""What is plausible of each, in its unit inside, as the schemas say it of the other fields: a slip shows
here, before a formula meets a number outside its domain."""
