"""Limit loads of caps, tubes, bases and ends against solutions by other methods.

The snap pressures of caps come from the equations of shallow shells. Bases and ends were solved by the
general solver CalculiX 2.20 with axisymmetric solid elements; its own error is about 1 %. The bases of
`TABLE` were solved by another shell solver, which is within 3 % of the general one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kb.process.meridian import Arc, LineSegment, Meridian
from kb.process.profile import BaseSizes, DomeSizes
from kb.process.shell import (
    EndSizes,
    LinearFlow,
    Metal,
    NoBalance,
    axial_curve,
    base_profile,
    end_profile,
    plate_curve,
    pressure_curve,
)
from kb.process.shell.loads import MIDDLE
from kb.process.shell.strength import STEP, PressureCurve
from tests.process.shell.samples import (
    BASE,
    DOME,
    DOME_WALL,
    base,
    can_metal,
    line,
    plain_bottom,
    plain_metal,
)

WITHIN = 0.03


# --- elastic caps and tubes -------------------------------------------------------------------


def cap_limit(shallowness: float, poisson: float) -> float:
    """Snap pressure of a clamped shallow cap over the classical pressure of its sphere."""
    thickness, radius, modulus = 1.0, 2000.0, 70_000.0
    rise = thickness * (shallowness / (2 * (3 * (1 - poisson**2)) ** 0.25)) ** 2
    half = np.degrees(np.arccos(1 - rise / radius))
    cap = Meridian((Arc(0.0, 0.0, radius + thickness / 2, 90.0, 90.0 - half, thickness, thickness),))
    metal = Metal(modulus=modulus, poisson=poisson)
    curve = pressure_curve(cap, metal, side=MIDDLE, layers=2, step=0.1)
    assert curve.limit is not None
    return curve.limit / (2 * modulus * (thickness / radius) ** 2 / np.sqrt(3 * (1 - poisson**2)))


@pytest.mark.parametrize(
    ("shallowness", "poisson", "snap"),
    [
        (3.5, 1 / 3, 0.60630),
        (4.0, 1 / 3, 0.57349),
        (4.5, 1 / 3, 0.58302),
        (5.0, 1 / 3, 0.62679),
        (6.0, 1 / 3, 0.99229),
        (8.0, 1 / 3, 1.12488),
        (10.0, 1 / 3, 0.81425),
        (4.0, 0.3, 0.56373),
        (5.0, 0.3, 0.61599),
    ],
)
def test_a_clamped_cap_snaps_where_shallow_shell_theory_says(
    shallowness: float, poisson: float, snap: float
) -> None:
    """The snap pressure of a shallow cap is that of its differential equations, to 0.6 %."""
    assert cap_limit(shallowness, poisson) == pytest.approx(snap, rel=0.006)


def test_a_cap_too_shallow_does_not_snap() -> None:
    """A nearly flat clamped plate only stiffens, so it has no limit up to the highest pressure."""
    plate = Meridian((line(0.0, 0.0, 50.0, 0.0, 1.0),))
    curve = pressure_curve(plate, Metal(modulus=70_000.0, poisson=0.3), highest=0.5)
    assert curve.limit is None
    assert curve.pressure[-1] >= 0.5
    assert np.all(np.diff(curve.centre) > 0)


@pytest.mark.parametrize(
    ("pressure", "yield_strength", "peak"),
    [(0.0, None, 2654.0), (0.25, 280.0, 2465.0), (0.40, 280.0, 2122.0)],
)
def test_a_perfect_tube_holds_its_axial_peak(
    pressure: float, yield_strength: float | None, peak: float
) -> None:
    """A tube clamped at its base holds what the general solver found, elastic and past yield."""
    tube = Meridian((line(33.0, 0.0, 33.0, 60.0, 0.1),))
    flow = LinearFlow(yield_strength=yield_strength) if yield_strength else None
    metal = Metal(modulus=69_000.0, poisson=0.33, flow=flow)
    limit = axial_curve(tube, metal, pressure=pressure).limit
    assert limit == pytest.approx(peak, rel=WITHIN)


def test_an_elastic_tube_holds_the_classical_load() -> None:
    """Without pressure the elastic peak is the classical buckling load of a perfect tube, to 1 %."""
    tube = Meridian((line(33.0, 0.0, 33.0, 60.0, 0.1),))
    limit = axial_curve(tube, Metal(modulus=69_000.0, poisson=0.33)).limit
    classical = 2 * np.pi * 69_000.0 * 0.1**2 / np.sqrt(3 * (1 - 0.33**2))
    assert limit == pytest.approx(classical, rel=0.01)


# --- bases ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "yield_strength", "slope", "reversal"),
    [
        ({"gauge": 0.27}, 265.0, 0.0, 0.691),
        ({"gauge": 0.25}, 265.0, 0.0, 0.615),
        ({"gauge": 0.27, "radius": 50.0}, 265.0, 0.0, 0.692),
        ({"gauge": 0.27, "nose": 1.2, "leg": 22.6}, 265.0, 0.0, 0.700),
        ({"gauge": 0.27}, 265.0, 300.0, 0.731),
        *(
            (
                {"gauge": 0.262, "radius": 45.7, "depth": depth, "leg": 22.0, "corner": 1.6, "nose": 1.6},
                252.0,
                0.0,
                reversal,
            )
            for depth, reversal in ((10.6, 0.633), (9.6, 0.603), (8.6, 0.500))
        ),
    ],
    ids=["S14", "S15", "S17", "S19", "S20", "S21", "S21b 9.6", "S21b 8.6"],
)
def test_a_plain_base_reverses_where_the_general_solver_says(
    change: dict[str, float], yield_strength: float, slope: float, reversal: float
) -> None:
    """The reversal pressure of a whole base is within 3 % of solid elements."""
    curve = pressure_curve(plain_bottom(**change), plain_metal(yield_strength, slope=slope))
    assert curve.limit == pytest.approx(reversal, rel=WITHIN)


THICKER = DOME_WALL * 0.28 / 0.262
TABLE: dict[str, tuple[BaseSizes, DomeSizes, float, float, float]] = {
    "as it is": (BASE, DOME, DOME_WALL, 300.0, 0.613),
    "depth 9.0": (BASE, replace(DOME, depth=9.0), DOME_WALL, 300.0, 0.521),
    "depth 9.8": (BASE, replace(DOME, depth=9.8), DOME_WALL, 300.0, 0.582),
    "depth 11.2": (BASE, replace(DOME, depth=11.2), DOME_WALL, 300.0, 0.655),
    "dome radius 40": (BASE, replace(DOME, radius=40.0), DOME_WALL, 300.0, 0.585),
    "dome radius 50": (BASE, replace(DOME, radius=50.0), DOME_WALL, 300.0, 0.639),
    "dome radius 60": (BASE, replace(DOME, radius=60.0), DOME_WALL, 300.0, 0.533),
    "leg 12": (BASE, replace(DOME, leg_angle=12.0), DOME_WALL, 300.0, 0.577),
    "chime 35": (replace(BASE, chime_angle=35.0), DOME, DOME_WALL, 300.0, 0.626),
    "nose 2.0": (replace(BASE, nose_radius=2.0), DOME, DOME_WALL, 300.0, 0.626),
    "stand 48.5": (replace(BASE, stand_radius=24.25), DOME, DOME_WALL, 300.0, 0.577),
    "gauge 0.28": (replace(BASE, gauge=0.28), DOME, THICKER, 300.0, 0.671),
    "flow 290": (BASE, DOME, DOME_WALL, 290.0, 0.593),
}


@pytest.mark.parametrize("row", TABLE)
def test_each_size_of_a_base_changes_its_reversal_as_it_should(row: str) -> None:
    """Every row of a table of bases agrees within 3 % with another shell solver."""
    sizes, dome, wall, final, reversal = TABLE[row]
    curve = pressure_curve(base(sizes=sizes, dome=dome, wall=wall), can_metal(final))
    assert curve.limit == pytest.approx(reversal, rel=WITHIN)


@pytest.mark.parametrize(
    ("change", "pressure", "growth"),
    [
        ({}, 0.300, 0.35),
        ({}, 0.480, 1.70),
        ({"nose_radius": 1.0}, 0.480, 1.19),
        ({"chime_angle": 35.0}, 0.480, 1.37),
    ],
)
def test_the_base_grows_under_pressure(change: dict[str, float], pressure: float, growth: float) -> None:
    """The lowest point moves down as far as another shell solver found, to 3 %."""
    curve = pressure_curve(base(sizes=replace(BASE, **change)), can_metal())
    assert curve.growth_at(pressure) == pytest.approx(growth, rel=WITHIN)


def test_a_base_jumps_over_a_dip_in_the_pressure() -> None:
    """Growth at a rising pressure skips the part of the curve on which the pressure falls."""
    curve = PressureCurve(
        limit=0.60,
        pressure=(0.0, 0.30, 0.50, 0.40, 0.49, 0.60),
        centre=(0.0, 0.2, 0.4, 0.7, 0.9, 1.2),
        growth=(0.0, 0.1, 0.2, 0.5, 0.6, 0.9),
    )
    assert curve.growth_at(0.50) == pytest.approx(0.2)
    assert 0.1 < curve.growth_at(0.40) < 0.2
    assert 0.2 < curve.growth_at(0.55) < 0.9
    assert curve.centre_at(0.60) == pytest.approx(1.2)


def test_growth_past_the_limit_is_unknown() -> None:
    """Above the limit there is no growth: it is not a number."""
    curve = pressure_curve(base(), can_metal())
    assert curve.limit is not None
    assert np.isnan(curve.growth_at(curve.limit * 1.01))
    assert curve.growth_at(0.0) == 0.0
    assert curve.centre_at(curve.limit * 0.99) > 2.0


@pytest.mark.parametrize(("friction", "force"), [(0.0, 700.0), (np.inf, 1330.0)])
def test_the_base_holds_an_axial_load_on_its_lowest_ring(friction: float, force: float) -> None:
    """With the load kept on the lowest ring the base fails where another shell solver says, to 3 %."""
    curve = plate_curve(base(), can_metal(), friction=friction, rolls=False)
    assert curve.limit == pytest.approx(force, rel=WITHIN)


def test_contact_that_moves_outward_holds_more_without_friction() -> None:
    """On a plate the contact rolls along the nose: more force without friction, as much without slip."""
    ring = [plate_curve(base(), can_metal(), friction=f, rolls=False).limit for f in (0.0, np.inf)]
    plate = [plate_curve(base(), can_metal(), friction=f).limit for f in (0.0, np.inf)]
    assert None not in (*ring, *plate)
    assert plate[0] > 1.05 * ring[0]  # type: ignore[operator]
    assert plate[1] == pytest.approx(ring[1], rel=0.02)


def test_friction_and_pressure_raise_the_load_on_a_plate() -> None:
    """The force rises with friction, from none to no slip, and with the pressure inside."""
    empty = [plate_curve(base(), can_metal(), friction=f).limit for f in (0.0, 0.1, 0.3, np.inf)]
    assert np.all(np.diff(np.array(empty, dtype=float)) > 0)
    filled = plate_curve(base(), can_metal(), friction=0.0, pressure=0.25).limit
    assert filled is not None
    assert filled > 1.3 * empty[0]  # type: ignore[operator]


def test_a_pressure_that_the_base_does_not_hold_is_refused() -> None:
    """A load cannot be put on a base that its pressure turns out."""
    with pytest.raises(NoBalance, match="does not hold"):
        plate_curve(base(), can_metal(), friction=0.0, pressure=0.9)


# --- ends -------------------------------------------------------------------------------------

END = EndSizes(
    panel_radius=21.6,
    corner_radius=0.5,
    countersink_radius=0.5,
    panel_height=2.286,
    depth=6.858,
    chuck_wall_angle=12.0,
    gauge=0.208,
)


def end_limit(end: EndSizes, yield_strength: float, **settings: float) -> float | None:
    """Pressure at which an end buckles."""
    metal = Metal(modulus=69_600.0, poisson=0.33, flow=LinearFlow(yield_strength=yield_strength))
    return pressure_curve(end_profile(end), metal, **settings).limit  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "yield_strength", "pressure"),
    [
        ({}, 345.0, 0.728),
        ({}, 369.0, 0.776),
        ({"countersink_radius": 0.4}, 345.0, 0.800),
        ({"depth": 6.35, "panel_height": 1.778}, 345.0, 0.662),
    ],
    ids=["E15", "E16", "E18", "E19"],
)
def test_an_end_buckles_where_the_general_solver_says(
    change: dict[str, float], yield_strength: float, pressure: float
) -> None:
    """The buckling pressure of an end is within 3 % of solid elements."""
    assert end_limit(replace(END, **change), yield_strength) == pytest.approx(pressure, rel=WITHIN)


# --- numerical settings -----------------------------------------------------------------------


@pytest.mark.parametrize("finer", [{"fineness": 2.0}, {"layers": 16}], ids=["mesh", "layers"])
def test_a_finer_computation_changes_no_limit_by_half_a_percent(finer: dict[str, float]) -> None:
    """Twice the elements or twice the layers change base and end by less than 0.5 %."""
    usual = pressure_curve(base(), can_metal()).limit
    assert pressure_curve(base(), can_metal(), **finer).limit == pytest.approx(usual, rel=0.005)  # type: ignore[arg-type]
    assert end_limit(END, 345.0, **finer) == pytest.approx(end_limit(END, 345.0), rel=0.005)


def test_a_finer_mesh_changes_the_load_on_a_plate_by_half_a_percent() -> None:
    """Twice the elements of the usual mesh for contact change the force by less than 0.5 %."""
    usual = plate_curve(base(), can_metal(), friction=0.0).limit
    finer = plate_curve(base(), can_metal(), friction=0.0, fineness=4.0).limit
    assert finer == pytest.approx(usual, rel=0.005)


def test_shorter_steps_change_no_limit_by_half_a_percent() -> None:
    """A path of half the step finds the same limit and growth."""
    usual = pressure_curve(base(), can_metal())
    finer = pressure_curve(base(), can_metal(), step=STEP / 2)
    assert len(finer.pressure) > 1.3 * len(usual.pressure)
    assert finer.limit == pytest.approx(usual.limit, rel=0.005)
    assert finer.growth_at(0.48) == pytest.approx(usual.growth_at(0.48), rel=0.01)
    assert end_limit(END, 345.0, step=STEP / 2) == pytest.approx(end_limit(END, 345.0), rel=0.005)


# --- what is refused --------------------------------------------------------------------------


@pytest.mark.parametrize("change", [{"depth": 1.0}, {"radius": 20.0}, {"corner_radius": 40.0}])
def test_a_base_that_does_not_close_is_refused(change: dict[str, float]) -> None:
    """A base without room for its leg is refused in one line."""
    with pytest.raises(ValueError, match="does not close"):
        base(dome=replace(DOME, **change))


def test_a_base_above_its_top_is_refused() -> None:
    """The wall must start below the height at which it is clamped."""
    with pytest.raises(ValueError, match="above its top"):
        base_profile(BASE, DOME, wall=DOME_WALL, top=5.0)


@pytest.mark.parametrize("change", [{"countersink_radius": 0.1}, {"panel_height": 0.6}, {"depth": 0.3}])
def test_an_end_that_does_not_close_is_refused(change: dict[str, float]) -> None:
    """An end without room for its radii or its chuck wall is refused in one line."""
    with pytest.raises(ValueError, match="does not close"):
        end_profile(replace(END, **change))


@pytest.mark.parametrize("bad", [np.nan, np.inf, 0.0, -0.1])
def test_metal_without_a_thickness_is_refused(bad: float) -> None:
    """A profile whose thickness is no number above zero is refused in one line."""
    with pytest.raises(ValueError, match="does not close"):
        pressure_curve(Meridian((LineSegment(0.0, 0.0, 10.0, 0.0, bad, bad),)), plain_metal(265.0))


def test_an_empty_profile_is_refused() -> None:
    """A profile without pieces is refused in one line."""
    with pytest.raises(ValueError, match="does not close"):
        pressure_curve(Meridian(()), plain_metal(265.0))
