"""Checks on the case before its route is computed: do the tools make a shape at all?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from kb.checks.rule import Default, Measured, rule
from kb.process.profile import DomeSizes, dome_layout
from kb.route.body import base_sizes
from kb.route.case import Case
from kb.route.stations.flange import flange_sizes
from kb.route.stations.neck import neck_sizes, stage_diameters


@rule(
    "cup.punch-below-blank",
    unit="mm",
    reads="case",
    levers=("format.cup.punch_diameter",),
    default=Default(least=10.0, source="Definition: less leaves no cup wall"),
)
def cup_punch_below_blank(case: Case) -> Iterator[Measured]:
    """The cup punch is smaller than the blank.

    Why:
        A cup is drawn from the ring of metal outside the punch; with none there is no wall.
    Data:
        blank.diameter, cup.punch_diameter
    Formula:
        Definition: blank diameter less punch diameter.
    To fix:
        Correct the diameter that is wrong; a radius written for a diameter shows here.
    """
    yield Measured(
        "format.cup.punch_diameter",
        "blank less cup punch diameter",
        case.format.blank.diameter - case.format.cup.punch_diameter,
        least=0.0,
    )


@rule(
    "cup.punch-corner",
    unit="mm",
    reads="case",
    levers=("format.cup.punch_radius",),
    default=Default(least=5.0, source="Common practice, no source"),
)
def cup_punch_corner(case: Case) -> Iterator[Measured]:
    """The cup punch keeps a flat inside its corner radius.

    Why:
        Without a flat the punch is a dome, and the bottom is stretched where it should only be held.
    Data:
        cup.punch_diameter, cup.punch_radius
    Formula:
        Definition: punch radius less corner radius.
    To fix:
        Reduce the corner radius.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.punch_radius",
        "flat inside the punch corner",
        spec.punch_diameter / 2 - spec.punch_radius,
        least=0.0,
    )


@rule(
    "cup.die-over-punch",
    unit="mm",
    reads="case",
    levers=("format.cup.die_bore",),
    default=Default(least=0.2, source="Common practice, no source"),
)
def cup_die_over_punch(case: Case) -> Iterator[Measured]:
    """The draw die is wider than the cup punch.

    Why:
        The metal passes between them.
    Data:
        cup.die_bore, cup.punch_diameter
    Formula:
        kb.process.draw.clearance
    To fix:
        Open the die bore.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.die_bore", "draw die less punch diameter", spec.die_bore - spec.punch_diameter, least=0.0
    )


@rule(
    "redraw.punch-below-cup",
    unit="mm",
    reads="case",
    levers=("format.cup.punch_diameter",),
    default=Default(least=5.0, source="Room for the redraw sleeve; common practice, no source"),
)
def redraw_punch_below_cup(case: Case) -> Iterator[Measured]:
    """The bodymaker punch is smaller than the cup punch.

    Why:
        The redraw makes the cup narrower; the sleeve that holds it down stands between the two.
    Data:
        cup.punch_diameter, punch.wall_diameter
    Formula:
        Definition: cup punch diameter less bodymaker punch diameter.
    To fix:
        Correct the diameter that is wrong.
    """
    yield Measured(
        "format.punch.wall_diameter",
        "cup punch less bodymaker punch diameter",
        case.format.cup.punch_diameter - case.format.punch.wall_diameter,
        least=0.0,
    )


@rule(
    "punch.step-inward",
    unit="mm",
    reads="case",
    levers=("format.punch.neck_diameter",),
    default=Default(least=0.02, source="Common practice, no source"),
)
def punch_step_inward(case: Case) -> Iterator[Measured]:
    """The punch is smaller above its step than below.

    Why:
        The smaller end leaves the thick wall for neck and flange; the other way round the can
        cannot be stripped.
    Data:
        punch.wall_diameter, punch.neck_diameter
    Formula:
        Definition: wall diameter less neck diameter.
    To fix:
        Exchange the two diameters, or correct the one that is wrong.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.neck_diameter",
        "punch wall diameter less neck diameter",
        punch.wall_diameter - punch.neck_diameter,
        least=0.0,
    )


