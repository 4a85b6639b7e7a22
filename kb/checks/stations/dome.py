"""Checks of the dome and the base."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.process.profile import dome_layout
from kb.route.body import base_sizes, dome_sizes
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "dome.chime-room",
    "mm",
    levers=("format.dome.stand_diameter", "format.punch.chime_radius"),
    least=0.0,
    source="Geometry: with less, the profile has a kink",
)
def dome_chime_room(case: Case) -> Iterator[Measured]:
    """There is room for the chime between stand and wall.

    Why: Nose radius, chime and chime radius join without a kink. If the stand or a radius is too large, no
        straight chime is left.
    Data: dome.stand_diameter, punch.nose_radius, punch.chime_angle, punch.chime_radius, punch.wall_diameter
    Formula: kb.process.profile.BaseSizes.chime_run
    To fix: Reduce the stand diameter or the chime radius.
    """
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    yield Measured(
        "format.dome.stand_diameter", "straight chime, measured outward", base.chime_run, least=0.0
    )


@rule(
    "dome.profile-closes",
    "mm",
    levers=("format.dome.depth", "format.dome.radius"),
    least=0.0,
    source="Geometry: with less, the profile has a kink",
)
def dome_profile_closes(case: Case) -> Iterator[Measured]:
    """Dome, dome corner, inner leg and nose join to one profile.

    Why: Depth, dome radius, stand diameter and the small radii depend on each other. If the leg or the domed
        part is negative, this base cannot be made.
    Data: dome.depth, dome.radius, dome.corner_radius, dome.leg_angle, dome.stand_diameter, punch.nose_radius
    Formula: kb.process.profile.dome_layout
    To fix: Deepen the dome, or increase the dome radius. If no domed part is left, increase the stand
        diameter.
    """
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    layout = dome_layout(base, dome_sizes(case), wall=case.format.stock.gauge)
    yield Measured("format.dome.depth", "straight inner leg", layout.leg_length, least=0.0)
    yield Measured("format.dome.depth", "radius of the domed part", layout.cap_radius, least=0.0)


@rule("dome.depth", "-", least=0.18, most=0.27, source="From memory, no publication")
def dome_depth(route: Route) -> Iterator[Measured]:
    """The dome is deep enough to hold the pressure and shallow enough to form.

    Why: A shallow dome reverses. A deep dome cracks at the corner.
    Data: dome.depth, dome.stand_diameter
    Formula: Definition: depth ÷ stand diameter.
    To fix: Set the depth within its limits.
    """
    yield measured_result(route, "domed.depth_share", "format.dome.depth", "dome depth ÷ stand diameter")


@rule("dome.stretch", "-", show="%", most=0.06, source="From memory, no publication")
def dome_stretch(route: Route) -> Iterator[Measured]:
    """The dome is not stretched beyond its limit.

    Why: Metal that is not drawn in over the nose must stretch. Too much stretch cracks the dome.
    Data: dome.depth, dome.radius, dome.stand_diameter, dome draw-in setting
    Formula: Derived: area of the dome ÷ area of the flat base, reduced by the draw-in setting of the plant.
    To fix: Make the dome shallower, or reduce the hold-down pressure for more draw-in.
    """
    yield measured_result(route, "domed.thinning", "format.dome.depth", "dome thinning")


@rule(
    "dome.corner-radius", "-", severity="warning", least=3.0, most=12.0, source="From memory, no publication"
)
def dome_corner_radius(route: Route) -> Iterator[Measured]:
    """The dome corner is round enough for the gauge.

    Why: The corner between dome and leg is bent under tension. A sharp corner cracks the metal and wears the
        tool.
    Data: dome.corner_radius, stock.gauge
    Formula: Definition: radius ÷ gauge.
    To fix: Set the radius within its limits.
    """
    spec = route.case.format
    yield Measured(
        "format.dome.corner_radius", "dome corner radius ÷ gauge", spec.dome.corner_radius / spec.stock.gauge
    )


@rule(
    "dome.reversal",
    "MPa",
    show="kPa",
    limit_unit="-",
    waivable=False,
    levers=(
        "format.dome.depth",
        "format.dome.leg_angle",
        "format.punch.nose_radius",
        "format.dome.radius",
        "format.dome.stand_diameter",
        "format.stock.gauge",
    ),
    least=1.0,
    source="Definition: the target of the format",
    needs="strength",
)
def dome_reversal(route: Route) -> Iterator[Measured]:
    """The dome holds the pressure that the filler requires (estimate).

    Why: A can with a reversed dome leaks, rocks or bursts. The solver bends and yields the base as an
        axisymmetric shell. A dome that fails on one side first reverses at a lower pressure. So the value is
        an upper bound, and an estimate until trials of the plant calibrate it.
    Data: base sizes, stock.gauge, material yield_after_bake, targets.dome_reversal, dome calibration, dome
        draw-in and baked flow settings
    Formula: kb.process.shell.strength.pressure_curve at the sizes as written and one step to each side of
        each toleranced size; kb.process.shell.response between them, to 10 steps. Within 3 % of solid
        elements.
    To fix: Deepen the dome, reduce the leg angle or enlarge the nose radius: dome tools and punch nose
        change. Reduce the stand diameter or use a thicker gauge if that is not enough.
    """
    target = route.case.format.targets.dome_reversal
    yield measured_result(
        route,
        "strength.reversal",
        "format.targets.dome_reversal",
        "dome reversal",
        scale=target,
        against="the target of the format",
    )


@rule(
    "dome.growth",
    "mm",
    levers=(
        "format.punch.nose_radius",
        "format.punch.chime_angle",
        "format.dome.stand_diameter",
        "format.stock.gauge",
    ),
    needs="strength",
)
def dome_growth(route: Route) -> Iterator[Measured]:
    """The base of the warmest filled can grows little (estimate).

    Why: Pressure moves the base down before the dome reverses. A can that has grown rocks, and lifts the top
        of its tray. The value is of an axisymmetric shell and an estimate.
    Data: base sizes, stock.gauge, material yield_after_bake, fill, headspace, plant warmest
    Formula: kb.process.shell.strength.pressure_curve, as for dome.reversal
    To fix: Reduce the nose radius or the stand diameter, or steepen the chime. A thicker gauge helps too.
    """
    yield measured_result(
        route,
        "strength.growth_warmest",
        "format.dome.stand_diameter",
        "base growth at the warmest temperature",
    )
