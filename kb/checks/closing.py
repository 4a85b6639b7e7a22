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


@rule("format.body-code", unit="mm", severity="warning", levers=())
def format_body_code(route: Route) -> Iterator[Measured]:
    """The body's size code and its diameter belong together.

    Why:
        A format copied from another diameter keeps its code by mistake.
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
        "the code's nominal less body diameter",
        size_code.nominal_mm(code=case.format.body) - outside,
    )


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


@rule(
    "can.capacity",
    unit="mm3",
    show="ml",
    limit_unit="-",
    levers=("format.trim.height", "format.neck.shoulder_height"),
    default=Default(least=1.0, source="Definition: less does not hold the contents"),
)
def can_capacity(route: Route) -> Iterator[Measured]:
    """The closed can holds its contents and a headspace.

    Why:
        Without headspace the end bulges as soon as the can warms up.
    Data:
        all inside sizes, end countersink and panel, fill.contents
    Formula:
        Derived: volume inside the finished body's meridian less what the end takes.
    To fix:
        A taller can.
    """
    contents = route.case.format.fill.contents
    yield Measured("format.fill.contents", "room in the closed can", route.filled.sealed, scale=contents)


@rule("can.headspace", unit="mm", limit="spec", levers=("format.trim.height", "format.neck.shoulder_height"))
def can_headspace(route: Route) -> Iterator[Measured]:
    """The liquid stands as far below the flange as the filler expects.

    Why:
        The filler fills to a height; a can whose room moved fills short or spills.
    Data:
        all inside sizes, fill.contents, fill.headspace
    Formula:
        Derived: level at which the body's meridian encloses the contents.
    To fix:
        Change the height, or agree another fill level.
    """
    low, high = route.case.band("format.fill.headspace")
    yield Measured(
        "format.fill.headspace",
        "flange to liquid",
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
    """The warm can stays below the pressure it is designed for.

    Why:
        Carbonation drives the pressure up with every degree; a can left in the sun must not open by
        itself.
    Data:
        fill.carbonation, fill.nitrogen, fill.contents, headspace, plant warmest and design_pressure
    Formula:
        kb.process.gas.can_pressure
    To fix:
        Less carbonation or more headspace.
    """
    design = route.case.plant.design_pressure
    yield Measured(
        "format.fill.carbonation",
        "pressure at the warmest",
        route.filled.warmest_pressure,
        scale=design,
        against="the plant's design pressure",
    )


@rule(
    "can.hot-pressure",
    unit="MPa",
    show="kPa",
    waivable=False,
    levers=("format.fill.carbonation", "format.trim.height"),
    default=Default(most=0.758, source="About 110 psi in a hot car, Machine Design 2009"),
)
def can_hot_pressure(route: Route) -> Iterator[Measured]:
    """The hot can stays below the pressure that the plant allows it.

    Why:
        A pasteuriser or a car in the sun heats the can beyond the warmest store. The dome can reverse, the
        end can open and injure people.
    Data:
        fill.carbonation, fill.nitrogen, fill.contents, headspace, hot temperature setting
    Formula:
        kb.process.gas.can_pressure
    To fix:
        Less carbonation or more headspace.
    """
    yield Measured("format.fill.carbonation", "pressure in the hot can", route.filled.hot_pressure)


@rule(
    "can.hoop-stress",
    unit="-",
    show="%",
    waivable=False,
    levers=("format.punch.wall_diameter",),
    default=Default(most=1.0, source="Definition: more yields the wall"),
)
def can_hoop_stress(route: Route) -> Iterator[Measured]:
    """The thin wall bears the design pressure (estimate).

    Why:
        Dome and end are meant to give first; a wall near its strength is a gross error in a number.
    Data:
        targets.thin_wall, punch.wall_diameter, plant design_pressure, material hardening and yields
    Formula:
        kb.process.strength.hoop_stress against kb.process.strength.baked_strength
    To fix:
        A thicker wall.
    """
    yield Measured(
        "format.targets.thin_wall", "hoop stress over baked wall strength (estimate)", route.filled.hoop_share
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
    """The empty can bears the filler's and seamer's load (estimate).

    Why:
        Cans are pressed upright on the line, in the seamer and on the pallet before they are full.
    Data:
        targets.thin_wall, punch.wall_diameter, targets.axial_load, axial calibration setting
    Formula:
        kb.process.strength.axial_buckling_load
    To fix:
        A thicker wall: a larger last ring or a smaller punch.
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
    """The body weighs what its target says.

    Why:
        The scale is the quickest proof that gauge, walls and height belong together.
    Data:
        stock.gauge, walls, base sizes, heights, targets.body_mass
    Formula:
        Derived: metal in the finished body's meridian; coatings are not counted.
    To fix:
        Correct the target, or find the size that moved.
    """
    low, high = route.case.band("format.targets.body_mass")
    yield Measured(
        "format.targets.body_mass",
        "body mass",
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
    """Tools and targets tell of the same metal.

    Why:
        The blank through the rings gives one body mass, the target walls and the finished height
        another. It is the one check that ties all sizes together.
    Data:
        all sizes of the format
    Formula:
        Derived: body mass from the route over body mass from the declared walls, less one.
    To fix:
        Look at the walls and the finished height first; then at the trim height.
    """
    nominal = route.flanged
    yield Measured(
        "format.flange.finished_height",
        "body mass by tools over that by targets, less one",
        nominal.mass / nominal.mass_declared - 1,
        levers=(_last_ring(route), "format.punch.neck_diameter", "format.trim.height"),
    )


@rule("can.nesting", unit="mm", severity="warning", levers=("format.dome.stand_diameter",))
def can_nesting(route: Route) -> Iterator[Measured]:
    """The stand nests inside the end of the can below.

    Why:
        Filled cans stack on one another; a stand too wide rides on the seam, one too narrow wanders.
    Data:
        dome.stand_diameter, punch.nose_radius, neck.plug_diameter, end gauge
    Formula:
        Definition: plug less two end thicknesses less outside of the stand.
    To fix:
        Change the stand diameter, which moves dome and strength.
    """
    case = route.case
    outside = case.format.dome.stand_diameter + 2 * (case.format.punch.nose_radius + case.format.stock.gauge)
    room = case.format.neck.plug_diameter - 2 * case.end.gauge
    yield Measured("format.dome.stand_diameter", "room for the stand in the end below", room - outside)


@rule("pallet.layer", unit="count", limit="spec", levers=("format.pallet.per_layer",))
def pallet_layer(route: Route) -> Iterator[Measured]:
    """A layer holds as many cans as are declared, and not far fewer than fit.

    Why:
        The palletizer's pattern is set by count. One can too many crushes its neighbours. A layer with room
        to spare shifts on the truck.
    Data:
        pallet.per_layer, body diameter, plant pallet; settings for outside coating, gap and least fill
    Formula:
        kb.process.pallet.best_layer, for the coated body and the gap from can to can
    To fix:
        Declare the count that fits.
    """
    case, board, setting = route.case, route.case.plant.pallet, route.case.setting
    outside = route.domed.body_outside + 2 * setting["outside-coating"] + setting["pallet-can-gap"]
    length, width, pitch = (
        float(np.ravel(size)[0])
        for size in (board.length + 2 * board.overhang, board.width + 2 * board.overhang, outside)
    )
    fits, pattern = pallet.best_layer(length=length, width=width, diameter=pitch)
    yield Measured(
        "format.pallet.per_layer",
        "cans per layer",
        float(case.format.pallet.per_layer),
        least=float(np.ceil(fits * float(np.ravel(setting["pallet-least-fill"])[0]))),
        most=float(fits),
        against=f"what fits, {pattern}",
    )


@rule("pallet.height", unit="mm", limit="spec", levers=("format.pallet.layers",))
def pallet_height(route: Route) -> Iterator[Measured]:
    """The stacked pallet stays below the height that passes.

    Why:
        Strapping, truck and rack all end at one height.
    Data:
        pallet.layers, flange.finished_height, plant pallet
    Formula:
        Definition: base, then a layer of cans and a sheet for each layer, and a top sheet.
    To fix:
        One layer less.
    """
    case, board = route.case, route.case.plant.pallet
    layers = case.format.pallet.layers
    height = board.base + layers * (route.flanged.height + board.sheet) + board.sheet
    yield Measured(
        "format.pallet.layers", "pallet height", height, most=board.height, against="the plant's pallet"
    )
