"""Facts on the making of an aluminium beverage can, from a trade journal.

Machine Design, Aluminum Cans: A Lesson in Product Development, 9 December 2009 (machinedesign.com
article 21832055): a blank 5 1/2 in wide and 0.011 in thick, two drawing operations, then three ironing
passes, five can bodies a second, a wall cut to less than 0.004 in.

Units of the source are inches. Tolerances are stated at each test; the article's numbers are round.
"""

from __future__ import annotations

import pytest

from kb.process import blank, draw, material, ram

INCH = 25.4  # mm
BLANK, GAUGE, WALL = 5.5 * INCH, 0.011 * INCH, 0.004 * INCH
BODY = 2.6 * INCH  # outside diameter of a 211 body, Hosford and Duncan 1994
DENSITY = 2.72  # g/cm3, of alloy 3004; common practice, no source


def test_blank_metal() -> None:
    """The blank covers 15 328 mm2 and weighs 11.65 g."""
    volume = blank.disc_volume(diameter=BLANK, gauge=GAUGE)
    assert volume / GAUGE == pytest.approx(15_328, abs=0.5)
    assert blank.mass(volume=volume, density=DENSITY) == pytest.approx(11.65, abs=0.005)


def test_two_draws_are_needed() -> None:
    """One draw to the body would pass the limit of a sheet of mean plastic strain ratio 1."""
    limit = draw.limiting_ratio_from_anisotropy(mean_anisotropy=1.0, efficiency=0.74)
    assert draw.draw_ratio(before=BLANK, after=BODY) > limit
    assert draw.draw_ratio(before=BLANK, after=BODY) ** 0.5 < limit


def test_three_passes_are_needed() -> None:
    """The article takes 64 % off in three passes; equal ones take 28.6 % each."""
    total = material.reduction(before=GAUGE, after=WALL)
    assert total == pytest.approx(0.636, abs=0.0005)  # 1 - 4/11
    assert 1 - (1 - total) ** (1 / 3) == pytest.approx(0.286, abs=0.0005)


def test_five_bodies_a_second() -> None:
    """Five bodies a second are 300 strokes a minute."""
    assert 1 / ram.time_per_stroke(speed=300.0) == pytest.approx(5.0)
