"""Checks of the neck."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.stations.neck import neck_sizes, stage_diameters


@rule(
    "neck.diameter-order",
    unit="mm",
    reads="case",
    default=Default(least=0.05, source="Common practice, no source"),
)
def neck_diameter_order(case: Case) -> Iterator[Measured]:
    """Each neck stage is smaller than the one before it.

    Why:
        A stage that does not reduce the neck is a wrong number or a wrong die.
    Data:
        punch.neck_diameter, neck.diameters, neck.plug_diameter
    Formula:
        Definition: diameter less the next diameter.
    To fix:
        Put the stage diameters in falling order, ending at the plug diameter.
    """
    declared = bool(case.format.neck.diameters)
    for i, (before, after) in enumerate(pairwise(stage_diameters(case)), start=1):
        at = f"format.neck.diameters[{i - 1}]" if declared else "format.neck.plug_diameter"
        yield Measured(at, f"reduction of neck stage {i}", before - after, least=0.0)


@rule(
    "neck.profile-closes",
    unit="mm",
    reads="case",
    levers=("format.neck.shoulder_radius", "format.neck.neck_radius", "format.neck.angle"),
    default=Default(least=0.0, source="Geometry: less is a kink"),
)
def neck_profile_closes(case: Case) -> Iterator[Measured]:
    """Shoulder radius, cone and neck radius fit between body and plug.

    Why:
        When the two radii use up the reduction there is no cone left at the angle written, and the
        finished neck is steeper or shallower than its drawing.
    Data:
        neck.shoulder_radius, neck.neck_radius, neck.angle, neck.plug_diameter, punch.neck_diameter
    Formula:
        kb.process.profile.NeckSizes.cone_run
    To fix:
        Reduce a radius, or the angle.
    """
    spec, wall = case.format.neck, case.format.targets.thick_wall
    sizes = neck_sizes(case, plug=spec.plug_diameter, wall=wall, neck_wall=wall)
    yield Measured("format.neck.shoulder_radius", "straight cone, measured inward", sizes.cone_run, least=0.0)


@rule(
    "neck.stage-reduction",
    unit="-",
    show="%",
    levers=("format.neck.stages", "format.neck.plug_diameter"),
    default=Default(most=0.025, source="About 2 to 2.5 % per stage, from memory"),
)
def neck_stage_reduction(route: Route) -> Iterator[Measured]:
    """No neck stage takes more than the wall stands without pleats.

    Why:
        Pressed in too far at once, the edge folds instead of thickening.
    Data:
        punch.neck_diameter, neck.plug_diameter, neck.stages, neck.diameters
    Formula:
        kb.process.neck.stage_reduction
    To fix:
        Add stages, or share the reduction more evenly.
    """
    declared = bool(route.case.format.neck.diameters)
    for i, stage in enumerate(route.necked):
        at = f"format.neck.diameters[{i}]" if declared else "format.neck.stages"
        levers = (at,) if declared else ()
        yield Measured(at, f"neck stage {i + 1} reduction", stage.reduction, levers=levers)


@rule("neck.stages-declared", unit="count", limit="spec")
def neck_stages_declared(route: Route) -> Iterator[Measured]:
    """The declared stage diameters are as many as the stages, and end at the plug.

    Why:
        Two ways of saying one thing are changed one without the other.
    Data:
        neck.stages, neck.diameters, neck.plug_diameter
    Formula:
        Definition.
    To fix:
        Make list, number of stages and plug diameter agree.
    """
    spec = route.case.format.neck
    if spec.diameters:
        count = float(len(spec.diameters))
        yield Measured(
            "format.neck.stages",
            "number of declared stage diameters",
            count,
            least=float(spec.stages),
            most=float(spec.stages),
            against="neck.stages",
        )


@rule("neck.ends-at-plug", unit="mm", limit="spec")
def neck_ends_at_plug(route: Route) -> Iterator[Measured]:
    """The last declared stage is the plug diameter.

    Why:
        The last die and pilot make the diameter that the end's chuck wall sits in.
    Data:
        neck.diameters, neck.plug_diameter
    Formula:
        Definition.
    To fix:
        Correct the last stage or the plug diameter.
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
    unit="-",
    show="%",
    severity="warning",
    levers=("format.neck.stages", "format.neck.angle"),
    default=Default(most=0.6, source="From memory of the literature"),
)
def neck_stage_load(route: Route) -> Iterator[Measured]:
    """Pushing the neck does not crush the body (estimate).

    Why:
        The thin wall below carries the push of every stage; it buckles long before the neck forms.
    Data:
        neck.stages, neck.angle, neck.plug_diameter, targets.thin_wall, neck friction setting
    Formula:
        kb.process.neck.stage_stress against kb.process.strength.knock_down
    To fix:
        Smaller stages, more inside air, better wax.
    """
    for i, stage in enumerate(route.necked):
        yield Measured(
            "format.neck.stages",
            f"neck stage {i + 1} push over wall buckling (estimate)",
            stage.buckling_share,
        )


@rule("neck.wall", unit="mm", levers=("format.punch.neck_diameter",))
def neck_wall(route: Route) -> Iterator[Measured]:
    """The thick wall is inside what the necker takes, both ways.

    Why:
        Thin walls pleat, thick ones jam and scuff in the dies.
    Data:
        ironing.rings[].bore, punch.neck_diameter
    Formula:
        kb.process.ironing.gap
    To fix:
        Change the punch's neck diameter.
    """
    yield Measured("format.punch.neck_diameter", "thick wall into the necker", route.ironed[-1].thick)


@rule(
    "neck.pilot-clearance",
    unit="mm",
    severity="warning",
    levers=("format.neck.pilot_clearance",),
    default=Default(least=0.01, most=0.05, source="From memory of the literature"),
)
def neck_pilot_clearance(route: Route) -> Iterator[Measured]:
    """The pilot holds the wall without pinching it.

    Why:
        A loose pilot lets the neck pleat, a tight one scuffs the inside.
    Data:
        neck.pilot_clearance
    Formula:
        Definition.
    To fix:
        Choose pilots with a clearance inside the window.
    """
    yield Measured("format.neck.pilot_clearance", "pilot clearance", route.case.format.neck.pilot_clearance)


@rule(
    "neck.seaming-clearance",
    unit="mm",
    levers=("format.neck.shoulder_height", "format.trim.height"),
    default=Default(
        least=3.05, source="0.120 in under the flange on the public 202 sheet of a can makers' institute"
    ),
)
def neck_seaming_clearance(route: Route) -> Iterator[Measured]:
    """Below the flange there is straight neck for the seaming rolls.

    Why:
        A roll that touches the neck marks it and leaves the seam loose.
    Data:
        trim.height, neck.shoulder_height, neck radii and angle, flange
    Formula:
        Derived: the length of straight neck that closes the metal's volume.
    To fix:
        Start the neck lower, or trim higher.
    """
    yield Measured("format.neck.shoulder_height", "straight neck below the flange", route.flanged.straight)
