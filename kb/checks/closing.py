"""Checks on end, seam, contents, strength, mass and pallet."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from kb.checks.rule import Default, Measured, rule
from kb.process import pallet, size_code
from kb.route.stations import Route

_HOOKS = ("format.seam.body_hook", "format.seam.end_hook", "format.seam.length")


@rule("seam.overlap", unit="mm", waivable=False, levers=_HOOKS)
def seam_overlap(route: Route) -> Iterator[Measured]:
    """The hooks overlap far enough.

    Why:
        The overlap holds end and body together against the pressure.
    Data:
        seam.body_hook, seam.end_hook, seam.length, end gauge
    Formula:
        kb.process.seam.overlap
    To fix:
        Use longer hooks or a shorter seam.
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
    """The overlap is a sufficient percentage of the maximum possible overlap.

    Why:
        The same overlap holds less in a long seam than in a short one.
    Data:
        seam.body_hook, seam.end_hook, seam.length, end gauge, neck wall
    Formula:
        kb.process.seam.overlap_share
    To fix:
        Use longer hooks or a shorter seam.
    """
    yield Measured("format.seam.body_hook", "overlap ÷ maximum possible overlap", route.seam.overlap_share)


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
        If the body hook does not reach the compound, the compound does not seal.
    Data:
        seam.body_hook, seam.length, end gauge, flange edge thickness
    Formula:
        kb.process.seam.body_hook_butting
    To fix:
        Make the body hook longer: change the flange width or the base pressure.
    """
    yield Measured("format.seam.body_hook", "body hook butting", route.seam.butting)


@rule("seam.free-space", unit="mm", waivable=False, levers=("format.seam.thickness",))
def seam_free_space(route: Route) -> Iterator[Measured]:
    """The five layers are pressed together without crushing.

    Why:
        Too much free space makes a loose seam. Too little squeezes the compound out.
    Data:
        seam.thickness, end gauge, flange edge thickness
    Formula:
        kb.process.seam.free_space
    To fix:
        Change the seam thickness with the second operation roll.
    """
    yield Measured("format.seam.thickness", "free space in the seam", route.seam.free_space)


@rule("seam.thickness", unit="mm", severity="warning", levers=("format.seam.thickness",))
def seam_thickness(route: Route) -> Iterator[Measured]:
    """The seam thickness fits its five layers.

    Why:
        A seam thickness copied from another gauge makes a loose or crushed seam.
    Data:
        seam.thickness, end gauge, flange edge thickness, seam allowance setting
    Formula:
        kb.process.seam.thickness_target
    To fix:
        Set the thickness to the sum of the layers plus the seam allowance.
    """
    gap = route.case.format.seam.thickness - route.seam.thickness_target
    yield Measured("format.seam.thickness", "seam thickness minus thickness from its layers", gap)


@rule(
    "seam.hook-from-flange",
    unit="mm",
    severity="warning",
    levers=("format.flange.width", "format.seam.body_hook"),
)
def seam_hook_from_flange(route: Route) -> Iterator[Measured]:
    """The flange is wide enough for the body hook.

    Why:
        The flange is turned down to make the body hook. If only the flange width is changed, hooks are
        short or the seam droops.
    Data:
        flange.width, seam.body_hook, body hook loss setting
    Formula:
        Derived: flange width minus the loss in the first operation (plant setting).
    To fix:
        Change the flange width, or the target body hook.
    """
    gap = route.seam.hook_from_flange - route.case.format.seam.body_hook
    yield Measured("format.flange.width", "body hook from the flange minus target body hook", gap)


@rule("end.countersink-room", unit="mm", levers=("format.seam.length",))
def end_countersink_room(route: Route) -> Iterator[Measured]:
    """The countersink depth is greater than the seam length.

    Why:
        The chuck in the countersink must support the whole seam. Otherwise the rolls cannot press the
        lower part.
    Data:
        end countersink, seam.length
    Formula:
        Definition: countersink depth minus seam length.
    To fix:
        Use a shorter seam, or an end with a deeper countersink.
    """
    yield Measured("format.seam.length", "countersink depth minus seam length", route.seam.countersink_room)


@rule("end.chuck-fit", unit="mm", levers=("format.neck.plug_diameter",))
def end_chuck_fit(route: Route) -> Iterator[Measured]:
    """The plug diameter fits the seaming chuck.

    Why:
        A loose chuck skids. A tight chuck makes sharp or cut seams.
    Data:
        neck.plug_diameter, end chuck_diameter
    Formula:
        kb.process.seam.plug_chuck_clearance
    To fix:
        Correct the plug diameter, or use the chuck for this end.
    """
    yield Measured(
        "format.neck.plug_diameter", "plug diameter minus chuck diameter", route.seam.chuck_clearance
    )


@rule("end.code", unit="mm", severity="warning", levers=())
def end_code(route: Route) -> Iterator[Measured]:
    """The size code of the end fits its curl diameter.

    Why:
        A code is a name in inches and sixteenths, not a size. It differs from the diameter by a few
        millimetres. If it differs more, the code is wrong.
    Data:
        end code, end curl_diameter
    Formula:
        kb.process.size_code.nominal_mm
    To fix:
        Correct the code or the diameter in the file of the end.
    """
    yield Measured("end.code", "curl diameter minus nominal of the code", route.seam.code_gap)


@rule("format.body-code", unit="mm", severity="warning", levers=())
def format_body_code(route: Route) -> Iterator[Measured]:
    """The size code of the body fits its diameter.

    Why:
        A format copied from another diameter can keep the old code by mistake.
    Data:
        body, ironing.rings[].bore
    Formula:
        kb.process.size_code.nominal_mm
    To fix:
        Correct the code.
    """
    case = route.case
    outside = case.format.punch.wall_diameter + 2 * route.ironed[-1].thin
    yield Measured(
        "format.body",
        "nominal of the code minus body diameter",
        size_code.nominal_mm(code=case.format.body) - outside,
    )


@rule("end.rated-pressure", unit="MPa", show="kPa", limit="spec", waivable=False)
def end_rated_pressure(route: Route) -> Iterator[Measured]:
    """The end is rated for the design pressure of the plant.

    Why:
        Both the end and the dome must hold the design pressure. If one does not, the can opens or reverses.
    Data:
        end rated_pressure, plant design_pressure
    Formula:
        Definition.
    To fix:
        Choose an end with this rating.
    """
    yield Measured(
        "format.end",
        "rated pressure of the end",
        route.case.end.rated_pressure,
        least=route.case.plant.design_pressure,
        against="the plant's design pressure",
    )


@rule(
    "can.capacity",
    unit="mm3",
    show="ml",
    limit_unit="-",
    levers=("format.trim.height", "format.neck.shoulder_height"),
    default=Default(least=1.0, source="Definition: less does not hold the contents"),
)
def can_capacity(route: Route) -> Iterator[Measured]:
    """The closed can has room for its contents and a headspace.

    Why:
        Without headspace the end bulges when the can warms up.
    Data:
        all inside sizes, end countersink and panel, fill.contents
    Formula:
        Derived: volume inside the meridian of the finished body minus volume taken up by the end.
    To fix:
        Make the can taller.
    """
    contents = route.case.format.fill.contents
    yield Measured("format.fill.contents", "capacity of the closed can", route.filled.sealed, scale=contents)


@rule("can.headspace", unit="mm", limit="spec", levers=("format.trim.height", "format.neck.shoulder_height"))
def can_headspace(route: Route) -> Iterator[Measured]:
    """The fill level is at the distance from the flange that the filler is set for.

    Why:
        The filler fills to a height. If the capacity changes, the can is underfilled or spills.
    Data:
        all inside sizes, fill.contents, fill.headspace
    Formula:
        Derived: level at which the body holds the contents.
    To fix:
        Change the height of the can, or agree another fill level.
    """
    low, high = route.case.band("format.fill.headspace")
    yield Measured(
        "format.fill.headspace",
        "distance from flange to liquid",
        route.filled.headspace,
        least=low,
        most=high,
        against="its own tolerance",
    )


@rule(
    "can.warm-pressure",
    unit="MPa",
    show="kPa",
    limit_unit="-",
    waivable=False,
    levers=("format.fill.carbonation", "format.trim.height"),
    default=Default(most=1.0, source="Definition: the design pressure"),
)
def can_warm_pressure(route: Route) -> Iterator[Measured]:
    """The pressure in the warm can is below the design pressure.

    Why:
        The pressure of a carbonated drink rises with temperature. A can in the sun must not open by itself.
    Data:
        fill.carbonation, fill.nitrogen, fill.contents, headspace, plant warmest and design_pressure
    Formula:
        kb.process.gas.can_pressure
    To fix:
        Use less carbonation or more headspace.
    """
    design = route.case.plant.design_pressure
    yield Measured(
        "format.fill.carbonation",
        "pressure at the highest temperature",
        route.filled.warmest_pressure,
        scale=design,
        against="the plant's design pressure",
    )


@rule(
    "can.hoop-stress",
    unit="-",
    show="%",
    waivable=False,
    levers=("format.punch.wall_diameter",),
    default=Default(most=1.0, source="Definition: more yields the wall"),
)
def can_hoop_stress(route: Route) -> Iterator[Measured]:
    """The thin wall withstands the design pressure (estimate).

    Why:
        Dome and end are designed to fail before the wall. A wall stress near the strength means a wrong
        number.
    Data:
        targets.thin_wall, punch.wall_diameter, plant design_pressure, material hardening
    Formula:
        kb.process.strength.hoop_stress
    To fix:
        Use a thicker wall.
    """
    yield Measured(
        "format.targets.thin_wall", "hoop stress ÷ wall strength (estimate)", route.filled.hoop_share
    )


@rule(
    "can.axial-load",
    unit="N",
    show="kN",
    limit_unit="-",
    levers=("format.punch.wall_diameter",),
    default=Default(least=1.0, source="Definition: the target of the format"),
)
def can_axial_load(route: Route) -> Iterator[Measured]:
    """The empty can withstands the axial load of filler and seamer (estimate).

    Why:
        Empty cans are pressed upright on the line, in the seamer and on the pallet. A thin wall buckles.
    Data:
        targets.thin_wall, punch.wall_diameter, targets.axial_load, axial calibration setting
    Formula:
        kb.process.strength.axial_buckling_load
    To fix:
        Make the wall thicker: use a larger bore in the last ring or a smaller punch.
    """
    last = len(route.ironed) - 1
    yield Measured(
        "format.targets.axial_load",
        "axial load, empty (estimate)",
        route.strength.axial_empty,
        scale=route.case.format.targets.axial_load,
        against="what the format asks for",
        levers=(f"format.ironing.rings[{last}].bore", "format.punch.wall_diameter"),
    )


@rule("can.body-mass", unit="g", limit="spec")
def can_body_mass(route: Route) -> Iterator[Measured]:
    """The body weight is within its target.

    Why:
        The weight shows most quickly whether gauge, walls and height fit together.
    Data:
        stock.gauge, walls, base sizes, heights, targets.body_mass
    Formula:
        Derived: metal in the meridian of the finished body, without coatings.
    To fix:
        Correct the target, or find the changed dimension.
    """
    low, high = route.case.band("format.targets.body_mass")
    yield Measured(
        "format.targets.body_mass",
        "body weight",
        route.flanged.mass,
        least=low,
        most=high,
        against="the target's tolerance",
        levers=(_last_ring(route), "format.stock.gauge", "format.trim.height"),
    )


def _last_ring(route: Route) -> str:
    return f"format.ironing.rings[{len(route.ironed) - 1}].bore"


@rule("can.mass-balance", unit="-", show="%")
def can_mass_balance(route: Route) -> Iterator[Measured]:
    """The body weight from the tools agrees with the body weight from the targets.

    Why:
        Blank and tools give one body weight. Target walls and finished height give another. If they
        differ, one of the dimensions is wrong.
    Data:
        all sizes of the format
    Formula:
        Derived: body weight from the route ÷ body weight from the declared walls, minus 1.
    To fix:
        Check the walls and the finished height first, then the trimmed height.
    """
    nominal = route.flanged
    yield Measured(
        "format.flange.finished_height",
        "body weight from tools against targets, difference",
        nominal.mass / nominal.mass_declared - 1,
        levers=(_last_ring(route), "format.punch.neck_diameter", "format.trim.height"),
    )


@rule("can.nesting", unit="mm", severity="warning", levers=("format.dome.stand_diameter",))
def can_nesting(route: Route) -> Iterator[Measured]:
    """The stand fits inside the end of the can below.

    Why:
        Filled cans are stacked. A wide stand rests on the seam. A narrow stand moves sideways.
    Data:
        dome.stand_diameter, punch.nose_radius, neck.plug_diameter, end gauge
    Formula:
        Definition: plug diameter minus two end thicknesses minus outside diameter of the stand.
    To fix:
        Change the stand diameter. This changes dome and strength.
    """
    case = route.case
    outside = case.format.dome.stand_diameter + 2 * (case.format.punch.nose_radius + case.format.stock.gauge)
    room = case.format.neck.plug_diameter - 2 * case.end.gauge
    yield Measured("format.dome.stand_diameter", "stacking clearance", room - outside)


@rule("pallet.layer", unit="count", limit="spec", levers=("format.pallet.per_layer",))
def pallet_layer(route: Route) -> Iterator[Measured]:
    """The declared number of cans fits in a layer.

    Why:
        The palletizer pattern is set by number. One can too many crushes its neighbours.
    Data:
        pallet.per_layer, body diameter, plant pallet
    Formula:
        kb.process.pallet.best_layer
    To fix:
        Set the number that fits.
    """
    case, board = route.case, route.case.plant.pallet
    outside = float(np.ravel(case.format.ironing.rings[-1].bore)[0])
    length, width = (float(np.ravel(side + 2 * board.overhang)[0]) for side in (board.length, board.width))
    fits, pattern = pallet.best_layer(length=length, width=width, diameter=outside)
    yield Measured(
        "format.pallet.per_layer",
        "cans per layer",
        float(case.format.pallet.per_layer),
        most=float(fits),
        against=f"the number that fits, {pattern}",
    )


@rule("pallet.height", unit="mm", limit="spec", levers=("format.pallet.layers",))
def pallet_height(route: Route) -> Iterator[Measured]:
    """The loaded pallet is below the maximum height.

    Why:
        A higher pallet does not fit strapping machine, truck and rack.
    Data:
        pallet.layers, flange.finished_height, plant pallet
    Formula:
        Definition: pallet base, one layer of cans and one sheet for each layer, and a top sheet.
    To fix:
        Use one layer less.
    """
    case, board = route.case, route.case.plant.pallet
    layers = case.format.pallet.layers
    height = board.base + layers * (route.flanged.height + board.sheet) + board.sheet
    yield Measured(
        "format.pallet.layers", "pallet height", height, most=board.height, against="the plant's pallet"
    )
