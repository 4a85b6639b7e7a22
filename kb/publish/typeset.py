"""Units as print has them: `mm³` for `mm3`, `4 °C` for `4 degC`, `8°` for `8 deg`."""

from __future__ import annotations

import re

SIGNS = {
    "mm2": "mm²",
    "mm3": "mm³",
    "cm2": "cm²",
    "cm3": "cm³",
    "g/cm3": "g/cm³",
    "kg/m3": "kg/m³",
    "mm/s2": "mm/s²",
    "m/s2": "m/s²",
    "um": "µm",
    "degC": "°C",
    "degF": "°F",
    "deg": "°",
}

_UNIT = "|".join(sorted(map(re.escape, SIGNS), key=len, reverse=True))
_AFTER_NUMBER = re.compile(rf"(?<=\d)([ \u00a0]?)({_UNIT})(?![\w/])")
_BY_ITSELF = re.compile(rf"^(\s*(?:.*, )?)({_UNIT})(\s*)$")


def unit_sign(unit: str) -> str:
    """A unit by itself; nothing for a pure number.

    Example:
        >>> unit_sign("mm3"), unit_sign("kPa"), unit_sign("-")
        ('mm³', 'kPa', '')
    """
    return "" if unit == "-" else SIGNS.get(unit, unit)


def typeset(text: str) -> str:
    """A text with the units that stand behind its numbers, or at its end behind a comma, as print has them.

    Example:
        >>> typeset("at least 5.000 deg and at most 18 degC"), typeset("metal, mm3"), typeset("3 degrees")
        ('at least 5.000° and at most 18 °C', 'metal, mm³', '3 degrees')
    """
    text = _AFTER_NUMBER.sub(_behind_number, text)
    return _BY_ITSELF.sub(lambda found: f"{found[1]}{SIGNS[found[2]]}{found[3]}", text)


def _behind_number(found: re.Match[str]) -> str:
    gap, unit = found.groups()
    return SIGNS[unit] if unit == "deg" else f"{gap}{SIGNS[unit]}"
