"""Checks of the cup."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "cup.punch-below-blank",
    unit="mm",
    reads="case",
    levers=("format.cup.punch_diameter",),
    default=Default(least=10.0, source="Definition: less leaves no cup wall"),
)
def cup_punch_below_blank(case: Case) -> Iterator[Measured]:
    """The cup punch is smaller than the blank.

    Why:
        A cup is drawn from the ring of metal outside the punch; with none there is no wall.
    Data:
        blank.diameter, cup.punch_diameter
    Formula:
        Definition: blank diameter less punch diameter.
    To fix:
        Correct the diameter that is wrong; a radius written for a diameter shows here.
    """
    yield Measured(
        "format.cup.punch_diameter",
        "blank less cup punch diameter",
        case.format.blank.diameter - case.format.cup.punch_diameter,
        least=0.0,
    )


@rule(
    "cup.punch-corner",
    unit="mm",
    reads="case",
    levers=("format.cup.punch_radius",),
    default=Default(least=5.0, source="Common practice, no source"),
)
def cup_punch_corner(case: Case) -> Iterator[Measured]:
    """The cup punch keeps a flat inside its corner radius.

    Why:
        Without a flat the punch is a dome, and the bottom is stretched where it should only be held.
    Data:
        cup.punch_diameter, cup.punch_radius
    Formula:
        Definition: punch radius less corner radius.
    To fix:
        Reduce the corner radius.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.punch_radius",
        "flat inside the punch corner",
        spec.punch_diameter / 2 - spec.punch_radius,
        least=0.0,
    )


@rule(
    "cup.die-over-punch",
    unit="mm",
    reads="case",
    levers=("format.cup.die_bore",),
    default=Default(least=0.2, source="Common practice, no source"),
)
def cup_die_over_punch(case: Case) -> Iterator[Measured]:
    """The draw die is wider than the cup punch.

    Why:
        The metal passes between them.
    Data:
        cup.die_bore, cup.punch_diameter
    Formula:
        kb.process.draw.clearance
    To fix:
        Open the die bore.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.die_bore", "draw die less punch diameter", spec.die_bore - spec.punch_diameter, least=0.0
    )


@rule(
    "cup.draw-ratio",
    unit="-",
    levers=("format.cup.punch_diameter", "format.blank.diameter"),
    default=Default(
        most=1.8,
        source="Groover, Fundamentals of Modern Manufacturing, ch. 20: 2.0; 0.2 below it, from memory",
    ),
)
def cup_draw_ratio(route: Route) -> Iterator[Measured]:
    """The first draw stays below the ratio at which cups tear.

    Why:
        The wall above the punch corner carries the whole pull of the shrinking rim.
    Data:
        blank.diameter, cup.punch_diameter
    Formula:
        kb.process.draw.draw_ratio
    To fix:
        Use a larger cup punch (the redraw then does more) or a smaller blank.
    """
    yield Measured("format.cup.punch_diameter", "first draw ratio", route.cup.draw_ratio)


@rule(
    "cup.draw-ratio-of-limit",
    unit="-",
    severity="warning",
    levers=("format.cup.punch_diameter", "format.blank.diameter"),
    default=Default(most=0.97, source="From memory of the literature"),
)
def cup_draw_ratio_of_limit(route: Route) -> Iterator[Measured]:
    """The first draw keeps away from the limiting draw ratio of this sheet.

    Why:
        Strain ratio and relative thickness of the sheet set how far a blank draws; two published forms
        are computed and each is compared.
    Data:
        material anisotropy, stock.gauge, cup.punch_diameter, blank.diameter
    Formula:
        kb.process.draw.limiting_ratio_from_anisotropy, kb.process.draw.limiting_ratio_from_thickness
    To fix:
        Use a larger cup punch, a smaller blank, or sheet with a higher strain ratio.
    """
    at = "format.cup.punch_diameter"
    yield Measured(
        at, "draw ratio over its limit by strain ratio", route.cup.draw_ratio / route.cup.limit_by_anisotropy
    )
    yield Measured(
        at, "draw ratio over its limit by thickness", route.cup.draw_ratio / route.cup.limit_by_thickness
    )


@rule(
    "cup.die-radius",
    unit="-",
    severity="warning",
    levers=("format.cup.die_radius",),
    default=Default(least=5.0, most=14.0, source="From memory of the literature"),
)
def cup_die_radius(route: Route) -> Iterator[Measured]:
    """The draw die radius suits the gauge.

    Why:
        Too sharp a radius tears and scores, too round a one lets the rim wrinkle after it leaves the
        holder.
    Data:
        cup.die_radius, stock.gauge
    Formula:
        Definition: radius over gauge.
    To fix:
        Bring the radius into the window.
    """
    yield Measured("format.cup.die_radius", "draw die radius over gauge", route.cup.die_radius_over_gauge)


@rule(
    "cup.punch-radius",
    unit="-",
    severity="warning",
    levers=("format.cup.punch_radius",),
    default=Default(least=5.0, most=16.0, source="From memory of the literature"),
)
def cup_punch_radius(route: Route) -> Iterator[Measured]:
    """The cup punch radius suits the gauge.

    Why:
        Too sharp a corner thins the cup where the redraw will bend it again.
    Data:
        cup.punch_radius, stock.gauge
    Formula:
        Definition: radius over gauge.
    To fix:
        Bring the radius into the window.
    """
    yield Measured(
        "format.cup.punch_radius", "cup punch radius over gauge", route.cup.punch_radius_over_gauge
    )


@rule("cup.draw-clearance", unit="-", levers=("format.cup.die_bore",))
def cup_draw_clearance(route: Route) -> Iterator[Measured]:
    """Draw die and cup punch leave room for the thickened rim, and not much more.

    Why:
        Too tight irons the cup and pinches the ears, too wide lets it bell and wrinkle.
    Data:
        cup.die_bore, cup.punch_diameter, stock.gauge
    Formula:
        kb.process.draw.clearance
    To fix:
        Choose a die bore inside the window.
    """
    yield Measured("format.cup.die_bore", "draw clearance over gauge", route.cup.clearance_over_gauge)


@rule("cup.height", unit="mm", levers=("format.blank.diameter", "format.cup.punch_diameter"))
def cup_height(route: Route) -> Iterator[Measured]:
    """The cup, ears and all, passes the tracks and the bodymaker's infeed.

    Why:
        Cups too tall jam in the infeed, cups too short tumble.
    Data:
        blank.diameter, cup.punch_diameter, stock.earing
    Formula:
        Derived: volume constancy over the cup's meridian, plus half the ears.
    To fix:
        Change the cup punch diameter; a larger cup is shorter.
    """
    yield Measured(
        "format.cup.punch_diameter", "cup height at the ears", route.cup.height + route.cup.ear / 2
    )
