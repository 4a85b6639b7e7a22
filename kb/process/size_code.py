"""Can size codes: whole inches and sixteenths, a name for a size and never a measured one."""

from __future__ import annotations

import re
from typing import Annotated

Inch = Annotated[float, "in"]
NominalMm = Annotated[float, "mm"]

MM_PER_INCH = 25.4
_SIXTEENTHS = 16
_CODE = re.compile(r"([1-9][0-9]?)([0-9]{2})")


def nominal_inches(*, code: str) -> Inch:
    """Nominal size of a code, in inches.

    Args:
        code: Three digits, or four from ten inches up: whole inches, then two digits of sixteenths.

    Returns:
        Nominal size [in].

    Raises:
        ValueError: if the code is not three or four plain digits, starts with zero, or counts more than 15
            sixteenths.

    Source:
        Trade convention, in public glossaries of can terms: 307 x 512 is 3 7/16 by 5 12/16 in; four-digit
        codes such as 1012 occur.

    Note:
        Nominal, over the finished seam: a 211 body measures 66.1 mm, not 68.26. Half sixteenths, as in
        207 1/2, are not read.

    Example:
        >>> nominal_inches(code="211")
        2.6875
    """
    parts = _CODE.fullmatch(code)
    if parts is None:
        raise ValueError(
            f"size code {code!r} is not whole inches and two digits of sixteenths, such as 211 or 1012"
        )
    inches, sixteenths = (int(part) for part in parts.groups())
    if sixteenths >= _SIXTEENTHS:
        raise ValueError(f"size code {code!r} counts {sixteenths} sixteenths, the most is 15")
    return inches + sixteenths / _SIXTEENTHS


def nominal_mm(*, code: str) -> NominalMm:
    """Nominal size of a code, in millimetres.

    Args:
        code: Three digits, or four from ten inches up: whole inches, then two digits of sixteenths.

    Returns:
        Nominal size [mm].

    Raises:
        ValueError: if the code is not three or four plain digits, starts with zero, or counts more than 15
            sixteenths.

    Source:
        Definition: the inch is 25.4 mm (international yard and pound agreement, 1959).

    Note:
        Nominal: see `nominal_inches`.

    Example:
        >>> nominal_mm(code="202")
        53.975
    """
    return nominal_inches(code=code) * MM_PER_INCH
