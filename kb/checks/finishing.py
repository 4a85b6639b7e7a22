"""Checks on trim, neck and flange."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.stations import Route


@rule(
    "trim.allowance",
    unit="mm",
    levers=("format.blank.diameter", "format.trim.height", "format.ironing.rings[2].bore"),
)
def trim_allowance(route: Route) -> Iterator[Measured]:
    """At the ear valleys there is enough left to trim all round.

    Why:
        A short can is trimmed on the ears only: its edge has gaps, its flange splits. Thin
        coil, a small punch and high ears come together here: a small punch makes a thick wall.
    Data:
        blank.diameter, stock.gauge, stock.earing, ironing.rings[].bore, punch diameters, trim.height
    Formula:
        Derived: volume constancy over the domed can's meridian, less half the ears.
    To fix:
        Open the blank, lower the trim height, or iron a little thinner.
    """
    yield Measured("format.trim.height", "trim allowance at the ear valleys", route.trimmed.allowance)


@rule("trim.waste", unit="-", show="%", severity="warning", levers=("format.blank.diameter",))
def trim_waste(route: Route) -> Iterator[Measured]:
    """No more is trimmed off than ears and spread need.

    Why:
        Trim is sheet bought and sold back as scrap, and long trim rings block the vacuum.
    Data:
        blank.diameter, stock.gauge, ironing.rings[].bore, trim.height
    Formula:
        Derived: metal of the domed can less metal of the trimmed can.
    To fix:
        A smaller blank.
    """
    yield Measured("format.blank.diameter", "metal trimmed off", route.trimmed.trim_share)


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
    levers=("format.neck.stages", "format.neck.shoulder_radius", "format.neck.neck_radius"),
    default=Default(most=0.6, source="From memory of the literature"),
)
def neck_stage_load(route: Route) -> Iterator[Measured]:
    """Pushing the neck does not crush the body (estimate).

    Why:
        The thin wall below carries the push of every stage; it buckles long before the neck forms.
    Data:
        neck.stages, neck.angle, neck radii, neck.plug_diameter, targets.thin_wall; settings for neck
        friction and neck bends
    Formula:
        kb.process.neck.stage_stress and kb.process.neck.bending_stress against
        kb.process.strength.knock_down
    To fix:
        Smaller stages, larger radii on the neck dies, more inside air, better wax.
    """
    for i, stage in enumerate(route.necked):
        yield Measured(
            "format.neck.stages",
            f"neck stage {i + 1} push over wall buckling (estimate)",
            stage.buckling_share,
        )


@rule(
    "neck.pleating",
    unit="-",
    severity="warning",
    levers=("format.neck.stages",),
    default=Default(
        most=18.0,
        source="Rule for drawing without a blank holder, step of 18 to 22 gauges, from memory",
    ),
)
def neck_pleating(route: Route) -> Iterator[Measured]:
    """No neck stage steps in so far that the wall pleats (estimate).

    Why:
        The wall is squeezed round and held on one side. A step too large for its thickness folds it, and the
        seam leaks over the pleat.
    Data:
        neck.stages, neck.diameters, neck.plug_diameter, punch.neck_diameter, ironing.rings[].bore
    Formula:
        kb.process.neck.pleating
    To fix:
        Add stages, or share the reduction more evenly.
    """
    for i, stage in enumerate(route.necked):
        yield Measured(
            "format.neck.stages", f"neck stage {i + 1} diameter step over wall (estimate)", stage.pleating
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
