"""Checks of the can as a whole: code, contents, pressure, strength and weight."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.process import size_code
from kb.route.stations import Route


def _last_ring(route: Route) -> str:
    return f"format.ironing.rings[{len(route.ironed) - 1}].bore"


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
        targets.thin_wall, punch.wall_diameter, plant design_pressure, material hardening
    Formula:
        kb.process.strength.hoop_stress
    To fix:
        A thicker wall.
    """
    yield Measured(
        "format.targets.thin_wall", "hoop stress over wall strength (estimate)", route.filled.hoop_share
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
