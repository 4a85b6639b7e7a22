"""The fixed words of a document, which site/sheet keeps as data, and what its cautions have in common."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from functools import cache
from types import SimpleNamespace

import yaml

from kb.blocks import CautionNote
from kb.folders import shipped

_BETWEEN = "; "


@cache
def labels(name: str) -> SimpleNamespace:
    """The fixed words of a document by their keys; `name` is that of the file in site/sheet."""
    text = (shipped("site") / "sheet" / f"{name}.yaml").read_text(encoding="utf-8")
    return SimpleNamespace(**yaml.safe_load(text))


def always(cautions: Iterable[CautionNote]) -> str:
    """The precautions with which every one of two or more cautions ends, "" where there are none.

    Example:
        >>> note = CautionNote("WARNING", "Trimmer", "Knives", "cuts", "gloves; isolation; manual")
        >>> other = CautionNote("DANGER", "Necker", "Turrets", "crushing", "isolation; manual")
        >>> always([note, other])
        'isolation; manual'
    """
    ends = [one.avoid.split(_BETWEEN) for one in cautions]
    common: list[str] = []
    for column in zip(*map(reversed, ends), strict=False):
        if len(ends) < 2 or len(set(column)) > 1:
            break
        common.insert(0, column[0])
    return _BETWEEN.join(common)


def most_common_ending(cautions: Iterable[CautionNote]) -> str:
    """The precautions with which most of these cautions end, the longest of equally common ones."""
    endings: Counter[tuple[str, ...]] = Counter()
    for one in cautions:
        parts = one.avoid.split(_BETWEEN)
        endings.update(tuple(parts[i:]) for i in range(len(parts) - 1))
    if not endings:
        return ""
    most, count = max(endings.items(), key=lambda item: (item[1] * len(item[0]), item[0]))
    return _BETWEEN.join(most) if count > 1 else ""
