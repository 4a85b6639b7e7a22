"""The fixed words of a document, which site/sheet keeps as data."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

import yaml

from kb.folders import shipped


@cache
def labels(name: str) -> SimpleNamespace:
    """The fixed words of a document by their keys.

    Args:
        name: of the file in site/sheet: `setup` or `changeover`
    """
    text = (shipped("site") / "sheet" / f"{name}.yaml").read_text(encoding="utf-8")
    return SimpleNamespace(**yaml.safe_load(text))
