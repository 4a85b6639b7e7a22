"""Checks of the seam and the end in it."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route

_HOOKS = ("format.seam.body_hook", "format.seam.end_hook", "format.seam.length")


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


@rule("seam.overlap", unit="mm", waivable=False, levers=_HOOKS)
def seam_overlap(route: Route) -> Iterator[Measured]:
    """The hooks overlap far enough.

    Why:
        The overlap is what holds end and body together against the pressure.
    Data:
        seam.body_hook, seam.end_hook, seam.length, end gauge
    Formula:
        kb.process.seam.overlap
    To fix:
        Longer hooks, or a shorter seam.
    """
    yield Measured("format.seam.body_hook", "seam overlap", route.seam.overlap)


@rule(
    "seam.overlap-share",
    unit="-",
    show="%",
    waivable=False,
    levers=_HOOKS,
    default=Default(least=0.45, source="45 % is commonly quoted for food cans, from memory"),
)
def seam_overlap_share(route: Route) -> Iterator[Measured]:
    """The overlap is enough of what the seam has room for.

    Why:
        The same overlap is much in a short seam and little in a long one.
    Data:
        seam.body_hook, seam.end_hook, seam.length, end gauge, neck wall
    Formula:
        kb.process.seam.overlap_share
    To fix:
        Longer hooks, or a shorter seam.
    """
    yield Measured("format.seam.body_hook", "overlap over what is possible", route.seam.overlap_share)


@rule(
    "seam.butting",
    unit="-",
    show="%",
    waivable=False,
    levers=("format.seam.body_hook", "format.seam.length"),
    default=Default(least=0.7, source="70 % is commonly quoted, from memory"),
)
def seam_butting(route: Route) -> Iterator[Measured]:
    """The body hook reaches deep enough into the seam.

    Why:
        A body hook that does not reach the compound leaves it idle.
    Data:
        seam.body_hook, seam.length, end gauge, flange edge thickness
    Formula:
        kb.process.seam.body_hook_butting
    To fix:
        A longer body hook, by flange width or base pressure.
    """
    yield Measured("format.seam.body_hook", "body hook butting", route.seam.butting)


@rule("seam.free-space", unit="mm", waivable=False, levers=("format.seam.thickness",))
def seam_free_space(route: Route) -> Iterator[Measured]:
    """The five layers are pressed together, not crushed.

    Why:
        Too much free space is a loose seam, too little squeezes the compound out.
    Data:
        seam.thickness, end gauge, flange edge thickness
    Formula:
        kb.process.seam.free_space
    To fix:
        Change the seam thickness by the second roll.
    """
    yield Measured("format.seam.thickness", "free space in the seam", route.seam.free_space)


@rule("seam.thickness", unit="mm", severity="warning", levers=("format.seam.thickness",))
def seam_thickness(route: Route) -> Iterator[Measured]:
    """The seam thickness is the one its five layers make.

    Why:
        A thickness copied from another gauge looks right on paper and is loose on the can.
    Data:
        seam.thickness, end gauge, flange edge thickness, seam allowance setting
    Formula:
        kb.process.seam.thickness_target
    To fix:
        Write the thickness the layers give.
    """
    gap = route.case.format.seam.thickness - route.seam.thickness_target
    yield Measured("format.seam.thickness", "seam thickness less what its layers make", gap)


@rule(
    "seam.hook-from-flange",
    unit="mm",
    severity="warning",
    levers=("format.flange.width", "format.seam.body_hook"),
)
def seam_hook_from_flange(route: Route) -> Iterator[Measured]:
    """The flange is as wide as the body hook needs.

    Why:
        The body hook is the flange turned down; a flange changed alone shows as short hooks or droop.
    Data:
        flange.width, seam.body_hook, body hook loss setting
    Formula:
        Derived: flange width less the plant's loss in the first operation.
    To fix:
        Change the flange width, or the body hook that is asked for.
    """
    gap = route.seam.hook_from_flange - route.case.format.seam.body_hook
    yield Measured("format.flange.width", "body hook the flange makes less the one asked for", gap)


@rule("end.countersink-room", unit="mm", levers=("format.seam.length",))
def end_countersink_room(route: Route) -> Iterator[Measured]:
    """The countersink is deeper than the seam is long.

    Why:
        The chuck fills the countersink and backs the whole seam.
    Data:
        end countersink, seam.length
    Formula:
        Definition: countersink less seam length.
    To fix:
        A shorter seam, or an end with a deeper countersink.
    """
    yield Measured("format.seam.length", "countersink less seam length", route.seam.countersink_room)


@rule("end.chuck-fit", unit="mm", levers=("format.neck.plug_diameter",))
def end_chuck_fit(route: Route) -> Iterator[Measured]:
    """Plug diameter and seaming chuck belong together.

    Why:
        A loose chuck skids, a tight one cuts: sharp seams.
    Data:
        neck.plug_diameter, end chuck_diameter
    Formula:
        kb.process.seam.plug_chuck_clearance
    To fix:
        Correct the plug diameter, or use the chuck for this end.
    """
    yield Measured("format.neck.plug_diameter", "plug less chuck diameter", route.seam.chuck_clearance)


@rule("end.code", unit="mm", severity="warning", levers=())
def end_code(route: Route) -> Iterator[Measured]:
    """The end's size code and its curl diameter belong together.

    Why:
        A code is a name in inches and sixteenths, not a size, yet the two stay a few millimetres apart;
        more is a wrong code.
    Data:
        end code, end curl_diameter
    Formula:
        kb.process.size_code.nominal_mm
    To fix:
        Correct the code or the diameter in the end's file.
    """
    yield Measured("end.code", "curl diameter less the code's nominal", route.seam.code_gap)


@rule("end.rated-pressure", unit="MPa", show="kPa", limit="spec", waivable=False)
def end_rated_pressure(route: Route) -> Iterator[Measured]:
    """The end is rated for the plant's design pressure.

    Why:
        The end buckles before or after the dome; both have to hold what the can is designed for.
    Data:
        end rated_pressure, plant design_pressure
    Formula:
        Definition.
    To fix:
        Choose an end with the rating.
    """
    yield Measured(
        "format.end",
        "rated pressure of the end",
        route.case.end.rated_pressure,
        least=route.case.plant.design_pressure,
        against="the plant's design pressure",
    )
