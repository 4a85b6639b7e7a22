"""What a route says of each station: frozen, complete, in process order."""

from __future__ import annotations

from dataclasses import dataclass

from kb.process.meridian import Meridian
from kb.route.case import Case
from kb.route.result import result
from kb.units import (
    Deg,
    DegC,
    Gram,
    Joule,
    Metre,
    Mm,
    Mm2,
    Mm3,
    MPa,
    N,
    Ratio,
)


@dataclass(frozen=True, slots=True)
class Blank:
    """The disc, and the coil it is cut from."""

    volume: Mm3 = result("metal in the blank")
    mass: Gram = result("blank mass")
    pitch: Mm = result("feed pitch")
    strip_width: Mm = result("strip width")
    utilisation: Ratio = result("coil used as blanks", "%")
    coil_mass: Gram = result("coil per 1000 cans", "kg")
    coil_length: Metre = result("coil length per 1000 cans")
    skeleton_mass: Gram = result("skeleton scrap per 1000 cans", "kg")
    cutting_force: N = result("blanking force, one blank", "kN")
    clearance_share: Ratio = result("cut-edge clearance over gauge", "%")


@dataclass(frozen=True, slots=True)
class Cup:
    """The drawn cup."""

    shape: Meridian
    draw_ratio: Ratio = result("draw ratio")
    reduction: Ratio = result("draw reduction", "%")
    limit_by_anisotropy: Ratio = result("limiting draw ratio by strain ratio (estimate)")
    limit_by_thickness: Ratio = result("limiting draw ratio by relative thickness (estimate)")
    relative_gauge: Ratio = result("gauge over blank diameter", "%")
    height: Mm = result("cup height, mean")
    ear: Mm = result("ears, peak to valley")
    rim: Mm = result("thickness at the rim")
    outside: Mm = result("cup outside diameter, at the rim")
    hoop_strain: Ratio = result("hoop strain at the rim")
    clearance: Mm = result("draw clearance")
    clearance_over_gauge: Ratio = result("draw clearance over gauge")
    die_radius_over_gauge: Ratio = result("draw die radius over gauge")
    punch_radius_over_gauge: Ratio = result("cup punch radius over gauge")
    drawing_force: N = result("drawing force", "kN")
    holder_pressure: MPa = result("blank-holder pressure")
    holder_force: N = result("blank-holder force, by that pressure", "kN")
    holder_force_by_yield: N = result("blank-holder force, by yield strength (thick sheet)", "kN")
    press_force: N = result("press force, all cups across", "kN")


@dataclass(frozen=True, slots=True)
class Redrawn:
    """The cup drawn to the bodymaker punch."""

    shape: Meridian
    draw_ratio: Ratio = result("redraw ratio")
    reduction: Ratio = result("redraw reduction", "%")
    total_ratio: Ratio = result("blank to punch draw ratio")
    height: Mm = result("redrawn height, mean")
    rim: Mm = result("thickness at the rim")
    clearance: Mm = result("redraw clearance")
    clearance_over_gauge: Ratio = result("redraw clearance over gauge")
    die_radius_over_gauge: Ratio = result("redraw die radius over gauge")
    nose_radius_over_gauge: Ratio = result("punch nose radius over gauge")
    drawing_force: N = result("redraw force", "kN")


@dataclass(frozen=True, slots=True)
class Ironed:
    """The wall after one ring."""

    shape: Meridian
    gap: Mm = result("cold gap, ring to punch")
    growth: Mm = result("ring growth and heat, on the wall")
    thin: Mm = result("thin wall")
    thick: Mm = result("thick wall")
    spare: Mm = result("wall that comes above the step, less the gap there")
    reduction: Ratio = result("reduction, thin wall", "%")
    thick_reduction: Ratio = result("reduction, thick wall", "%")
    strain: Ratio = result("thickness strain")
    exit_stress: MPa = result("wall stress at the ring's exit")
    exit_strength: MPa = result("strength of the exiting wall")
    stress_share: Ratio = result("exit stress over strength", "%")
    force: N = result("ironing force", "kN")
    height: Mm = result("height, mean")
    engaged_from: Mm = result("ram travel at which the ring takes the wall")
    engaged_to: Mm = result("ram travel at which the wall leaves the ring")


@dataclass(frozen=True, slots=True)
class Stroke:
    """The ironing stroke as a whole."""

    total_reduction: Ratio = result("total ironing reduction, thin wall", "%")
    thick_total_reduction: Ratio = result("total ironing reduction, thick wall", "%")
    peak_force: N = result("greatest ironing force, rings together", "kN")
    work: Joule = result("ironing work, one can")
    rings_together: Ratio = result("rings on the wall at once, at most")


@dataclass(frozen=True, slots=True)
class Domed:
    """The can as it leaves the bodymaker."""

    shape: Meridian
    base: Meridian
    wall: Mm = result("dome thickness")
    stretch: Ratio = result("dome stretch over the flat bottom", "%")
    thinning: Ratio = result("dome thinning", "%")
    edge_angle: Deg = result("slope at the dome's edge")
    leg_length: Mm = result("straight inner leg")
    depth_share: Ratio = result("dome depth over stand diameter")
    body_outside: Mm = result("body outside diameter, on the straight wall")
    mouth_inside: Mm = result("can inside diameter, at the mouth")
    height: Mm = result("untrimmed height, mean")
    ear: Mm = result("ears, peak to valley")
    valley: Mm = result("height at the ear valleys")
    peak: Mm = result("height at the ear peaks")
    base_mass: Gram = result("metal in the base")


