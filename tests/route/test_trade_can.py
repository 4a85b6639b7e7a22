"""The demo's 355 ml can through its stations: what its own numbers add up to."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from kb.process import draw, strength
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.stations import Route

DESIGN_PSI, PSI = 90.0, 0.006894757  # psi, MPa


@pytest.fixture(scope="module")
def case(formats: Mapping[str, Assembled]) -> Case:
    """The 355 ml can."""
    return formats["b211-355"].case


@pytest.fixture(scope="module")
def route(formats: Mapping[str, Assembled]) -> Route:
    """Its route."""
    return formats["b211-355"].study.nominal


def test_metal(route: Route) -> None:
    """Blank, cup, ironed can and finished can hold one metal: 10.89 g cut, 0.46 g trimmed, 10.43 g left."""
    metal = route.blank.volume
    for shape in (route.cup.shape, route.redrawn.shape, route.ironed[-1].shape, route.domed.shape):
        assert float(shape.metal()) == pytest.approx(metal, rel=1e-9)
    assert route.blank.mass == pytest.approx(10.89, abs=0.005)
    assert route.blank.mass - route.trimmed.trim_mass / 1000 == pytest.approx(route.flanged.mass)


def test_draws(case: Case, route: Route) -> None:
    """Two draws, 1.52 and 1.34, make 2.03 together: each below what published limits allow."""
    blank, cup, body = (
        case.format.blank.diameter,
        case.format.cup.punch_diameter,
        case.format.punch.wall_diameter,
    )
    assert route.cup.draw_ratio == pytest.approx(draw.draw_ratio(before=blank, after=cup))
    assert route.cup.draw_ratio * route.redrawn.draw_ratio == pytest.approx(route.redrawn.total_ratio)
    assert route.redrawn.total_ratio == pytest.approx(blank / body)
    assert route.cup.draw_ratio < min(route.cup.limit_by_anisotropy, route.cup.limit_by_thickness)


def test_reductions(route: Route) -> None:
    """The rings take 25, 28 and 39 %, which is 67 % together."""
    taken = [float(ring.reduction) for ring in route.ironed]
    assert taken == pytest.approx([0.25, 0.28, 0.39], abs=0.005)
    assert float(route.stroke.total_reduction) == pytest.approx(0.67, abs=0.005)


def test_stress_at_ninety_psi(case: Case, route: Route) -> None:
    """At 90 psi the wall carries 219 MPa round the can, below the yield strength of the baked stock."""
    hoop = strength.hoop_stress(
        pressure=DESIGN_PSI * PSI, radius=case.format.punch.wall_diameter / 2, wall=route.ironed[-1].thin
    )
    assert float(hoop) == pytest.approx(219, abs=1)
    assert float(route.filled.hoop_stress) == pytest.approx(float(hoop), rel=0.002)
    assert float(hoop) < case.stock.yield_after_bake < float(route.filled.baked_strength)
