"""The units inside kb: one alias per unit, worn by every argument and result that is a number.

A number is a float, or an array of samples when a route is taken through many cases at once
(tolerance corners, Monte Carlo). Written text meets these units at one door, kb/book/quantity.py.
"""

from __future__ import annotations

from typing import Annotated, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Samples: TypeAlias = NDArray[np.float64]
Number: TypeAlias = float | NDArray[Any]

Mm = Annotated[Number, "mm"]
Mm2 = Annotated[Number, "mm2"]
Mm3 = Annotated[Number, "mm3"]
Metre = Annotated[Number, "m"]
N = Annotated[Number, "N"]
Joule = Annotated[Number, "J"]
MPa = Annotated[Number, "MPa"]
Deg = Annotated[Number, "deg"]
DegC = Annotated[Number, "degC"]
Gram = Annotated[Number, "g"]
GramPerCm3 = Annotated[Number, "g/cm3"]
Second = Annotated[Number, "s"]
PerMinute = Annotated[Number, "1/min"]
MmPerS = Annotated[Number, "mm/s"]
MmPerS2 = Annotated[Number, "mm/s2"]
PerKelvin = Annotated[Number, "1/K"]
Volumes = Annotated[Number, "volumes"]
"""Carbonation: volumes of gas in one volume of drink."""
PerKg = Annotated[Number, "1/kg"]
"""Price of metal, in the currency that the plant's file names."""
MJPerKg = Annotated[Number, "MJ/kg"]
Ratio = Annotated[Number, "-"]
"""A pure number; fractions are 0.25, never 25."""
