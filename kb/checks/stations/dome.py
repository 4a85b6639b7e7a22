"""Checks of the dome and the base."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.process.profile import DomeSizes, dome_layout
from kb.route.body import base_sizes
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "dome.chime-room",
    unit="mm",
    reads="case",
    levers=("format.dome.stand_diameter", "format.punch.chime_radius"),
    default=Default(least=0.0, source="Geometry: less is a kink"),
)
def dome_chime_room(case: Case) -> Iterator[Measured]:
    """Between stand and wall there is room for the chime.

    Why:
        Nose radius, chime and chime radius follow one another without a kink; too large a stand or
        radius leaves no chime between them.
    Data:
        dome.stand_diameter, punch.nose_radius, punch.chime_angle, punch.chime_radius, punch.wall_diameter
    Formula:
        kb.process.profile.BaseSizes.chime_run
    To fix:
        Reduce the stand diameter or the chime radius.
    """
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    yield Measured(
        "format.dome.stand_diameter", "straight chime, measured outward", base.chime_run, least=0.0
    )


@rule(
    "dome.profile-closes",
    unit="mm",
    reads="case",
    levers=("format.dome.depth", "format.dome.radius"),
    default=Default(least=0.0, source="Geometry: less is a kink"),
)
def dome_profile_closes(case: Case) -> Iterator[Measured]:
    """Dome cap, corner and inner leg meet the nose.

    Why:
        Depth, dome radius, stand diameter and the small radii fix one another; where the leg or the
        cap comes out negative no such base exists.
    Data:
        dome.depth, dome.radius, dome.corner_radius, dome.leg_angle, dome.stand_diameter, punch.nose_radius
    Formula:
        kb.process.profile.dome_layout
    To fix:
        Deepen the dome, or flatten it with a larger dome radius; a cap that is gone wants a wider stand.
    """
    spec = case.format.dome
    dome = DomeSizes(
        depth=spec.depth, radius=spec.radius, corner_radius=spec.corner_radius, leg_angle=spec.leg_angle
    )
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    layout = dome_layout(base, dome, wall=case.format.stock.gauge)
    yield Measured("format.dome.depth", "straight inner leg", layout.leg_length, least=0.0)
    yield Measured("format.dome.depth", "radius of the dome's cap", layout.cap_radius, least=0.0)


@rule(
    "dome.depth",
    unit="-",
    levers=("format.dome.depth",),
    default=Default(least=0.18, most=0.27, source="From memory of the literature"),
)
def dome_depth(route: Route) -> Iterator[Measured]:
    """The dome is deep enough to hold and shallow enough to form.

    Why:
        Shallow domes reverse, deep ones crack at the corner.
    Data:
        dome.depth, dome.stand_diameter
    Formula:
        Definition: depth over stand diameter.
    To fix:
        Set the depth inside the window.
    """
    yield Measured("format.dome.depth", "dome depth over stand diameter", route.domed.depth_share)


@rule(
    "dome.stretch",
    unit="-",
    show="%",
    levers=("format.dome.depth",),
    default=Default(most=0.06, source="From memory of the literature"),
)
def dome_stretch(route: Route) -> Iterator[Measured]:
    """The base is not stretched thinner than it bears.

    Why:
        What the dome does not draw in over the nose it stretches; cracked domes start there.
    Data:
        dome.depth, dome.radius, dome.stand_diameter, dome draw-in setting
    Formula:
        Derived: area of the domed over that of the flat bottom, less the plant's draw-in share.
    To fix:
        A shallower dome, or more draw-in by lighter hold-down.
    """
    yield Measured("format.dome.depth", "dome thinning", route.domed.thinning)


@rule(
    "dome.corner-radius",
    unit="-",
    severity="warning",
    levers=("format.dome.corner_radius",),
    default=Default(least=3.0, most=12.0, source="From memory of the literature"),
)
def dome_corner_radius(route: Route) -> Iterator[Measured]:
    """The domer's corner is round enough for the gauge.

    Why:
        The corner between dome and leg is bent under tension; sharp ones crack and wear first.
    Data:
        dome.corner_radius, stock.gauge
    Formula:
        Definition: radius over gauge.
    To fix:
        Bring the radius into the window.
    """
    spec = route.case.format
    yield Measured(
        "format.dome.corner_radius",
        "dome corner radius over gauge",
        spec.dome.corner_radius / spec.stock.gauge,
    )


@rule(
    "dome.reversal",
    unit="MPa",
    show="kPa",
    limit_unit="-",
    waivable=False,
    levers=("format.stock.gauge", "format.dome.stand_diameter"),
    default=Default(least=1.0, source="Definition: the target of the format"),
)
def dome_reversal(route: Route) -> Iterator[Measured]:
    """The dome holds the pressure the filler asks for (estimate).

    Why:
        A dome that reverses leaves a can that leaks, rocks or bursts. The figure is scaled from the
        plant's own trial; it is an estimate until trials on this format confirm it.
    Data:
        stock.gauge, material yield_after_bake, dome.stand_diameter, targets.dome_reversal, trial settings
    Formula:
        kb.process.dome.reversal_from_trial
    To fix:
        A thicker gauge or a smaller stand. The estimate counts a deeper dome as thinner metal alone:
        test it on trial cans.
    """
    target = route.case.format.targets.dome_reversal
    yield Measured(
        "format.targets.dome_reversal",
        "dome reversal (estimate)",
        route.strength.reversal,
        scale=target,
        against="what the format asks for",
    )