@rule(
    "punch.step-below-shoulder",
    unit="mm",
    reads="case",
    levers=("format.punch.step_height",),
    default=Default(least=0.5, source="Common practice, no source"),
)
def punch_step_below_shoulder(case: Case) -> Iterator[Measured]:
    """The thick wall is reached below the neck.

    Why:
        A neck that starts in the thin wall pleats; a step that ends inside the cone leaves the wall
        uneven where the first dies press.
    Data:
        punch.step_height, punch.step_length, neck.shoulder_height
    Formula:
        Definition: shoulder height less the top of the step.
    To fix:
        Lower the step on the punch, or start the neck higher.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.step_height",
        "neck start above the step",
        case.format.neck.shoulder_height - punch.step_height - punch.step_length,
        least=0.0,
    )


@rule(
    "ironing.bore-order",
    unit="mm",
    reads="case",
    default=Default(least=0.01, source="Common practice, no source"),
)
def ironing_bore_order(case: Case) -> Iterator[Measured]:
    """Each ring is smaller than the one before it.

    Why:
        A ring no smaller than the one before it does no work; usually two rings are exchanged.
    Data:
        ironing.rings[].bore
    Formula:
        Definition: bore less the next bore.
    To fix:
        Put the rings in falling order.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].bore"
        what = f"ring {i} bore less ring {i + 1} bore"
        yield Measured(key, what, before.bore - after.bore, least=0.0, levers=(key,))


