"""Checks on redraw, punch nose and dome."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.stations import Route


@rule(
    "redraw.draw-ratio",
    unit="-",
    levers=("format.cup.punch_diameter",),
    default=Default(most=1.4, source="Published range for redraws 1.1 to 1.4, from memory"),
)
def redraw_draw_ratio(route: Route) -> Iterator[Measured]:
    """The redraw ratio is below the ratio at which cups tear.

    Why:
        The first draw has hardened the metal. The limit of the redraw is therefore lower.
    Data:
        cup.punch_diameter, punch.wall_diameter
    Formula:
        kb.process.draw.draw_ratio
    To fix:
        Use a smaller cup punch. This raises the first draw ratio.
    """
    yield Measured("format.cup.punch_diameter", "redraw ratio", route.redrawn.draw_ratio)


@rule(
    "redraw.total-draw-ratio",
    unit="-",
    levers=("format.blank.diameter",),
    default=Default(most=2.45, source="From memory of the literature"),
)
def redraw_total_draw_ratio(route: Route) -> Iterator[Measured]:
    """The total draw ratio is within the limit of the body stock.

    Why:
        Two draws allow a higher total ratio than one, but the total has a limit too. Above it the cup tears.
    Data:
        blank.diameter, punch.wall_diameter
    Formula:
        kb.process.draw.draw_ratio
    To fix:
        Use a smaller blank: a shorter can or a thinner wall.
    """
    yield Measured("format.blank.diameter", "blank diameter ÷ punch diameter", route.redrawn.total_ratio)


@rule(
    "redraw.die-clearance",
    unit="-",
    levers=("format.redraw.die_bore",),
    default=Default(least=1.02, most=1.25, source="From memory of the literature"),
)
def redraw_die_clearance(route: Route) -> Iterator[Measured]:
    """The clearance between redraw die and punch suits the cup wall.

    Why:
        A small clearance irons the wall in the redraw die, which is not made for ironing. A large
        clearance lets the wall wrinkle.
    Data:
        redraw.die_bore, punch.wall_diameter, stock.gauge
    Formula:
        kb.process.draw.clearance
    To fix:
        Choose a die bore within the limits.
    """
    yield Measured("format.redraw.die_bore", "redraw clearance ÷ gauge", route.redrawn.clearance_over_gauge)


@rule(
    "redraw.die-radius",
    unit="-",
    severity="warning",
    levers=("format.redraw.die_radius",),
    default=Default(least=4.0, most=10.0, source="From memory of the literature"),
)
def redraw_die_radius(route: Route) -> Iterator[Measured]:
    """The redraw die radius suits the gauge.

    Why:
        A small radius damages the metal, and it stretches less afterwards. The base tears out.
    Data:
        redraw.die_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits.
    """
    yield Measured(
        "format.redraw.die_radius", "redraw die radius ÷ gauge", route.redrawn.die_radius_over_gauge
    )


@rule(
    "punch.nose-radius",
    unit="-",
    severity="warning",
    levers=("format.punch.nose_radius",),
    default=Default(least=4.0, most=9.0, source="From memory of the literature"),
)
def punch_nose_radius(route: Route) -> Iterator[Measured]:
    """The punch nose is round enough for the gauge.

    Why:
        The nose pushes the can through all rings and forms the stand. With a small radius the base
        breaks out.
    Data:
        punch.nose_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits. Dome and stand change with it.
    """
    yield Measured(
        "format.punch.nose_radius", "punch nose radius ÷ gauge", route.redrawn.nose_radius_over_gauge
    )


@rule(
    "dome.depth",
    unit="-",
    levers=("format.dome.depth",),
    default=Default(least=0.18, most=0.27, source="From memory of the literature"),
)
def dome_depth(route: Route) -> Iterator[Measured]:
    """The dome is deep enough to hold the pressure and shallow enough to form.

    Why:
        A shallow dome reverses. A deep dome cracks at the corner.
    Data:
        dome.depth, dome.stand_diameter
    Formula:
        Definition: depth ÷ stand diameter.
    To fix:
        Set the depth within its limits.
    """
    yield Measured("format.dome.depth", "dome depth ÷ stand diameter", route.domed.depth_share)


@rule(
    "dome.stretch",
    unit="-",
    show="%",
    levers=("format.dome.depth",),
    default=Default(most=0.06, source="From memory of the literature"),
)
def dome_stretch(route: Route) -> Iterator[Measured]:
    """The dome is not stretched beyond its limit.

    Why:
        Metal that is not drawn in over the nose must stretch. Too much stretch cracks the dome.
    Data:
        dome.depth, dome.radius, dome.stand_diameter, dome draw-in setting
    Formula:
        Derived: area of the dome ÷ area of the flat base, reduced by the draw-in setting of the plant.
    To fix:
        Make the dome shallower, or reduce the hold-down pressure for more draw-in.
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
    """The dome corner is round enough for the gauge.

    Why:
        The corner between dome and leg is bent under tension. A sharp corner cracks the metal and wears
        the tool.
    Data:
        dome.corner_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits.
    """
    spec = route.case.format
    yield Measured(
        "format.dome.corner_radius",
        "dome corner radius ÷ gauge",
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
    """The dome holds the pressure that the filler requires (estimate).

    Why:
        A can with a reversed dome leaks, rocks or bursts. The value is scaled from a trial of the
        plant. It is an estimate until trials on this format confirm it.
    Data:
        stock.gauge, material yield_after_bake, dome.stand_diameter, targets.dome_reversal, trial settings
    Formula:
        kb.process.dome.reversal_from_trial
    To fix:
        Use a thicker gauge or a smaller stand. The estimate does not include the gain of a deeper dome,
        only its thinner metal: test a deeper dome on trial cans.
    """
    target = route.case.format.targets.dome_reversal
    yield Measured(
        "format.targets.dome_reversal",
        "dome reversal (estimate)",
        route.strength.reversal,
        scale=target,
        against="what the format asks for",
    )
