"""The flange, and with it the finished body."""

from __future__ import annotations

from dataclasses import dataclass

from kb.process import blank as blank_formulas
from kb.process import neck
from kb.process.meridian import LineSegment, Meridian
from kb.process.profile import FlangeSizes, cut_wall, tube_section
from kb.process.profile import flange as flange_shape
from kb.process.profile import neck as neck_shape
from kb.route.body import base_sizes, body_below, step_sizes
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.dome import Domed
from kb.route.stations.ironing import Ironed
from kb.route.stations.neck import neck_sizes, neck_wall
from kb.route.stations.trim import Trimmed
from kb.units import Gram, Mm, Mm3, Ratio


@dataclass(frozen=True, slots=True)
class Flanged:
    """The finished body: necked and flanged."""

    shape: Meridian
    straight: Mm = result("straight neck below the flange", walk=True)
    height: Mm = result("finished height", main=True, walk=True, drivers="finished height")
    height_gap: Mm = result("finished height minus target")
    flange_diameter: Mm = result("flange diameter", walk=True)
    edge_strain: Ratio = result("flange edge strain", "%", main=True, walk=True)
    edge_wall: Mm = result("flange edge thickness", main=True)
    neck_wall: Mm = result("neck wall")
    curl_clearance: Mm = result("end curl opening minus flange diameter")
    mass: Gram = result("body weight", main=True, walk=True, drivers="body weight")
    mass_declared: Gram = result("body weight from the declared walls")


def take_flanged(case: Case, ironed: tuple[Ironed, ...], domed: Domed, trimmed: Trimmed) -> Flanged:
    """Neck and flange, the straight neck taking what metal the trim left."""
    last = ironed[-1]
    plug = case.format.neck.plug_diameter
    wall = neck_wall(case, last, plug)
    lower = body_below(case, domed, last, top=case.format.neck.shoulder_height) + neck_shape(
        neck_sizes(case, plug=plug, wall=last.thick, neck_wall=wall)
    )
    lip = flange_sizes(case, neck_wall=wall)
    lip_metal = flange_shape(lip, foot=0.0).metal()
    straight = (trimmed.shape.metal() - lower.metal() - lip_metal) / tube_section(
        inside_radius=plug / 2, wall=wall
    )
    foot = lower.top()
    shape = (
        lower
        + Meridian((LineSegment(plug / 2, foot, plug / 2, foot + straight, wall, wall),))
        + flange_shape(lip, foot=foot + straight)
    )
    height = shape.top()
    return Flanged(
        shape=shape,
        straight=straight,
        height=height,
        height_gap=height - case.format.flange.finished_height,
        flange_diameter=2 * lip.edge_radius,
        edge_strain=neck.edge_strain(neck_diameter=plug, flange_diameter=2 * lip.edge_radius),
        edge_wall=lip.edge_wall,
        neck_wall=wall,
        curl_clearance=case.end.curl_opening - 2 * lip.edge_radius,
        mass=blank_formulas.mass(volume=shape.metal(), density=case.stock.density),
        mass_declared=blank_formulas.mass(volume=declared_metal(case, domed), density=case.stock.density),
    )


def flange_sizes(case: Case, *, neck_wall: Mm) -> FlangeSizes:
    """The flange on the finished neck."""
    spec, plug = case.format.flange, case.format.neck.plug_diameter
    edge = neck.flange_diameter(plug_diameter=plug, width=spec.width)
    return FlangeSizes(
        plug_radius=plug / 2,
        edge_radius=edge / 2,
        radius=spec.radius,
        angle=spec.angle,
        neck_wall=neck_wall,
        edge_wall=neck.edge_wall(
            wall=neck_wall, edge_strain=neck.edge_strain(neck_diameter=plug, flange_diameter=edge)
        ),
    )


def declared_metal(case: Case, domed: Domed) -> Mm3:
    """Metal of the body as declared: its target walls and finished height, not the rings' gaps [mm3].

    The blank and the rings give one mass, the targets another; where they part, a number is wrong.
    """
    targets, plug = case.format.targets, case.format.neck.plug_diameter
    wall = neck.wall_after(
        wall=targets.thick_wall,
        before=case.format.punch.neck_diameter,
        after=plug,
        exponent=case.setting["neck-wall-exponent"],
    )
    step = step_sizes(case, thin=targets.thin_wall, thick=targets.thick_wall, drawn_down=domed.drawn_down)
    foot = base_sizes(case, wall=targets.thin_wall).wall_start
    body = domed.base + cut_wall(step, foot=foot, top=case.format.neck.shoulder_height)
    shoulder = neck_shape(neck_sizes(case, plug=plug, wall=targets.thick_wall, neck_wall=wall))
    lip = flange_shape(flange_sizes(case, neck_wall=wall), foot=0.0)
    straight = case.format.flange.finished_height - shoulder.top() - lip.top()
    return (
        body.metal()
        + shoulder.metal()
        + lip.metal()
        + straight * tube_section(inside_radius=plug / 2, wall=wall)
    )


STATION = Station(
    id="flange",
    title="Flange",
    description="The flanger turns the rim outward. The flange becomes the body hook of the seam.",
    machine="flanger",
    blocks=("flange",),
    views=("flange",),
    tools=("flange.width", "flange.radius", "flange.angle"),
    interface=("flange.width", "flange.finished_height"),
    changed_with="neck",
    results=(Results("flanged", "Flange, finished body", Flanged, take_flanged, checks=("flange",)),),
)
