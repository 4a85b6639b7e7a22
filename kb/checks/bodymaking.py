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
    """The redraw stays below the ratio at which cups tear.

    Why:
        The metal is already hard from the first draw; the redraw may take less.
    Data:
        cup.punch_diameter, punch.wall_diameter
    Formula:
        kb.process.draw.draw_ratio
    To fix:
        Use a smaller cup punch; the first draw then does more.
    """
    yield Measured("format.cup.punch_diameter", "redraw ratio", route.redrawn.draw_ratio)


@rule(
    "redraw.total-draw-ratio",
    unit="-",
    levers=("format.blank.diameter",),
    default=Default(most=2.45, source="From memory of the literature"),
)
def redraw_total_draw_ratio(route: Route) -> Iterator[Measured]:
    """Both draws together stay within what the sheet gives.

    Why:
        Splitting the draw helps, but not without end.
    Data:
        blank.diameter, punch.wall_diameter
    Formula:
        kb.process.draw.draw_ratio
    To fix:
        A smaller blank, so a shorter can or a thinner wall.
    """
    yield Measured("format.blank.diameter", "blank over punch diameter", route.redrawn.total_ratio)


@rule(
    "redraw.die-clearance",
    unit="-",
    levers=("format.redraw.die_bore",),
    default=Default(least=1.02, most=1.25, source="From memory of the literature"),
)
def redraw_die_clearance(route: Route) -> Iterator[Measured]:
    """Redraw die and punch leave room for the cup wall.

    Why:
        Too tight irons in the redraw die, which is not made for it; too wide lets the wall wrinkle.
    Data:
        redraw.die_bore, punch.wall_diameter, stock.gauge
    Formula:
        kb.process.draw.clearance
    To fix:
        Choose a die bore inside the window.
    """
    yield Measured(
        "format.redraw.die_bore", "redraw clearance over gauge", route.redrawn.clearance_over_gauge
    )


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
        A small radius damages the metal and lowers what it can stretch later; the bottom tears out.
    Data:
        redraw.die_radius, stock.gauge
    Formula:
        Definition: radius over gauge.
    To fix:
        Bring the radius into the window.
    """
    yield Measured(
        "format.redraw.die_radius", "redraw die radius over gauge", route.redrawn.die_radius_over_gauge
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
        The nose carries the can through all rings and becomes the stand; too sharp and the bottom
        breaks out.
    Data:
        punch.nose_radius, stock.gauge
    Formula:
        Definition: radius over gauge.
    To fix:
        Bring the radius into the window; dome and stand move with it.
    """
    yield Measured(
        "format.punch.nose_radius", "punch nose radius over gauge", route.redrawn.nose_radius_over_gauge
    )


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
