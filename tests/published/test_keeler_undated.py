"""Limiting draw ratio of ordinary sheet, from a trade column.

S. Keeler, Increasing Cup Height, column in a press-shop magazine, seen as scribd document 244378563;
the page seen carries no year. It says: with a mean plastic strain ratio of about 1 the limiting draw
ratio is approximately 2.0 to 2.2, and practice stays about 0.2 below it.

Tolerance: the column rounds to one decimal, so 0.05.
"""

from __future__ import annotations

import pytest

from kb.process import draw


@pytest.mark.parametrize("efficiency", [0.74, 0.79])
def test_limit_of_ordinary_sheet(efficiency: float) -> None:
    """With the published range of efficiencies a sheet of mean ratio 1 draws to between 2.0 and 2.2."""
    limit = draw.limiting_ratio_from_anisotropy(mean_anisotropy=1.0, efficiency=efficiency)
    assert 2.0 - 0.05 < limit < 2.2 + 0.05


def test_can_draws_stay_below_practice() -> None:
    """Each of a can's two draws keeps the column's 0.2 from its limit, both in one would not."""
    limit = draw.limiting_ratio_from_anisotropy(mean_anisotropy=1.0, efficiency=0.74)
    first = draw.draw_ratio(before=5.5, after=3.5)  # inches
    second = draw.draw_ratio(before=3.5, after=2.6)
    assert first < limit - 0.2
    assert second < limit - 0.2
    assert first * second > limit - 0.2
