"""Checks of the redraw."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "redraw.punch-below-cup",
    unit="mm",
    reads="case",
    levers=("format.cup.punch_diameter",),
    default=Default(least=5.0, source="Room for the redraw sleeve; common practice, no source"),
)
def redraw_punch_below_cup(case: Case) -> Iterator[Measured]:
    """The bodymaker punch is smaller than the cup punch.

    Why:
        The redraw makes the cup narrower. The redraw sleeve needs room between the two diameters.
    Data:
        cup.punch_diameter, punch.wall_diameter
    Formula:
        Definition: cup punch diameter minus bodymaker punch diameter.
    To fix:
        Correct the wrong diameter.
    """
    yield Measured(
        "format.punch.wall_diameter",
        "cup punch diameter minus bodymaker punch diameter",
        case.format.cup.punch_diameter - case.format.punch.wall_diameter,
        least=0.0,
    )


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
    yield Measured(
        "format.cup.punch_diameter", "redraw ratio", route.redrawn.draw_ratio, result="redrawn.draw_ratio"
    )


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
    yield Measured(
        "format.blank.diameter",
        "blank diameter ÷ punch diameter",
        route.redrawn.total_ratio,
        result="redrawn.total_ratio",
    )


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
    yield Measured(
        "format.redraw.die_bore",
        "redraw clearance ÷ gauge",
        route.redrawn.clearance_over_gauge,
        result="redrawn.clearance_over_gauge",
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
        A small radius damages the metal, and it stretches less afterwards. The base tears out.
    Data:
        redraw.die_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits.
    """
    yield Measured(
        "format.redraw.die_radius",
        "redraw die radius ÷ gauge",
        route.redrawn.die_radius_over_gauge,
        result="redrawn.die_radius_over_gauge",
    )
