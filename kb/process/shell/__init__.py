"""Strength of a thin part of revolution: an axisymmetric shell that turns far, yields and buckles.

The parts of a can that fail by pressure or load are solved here, not estimated by a formula of a simpler
shape. Everything stays axisymmetric: a failure that is not, as an end that gives at one point of its
circumference, comes at a lower load. So each result is an upper bound for unsymmetrical buckling. It is
an estimate until it is calibrated on the plant's own trials.

- `material`: elastic, then plastic metal at a point.
- `mesh`: a meridian as nodes and elements.
- `element`: forces and stiffness of the elements.
- `loads`: pressure that follows the surface, dead forces, a flat plate.
- `path`: the equilibrium path by arc length.
- `strength`: what a profile holds: limit pressure and growth, load on a plate, axial load.
- `parts`: the profiles of a can's base and of an end.
"""

from kb.process.shell.material import LinearFlow, Metal, SaturatingFlow
from kb.process.shell.parts import EndSizes, base_profile, end_profile
from kb.process.shell.path import NoBalance
from kb.process.shell.strength import (
    AxialCurve,
    PlateCurve,
    PressureCurve,
    axial_curve,
    plate_curve,
    pressure_curve,
)

__all__ = [
    "AxialCurve",
    "EndSizes",
    "LinearFlow",
    "Metal",
    "NoBalance",
    "PlateCurve",
    "PressureCurve",
    "SaturatingFlow",
    "axial_curve",
    "base_profile",
    "end_profile",
    "plate_curve",
    "pressure_curve",
]
