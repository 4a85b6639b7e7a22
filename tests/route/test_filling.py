"""Capacity and fill level against volumes integrated again over the outline."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from kb.process.meridian import LineSegment, Meridian
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.stations.filled import end_displaces, level_of

CONE_CAN = Meridian(
    (LineSegment(30.0, 10.0, 30.0, 90.0, 0.1, 0.1), LineSegment(30.0, 90.0, 20.0, 110.0, 0.1, 0.1))
)
"""A tube of radius 30 from 10 to 90 high and a cone from there to radius 20 at 110."""


def below(shape: Meridian, level: float) -> float:
    """Room in a can below a level above its stand: a stack of frustums along a very fine outline."""
    r, z = shape.points(per_arc=2001)
    start = int(np.argmin(z))
    over = start + int(np.searchsorted(z[start:], level))
    share = (level - z[over - 1]) / (z[over] - z[over - 1])
    r = np.append(r[:over], r[over - 1] + share * (r[over] - r[over - 1]))
    z = np.append(z[:over], level)
    return math.pi * float(np.sum(np.diff(z) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2) / 3))


def test_contents_stand_at_their_level(formats: Mapping[str, Assembled]) -> None:
    """Below the fill level of each demo format there is just room for its contents.

    The level is worked out with sixteen chords to an arc, the room here with two thousand: they part by
    less than 1 mm3 in 200 to 568 ml, which is less than a thousandth of a millimetre of level.
    """
    for ident, assembled in formats.items():
        route = assembled.study.nominal
        room = below(route.flanged.shape, float(route.filled.fill_level))
        assert room == pytest.approx(assembled.case.format.fill.contents, abs=1.0), ident


def test_brimful_is_all_the_room(formats: Mapping[str, Assembled]) -> None:
    """Filled to the flange the can holds its brimful capacity; headspace counts from there."""
    for assembled in formats.values():
        filled, flanged = assembled.study.nominal.filled, assembled.study.nominal.flanged
        top = float(flanged.height)
        assert below(flanged.shape, top) == pytest.approx(float(filled.brimful), rel=1e-6)
        assert filled.headspace == pytest.approx(top - filled.fill_level)
        assert filled.sealed - filled.headspace_volume == pytest.approx(assembled.case.format.fill.contents)


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8, 0.9, 0.94, 0.955, 0.97, 0.985, 0.995])
def test_capacity_by_level(share: float, formats: Mapping[str, Assembled]) -> None:
    """At any filling, in wall, step, shoulder, cone or neck, the level has the contents below it."""
    for ident in ("b211-330", "b204-330", "b202-200", "b211-568-206"):
        case = formats[ident].case
        volume = share * float(formats[ident].study.nominal.filled.brimful)
        filled = take(case.put({"format.fill.contents": volume}))
        room = below(filled.flanged.shape, float(filled.filled.fill_level))
        assert room == pytest.approx(volume, abs=1.0), ident


def test_level_in_a_cone_is_the_root_of_its_volume() -> None:
    """In a plain cone the level is where the integral of its sections equals the room above it."""
    for room in (1000.0, 12_000.0, 38_000.0):

        def missing(level: float, room: float = room) -> float:
            return quad(lambda z: math.pi * (20 + (110 - z) / 2) ** 2, level, 110.0)[0] - room

        expected = brentq(missing, 90.0, 110.0, xtol=1e-12)
        assert float(level_of(CONE_CAN, room=room)) == pytest.approx(expected, abs=1e-9)


def test_level_stays_in_the_can() -> None:
    """More contents than the can holds stand at the flange, hardly any at the foot of the wall."""
    assert float(level_of(CONE_CAN, room=-500.0)) == 110.0
    assert float(level_of(CONE_CAN, room=1e9)) == pytest.approx(10.0)
    assert level_of(CONE_CAN, room=np.array([-1.0, 0.0, 1e9])) == pytest.approx([110.0, 110.0, 10.0])


def test_end_takes_room_like_a_plug_with_a_raised_panel(formats: Mapping[str, Assembled]) -> None:
    """What the end displaces is the integral of its chuck wall's circles less the panel's disc."""
    case = formats["b211-330"].case
    end = case.end
    upper = case.format.neck.plug_diameter / 2 - end.gauge
    lean = math.tan(math.radians(end.chuck_wall_angle))
    plug = quad(lambda z: math.pi * (upper - lean * z) ** 2, 0.0, end.countersink)[0]
    panel = math.pi / 4 * end.panel_diameter**2 * end.panel_height
    assert float(end_displaces(case)) == pytest.approx(plug - panel, rel=1e-12)


def test_hoop_stress_bursts_what_it_must(formats: Mapping[str, Assembled]) -> None:
    """The thin wall's hoop stress balances the design pressure on the can's longitudinal section."""
    for assembled in formats.values():
        route, case = assembled.study.nominal, assembled.case
        pull = case.plant.design_pressure * case.format.punch.wall_diameter
        assert 2 * route.filled.hoop_stress * route.ironed[-1].thin == pytest.approx(pull)
