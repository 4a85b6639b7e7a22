"""Where the shipped folders are: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

_HERE = Path(__file__).resolve().parent


def shipped(name: Literal["schema", "specs", "site"]) -> Path:
    """Folder of the schemas, the demo book or the site's sources: beside `kb`, or inside it in a wheel."""
    beside = _HERE.parent / name
    inside = _HERE / "shipped" / name
    return inside if inside.is_dir() else beside
