"""Checks of the cup."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule("cup.punch-below-blank", "mm", least=10.0, source="Definition: less leaves no cup wall")
def cup_punch_below_blank(case: Case) -> Iterator[Measured]:
    """The cup punch is smaller than the blank.

    Why: The cup wall is drawn from the ring of metal outside the punch. Without that ring there is no wall.
    Data: blank.diameter, cup.punch_diameter
    Formula: Definition: blank diameter minus punch diameter.
    To fix: Correct the wrong diameter. Look first for a radius written as a diameter.
    """
    yield Measured(
        "format.cup.punch_diameter",
        "blank diameter minus cup punch diameter",
        case.format.blank.diameter - case.format.cup.punch_diameter,
        least=0.0,
    )


@rule("cup.punch-corner", "mm", least=5.0, source="Common practice, no source")
def cup_punch_corner(case: Case) -> Iterator[Measured]:
    """The cup punch has a flat inside its corner radius.

    Why: Without a flat the punch is a dome. It stretches the base of the cup instead of holding it.
    Data: cup.punch_diameter, cup.punch_radius
    Formula: Definition: half the punch diameter minus the corner radius.
    To fix: Reduce the corner radius.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.punch_radius",
        "flat inside the punch corner",
        spec.punch_diameter / 2 - spec.punch_radius,
        least=0.0,
    )


@rule("cup.die-over-punch", "mm", least=0.2, source="Common practice, no source")
def cup_die_over_punch(case: Case) -> Iterator[Measured]:
    """The draw die is wider than the cup punch.

    Why: The metal passes between die and punch. Without clearance the cup tears.
    Data: cup.die_bore, cup.punch_diameter
    Formula: kb.process.draw.clearance
    To fix: Open the die bore.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.die_bore",
        "draw die bore minus punch diameter",
        spec.die_bore - spec.punch_diameter,
        least=0.0,
    )


@rule(
    "cup.draw-ratio",
    "-",
    levers=("format.cup.punch_diameter", "format.blank.diameter"),
    most=1.8,
    source="Groover, Fundamentals of Modern Manufacturing, ch. 20: 2.0; 0.2 below it, from memory",
)
def cup_draw_ratio(route: Route) -> Iterator[Measured]:
    """The first draw ratio is below the ratio at which cups tear.

    Why: The wall above the punch corner carries the whole drawing force. Above the limit it tears.
    Data: blank.diameter, cup.punch_diameter
    Formula: kb.process.draw.draw_ratio
    To fix: Use a larger cup punch or a smaller blank. A larger cup punch raises the redraw ratio.
    """
    yield measured_result(route, "cup.draw_ratio", "format.cup.punch_diameter", "first draw ratio")


@rule(
    "cup.draw-ratio-of-limit",
    "-",
    severity="warning",
    levers=("format.cup.punch_diameter", "format.blank.diameter"),
    most=0.97,
    source="From memory, no publication",
)
def cup_draw_ratio_of_limit(route: Route) -> Iterator[Measured]:
    """The first draw ratio is below the limiting draw ratio of this body stock.

    Why: The r-value and the relative thickness of the body stock limit the draw ratio. Two published formulas
        are used, and each is compared.
    Data: material anisotropy, stock.gauge, cup.punch_diameter, blank.diameter
    Formula: kb.process.draw.limiting_ratio_from_anisotropy, kb.process.draw.limiting_ratio_from_thickness
    To fix: Use a larger cup punch, a smaller blank, or body stock with a higher r-value.
    """
    at = "format.cup.punch_diameter"
    yield Measured(
        at, "draw ratio ÷ limit from the r-value", route.cup.draw_ratio / route.cup.limit_by_anisotropy
    )
    yield Measured(
        at, "draw ratio ÷ limit from the thickness", route.cup.draw_ratio / route.cup.limit_by_thickness
    )


@rule("cup.die-radius", "-", severity="warning", least=5.0, most=14.0, source="From memory, no publication")
def cup_die_radius(route: Route) -> Iterator[Measured]:
    """The draw die radius suits the gauge.

    Why: A small radius tears and scores the cup. A large radius lets the rim wrinkle after it leaves the draw
        pad.
    Data: cup.die_radius, stock.gauge
    Formula: Definition: radius ÷ gauge.
    To fix: Set the radius within its limits.
    """
    yield measured_result(
        route, "cup.die_radius_over_gauge", "format.cup.die_radius", "draw die radius ÷ gauge"
    )


@rule("cup.punch-radius", "-", severity="warning", least=5.0, most=16.0, source="From memory, no publication")
def cup_punch_radius(route: Route) -> Iterator[Measured]:
    """The cup punch radius suits the gauge.

    Why: A small corner radius thins the cup where the redraw bends it again. The can then tears there.
    Data: cup.punch_radius, stock.gauge
    Formula: Definition: radius ÷ gauge.
    To fix: Set the radius within its limits.
    """
    yield measured_result(
        route, "cup.punch_radius_over_gauge", "format.cup.punch_radius", "cup punch radius ÷ gauge"
    )


@rule("cup.draw-clearance", "-")
def cup_draw_clearance(route: Route) -> Iterator[Measured]:
    """The clearance between draw die and cup punch suits the thickened rim.

    Why: A small clearance irons the cup and pinches the ears. A large clearance lets the cup bell out and
        wrinkle.
    Data: cup.die_bore, cup.punch_diameter, stock.gauge
    Formula: kb.process.draw.clearance
    To fix: Choose a die bore within the limits.
    """
    yield measured_result(route, "cup.clearance_over_gauge", "format.cup.die_bore", "draw clearance ÷ gauge")


@rule("cup.height", "mm", levers=("format.blank.diameter", "format.cup.punch_diameter"))
def cup_height(route: Route) -> Iterator[Measured]:
    """The cup with its ears fits the tracks and the infeed of the bodymaker.

    Why: Tall cups jam in the infeed. Short cups tumble.
    Data: blank.diameter, cup.punch_diameter, stock.earing
    Formula: Derived: volume constancy over the meridian of the cup, plus half the ear height.
    To fix: Use a smaller blank for a shorter cup, or a larger cup punch with its draw die.
    """
    yield Measured(
        "format.cup.punch_diameter", "cup height at the ears", route.cup.height + route.cup.ear / 2
    )
