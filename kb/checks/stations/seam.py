"""Checks of the seam and the end in it."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route

_HOOKS = ("format.seam.body_hook", "format.seam.end_hook", "format.seam.length")


@rule("seam.hooks-in-seam", "mm", limit="spec", waivable=False)
def seam_hooks_in_seam(case: Case) -> Iterator[Measured]:
    """Each hook is shorter than the seam.

    Why: The hooks are inside the seam. A hook longer than the room inside is a wrong number.
    Data: seam.length, seam.body_hook, seam.end_hook, end gauge
    Formula: Definition: body hook against seam length minus two end thicknesses; end hook against seam length
        minus one.
    To fix: Correct the hook, or the seam length.
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


@rule("seam.overlap", "mm", waivable=False, levers=_HOOKS)
def seam_overlap(route: Route) -> Iterator[Measured]:
    """The hooks overlap far enough.

    Why: The overlap holds end and body together against the pressure.
    Data: seam.body_hook, seam.end_hook, seam.length, end gauge
    Formula: kb.process.seam.overlap
    To fix: Use longer hooks or a shorter seam.
    """
    yield measured_result(route, "seam.overlap", "format.seam.body_hook", "seam overlap")


@rule(
    "seam.overlap-share",
    "-",
    show="%",
    waivable=False,
    levers=_HOOKS,
    least=0.45,
    source="45 % is commonly quoted for food cans, from memory",
)
def seam_overlap_share(route: Route) -> Iterator[Measured]:
    """The overlap is a sufficient percentage of the maximum possible overlap.

    Why: The same overlap holds less in a long seam than in a short one.
    Data: seam.body_hook, seam.end_hook, seam.length, end gauge, neck wall
    Formula: kb.process.seam.overlap_share
    To fix: Use longer hooks or a shorter seam.
    """
    yield measured_result(
        route, "seam.overlap_share", "format.seam.body_hook", "overlap ÷ maximum possible overlap"
    )


@rule(
    "seam.butting",
    "-",
    show="%",
    waivable=False,
    levers=("format.seam.body_hook", "format.seam.length"),
    least=0.7,
    source="70 % is commonly quoted, from memory",
)
def seam_butting(route: Route) -> Iterator[Measured]:
    """The body hook reaches deep enough into the seam.

    Why: If the body hook does not reach the compound, the compound does not seal.
    Data: seam.body_hook, seam.length, end gauge, flange edge thickness
    Formula: kb.process.seam.body_hook_butting
    To fix: Make the body hook longer: change the flange width or the base pressure.
    """
    yield measured_result(route, "seam.butting", "format.seam.body_hook", "body hook butting")


@rule("seam.free-space", "mm", waivable=False)
def seam_free_space(route: Route) -> Iterator[Measured]:
    """The five layers are pressed together without crushing.

    Why: Too much free space makes a loose seam. Too little squeezes the compound out.
    Data: seam.thickness, end gauge, flange edge thickness
    Formula: kb.process.seam.free_space
    To fix: Change the seam thickness with the second operation roll.
    """
    yield measured_result(route, "seam.free_space", "format.seam.thickness", "free space in the seam")


@rule("seam.thickness", "mm", severity="warning")
def seam_thickness(route: Route) -> Iterator[Measured]:
    """The seam thickness fits its five layers.

    Why: A seam thickness copied from another gauge makes a loose or crushed seam.
    Data: seam.thickness, end gauge, flange edge thickness, seam allowance setting
    Formula: kb.process.seam.thickness_target
    To fix: Set the thickness to the sum of the layers plus the seam allowance.
    """
    gap = route.case.format.seam.thickness - route.seam.thickness_target
    yield Measured("format.seam.thickness", "seam thickness minus thickness from its layers", gap)


@rule(
    "seam.hook-from-flange", "mm", severity="warning", levers=("format.flange.width", "format.seam.body_hook")
)
def seam_hook_from_flange(route: Route) -> Iterator[Measured]:
    """The flange is wide enough for the body hook.

    Why: The flange is turned down to make the body hook. If only the flange width is changed, hooks are short
        or the seam droops.
    Data: flange.width, seam.body_hook, body hook loss setting
    Formula: Derived: flange width minus the loss in the first operation (plant setting).
    To fix: Change the flange width, or the target body hook.
    """
    gap = route.seam.hook_from_flange - route.case.format.seam.body_hook
    yield Measured("format.flange.width", "body hook from the flange minus target body hook", gap)


