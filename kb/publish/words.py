"""Numbers, margins, units and texts as the pages print them; nothing here computes."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from kb.checks.judge import Verdict
from kb.checks.words import limit_words, margin_words, value_words

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
"""Units as print has them."""

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
    """A text with the units behind its numbers, or at its end behind a comma, as print has them.

    Example:
        >>> typeset("at least 5.000 deg and at most 18 degC"), typeset("metal, mm3"), typeset("3 degrees")
        ('at least 5.000° and at most 18 °C', 'metal, mm³', '3 degrees')
    """
    text = _AFTER_NUMBER.sub(_behind_number, text)
    return _BY_ITSELF.sub(lambda found: f"{found[1]}{SIGNS[found[2]]}{found[3]}", text)


def _behind_number(found: re.Match[str]) -> str:
    gap, unit = found.groups()
    return SIGNS[unit] if unit == "deg" else f"{gap}{SIGNS[unit]}"


@dataclass(frozen=True, slots=True)
class ShareBar:
    """A margin as a bar, full at one, and in words."""

    share: float
    words: str


def bar(margin: float) -> ShareBar:
    """A margin's bar."""
    if not math.isfinite(margin):
        return ShareBar(0.0, "not calculated")
    return ShareBar(round(max(0.0, min(margin, 1.0)), 3), margin_words(margin))


def judged(verdict: Verdict, **more: Any) -> dict[str, Any]:
    """A verdict as a row of a table; the numbers of its limit keep their units on their own line."""
    rule = verdict.rule
    margin, _, _ = verdict.tightest
    return {
        "check": rule.name,
        "what": verdict.said,
        "value": value_words(verdict),
        "limit": re.sub(r"(?<=\d) ", "\N{NO-BREAK SPACE}", limit_words(verdict)),
        "margin": bar(margin) if verdict.has_margin else None,
        "failed": not verdict.passed,
        **more,
    }


def slug(text: str) -> str:
    """A text as an anchor."""
    return "".join(letter if letter.isalnum() else "-" for letter in text).strip("-").lower()
