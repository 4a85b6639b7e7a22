"""Checks on coil, blank and cup."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.stations import Route


@rule("stock.gauge-bought", unit="mm", limit="spec", levers=("format.stock.gauge",))
def stock_gauge_bought(route: Route) -> Iterator[Measured]:
    """This body stock can be bought in this gauge.

    Why:
        No coil is sold in this gauge, so the format cannot be made.
    Data:
        stock.gauge, material gauge range
    Formula:
        Definition: smallest and largest gauge against the gauge range of the material.
    To fix:
        Choose a gauge inside the range, or another body stock.
    """
    band, case = route.case.stock.gauge, route.case
    yield Measured(
        "format.stock.gauge",
        "gauge",
        case.format.stock.gauge,
        least=band.low,
        most=band.high,
        against=f"the range of {case.stock.id}",
    )


@rule("stock.coil-width", unit="mm", limit="spec", levers=("format.blank.web", "format.blank.edge"))
def stock_coil_width(route: Route) -> Iterator[Measured]:
    """The strip width of the layout can be bought as a coil.

    Why:
        Blank, web, edge and number across give the strip width. The mill sells coils of a certain range only.
    Data:
        blank.diameter, blank.across, blank.web, blank.edge, material coil_width
    Formula:
        kb.process.blank.strip_width
    To fix:
        Change the number across, the web or the edge.
    """
    band, case = route.case.stock.coil_width, route.case
    yield Measured(
        "format.blank.across",
        "strip width",
        route.blank.strip_width,
        least=band.low,
        most=band.high,
        against=f"the range of {case.stock.id}",
    )


@rule(
    "stock.earing",
    unit="-",
    show="%",
    levers=("format.stock.earing",),
    default=Default(most=0.04, source="Typical incoming limit 2 to 4 %, from memory"),
)
def stock_earing(route: Route) -> Iterator[Measured]:
    """The earing of the body stock is below the limit of the line.

    Why:
        High ears are pinched at the end of the draw and break off. The height of the ears is trimmed
        off as scrap.
    Data:
        stock.earing
    Formula:
        Definition: (mean height of the ears − mean height of the valleys) ÷ mean height of the valleys.
    To fix:
        Ask the mill for lower earing. Do not compare the earing of a laboratory cup with that of the plant.
    """
    yield Measured("format.stock.earing", "earing", route.case.format.stock.earing)


@rule("stock.earing-agreed", unit="-", show="%", limit="spec", levers=("format.stock.earing",))
def stock_earing_agreed(route: Route) -> Iterator[Measured]:
    """The format assumes at least the maximum earing the material may have.

    Why:
        If the trim is calculated with less earing than the coils have, the first bad coil gives short cans.
    Data:
        stock.earing, material earing
    Formula:
        Definition: earing of the format against the maximum earing of the material.
    To fix:
        Set the earing of the format to that of the material. Then check the trim allowance again.
    """
    yield Measured(
        "format.stock.earing",
        "earing assumed",
        route.case.format.stock.earing,
        least=route.case.stock.earing,
        against=f"the maximum of {route.case.stock.id}",
    )


@rule(
    "blank.web",
    unit="mm",
    levers=("format.blank.web",),
    default=Default(least=0.7, source="Common practice, no source"),
)
def blank_web(route: Route) -> Iterator[Measured]:
    """The web between blanks is wide enough not to break.

    Why:
        A narrow web breaks in the press. The results are misfeeds, half blanks and slivers in the cups.
    Data:
        blank.web
    Formula:
        Definition.
    To fix:
        Widen the web. The strip becomes wider too.
    """
    yield Measured("format.blank.web", "web", route.case.format.blank.web)


@rule(
    "blank.edge",
    unit="mm",
    levers=("format.blank.edge",),
    default=Default(least=1.5, source="Common practice, no source"),
)
def blank_edge(route: Route) -> Iterator[Measured]:
    """The strip has enough edge outside the outermost blanks.

    Why:
        Strip tracking and coil width tolerance use up the edge. Without edge the outer blanks are incomplete.
    Data:
        blank.edge
    Formula:
        Definition.
    To fix:
        Widen the edge.
    """
    yield Measured("format.blank.edge", "edge", route.case.format.blank.edge)


@rule(
    "blank.die-clearance",
    unit="-",
    show="%",
    severity="warning",
    levers=("format.blank.die_clearance",),
    default=Default(
        least=0.045,
        most=0.075,
        source="Groover, Fundamentals of Modern Manufacturing, table of clearance allowances",
    ),
)
def blank_die_clearance(route: Route) -> Iterator[Measured]:
    """The clearance of the cut edge suits the gauge.

    Why:
        Too little clearance shears the metal twice and wears the edge. Too much leaves a burr, which is
        ironed into the wall.
    Data:
        blank.die_clearance, stock.gauge
    Formula:
        kb.process.blank.die_clearance
    To fix:
        Grind the cut edge or the die to a clearance within the limits for this gauge.
    """
    yield Measured("format.blank.die_clearance", "cut edge clearance ÷ gauge", route.blank.clearance_share)


@rule(
    "blank.coil-use", unit="-", show="%", severity="warning", levers=("format.blank.web", "format.blank.edge")
)
def blank_coil_use(route: Route) -> Iterator[Measured]:
    """Enough of the coil is used for blanks.

    Why:
        The skeleton is bought as coil and sold as scrap.
    Data:
        blank.diameter, blank.across, blank.web, blank.edge
    Formula:
        kb.process.blank.utilisation
    To fix:
        Reduce web or edge as far as their own checks allow, or cut more blanks across.
    """
    yield Measured("format.blank.across", "coil used for blanks", route.blank.utilisation)


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
    """The first draw ratio is below the ratio at which cups tear.

    Why:
        The wall above the punch corner carries the whole drawing force. Above the limit it tears.
    Data:
        blank.diameter, cup.punch_diameter
    Formula:
        kb.process.draw.draw_ratio
    To fix:
        Use a larger cup punch or a smaller blank. A larger cup punch raises the redraw ratio.
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
    """The first draw ratio is below the limiting draw ratio of this body stock.

    Why:
        The r-value and the relative thickness of the body stock limit the draw ratio. Two published
        formulas are used, and each is compared.
    Data:
        material anisotropy, stock.gauge, cup.punch_diameter, blank.diameter
    Formula:
        kb.process.draw.limiting_ratio_from_anisotropy, kb.process.draw.limiting_ratio_from_thickness
    To fix:
        Use a larger cup punch, a smaller blank, or body stock with a higher r-value.
    """
    at = "format.cup.punch_diameter"
    yield Measured(
        at, "draw ratio ÷ limit from the r-value", route.cup.draw_ratio / route.cup.limit_by_anisotropy
    )
    yield Measured(
        at, "draw ratio ÷ limit from the thickness", route.cup.draw_ratio / route.cup.limit_by_thickness
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
        A small radius tears and scores the cup. A large radius lets the rim wrinkle after it leaves the
        draw pad.
    Data:
        cup.die_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits.
    """
    yield Measured("format.cup.die_radius", "draw die radius ÷ gauge", route.cup.die_radius_over_gauge)


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
        A small corner radius thins the cup where the redraw bends it again. The can then tears there.
    Data:
        cup.punch_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits.
    """
    yield Measured("format.cup.punch_radius", "cup punch radius ÷ gauge", route.cup.punch_radius_over_gauge)


@rule("cup.draw-clearance", unit="-", levers=("format.cup.die_bore",))
def cup_draw_clearance(route: Route) -> Iterator[Measured]:
    """The clearance between draw die and cup punch suits the thickened rim.

    Why:
        A small clearance irons the cup and pinches the ears. A large clearance lets the cup bell out
        and wrinkle.
    Data:
        cup.die_bore, cup.punch_diameter, stock.gauge
    Formula:
        kb.process.draw.clearance
    To fix:
        Choose a die bore within the limits.
    """
    yield Measured("format.cup.die_bore", "draw clearance ÷ gauge", route.cup.clearance_over_gauge)


@rule("cup.height", unit="mm", levers=("format.blank.diameter", "format.cup.punch_diameter"))
def cup_height(route: Route) -> Iterator[Measured]:
    """The cup with its ears fits the tracks and the infeed of the bodymaker.

    Why:
        Tall cups jam in the infeed. Short cups tumble.
    Data:
        blank.diameter, cup.punch_diameter, stock.earing
    Formula:
        Derived: volume constancy over the meridian of the cup, plus half the ear height.
    To fix:
        Change the cup punch diameter. A larger diameter makes a shorter cup.
    """
    yield Measured(
        "format.cup.punch_diameter", "cup height at the ears", route.cup.height + route.cup.ear / 2
    )
