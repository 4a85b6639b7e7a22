"""Checks of the flange and the finished height."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.stations.flange import flange_sizes


@rule(
    "flange.bend-fits",
    "mm",
    levers=("format.flange.width", "format.flange.radius"),
    least=0.1,
    source="Common practice, no source",
)
def flange_bend_fits(case: Case) -> Iterator[Measured]:
    """The flange is wider than its bend.

    Why: The lip outside the bend becomes the body hook. Without a lip there is no hook.
    Data: flange.width, flange.radius, flange.angle
    Formula: kb.process.profile.FlangeSizes.lip_run
    To fix: Widen the flange, or reduce the radius under it.
    """
    sizes = flange_sizes(case, neck_wall=case.format.targets.thick_wall)
    yield Measured("format.flange.width", "straight lip outside the bend", sizes.lip_run, least=0.0)


@rule(
    "flange.above-shoulder",
    "mm",
    limit="spec",
    levers=("format.flange.finished_height", "format.neck.shoulder_height"),
)
def flange_above_shoulder(case: Case) -> Iterator[Measured]:
    """The finished height is above the start of the neck.

    Why: Neck and flange are between the two heights. A finished height below the shoulder belongs to another
        can.
    Data: flange.finished_height, neck.shoulder_height
    Formula: Definition.
    To fix: Correct the wrong height.
    """
    yield Measured(
        "format.flange.finished_height",
        "finished height",
        case.format.flange.finished_height,
        least=case.format.neck.shoulder_height,
        against="the start of the neck",
    )


@rule(
    "flange.finished-height", "mm", limit="spec", levers=("format.trim.height", "format.neck.shoulder_height")
)
def flange_finished_height(route: Route) -> Iterator[Measured]:
    """Necking and flanging the trimmed can gives the target finished height.

    Why: Seam, filler and pallet depend on the finished height. Often one of the three heights is changed
        alone.
    Data: trim.height, neck sizes, flange sizes, flange.finished_height
    Formula: Derived: volume constancy from trimmed to flanged can.
    To fix: Correct the trimmed height. One millimetre there changes the finished height by nearly one
        millimetre.
    """
    low, high = route.case.band("format.flange.finished_height")
    yield measured_result(
        route,
        "flanged.height",
        "format.flange.finished_height",
        "finished height",
        least=low,
        most=high,
        against="its own tolerance",
    )


@rule(
    "flange.edge-strain",
    "-",
    show="%",
    most=0.093,
    source="Follows: Can Manufacturers Institute, Voluntary Can "
    "and End Dimension Reference Manual, 202 can, undated",
)
def flange_edge_strain(route: Route) -> Iterator[Measured]:
    """The stretch of the flange edge is below the limit for splits.

    Why: The edge is the hardest metal of the can and was cut by a knife. A split edge makes a leaking seam.
    Data: neck.plug_diameter, flange.width
    Formula: kb.process.neck.edge_strain
    To fix: Use a narrower flange.
    """
    yield measured_result(route, "flanged.edge_strain", "format.flange.width", "flange edge strain")


@rule(
    "flange.curl-clearance",
    "mm",
    waivable=False,
    levers=("format.flange.width", "format.neck.plug_diameter"),
    least=0.38,
    source="0.015 in follows: Can Manufacturers Institute, Voluntary Can "
    "and End Dimension Reference Manual, 202 can, undated",
)
def flange_curl_clearance(route: Route) -> Iterator[Measured]:
    """The end fits over the widest flange.

    Why: The end crushes a flange that is wider than the curl opening. This causes false seams and jams.
    Data: neck.plug_diameter, flange.width, end curl_opening
    Formula: Definition: curl opening minus flange diameter.
    To fix: Use a narrower flange or a smaller plug diameter.
    """
    yield measured_result(
        route, "flanged.curl_clearance", "format.flange.width", "curl opening minus flange diameter"
    )


@rule(
    "flange.edge-wall", "mm", severity="warning", levers=("format.flange.width", "format.punch.neck_diameter")
)
def flange_edge_wall(route: Route) -> Iterator[Measured]:
    """The flange edge has the thickness for which the seam is set.

    Why: The flange becomes the body hook, and the seam rolls are ground for one thickness. Another thickness
        makes a loose or crushed seam.
    Data: ironing.rings[].bore, punch.neck_diameter, neck.plug_diameter, flange.width
    Formula: kb.process.neck.wall_after, kb.process.neck.edge_wall
    To fix: Change the neck diameter of the punch. This changes the thick wall.
    """
    yield measured_result(route, "flanged.edge_wall", "format.flange.width", "flange edge thickness")
