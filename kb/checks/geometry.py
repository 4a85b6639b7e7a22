"""Checks on the case before its route is computed: do the tool dimensions form a can?"""

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
        The cup wall is drawn from the ring of metal outside the punch. Without that ring there is no wall.
    Data:
        blank.diameter, cup.punch_diameter
    Formula:
        Definition: blank diameter minus punch diameter.
    To fix:
        Correct the wrong diameter. Look first for a radius written as a diameter.
    """
    yield Measured(
        "format.cup.punch_diameter",
        "blank diameter minus cup punch diameter",
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
    """The cup punch has a flat inside its corner radius.

    Why:
        Without a flat the punch is a dome. It stretches the base of the cup instead of holding it.
    Data:
        cup.punch_diameter, cup.punch_radius
    Formula:
        Definition: half the punch diameter minus the corner radius.
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
        The metal passes between die and punch. Without clearance the cup tears.
    Data:
        cup.die_bore, cup.punch_diameter
    Formula:
        kb.process.draw.clearance
    To fix:
        Open the die bore.
    """
    spec = case.format.cup
    yield Measured(
        "format.cup.die_bore",
        "draw die bore minus punch diameter",
        spec.die_bore - spec.punch_diameter,
        least=0.0,
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
        The redraw makes the cup narrower. The redraw sleeve needs room between the two diameters.
    Data:
        cup.punch_diameter, punch.wall_diameter
    Formula:
        Definition: cup punch diameter minus bodymaker punch diameter.
    To fix:
        Correct the wrong diameter.
    """
    yield Measured(
        "format.punch.wall_diameter",
        "cup punch diameter minus bodymaker punch diameter",
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
        The smaller diameter makes the thick wall for neck and flange. If the step points outward, the
        can cannot be stripped.
    Data:
        punch.wall_diameter, punch.neck_diameter
    Formula:
        Definition: wall diameter minus neck diameter.
    To fix:
        Exchange the two diameters, or correct the wrong one.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.neck_diameter",
        "punch wall diameter minus neck diameter",
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
    """The thick wall starts below the neck.

    Why:
        A neck that starts in the thin wall pleats. A step that ends inside the cone leaves an uneven
        wall under the first dies.
    Data:
        punch.step_height, punch.step_length, neck.shoulder_height
    Formula:
        Definition: shoulder height minus the height of the top of the step.
    To fix:
        Lower the step on the punch, or raise the start of the neck.
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
        A ring that is not smaller than the one before it does no work. Usually two rings are exchanged.
    Data:
        ironing.rings[].bore
    Formula:
        Definition: bore minus the next bore.
    To fix:
        Put the rings in falling order.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].bore"
        what = f"ring {i} bore minus ring {i + 1} bore"
        yield Measured(key, what, before.bore - after.bore, least=0.0, levers=(key,))


@rule(
    "ironing.distance-order",
    unit="mm",
    reads="case",
    default=Default(least=10.0, source="A ring and its spacer; common practice, no source"),
)
def ironing_distance_order(case: Case) -> Iterator[Measured]:
    """Each ring is further along the ram than the one before it.

    Why:
        The wall meets the rings in the order of their distances. The list must have the same order.
    Data:
        ironing.rings[].distance
    Formula:
        Definition: distance of the next ring minus distance of the ring.
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
        Half the difference is the wall. At zero the punch hits the ring.
    Data:
        ironing.rings[].bore, punch.wall_diameter
    Formula:
        kb.process.ironing.gap
    To fix:
        Open the bore of the last ring, or correct the punch diameter.
    """
    last = len(case.format.ironing.rings) - 1
    key = f"format.ironing.rings[{last}].bore"
    yield Measured(
        key,
        "last ring bore minus punch diameter",
        case.format.ironing.rings[last].bore - case.format.punch.wall_diameter,
        least=0.0,
        levers=(key,),
    )


@rule("ironing.ring-body", unit="mm", reads="case", limit="spec", levers=("format.ironing.outside_diameter",))
def ironing_ring_body(case: Case) -> Iterator[Measured]:
    """The body of each ring is thicker than its land is long.

    Why:
        The ring body keeps the bore from opening under load. A thinner body is a wrong number: usually
        a bore or a radius written as the outside diameter.
    Data:
        ironing.outside_diameter, ironing.rings[].bore, ironing.land
    Formula:
        Definition: half the difference of outside diameter and widest bore, compared with the land.
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
    """There is room for the chime between stand and wall.

    Why:
        Nose radius, chime and chime radius join without a kink. If the stand or a radius is too large,
        no straight chime is left.
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
    """Dome, dome corner, inner leg and nose join to one profile.

    Why:
        Depth, dome radius, stand diameter and the small radii depend on each other. If the leg or the
        domed part is negative, this base cannot be made.
    Data:
        dome.depth, dome.radius, dome.corner_radius, dome.leg_angle, dome.stand_diameter, punch.nose_radius
    Formula:
        kb.process.profile.dome_layout
    To fix:
        Deepen the dome, or increase the dome radius. If no domed part is left, increase the stand diameter.
    """
    spec = case.format.dome
    dome = DomeSizes(
        depth=spec.depth, radius=spec.radius, corner_radius=spec.corner_radius, leg_angle=spec.leg_angle
    )
    base = base_sizes(case, wall=case.format.targets.thin_wall)
    layout = dome_layout(base, dome, wall=case.format.stock.gauge)
    yield Measured("format.dome.depth", "straight inner leg", layout.leg_length, least=0.0)
    yield Measured("format.dome.depth", "radius of the domed part", layout.cap_radius, least=0.0)


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
        The neck is made from the metal between shoulder and trimmed edge.
    Data:
        trim.height, neck.shoulder_height
    Formula:
        Definition: trimmed height minus shoulder height.
    To fix:
        Raise the trimmed height, or lower the shoulder.
    """
    yield Measured(
        "format.trim.height",
        "trimmed height above the shoulder",
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
        A stage that does not reduce the diameter is a wrong number or a wrong die.
    Data:
        punch.neck_diameter, neck.diameters, neck.plug_diameter
    Formula:
        Definition: diameter minus the next diameter.
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
    """Shoulder radius, cone and neck radius fit between body and plug diameter.

    Why:
        If the two radii use up the reduction, no cone is left at the neck angle. The finished neck then
        differs from its drawing.
    Data:
        neck.shoulder_radius, neck.neck_radius, neck.angle, neck.plug_diameter, punch.neck_diameter
    Formula:
        kb.process.profile.NeckSizes.cone_run
    To fix:
        Reduce one of the radii, or the angle.
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
        The lip outside the bend becomes the body hook. Without a lip there is no hook.
    Data:
        flange.width, flange.radius, flange.angle
    Formula:
        kb.process.profile.FlangeSizes.lip_run
    To fix:
        Widen the flange, or reduce the radius under it.
    """
    sizes = flange_sizes(case, neck_wall=case.format.targets.thick_wall)
    yield Measured("format.flange.width", "straight lip outside the bend", sizes.lip_run, least=0.0)


@rule(
    "flange.above-shoulder",
    unit="mm",
    reads="case",
    limit="spec",
    levers=("format.flange.finished_height", "format.neck.shoulder_height"),
)
def flange_above_shoulder(case: Case) -> Iterator[Measured]:
    """The finished height is above the start of the neck.

    Why:
        Neck and flange are between the two heights. A finished height below the shoulder belongs to
        another can.
    Data:
        flange.finished_height, neck.shoulder_height
    Formula:
        Definition.
    To fix:
        Correct the wrong height.
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
        The hooks are inside the seam. A hook longer than the room inside is a wrong number.
    Data:
        seam.length, seam.body_hook, seam.end_hook, end gauge
    Formula:
        Definition: body hook against seam length minus two end thicknesses; end hook against seam
        length minus one.
    To fix:
        Correct the hook, or the seam length.
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
