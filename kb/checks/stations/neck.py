"""Checks of the neck."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.stations.neck import neck_sizes, stage_diameters


@rule("neck.diameter-order", "mm", levers=(), least=0.05, source="Common practice, no source")
def neck_diameter_order(case: Case) -> Iterator[Measured]:
    """Each neck stage is smaller than the one before it.

    Why: A stage that does not reduce the diameter is a wrong number or a wrong die.
    Data: punch.neck_diameter, neck.diameters, neck.plug_diameter
    Formula: Definition: diameter minus the next diameter.
    To fix: Put the stage diameters in falling order, ending at the plug diameter.
    """
    declared = bool(case.format.neck.diameters)
    for i, (before, after) in enumerate(pairwise(stage_diameters(case)), start=1):
        at = f"format.neck.diameters[{i - 1}]" if declared else "format.neck.plug_diameter"
        yield Measured(at, f"reduction of neck stage {i}", before - after, least=0.0)


@rule(
    "neck.profile-closes",
    "mm",
    levers=("format.neck.shoulder_radius", "format.neck.neck_radius", "format.neck.angle"),
    least=0.0,
    source="Geometry: with less, the profile has a kink",
)
def neck_profile_closes(case: Case) -> Iterator[Measured]:
    """Shoulder radius, cone and neck radius fit between body and plug diameter.

    Why: If the two radii use up the reduction, no cone is left at the neck angle. The finished neck then
        differs from its drawing.
    Data: neck.shoulder_radius, neck.neck_radius, neck.angle, neck.plug_diameter, punch.neck_diameter
    Formula: kb.process.profile.NeckSizes.cone_run
    To fix: Reduce one of the radii, or the angle.
    """
    spec, wall = case.format.neck, case.format.targets.thick_wall
    sizes = neck_sizes(case, plug=spec.plug_diameter, wall=wall, neck_wall=wall)
    yield Measured("format.neck.shoulder_radius", "straight cone, measured inward", sizes.cone_run, least=0.0)


@rule(
    "neck.stage-reduction",
    "-",
    show="%",
    levers=("format.neck.stages", "format.neck.plug_diameter"),
    most=0.025,
    source="About 2 to 2.5 % per stage, from memory",
)
def neck_stage_reduction(route: Route) -> Iterator[Measured]:
    """The reduction of each neck stage is below the limit for pleats.

    Why: If one stage reduces too much, the edge folds instead of thickening.
    Data: punch.neck_diameter, neck.plug_diameter, neck.stages, neck.diameters
    Formula: kb.process.material.reduction
    To fix: Add stages, or make the reductions more equal.
    """
    declared = bool(route.case.format.neck.diameters)
    for i in range(len(route.necked)):
        at = f"format.neck.diameters[{i}]" if declared else "format.neck.stages"
        levers = (at,) if declared else ()
        yield measured_result(
            route, f"necked[{i}].reduction", at, f"neck stage {i + 1} reduction", levers=levers
        )


@rule("neck.stages-declared", "count", limit="spec", levers=())
def neck_stages_declared(route: Route) -> Iterator[Measured]:
    """The number of stage diameters equals the number of stages.

    Why: The list and the number give the same information. Often only one of them is changed.
    Data: neck.stages, neck.diameters, neck.plug_diameter
    Formula: Definition.
    To fix: Correct the list of diameters or the number of stages.
    """
    spec = route.case.format.neck
    if spec.diameters:
        count = float(len(spec.diameters))
        yield Measured(
            "format.neck.stages",
            "number of stage diameters",
            count,
            least=float(spec.stages),
            most=float(spec.stages),
            against="neck.stages",
        )


@rule("neck.ends-at-plug", "mm", limit="spec", levers=())
def neck_ends_at_plug(route: Route) -> Iterator[Measured]:
    """The last stage diameter equals the plug diameter.

    Why: The last die and pilot make the diameter that the chuck wall of the end fits into.
    Data: neck.diameters, neck.plug_diameter
    Formula: Definition.
    To fix: Correct the last stage diameter or the plug diameter.
    """
    spec = route.case.format.neck
    if spec.diameters:
        low, high = route.case.band("format.neck.plug_diameter")
        yield Measured(
            f"format.neck.diameters[{len(spec.diameters) - 1}]",
            "last stage diameter",
            spec.diameters[-1],
            least=low,
            most=high,
            against="the plug diameter's tolerance",
        )


@rule(
    "neck.stage-load",
    "-",
    show="%",
    severity="warning",
    levers=("format.neck.stages", "format.neck.shoulder_radius", "format.neck.neck_radius"),
    most=0.6,
    source="From memory, no publication",
)
def neck_stage_load(route: Route) -> Iterator[Measured]:
    """The necking force does not crush the body (estimate).

    Why: The thin wall carries the force of every stage. Above its limit it buckles before the neck forms.
    Data: neck.stages, neck.angle, neck radii, neck.plug_diameter, targets.thin_wall; settings for neck
        friction and neck bends
    Formula: kb.process.neck.stage_stress and kb.process.neck.bending_stress against
        kb.process.strength.knock_down
    To fix: Use smaller stage reductions, more air pressure inside the can, or better wax. Larger radii on the
        neck dies bend the wall less.
    """
    for i in range(len(route.necked)):
        yield measured_result(
            route,
            f"necked[{i}].buckling_share",
            "format.neck.stages",
            f"neck stage {i + 1} force ÷ wall buckling force",
        )


@rule(
    "neck.pleating",
    "-",
    severity="warning",
    most=18.0,
    source="Rule for drawing without a draw pad, diameter step of 18 to 22 gauges, from memory",
)
def neck_pleating(route: Route) -> Iterator[Measured]:
    """No neck stage is so large that the wall pleats (estimate).

    Why: The die holds the wall on one side only. A diameter step too large for the wall folds it, and the
        seam leaks at the pleat.
    Data: neck.stages, neck.diameters, neck.plug_diameter, punch.neck_diameter, ironing.rings[].bore
    Formula: kb.process.neck.pleating
    To fix: Add stages, or make the reductions more equal.
    """
    for i in range(len(route.necked)):
        yield measured_result(
            route,
            f"necked[{i}].pleating",
            "format.neck.stages",
            f"neck stage {i + 1} diameter step ÷ wall",
        )


@rule("neck.wall", "mm")
def neck_wall(route: Route) -> Iterator[Measured]:
    """The thick wall is within the limits of the necker.

    Why: Thin walls pleat. Thick walls jam and scuff in the dies.
    Data: ironing.rings[].bore, punch.neck_diameter
    Formula: kb.process.ironing.gap
    To fix: Change the neck diameter of the punch.
    """
    yield measured_result(
        route,
        f"ironed[{len(route.ironed) - 1}].thick",
        "format.punch.neck_diameter",
        "thick wall into the necker",
    )


@rule(
    "neck.pilot-clearance",
    "mm",
    severity="warning",
    least=0.01,
    most=0.05,
    source="From memory, no publication",
)
def neck_pilot_clearance(route: Route) -> Iterator[Measured]:
    """The pilot supports the wall without pinching it.

    Why: A loose pilot lets the neck pleat. A tight pilot scuffs the inside.
    Data: neck.pilot_clearance
    Formula: Definition.
    To fix: Choose pilots with a clearance within the limits.
    """
    yield Measured("format.neck.pilot_clearance", "pilot clearance", route.case.format.neck.pilot_clearance)


@rule(
    "neck.seaming-clearance",
    "mm",
    levers=("format.neck.shoulder_height", "format.trim.height"),
    least=3.05,
    source="0.120 in under the flange: Can Manufacturers Institute, Voluntary Can "
    "and End Dimension Reference Manual, 202 can, undated",
)
def neck_seaming_clearance(route: Route) -> Iterator[Measured]:
    """There is enough straight neck below the flange for the seaming rolls.

    Why: A roll that touches the neck marks it and makes a loose seam.
    Data: trim.height, neck.shoulder_height, neck radii and angle, flange
    Formula: Derived: length of straight neck from volume constancy.
    To fix: Lower the start of the neck, or raise the trimmed height.
    """
    yield measured_result(
        route, "flanged.straight", "format.neck.shoulder_height", "straight neck below the flange"
    )
