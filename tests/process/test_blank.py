from __future__ import annotations

import math

import numpy as np
import pytest

from kb.process import blank

STRIP = {"diameter": 140.0, "web": 1.0, "edge": 1.5}


@pytest.mark.parametrize(
    ("across", "width", "share"),
    [
        (1, 143.0, 0.7635),
        (2, 265.11, 0.8236),
        (3, 387.22, 0.8458),
        (6, 753.55, 0.8693),
        (10, 1241.99, 0.8790),
        (12, 1486.21, 0.8815),
        (14, 1730.42, 0.8833),
    ],
)
def test_strip(across: int, width: float, share: float) -> None:
    """Strip width and utilisation grow with the rows; tolerances are half the last digit."""
    # by hand for two rows: 140 + 141 x 0.866025 + 3 = 265.11
    assert blank.strip_width(across=across, **STRIP) == pytest.approx(width, abs=0.005)
    assert blank.utilisation(across=across, **STRIP) == pytest.approx(share, abs=5e-5)


def test_utilisation_approaches_its_bound() -> None:
    """A strip of very many rows comes within 0.01 % of the bound and never passes it."""
    bound = math.pi / (2 * math.sqrt(3)) * (140.0 / 141.0) ** 2  # staggered circles, a web apart
    shares = blank.utilisation(across=np.array([1, 10, 100, 20_000]), **STRIP)
    assert np.all(np.diff(shares) > 0)
    assert shares[-1] < bound
    assert shares[-1] == pytest.approx(bound, rel=1e-4)


def test_blanks_of_a_long_strip_counted_one_by_one() -> None:
    """Blanks placed one by one in a strip keep the web, stay inside and use the computed share."""
    across, length = 6, 40_000.0
    radius = STRIP["diameter"] / 2
    step = blank.pitch(diameter=STRIP["diameter"], web=STRIP["web"])
    centres = []
    for row in range(across):
        y = STRIP["edge"] + radius + row * blank.row_spacing(diameter=STRIP["diameter"], web=STRIP["web"])
        x = radius + (step / 2 if row % 2 else 0.0)
        while x + radius <= length:
            centres.append((x, y))
            x += step
    placed = np.array(centres)
    width = blank.strip_width(across=across, **STRIP)
    assert placed[:, 1].max() + radius + STRIP["edge"] == pytest.approx(width)
    near = placed[placed[:, 0] < 8 * step]
    gaps = np.hypot(*(near[:, None, :] - near[None, :, :]).transpose(2, 0, 1))
    assert gaps[gaps > 0].min() - STRIP["diameter"] == pytest.approx(STRIP["web"])
    share = len(placed) * math.pi * radius**2 / (length * width)
    # the strip's two ends hide at most one pitch of its 284
    assert share == pytest.approx(blank.utilisation(across=across, **STRIP), rel=1 / 250)


def test_coil_per_thousand() -> None:
    """Length, width, gauge and density of the coil make its mass."""
    width = blank.strip_width(across=12, **STRIP)
    length = blank.coil_length_per_thousand(diameter=140.0, across=12, web=1.0)
    assert length == pytest.approx(141.0 / 12)
    mass = blank.coil_mass_per_thousand(across=12, gauge=0.27, density=2.72, **STRIP)
    assert mass == pytest.approx(length * 1000 * width * 0.27 * 2.72 / 1000)


def test_skeleton_is_what_is_not_blank() -> None:
    """Coil mass less the mass of a thousand blanks is the unused share of the coil."""
    mass = blank.coil_mass_per_thousand(across=12, gauge=0.27, density=2.72, **STRIP)
    blanks = 1000 * blank.mass(volume=blank.disc_volume(diameter=140.0, gauge=0.27), density=2.72)
    assert 1 - blanks / mass == pytest.approx(1 - blank.utilisation(across=12, **STRIP))


def test_diameter_for_volume_undoes_disc_volume() -> None:
    """The blank of a disc's volume is the disc."""
    volume = blank.disc_volume(diameter=139.7, gauge=0.2794)
    assert blank.diameter_for_volume(volume=volume, gauge=0.2794) == pytest.approx(139.7)


def test_twice_the_size() -> None:
    """All lengths doubled: lengths twice, areas and forces four times, volumes and masses eight times."""
    small, large = (blank.disc_volume(diameter=d, gauge=t) for d, t in ((140.0, 0.27), (280.0, 0.54)))
    assert large == pytest.approx(8 * small)
    small, large = (
        blank.cutting_force(diameter=d, gauge=t, shear_strength=175.0)
        for d, t in ((140.0, 0.27), (280.0, 0.54))
    )
    assert large == pytest.approx(4 * small)
    doubled = {name: 2 * length for name, length in STRIP.items()}
    assert blank.utilisation(across=12, **doubled) == pytest.approx(blank.utilisation(across=12, **STRIP))


def test_can_blank_force() -> None:
    """A can blank of 139.7 x 0.2794 mm at 175 MPa takes 21.5 kN."""
    # 175 x pi x 139.7 x 0.2794 = 21 459
    force = blank.cutting_force(diameter=139.7, gauge=0.2794, shear_strength=175.0)
    assert force / 1000 == pytest.approx(21.5, abs=0.05)
