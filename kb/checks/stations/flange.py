"""Checks of the flange and the finished height."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.stations.flange import flange_sizes


@rule(
    "flange.bend-fits",
    unit="mm",
    reads="case",
    levers=("format.flange.width", "format.flange.radius"),
    default=Default(least=0.1, source="Common practice, no source"),
)
def flange_bend_fits(case: Case) -> Iterator[Measured]:
    """The flange is wider than its bend.

    Why:
        The lip beyond the bend becomes the body hook; a flange all bend makes no hook.
    Data:
        flange.width, flange.radius, flange.angle
    Formula:
        kb.process.profile.FlangeSizes.lip_run
    To fix:
        Widen the flange or reduce the radius under it.
    """
    sizes = flange_sizes(case, neck_wall=case.format.targets.thick_wall)
    yield Measured("format.flange.width", "straight lip beyond the bend", sizes.lip_run, least=0.0)


@rule(
    "flange.above-shoulder",
    unit="mm",
    reads="case",
    limit="spec",
    levers=("format.flange.finished_height", "format.neck.shoulder_height"),
)
def flange_above_shoulder(case: Case) -> Iterator[Measured]:
    """The finished can ends above the start of its neck.

    Why:
        Neck and flange lie between the two heights; a finished height below the shoulder is a number
        of another can.
    Data:
        flange.finished_height, neck.shoulder_height
    Formula:
        Definition.
    To fix:
        Correct the height that is wrong.
    """
    yield Measured(
        "format.flange.finished_height",
        "finished height",
        case.format.flange.finished_height,
        least=case.format.neck.shoulder_height,
        against="the start of the neck",
    )


@rule(
    "flange.finished-height",
    unit="mm",
    limit="spec",
    levers=("format.trim.height", "format.neck.shoulder_height"),
)
def flange_finished_height(route: Route) -> Iterator[Measured]:
    """Trimmed height less what neck and flange take gives the finished height.

    Why:
        Seam, filler and pallet all stand on it; one of the three heights is often changed alone.
    Data:
        trim.height, neck sizes, flange sizes, flange.finished_height
    Formula:
        Derived: volume constancy from trimmed to flanged.
    To fix:
        Correct the trim height; a millimetre of trim is nearly a millimetre of height.
    """
    low, high = route.case.band("format.flange.finished_height")
    yield Measured(
        "format.flange.finished_height",
        "finished height",
        route.flanged.height,
        least=low,
        most=high,
        against="its own tolerance",
    )


@rule(
    "flange.edge-strain",
    unit="-",
    show="%",
    levers=("format.flange.width",),
    default=Default(most=0.093, source="Follows from the public 202 sheet of a can makers' institute"),
)
def flange_edge_strain(route: Route) -> Iterator[Measured]:
    """The flange's edge is not stretched until it splits.

    Why:
        The edge is the hardest metal of the can, cut by a knife; a split there is a leaking seam.
    Data:
        neck.plug_diameter, flange.width
    Formula:
        kb.process.flange.edge_strain
    To fix:
        A narrower flange.
    """
    yield Measured("format.flange.width", "flange edge strain", route.flanged.edge_strain)


@rule(
    "flange.curl-clearance",
    unit="mm",
    waivable=False,
    levers=("format.flange.width", "format.neck.plug_diameter"),
    default=Default(
        least=0.38, source="0.015 in follows from the public 202 sheet of a can makers' institute"
    ),
)
def flange_curl_clearance(route: Route) -> Iterator[Measured]:
    """The end drops over the widest flange.

    Why:
        A flange wider than the curl opening is crushed by the end: false seams and jams.
    Data:
        neck.plug_diameter, flange.width, end curl_opening
    Formula:
        Definition: curl opening less flange diameter.
    To fix:
        A narrower flange or a smaller plug diameter.
    """
    yield Measured("format.flange.width", "curl opening less flange diameter", route.flanged.curl_clearance)


@rule(
    "flange.edge-wall",
    unit="mm",
    severity="warning",
    levers=("format.flange.width", "format.punch.neck_diameter"),
)
def flange_edge_wall(route: Route) -> Iterator[Measured]:
    """The flange's edge has the thickness that the seam is set for.

    Why:
        The body hook is two of the five layers; seam rolls are ground for one thickness.
    Data:
        ironing.rings[].bore, punch.neck_diameter, neck.plug_diameter, flange.width
    Formula:
        kb.process.neck.wall_after, kb.process.flange.edge_wall
    To fix:
        Change the thick wall by the punch's neck diameter.
    """
    yield Measured("format.flange.width", "flange edge thickness", route.flanged.edge_wall)
