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
    """There is enough metal at the ear valleys to trim all round.

    Why:
        A short can is trimmed on the ears only: its edge has gaps and its flange splits. Thin coil, a
        small punch and high ears add up here. A small punch makes a thick wall.
    Data:
        blank.diameter, stock.gauge, stock.earing, ironing.rings[].bore, punch diameters, trim.height
    Formula:
        Derived: volume constancy over the meridian of the domed can, minus half the ear height.
    To fix:
        Use a larger blank or a thinner wall. Lower the trimmed height only if the finished height
        changes with it.
    """
    yield Measured("format.trim.height", "trim allowance at the ear valleys", route.trimmed.allowance)


@rule("trim.waste", unit="-", show="%", severity="warning", levers=("format.blank.diameter",))
def trim_waste(route: Route) -> Iterator[Measured]:
    """The metal trimmed off is below its limit.

    Why:
        Trim is bought as coil and sold as scrap. Long trim rings block the vacuum.
    Data:
        blank.diameter, stock.gauge, ironing.rings[].bore, trim.height
    Formula:
        Derived: (mass of the domed can − mass of the trimmed can) ÷ mass of the domed can.
    To fix:
        Use a smaller blank.
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
    """The reduction of each neck stage is below the limit for pleats.

    Why:
        If one stage reduces too much, the edge folds instead of thickening.
    Data:
        punch.neck_diameter, neck.plug_diameter, neck.stages, neck.diameters
    Formula:
        kb.process.neck.stage_reduction
    To fix:
        Add stages, or make the reductions more equal.
    """
    declared = bool(route.case.format.neck.diameters)
    for i, stage in enumerate(route.necked):
        at = f"format.neck.diameters[{i}]" if declared else "format.neck.stages"
        levers = (at,) if declared else ()
        yield Measured(at, f"neck stage {i + 1} reduction", stage.reduction, levers=levers)


@rule("neck.stages-declared", unit="count", limit="spec")
def neck_stages_declared(route: Route) -> Iterator[Measured]:
    """The number of stage diameters equals the number of stages.

    Why:
        The list and the number give the same information. Often only one of them is changed.
    Data:
        neck.stages, neck.diameters, neck.plug_diameter
    Formula:
        Definition.
    To fix:
        Correct the list of diameters or the number of stages.
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


@rule("neck.ends-at-plug", unit="mm", limit="spec")
def neck_ends_at_plug(route: Route) -> Iterator[Measured]:
    """The last stage diameter equals the plug diameter.

    Why:
        The last die and pilot make the diameter that the chuck wall of the end fits into.
    Data:
        neck.diameters, neck.plug_diameter
    Formula:
        Definition.
    To fix:
        Correct the last stage diameter or the plug diameter.
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
    """The necking force does not crush the body (estimate).

    Why:
        The thin wall carries the force of every stage. Above its limit it buckles before the neck forms.
    Data:
        neck.stages, neck.angle, neck.plug_diameter, targets.thin_wall, neck friction setting
    Formula:
        kb.process.neck.stage_stress against kb.process.strength.knock_down
    To fix:
        Use smaller stage reductions, more air pressure inside the can, or better wax.
    """
    for i, stage in enumerate(route.necked):
        yield Measured(
            "format.neck.stages",
            f"neck stage {i + 1} force ÷ wall buckling force (estimate)",
            stage.buckling_share,
        )


@rule("neck.wall", unit="mm", levers=("format.punch.neck_diameter",))
def neck_wall(route: Route) -> Iterator[Measured]:
    """The thick wall is within the limits of the necker.

    Why:
        Thin walls pleat. Thick walls jam and scuff in the dies.
    Data:
        ironing.rings[].bore, punch.neck_diameter
    Formula:
        kb.process.ironing.gap
    To fix:
        Change the neck diameter of the punch.
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
    """The pilot supports the wall without pinching it.

    Why:
        A loose pilot lets the neck pleat. A tight pilot scuffs the inside.
    Data:
        neck.pilot_clearance
    Formula:
        Definition.
    To fix:
        Choose pilots with a clearance within the limits.
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
    """There is enough straight neck below the flange for the seaming rolls.

    Why:
        A roll that touches the neck marks it and makes a loose seam.
    Data:
        trim.height, neck.shoulder_height, neck radii and angle, flange
    Formula:
        Derived: length of straight neck from volume constancy.
    To fix:
        Lower the start of the neck, or raise the trimmed height.
    """
    yield Measured("format.neck.shoulder_height", "straight neck below the flange", route.flanged.straight)


@rule(
    "flange.finished-height",
    unit="mm",
    limit="spec",
    levers=("format.trim.height", "format.neck.shoulder_height"),
)
def flange_finished_height(route: Route) -> Iterator[Measured]:
    """Necking and flanging the trimmed can gives the target finished height.

    Why:
        Seam, filler and pallet depend on the finished height. Often one of the three heights is changed
        alone.
    Data:
        trim.height, neck sizes, flange sizes, flange.finished_height
    Formula:
        Derived: volume constancy from trimmed to flanged can.
    To fix:
        Correct the trimmed height. One millimetre there changes the finished height by nearly one millimetre.
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
    """The stretch of the flange edge is below the limit for splits.

    Why:
        The edge is the hardest metal of the can and was cut by a knife. A split edge makes a leaking seam.
    Data:
        neck.plug_diameter, flange.width
    Formula:
        kb.process.flange.edge_strain
    To fix:
        Use a narrower flange.
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
    """The end fits over the widest flange.

    Why:
        The end crushes a flange that is wider than the curl opening. This causes false seams and jams.
    Data:
        neck.plug_diameter, flange.width, end curl_opening
    Formula:
        Definition: curl opening minus flange diameter.
    To fix:
        Use a narrower flange or a smaller plug diameter.
    """
    yield Measured("format.flange.width", "curl opening minus flange diameter", route.flanged.curl_clearance)


@rule(
    "flange.edge-wall",
    unit="mm",
    severity="warning",
    levers=("format.flange.width", "format.punch.neck_diameter"),
)
def flange_edge_wall(route: Route) -> Iterator[Measured]:
    """The flange edge has the thickness for which the seam is set.

    Why:
        The flange becomes the body hook, and the seam rolls are ground for one thickness. Another
        thickness makes a loose or crushed seam.
    Data:
        ironing.rings[].bore, punch.neck_diameter, neck.plug_diameter, flange.width
    Formula:
        kb.process.neck.wall_after, kb.process.flange.edge_wall
    To fix:
        Change the neck diameter of the punch. This changes the thick wall.
    """
    yield Measured("format.flange.width", "flange edge thickness", route.flanged.edge_wall)
