"""Checks of the can as a whole: code, contents, pressure, strength and weight."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.process import size_code
from kb.route.stations import Route


def _last_ring(route: Route) -> str:
    return f"format.ironing.rings[{len(route.ironed) - 1}].bore"


@rule("format.body-code", "mm", severity="warning")
def format_body_code(route: Route) -> Iterator[Measured]:
    """The size code of the body fits its diameter.

    Why: A format copied from another diameter can keep the old code by mistake.
    Data: body, ironing.rings[].bore
    Formula: kb.process.size_code.nominal_mm
    To fix: Correct the code.
    """
    case = route.case
    outside = case.format.punch.wall_diameter + 2 * route.ironed[-1].thin
    yield Measured(
        "format.body",
        "nominal of the code minus body diameter",
        size_code.nominal_mm(code=case.format.body) - outside,
    )


@rule(
    "can.capacity",
    "mm3",
    show="ml",
    limit_unit="-",
    levers=("format.trim.height", "format.neck.shoulder_height"),
    least=1.0,
    source="Definition: less does not hold the contents",
)
def can_capacity(route: Route) -> Iterator[Measured]:
    """The closed can has room for its contents and a headspace.

    Why: Without headspace the end bulges when the can warms up.
    Data: all inside sizes, end countersink and panel, fill.contents
    Formula: Derived: volume inside the meridian of the finished body minus volume taken up by the end.
    To fix: Make the can taller.
    """
    contents = route.case.format.fill.contents
    yield measured_result(
        route, "filled.sealed", "format.fill.contents", "capacity of the closed can", scale=contents
    )


@rule("can.headspace", "mm", limit="spec", levers=("format.trim.height", "format.neck.shoulder_height"))
def can_headspace(route: Route) -> Iterator[Measured]:
    """The fill level is at the distance from the flange that the filler is set for.

    Why: The filler fills to a height. If the capacity changes, the can is underfilled or spills.
    Data: all inside sizes, fill.contents, fill.headspace
    Formula: Derived: level at which the body holds the contents.
    To fix: Change the height of the can, or agree another fill level.
    """
    low, high = route.case.band("format.fill.headspace")
    yield measured_result(
        route,
        "filled.headspace",
        "format.fill.headspace",
        "distance from flange to liquid",
        least=low,
        most=high,
        against="its own tolerance",
    )


@rule(
    "can.warm-pressure",
    "MPa",
    show="kPa",
    limit_unit="-",
    waivable=False,
    levers=("format.fill.carbonation", "format.trim.height"),
    most=1.0,
    source="Definition: the design pressure",
)
def can_warm_pressure(route: Route) -> Iterator[Measured]:
    """The pressure in the warm can is below the design pressure.

    Why: The pressure of a carbonated drink rises with temperature. A can in the sun must not open by itself.
    Data: fill.carbonation, fill.nitrogen, fill.contents, headspace, plant warmest and design_pressure
    Formula: kb.process.gas.can_pressure
    To fix: Use less carbonation or more headspace.
    """
    design = route.case.plant.design_pressure
    yield measured_result(
        route,
        "filled.warmest_pressure",
        "format.fill.carbonation",
        "pressure at the highest temperature",
        scale=design,
        against="the plant's design pressure",
    )


@rule(
    "can.hot-pressure",
    "MPa",
    show="kPa",
    waivable=False,
    levers=("format.fill.carbonation", "format.trim.height"),
    most=0.758,
    source="Hot car 110 psi, Machine Design, 9 December 2009; as a limit, common practice, no source",
)
def can_hot_pressure(route: Route) -> Iterator[Measured]:
    """The pressure in the hot can is below the maximum of the plant.

    Why: A pasteuriser or a car in the sun heats the can above the highest temperature in store. The dome
        reverses or the end opens, and people are injured.
    Data: fill.carbonation, fill.nitrogen, fill.contents, headspace, hot temperature setting
    Formula: kb.process.gas.can_pressure
    To fix: Use less carbonation or more headspace.
    """
    yield measured_result(route, "filled.hot_pressure", "format.fill.carbonation", "pressure in the hot can")


@rule(
    "can.hoop-stress",
    "-",
    show="%",
    waivable=False,
    levers=("format.punch.wall_diameter",),
    most=1.0,
    source="Definition: more yields the wall",
)
def can_hoop_stress(route: Route) -> Iterator[Measured]:
    """The thin wall withstands the design pressure (estimate).

    Why: Dome and end are designed to fail before the wall. A wall stress near the strength means a wrong
        number.
    Data: targets.thin_wall, punch.wall_diameter, plant design_pressure, material hardening and yield
        strengths
    Formula: kb.process.strength.hoop_stress against kb.process.strength.baked_strength
    To fix: Use a thicker wall.
    """
    yield measured_result(
        route, "filled.hoop_share", "format.targets.thin_wall", "hoop stress ÷ baked wall strength"
    )


@rule(
    "can.axial-load",
    "N",
    show="kN",
    limit_unit="-",
    least=1.0,
    source="Definition: the target of the format",
    needs="strength",
    without=" of base and shoulder",
)
def can_axial_load(route: Route) -> Iterator[Measured]:
    """The empty can withstands the axial load of filler and seamer (estimate).

    Why: Empty cans are pressed upright on the line, in the seamer and on the pallet. A thin wall buckles, the
        base gives way on its stand, or the shoulder folds. The weakest part governs.
    Data: targets.thin_wall, punch.wall_diameter, base sizes, stock.gauge, targets.axial_load, the settings
        axial, base load and shoulder load calibration, and stand friction
    Formula: kb.process.strength.axial_buckling_load for the wall; kb.process.shell.strength.plate_curve for
        the base and axial_curve for the shoulder, as for dome.reversal. Both need sizebook[strength].
    To fix: Wall: use a larger bore in the last ring or a smaller punch. Base: enlarge the chime radius.
        Shoulder: use a thicker wall in the neck.
    """
    last = len(route.ironed) - 1
    for part, value, levers in (
        (
            "wall",
            route.strength.wall_empty,
            (f"format.ironing.rings[{last}].bore", "format.punch.wall_diameter"),
        ),
        ("base", route.strength.base_empty, ("format.punch.chime_radius", "format.punch.chime_angle")),
        (
            "shoulder",
            route.strength.shoulder_empty,
            ("format.neck.shoulder_radius", "format.punch.neck_diameter"),
        ),
    ):
        if value is not None:
            yield Measured(
                "format.targets.axial_load",
                f"axial load of the {part}, empty",
                value,
                result=f"strength.{part}_empty",
                scale=route.case.format.targets.axial_load,
                against="the target of the format",
                levers=levers,
            )


@rule("can.body-mass", "g", limit="spec")
def can_body_mass(route: Route) -> Iterator[Measured]:
    """The body weight is within its target.

    Why: The weight shows most quickly whether gauge, walls and height fit together.
    Data: stock.gauge, walls, base sizes, heights, targets.body_mass
    Formula: Derived: metal in the meridian of the finished body, without coatings.
    To fix: Correct the target, or find the changed dimension.
    """
    low, high = route.case.band("format.targets.body_mass")
    yield measured_result(
        route,
        "flanged.mass",
        "format.targets.body_mass",
        "body weight",
        least=low,
        most=high,
        against="the target's tolerance",
        levers=(_last_ring(route), "format.stock.gauge", "format.trim.height"),
    )


@rule("can.mass-balance", "-", show="%")
def can_mass_balance(route: Route) -> Iterator[Measured]:
    """The body weight from the tools agrees with the body weight from the targets.

    Why: Blank and tools give one body weight. Target walls and finished height give another. If they differ,
        one of the dimensions is wrong.
    Data: all sizes of the format
    Formula: Derived: body weight from the route ÷ body weight from the declared walls, minus 1.
    To fix: Check the walls and the finished height first, then the trimmed height.
    """
    nominal = route.flanged
    yield Measured(
        "format.flange.finished_height",
        "body weight from tools against targets, difference",
        nominal.mass / nominal.mass_declared - 1,
        levers=(_last_ring(route), "format.punch.neck_diameter", "format.trim.height"),
    )


@rule("can.nesting", "mm", severity="warning")
def can_nesting(route: Route) -> Iterator[Measured]:
    """The stand fits inside the end of the can below.

    Why: Filled cans are stacked. A wide stand rests on the seam. A narrow stand moves sideways.
    Data: dome.stand_diameter, punch.nose_radius, neck.plug_diameter, end gauge
    Formula: Definition: plug diameter minus two end thicknesses minus outside diameter of the stand.
    To fix: Change the stand diameter. This changes dome and strength.
    """
    case = route.case
    outside = case.format.dome.stand_diameter + 2 * (case.format.punch.nose_radius + case.format.stock.gauge)
    room = case.format.neck.plug_diameter - 2 * case.end.gauge
    yield Measured("format.dome.stand_diameter", "stacking clearance", room - outside)
