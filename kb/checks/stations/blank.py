"""Checks of body stock and blank."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.route.stations import Route


@rule("stock.gauge-bought", "mm", limit="spec")
def stock_gauge_bought(route: Route) -> Iterator[Measured]:
    """This body stock can be bought in this gauge.

    Why: No coil is sold in this gauge, so the format cannot be made.
    Data: stock.gauge, material gauge range
    Formula: Definition: smallest and largest gauge against the gauge range of the material.
    To fix: Choose a gauge inside the range, or another body stock.
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


@rule("stock.coil-width", "mm", limit="spec", levers=("format.blank.web", "format.blank.edge"))
def stock_coil_width(route: Route) -> Iterator[Measured]:
    """The strip width of the layout can be bought as a coil.

    Why: Blank, web, edge and number across give the strip width. The mill sells coils of a certain range
        only.
    Data: blank.diameter, blank.across, blank.web, blank.edge, material coil_width
    Formula: kb.process.blank.strip_width
    To fix: Change the number across, the web or the edge.
    """
    band, case = route.case.stock.coil_width, route.case
    yield measured_result(
        route,
        "blank.strip_width",
        "format.blank.across",
        "strip width",
        least=band.low,
        most=band.high,
        against=f"the range of {case.stock.id}",
    )


@rule("stock.earing", "-", show="%", most=0.04, source="Typical incoming limit 2 to 4 %, from memory")
def stock_earing(route: Route) -> Iterator[Measured]:
    """The earing of the body stock is below the limit of the line.

    Why: High ears are pinched at the end of the draw and break off. The height of the ears is trimmed off as
        scrap.
    Data: stock.earing
    Formula: Definition: (mean height of the ears − mean height of the valleys) ÷ mean height of the valleys.
    To fix: Ask the mill for lower earing. Do not compare the earing of a laboratory cup with that of the
        plant.
    """
    yield Measured("format.stock.earing", "earing", route.case.format.stock.earing)


@rule("stock.earing-agreed", "-", show="%", limit="spec", margin=False)
def stock_earing_agreed(route: Route) -> Iterator[Measured]:
    """The format assumes at least the maximum earing the material may have.

    Why: If the trim is calculated with less earing than the coils have, the first bad coil gives short cans.
    Data: stock.earing, material earing
    Formula: Definition: earing of the format against the maximum earing of the material.
    To fix: Set the earing of the format to that of the material. Then check the trim allowance again.
    """
    yield Measured(
        "format.stock.earing",
        "earing assumed",
        route.case.format.stock.earing,
        least=route.case.stock.earing,
        against=f"the maximum of {route.case.stock.id}",
    )


@rule("blank.web", "mm", least=0.7, source="Common practice, no source")
def blank_web(route: Route) -> Iterator[Measured]:
    """The web between blanks is wide enough not to break.

    Why: A narrow web breaks in the press. The results are misfeeds, half blanks and slivers in the cups.
    Data: blank.web
    Formula: Definition.
    To fix: Widen the web. The strip becomes wider too.
    """
    yield Measured("format.blank.web", "web", route.case.format.blank.web)


@rule("blank.edge", "mm", least=1.5, source="Common practice, no source")
def blank_edge(route: Route) -> Iterator[Measured]:
    """The strip has enough edge outside the outermost blanks.

    Why: Strip tracking and coil width tolerance use up the edge. Without edge the outer blanks are
        incomplete.
    Data: blank.edge
    Formula: Definition.
    To fix: Widen the edge.
    """
    yield Measured("format.blank.edge", "edge", route.case.format.blank.edge)


@rule(
    "blank.die-clearance",
    "-",
    show="%",
    severity="warning",
    least=0.045,
    most=0.075,
    source="Groover, Fundamentals of Modern Manufacturing, table of clearance allowances",
)
def blank_die_clearance(route: Route) -> Iterator[Measured]:
    """The clearance of the cut edge suits the gauge.

    Why: Too little clearance shears the metal twice and wears the edge. Too much leaves a burr, which is
        ironed into the wall.
    Data: blank.die_clearance, stock.gauge
    Formula: Definition: clearance on each side ÷ gauge.
    To fix: Grind the cut edge or the die to a clearance within the limits for this gauge.
    """
    yield measured_result(
        route, "blank.clearance_share", "format.blank.die_clearance", "cut edge clearance ÷ gauge"
    )


@rule("blank.coil-use", "-", show="%", severity="warning", levers=("format.blank.web", "format.blank.edge"))
def blank_coil_use(route: Route) -> Iterator[Measured]:
    """Enough of the coil is used for blanks.

    Why: The skeleton is bought as coil and sold as scrap.
    Data: blank.diameter, blank.across, blank.web, blank.edge
    Formula: kb.process.blank.utilisation
    To fix: Reduce web or edge as far as their own checks allow, or cut more blanks across.
    """
    yield measured_result(route, "blank.utilisation", "format.blank.across", "coil used for blanks")
