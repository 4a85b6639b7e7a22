"""The table of claims.yaml, line by line."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from tests.conftest import yaml_values


class Claim(NamedTuple):
    """A statement of a text, and how the route is asked about it."""

    file: str
    quote: str
    moved: str
    result: str
    sign: int


def _read(part: str) -> tuple[Claim, ...]:
    table = yaml_values(Path(__file__).with_suffix(".yaml"))[part]
    return tuple(
        Claim(file, quote, moved, result, {"+": 1, "-": -1}[sign])
        for file, quotes in table.items()
        for quote, lines in quotes.items()
        for moved, result, sign in (line.split(" | ") for line in lines)
    )


CLAIMS = _read("claims")
DOUBTFUL = _read("doubtful")