@dataclass(frozen=True, slots=True)
class Trimmed:
    """The can cut to height."""

    shape: Meridian
    allowance: Mm = result("trim allowance at the ear valleys")
    mean_allowance: Mm = result("trim allowance, mean")
    peak_allowance: Mm = result("trim allowance at the ear peaks")
    trim_mass: Gram = result("trim scrap per 1000 cans", "kg")
    trim_share: Ratio = result("metal trimmed off", "%")
    blank_needed: Mm = result("smallest blank whose ear valleys reach the trim height")


@dataclass(frozen=True, slots=True)
class NeckStage:
    """One pass of the necker."""

    diameter: Mm = result("inside diameter")
    die_bore: Mm = result("die bore")
    pilot: Mm = result("pilot diameter")
    wall: Mm = result("wall")
    wall_low: Mm = result("wall, free to lengthen")
    wall_high: Mm = result("wall, at fixed length")
    reduction: Ratio = result("diameter reduction", "%")
    stress: MPa = result("axial stress to push the neck")
    buckling_share: Ratio = result("axial stress over wall buckling (estimate)", "%")
    force: N = result("pushing force", "kN")


@dataclass(frozen=True, slots=True)
class Flanged:
    """The finished body: necked and flanged."""

    shape: Meridian
    straight: Mm = result("straight neck below the flange")
    height: Mm = result("finished height")
    height_gap: Mm = result("finished height less its target")
    flange_diameter: Mm = result("flange diameter")
    edge_strain: Ratio = result("flange edge strain", "%")
    edge_wall: Mm = result("flange edge thickness")
    neck_wall: Mm = result("neck wall")
    curl_clearance: Mm = result("end curl opening less flange diameter")
    mass: Gram = result("body mass")
    mass_declared: Gram = result("body mass from the declared walls")


@dataclass(frozen=True, slots=True)
class Seam:
    """The double seam of body and end."""

    overlap: Mm = result("overlap")
    overlap_share: Ratio = result("overlap over what is possible", "%")
    free_space: Mm = result("free space")
    thickness_target: Mm = result("seam thickness expected")
    butting: Ratio = result("body hook butting", "%")
    hook_from_flange: Mm = result("body hook to expect from the flange")
    chuck_clearance: Mm = result("plug less seaming chuck")
    countersink_room: Mm = result("countersink less seam length")
    code_gap: Mm = result("curl diameter less the code's nominal")


@dataclass(frozen=True, slots=True)
class Filled:
    """The can filled and closed."""

    brimful: Mm3 = result("brimful capacity", "ml")
    sealed: Mm3 = result("room in the closed can", "ml")
    headspace_volume: Mm3 = result("headspace", "ml")
    headspace_share: Ratio = result("headspace over contents", "%")
    fill_level: Mm = result("fill height above the stand")
    headspace: Mm = result("flange top to liquid")
    finished_mass: Gram = result("body and end")
    hoop_stress: MPa = result("hoop stress in the thin wall at design pressure")
    hoop_share: Ratio = result("hoop stress over wall strength", "%")
    fill_pressure: MPa = result("pressure when just filled", "kPa")
    room_pressure: MPa = result("pressure at 20 °C", "kPa")
    warmest_pressure: MPa = result("pressure at the warmest", "kPa")


@dataclass(frozen=True, slots=True)
class Strength:
    """Estimates of strength; labelled so until the plant has calibrated them."""

    reversal: MPa = result("dome reversal, scaled from the plant's trial (estimate)", "kPa")
    reversal_cap_low: MPa = result("dome reversal, spherical-cap lower bound (estimate)", "kPa")
    reversal_cap_high: MPa = result("dome reversal, perfect sphere (estimate)", "kPa")
    reversal_flat: MPa = result("dome reversal, flat clamped plate (estimate)", "kPa")
    axial_empty: N = result("axial load, empty (estimate)", "kN")
    axial_full: N = result("axial load at room pressure (estimate)", "kN")
    knock_down: Ratio = result("knock-down of the wall's buckling load")


@dataclass(frozen=True, slots=True)
class Route:
    """One format taken through every station."""

    case: Case
    blank: Blank
    cup: Cup
    redrawn: Redrawn
    ironed: tuple[Ironed, ...]
    stroke: Stroke
    domed: Domed
    trimmed: Trimmed
    necked: tuple[NeckStage, ...]
    flanged: Flanged
    seam: Seam
    filled: Filled
    strength: Strength


@dataclass(frozen=True, slots=True)
class Pressure:
    """Inside pressure at one temperature."""

    temperature: DegC = result("temperature")
    gauge_pressure: MPa = result("pressure in the can", "kPa")


@dataclass(frozen=True, slots=True)
class Detail:
    """What no check asks for: computed when a reader wants it."""

    area_inside: Mm2 = result("inside surface", "cm2")
    area_outside: Mm2 = result("outside surface", "cm2")
    pressures: tuple[Pressure, ...] = ()
