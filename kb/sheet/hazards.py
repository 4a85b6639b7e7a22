"""What the cautions of a sheet have in common, so that a page says it once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from kb.blocks import CautionNote

_BETWEEN = "; "


def always(cautions: Iterable[CautionNote]) -> str:
    """The precautions with which every one of these cautions ends.

    Args:
        cautions: two or more of them; one alone has nothing in common with another

    Returns:
        The common ending, "" where there is none.

    Example:
        >>> note = CautionNote("WARNING", "Trimmer", "Knives", "cuts", "gloves; isolation; manual")
        >>> other = CautionNote("DANGER", "Necker", "Turrets", "crushing", "isolation; manual")
        >>> always([note, other])
        'isolation; manual'
    """
    said = [one.avoid.split(_BETWEEN) for one in cautions]
    common: list[str] = []
    for column in zip(*map(reversed, said), strict=False):
        if len(said) < 2 or len(set(column)) > 1:
            break
        common.insert(0, column[0])
    return _BETWEEN.join(common)


def own(caution: CautionNote, shared: str) -> str:
    """What a caution asks for beside the shared precautions; all of it when there is nothing else.

    Args:
        caution: the caution
        shared: what every caution ends with

    Example:
        >>> note = CautionNote("WARNING", "Trimmer", "Knives", "cuts", "gloves; isolation; manual")
        >>> own(note, "isolation; manual"), own(note, "")
        ('gloves', 'gloves; isolation; manual')
    """
    return caution.avoid.removesuffix(_BETWEEN + shared) if shared else caution.avoid


def most_common_ending(cautions: Iterable[CautionNote]) -> str:
    """The precautions with which most of these cautions end.

    Args:
        cautions: each hazard once

    Returns:
        The most common ending of several precautions, the longest of equally common ones; "" where none comes
        twice.
    """
    endings: Counter[tuple[str, ...]] = Counter()
    for one in cautions:
        said = one.avoid.split(_BETWEEN)
        endings.update(tuple(said[i:]) for i in range(len(said) - 1))
    if not endings:
        return ""
    most, count = max(endings.items(), key=lambda item: (item[1] * len(item[0]), item[0]))
    return _BETWEEN.join(most) if count > 1 else ""