@rule("end.countersink-room", "mm")
def end_countersink_room(route: Route) -> Iterator[Measured]:
    """The countersink depth is greater than the seam length.

    Why: The chuck in the countersink must support the whole seam. Otherwise the rolls cannot press the lower
        part.
    Data: end countersink, seam.length
    Formula: Definition: countersink depth minus seam length.
    To fix: Use a shorter seam, or an end with a deeper countersink.
    """
    yield measured_result(
        route, "seam.countersink_room", "format.seam.length", "countersink depth minus seam length"
    )


@rule("end.chuck-fit", "mm")
def end_chuck_fit(route: Route) -> Iterator[Measured]:
    """The plug diameter fits the seaming chuck.

    Why: A loose chuck skids. A tight chuck makes sharp or cut seams.
    Data: neck.plug_diameter, end chuck_diameter
    Formula: kb.process.seam.plug_chuck_clearance
    To fix: Correct the plug diameter, or use the chuck for this end.
    """
    yield measured_result(
        route, "seam.chuck_clearance", "format.neck.plug_diameter", "plug diameter minus chuck diameter"
    )


@rule("end.code", "mm", severity="warning")
def end_code(route: Route) -> Iterator[Measured]:
    """The size code of the end fits its curl diameter.

    Why: A code is a name in inches and sixteenths, not a size. It differs from the diameter by a few
        millimetres. If it differs more, the code is wrong.
    Data: end code, end curl_diameter
    Formula: kb.process.size_code.nominal_mm
    To fix: Correct the code or the diameter in the file of the end.
    """
    yield measured_result(route, "seam.code_gap", "end.code", "curl diameter minus nominal of the code")


@rule(
    "end.buckling",
    "MPa",
    show="kPa",
    limit_unit="-",
    severity="warning",
    levers=("end.gauge", "end.panel_diameter", "end.panel_height"),
    least=1.0,
    source="Definition: the rated pressure of the end",
    needs="strength",
)
def end_buckling(route: Route) -> Iterator[Measured]:
    """The end holds the pressure that it is rated for (estimate).

    Why: An end whose panel turns out jams in its tray and can open. The solver bends and yields the end as an
        axisymmetric shell. A real end buckles first at one place of the groove, at a lower pressure. So the
        value is an upper bound, and an estimate until trials of the plant calibrate it.
    Data: end sizes, end gauge, material yield_after_bake of the end, end rated_pressure, end calibration
    Formula: kb.process.shell.strength.pressure_curve; sizes as in kb.route.body.end_sizes
    To fix: Make the groove narrower: enlarge the panel diameter. Raise the panel or use a thicker end gauge.
        Correct the rated pressure, or calibrate on trials, where the end is proven.
    """
    rated = route.case.end.rated_pressure
    yield measured_result(
        route,
        "loose_end.buckling",
        "end.rated_pressure",
        "pressure at which the end buckles",
        scale=rated,
        against="the rated pressure of the end",
    )


@rule(
    "end.groove-room",
    "mm",
    levers=("end.panel_diameter",),
    least=0.0,
    source="Geometry: with less, the end does not close",
)
def end_groove_room(route: Route) -> Iterator[Measured]:
    """There is room for the groove between panel and chuck wall.

    Why: Panel wall, two countersink radii and chuck wall join without a kink. If panel, radius or slope is
        too large, they do not meet.
    Data: end panel_diameter, countersink_radius, countersink, chuck_wall_angle, chuck_diameter, gauge
    Formula: kb.route.body.end_sizes
    To fix: Correct the panel diameter, the countersink radius or the chuck wall angle.
    """
    yield measured_result(route, "loose_end.flat", "end.panel_diameter", "flat bottom of the countersink")


@rule("end.mass", "g", severity="warning", levers=("end.cut_edge", "end.mass"))
def end_mass(route: Route) -> Iterator[Measured]:
    """The end mass is that of its cut edge, with tab, coating and compound.

    Why: An end keeps the metal of its cut edge. If its mass does not fit, one of its numbers is wrong.
    Data: end cut_edge, gauge, mass, density of the end metal
    Formula: Derived: end mass minus cut edge area x gauge x density.
    To fix: Correct the cut edge, the gauge or the mass in the file of the end.
    """
    yield measured_result(route, "loose_end.added_mass", "end.mass", "tab, coating and compound of the end")


@rule("end.rated-pressure", "MPa", show="kPa", limit="spec", waivable=False)
def end_rated_pressure(route: Route) -> Iterator[Measured]:
    """The end is rated for the design pressure of the plant.

    Why: Both the end and the dome must hold the design pressure. If one does not, the can opens or reverses.
    Data: end rated_pressure, plant design_pressure
    Formula: Definition.
    To fix: Choose an end with this rating.
    """
    yield Measured(
        "format.end",
        "rated pressure of the end",
        route.case.end.rated_pressure,
        least=route.case.plant.design_pressure,
        against="the plant's design pressure",
    )
