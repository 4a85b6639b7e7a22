"""A jacket shrunk on a tube: hoop stress at a bore and how far the bore opens.

V. B. Bhandari, Design of Machine Elements, 3rd ed., Tata McGraw-Hill 2010 (edition and year from memory),
example 22.6, with the result of the book's public Scilab companion (FOSSEE, textbook companion 764,
result22_6.txt): tube 20 x 40 mm, jacket 40 x 60 mm, at most 100 N/mm2 in either, modulus 207 000 N/mm2;
the jacket is bored to 39.968289 mm.

Units of the source are mm and N/mm2. Tolerance: the digits that the result file prints.
"""

from __future__ import annotations

import pytest

from kb.process import ironing

TUBE_BORE, JOINT, JACKET_OUTSIDE = 20.0, 40.0, 60.0
LIMIT, MODULUS = 100.0, 207_000.0
POISSON = 0.3  # cancels between jacket and tube of one steel


def joint_pressure() -> float:
    """Pressure at which the jacket's bore reaches the limit; the hoop stress is proportional to it."""
    return LIMIT / float(
        ironing.hoop_stress_at_bore(pressure=1.0, bore=JOINT, outside_diameter=JACKET_OUTSIDE)
    )


def test_hoop_stress() -> None:
    """The jacket's bore carries 2.6 times the pressure: (60^2 + 40^2) / (60^2 - 40^2)."""
    stress = ironing.hoop_stress_at_bore(pressure=10.0, bore=JOINT, outside_diameter=JACKET_OUTSIDE)
    assert stress == pytest.approx(26.0)


def test_example_22_6_jacket() -> None:
    """Opened jacket and squeezed tube meet when the jacket was bored to 39.968289 mm."""
    pressure = joint_pressure()
    opened = 2 * ironing.ring_growth(
        pressure=pressure, bore=JOINT, outside_diameter=JACKET_OUTSIDE, modulus=MODULUS, poisson=POISSON
    )
    # the tube under outside pressure, by Lamé's formula written out: hoop -5/3 p, radial -p
    hoop = (JOINT**2 + TUBE_BORE**2) / (JOINT**2 - TUBE_BORE**2)
    squeezed = JOINT * pressure * (hoop - POISSON) / MODULUS
    assert JOINT - opened - squeezed == pytest.approx(39.968289, abs=5e-7)


def test_poisson_s_ratio_cancels() -> None:
    """With tube and jacket of one steel the opening per Poisson's ratio is what the tube gives back."""
    more, less = (
        ironing.ring_growth(
            pressure=10.0, bore=JOINT, outside_diameter=JACKET_OUTSIDE, modulus=MODULUS, poisson=poisson
        )
        for poisson in (0.4, 0.3)
    )
    assert more - less == pytest.approx(JOINT / 2 * 10.0 * 0.1 / MODULUS)
