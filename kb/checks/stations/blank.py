"""Checks of body stock and blank."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.stations import Route


@rule("stock.gauge-bought", unit="mm", limit="spec", levers=("format.stock.gauge",))
def stock_gauge_bought(route: Route) -> Iterator[Measured]:
    """The gauge can be bought in this body stock.

    Why:
        A format on a gauge that no coil comes in cannot be made, however well it computes.
    Data:
        stock.gauge, material gauge range
    Formula:
        Definition: gauge at its limits against the range the material is bought in.
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
    """The strip the layout needs is a coil width that can be bought.

    Why:
        Blank, web, edge and number across fix the width; the mill's range ends somewhere.
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
    """The stock ears no more than the cup line can take.

    Why:
        High ears are pinched at the end of the draw and clip off; what they take in height is trimmed
        away as scrap.
    Data:
        stock.earing
    Formula:
        Definition: mean height of the ears less that of the valleys, over that of the valleys.
    To fix:
        Ask the mill for a lower earing, never compare a laboratory cup's figure with the plant's.
    """
    yield Measured("format.stock.earing", "earing", route.case.format.stock.earing)


@rule("stock.earing-agreed", unit="-", show="%", limit="spec", levers=("format.stock.earing",))
def stock_earing_agreed(route: Route) -> Iterator[Measured]:
    """The format counts on no less earing than the material's certificate allows.

    Why:
        A format whose trim was worked out with better metal than is bought runs short on the first bad
        coil.
    Data:
        stock.earing, material earing
    Formula:
        Definition: earing of the format against the greatest the material may have.
    To fix:
        Write the material's figure into the format and see whether the trim still suffices.
    """
    yield Measured(
        "format.stock.earing",
        "earing counted on",
        route.case.format.stock.earing,
        least=route.case.stock.earing,
        against=f"the most {route.case.stock.id} may have",
    )


@rule(
    "blank.web",
    unit="mm",
    levers=("format.blank.web",),
    default=Default(least=0.7, source="Common practice, no source"),
)
def blank_web(route: Route) -> Iterator[Measured]:
    """The web between blanks is wide enough to hold together.

    Why:
        A web too narrow breaks in the press: misfeeds, half blanks, slivers in the cups.
    Data:
        blank.web
    Formula:
        Definition.
    To fix:
        Widen the web; the strip gets wider with it.
    """
    yield Measured("format.blank.web", "web", route.case.format.blank.web)


@rule(
    "blank.edge",
    unit="mm",
    levers=("format.blank.edge",),
    default=Default(least=1.5, source="Common practice, no source"),
)
def blank_edge(route: Route) -> Iterator[Measured]:
    """The strip keeps an edge outside the outermost blanks.

    Why:
        Tracking and width tolerance of the coil eat the edge first; then the outer blanks are cut short.
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
    """The cut edge's clearance suits the gauge.

    Why:
        Too little shears twice and wears the edge, too much pulls a burr that is later ironed in.
    Data:
        blank.die_clearance, stock.gauge
    Formula:
        kb.process.blank.die_clearance
    To fix:
        Grind punch or die to a clearance inside the window for this gauge.
    """
    yield Measured("format.blank.die_clearance", "cut-edge clearance over gauge", route.blank.clearance_share)


@rule(
    "blank.coil-use", unit="-", show="%", severity="warning", levers=("format.blank.web", "format.blank.edge")
)
def blank_coil_use(route: Route) -> Iterator[Measured]:
    """Enough of the coil becomes blanks.

    Why:
        The skeleton is bought as sheet and sold as scrap.
    Data:
        blank.diameter, blank.across, blank.web, blank.edge
    Formula:
        kb.process.blank.utilisation
    To fix:
        Narrow web or edge as far as their own checks allow, or cut more across.
    """
    yield Measured("format.blank.across", "coil used as blanks", route.blank.utilisation)