@rule(
    "ironing.distance-order",
    unit="mm",
    reads="case",
    default=Default(least=10.0, source="A ring and its spacer; common practice, no source"),
)
def ironing_distance_order(case: Case) -> Iterator[Measured]:
    """Each ring stands further along the ram than the one before it.

    Why:
        The wall meets the rings in the order of their distance; the list must show the same order.
    Data:
        ironing.rings[].distance
    Formula:
        Definition: distance of the next ring less distance of the ring.
    To fix:
        Correct the distance, or the order of the rings.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].distance"
        yield Measured(
            key,
            f"distance from ring {i} to ring {i + 1}",
            after.distance - before.distance,
            least=0.0,
            levers=(key,),
        )


@rule(
    "ironing.bore-over-punch",
    unit="mm",
    reads="case",
    default=Default(least=0.1, source="Common practice, no source"),
)
def ironing_bore_over_punch(case: Case) -> Iterator[Measured]:
    """The last ring is wider than the punch.

    Why:
        Half the difference is the wall; at zero the punch runs into the ring.
    Data:
        ironing.rings[].bore, punch.wall_diameter
    Formula:
        kb.process.ironing.gap
    To fix:
        Open the ring, or correct the punch diameter.
    """
    last = len(case.format.ironing.rings) - 1
    key = f"format.ironing.rings[{last}].bore"
    yield Measured(
        key,
        "last ring less punch diameter",
        case.format.ironing.rings[last].bore - case.format.punch.wall_diameter,
        least=0.0,
        levers=(key,),
    )


@rule("ironing.ring-body", unit="mm", reads="case", limit="spec", levers=("format.ironing.outside_diameter",))
def ironing_ring_body(case: Case) -> Iterator[Measured]:
    """The rings have a body outside their bores.

    Why:
        The ring's body resists its opening; one no thicker than its land is long is a wrong number,
        usually a bore or a radius written for the outside.
    Data:
        ironing.outside_diameter, ironing.rings[].bore, ironing.land
    Formula:
        Definition: half of outside diameter less the widest bore, against the land.
    To fix:
        Correct the outside diameter or the bore.
    """
    spec = case.format.ironing
    widest = np.max(np.broadcast_arrays(*(ring.bore for ring in spec.rings)), axis=0)
    yield Measured(
        "format.ironing.outside_diameter",
        "ring body outside the widest bore",
        (spec.outside_diameter - widest) / 2,
        least=spec.land,
        against="the land",
    )


@rule(
    "dome.chime-room",
    unit="mm",
    reads="case",
    levers=("format.dome.stand_diameter", "format.punch.chime_radius"),
    default=Default(least=0.0, source="Geometry: less is a kink"),
)
def dome_chime_room(case: Case) -> Iterator[Measured]:
    """Between stand and wall there is room for the chime.

    Why:
        Nose radius, chime and chime radius follow one another without a kink; too large a stand or
        radius leaves no chime between them.
    Data:
        dome.stand_diameter, punch.nose_radius, punch.chime_angle, punch.chime_radius, punch.wall_diameter
    Formula:
        kb.process.profile.BaseSizes.chime_run
    To fix:
        Reduce the stand diameter or the chime radius.
    """
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    yield Measured(
        "format.dome.stand_diameter", "straight chime, measured outward", base.chime_run, least=0.0
    )


@rule(
    "dome.profile-closes",
    unit="mm",
    reads="case",
    levers=("format.dome.depth", "format.dome.radius"),
    default=Default(least=0.0, source="Geometry: less is a kink"),
)
def dome_profile_closes(case: Case) -> Iterator[Measured]:
    """Dome cap, corner and inner leg meet the nose.

    Why:
        Depth, dome radius, stand diameter and the small radii fix one another; where the leg or the
        cap comes out negative no such base exists.
    Data:
        dome.depth, dome.radius, dome.corner_radius, dome.leg_angle, dome.stand_diameter, punch.nose_radius
    Formula:
        kb.process.profile.dome_layout
    To fix:
        Deepen the dome, or flatten it with a larger dome radius; a cap that is gone wants a wider stand.
    """
    spec = case.format.dome
    dome = DomeSizes(
        depth=spec.depth, radius=spec.radius, corner_radius=spec.corner_radius, leg_angle=spec.leg_angle
    )
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    layout = dome_layout(base, dome, wall=case.format.stock.gauge)
    yield Measured("format.dome.depth", "straight inner leg", layout.leg_length, least=0.0)
    yield Measured("format.dome.depth", "radius of the dome's cap", layout.cap_radius, least=0.0)


@rule(
    "trim.above-shoulder",
    unit="mm",
    reads="case",
    levers=("format.trim.height",),
    default=Default(least=5.0, source="Common practice, no source"),
)
def trim_above_shoulder(case: Case) -> Iterator[Measured]:
    """The can is trimmed above the start of the neck.

    Why:
        The neck is made of the metal between shoulder and trimmed edge.
    Data:
        trim.height, neck.shoulder_height
    Formula:
        Definition: trim height less shoulder height.
    To fix:
        Raise the trim height or lower the shoulder.
    """
    yield Measured(
        "format.trim.height",
        "trim height above the shoulder",
        case.format.trim.height - case.format.neck.shoulder_height,
        least=0.0,
    )


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


@rule("seam.hooks-in-seam", unit="mm", reads="case", limit="spec", waivable=False)
def seam_hooks_in_seam(case: Case) -> Iterator[Measured]:
    """Each hook is shorter than the seam.

    Why:
        A hook lies inside the seam; one longer than the room inside is a wrong number.
    Data:
        seam.length, seam.body_hook, seam.end_hook, end gauge
    Formula:
        Definition: hook against seam length less two end thicknesses.
    To fix:
        Correct the hook or the seam length.
    """
    spec = case.format.seam
    room = spec.length - 2 * case.end.gauge
    yield Measured(
        "format.seam.body_hook",
        "body hook",
        spec.body_hook,
        most=room,
        against="the room in the seam",
        levers=("format.seam.body_hook", "format.seam.length"),
    )
    yield Measured(
        "format.seam.end_hook",
        "end hook",
        spec.end_hook,
        most=spec.length - case.end.gauge,
        against="the room in the seam",
        levers=("format.seam.end_hook", "format.seam.length"),
    )
