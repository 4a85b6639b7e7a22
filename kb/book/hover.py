"""What an editor shows of a written quantity, and the pattern by which it marks a wrong unit.

Editors know neither our keyword `quantity` nor its units. Each quantity of a schema therefore has a
`markdownDescription` and a `pattern` too, both made from the keyword. `schema/make.py` writes them again
after a change; a check of a book reads the keyword alone.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from kb.book.conversion import ANY, CANONICAL, in_unit, reader_unit, units_of_canonical

_MADE = ("markdownDescription", "pattern")
_TOLERANCE = {
    "required": "a tolerance is required",
    "allowed": "a tolerance is allowed",
    "none": "without a tolerance",
}


def hover(description: str, quantity: dict[str, Any]) -> str:
    """The description of a key with the unit, the plausible values and the tolerance of its quantity.

    Example:
        >>> gauge = {"unit": "mm", "show": "mm", "band": [0.18, 0.45], "tolerance": "required"}
        >>> hover("Thickness of the coil.", gauge)
        'Thickness of the coil. In mm, plausible from 0.18 to 0.45 mm; a tolerance is required.'
    """
    show = quantity.get("show", quantity["unit"])
    ends = (f"{in_unit(end, quantity['unit'], show):.6g}" for end in quantity["band"])
    unit = reader_unit(show)
    inside = f"In {unit}, plausible" if unit else "Plausible"
    tolerance = (
        "two ends, a range" if quantity.get("range") else _TOLERANCE[quantity.get("tolerance", "allowed")]
    )
    return f"{description} {inside} from {' to '.join(ends)} {unit}".rstrip() + f"; {tolerance}."


def unit_pattern(dimension: str) -> str:
    """A pattern that a text with a unit of another dimension does not match.

    Example:
        >>> bool(re.search(unit_pattern("length"), "0.262 ±0.004 mm"))
        True
        >>> bool(re.search(unit_pattern("length"), "620 kPa"))
        False
    """
    spelled = (*units_of_canonical(CANONICAL[dimension]), '"' if dimension == "length" else "")
    units = (re.escape(unit).replace("/", "\\/") for unit in spelled if unit)
    named = "|".join(sorted(units, key=lambda unit: (-len(unit), unit)))
    words = f"|(?<![A-Za-zµμ°%\\/])(?:{named})(?![A-Za-z0-9µμ°%\\/])" if named else ""
    return rf"^(?:[\s\d.,()±/+-]|\bto\b|(?<=\d)[eE](?=[-+\d]){words})+$"


def quantities(schema: Any) -> Iterator[dict[str, Any]]:
    """Every part of a schema that has the keyword, in the order of its text."""
    if isinstance(schema, dict):
        if isinstance(schema.get("quantity"), dict) and "dimension" in schema["quantity"]:
            yield schema
        for name, part in schema.items():
            if name != "quantity" or "dimension" not in part:
                yield from quantities(part)
    elif isinstance(schema, list):
        for part in schema:
            yield from quantities(part)


def words_for_editors(part: dict[str, Any]) -> dict[str, str]:
    """What a part with the keyword has for editors; nothing where the written unit decides."""
    quantity = part["quantity"]
    if quantity["dimension"] == ANY:
        return {}
    made = {"pattern": unit_pattern(quantity["dimension"])}
    if "description" in part:
        made = {"markdownDescription": hover(part["description"], quantity), **made}
    return made


def with_words(text: str) -> str:
    """The text of a schema with the words for editors above each keyword; those it had are replaced.

    The keyword begins a line of the file.
    """
    old = rf'^ *"(?:{"|".join(_MADE)})": "(?:[^"\\]|\\.)*",\n(?= *"(?:{"|".join(_MADE)}|quantity)": )'
    text = re.sub(old, "", text, flags=re.MULTILINE)
    parts = list(quantities(json.loads(text)))

    def above(match: re.Match[str]) -> str:
        made = words_for_editors(parts.pop(0))
        said = (
            f"{json.dumps(name)}: {json.dumps(words, ensure_ascii=False)}" for name, words in made.items()
        )
        return "".join(f"{match[1]}{one},\n" for one in said) + match[0]

    made = re.sub(r'^( *)"quantity": \{', above, text, flags=re.MULTILINE)
    assert not parts, "a keyword does not begin its line"
    return made
