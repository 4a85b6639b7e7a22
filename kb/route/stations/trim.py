"""The can, cut to height."""

from __future__ import annotations

from dataclasses import dataclass

from kb.process import blank as blank_formulas
from kb.process.meridian import Meridian
from kb.process.profile import tube_section
from kb.route.body import body_below
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.blank import Blank
from kb.route.stations.dome import Domed
from kb.route.stations.ironing import Ironed
from kb.units import Gram, Mm, Ratio


@dataclass(frozen=True, slots=True)
class Trimmed:
    """The can cut to height."""

    shape: Meridian
    allowance: Mm = result(
        "trim allowance at the ear valleys", main=True, walk=True, drivers="trim allowance"
    )
    mean_allowance: Mm = result("trim allowance, mean", walk=True)
    peak_allowance: Mm = result("trim allowance at the ear peaks")
    trim_mass: Gram = result("trim scrap per 1000 cans", "kg", main=True, walk=True)
    trim_share: Ratio = result("metal trimmed off", "%", main=True, walk=True)
    blank_needed: Mm = result("smallest blank whose ear valleys reach the trimmed height")


def take_trimmed(case: Case, blank: Blank, ironed: tuple[Ironed, ...], domed: Domed) -> Trimmed:
    """The can cut to height."""
    last = ironed[-1]
    cut = case.format.trim.height
    shape = body_below(case, domed, last, top=cut)
    metal = shape.metal()
    scrap_mass = blank.mass - blank_formulas.mass(volume=metal, density=case.stock.density)
    rim = tube_section(inside_radius=case.format.punch.neck_diameter / 2, wall=last.thick)
    needed = metal + domed.ear / 2 * rim
    return Trimmed(
        shape=shape,
        allowance=domed.valley - cut,
        mean_allowance=domed.height - cut,
        peak_allowance=domed.peak - cut,
        trim_mass=1000 * scrap_mass,
        trim_share=scrap_mass / blank.mass,
        blank_needed=blank_formulas.diameter_for_volume(volume=needed, gauge=case.format.stock.gauge),
    )


STATION = Station(
    id="trim",
    title="Trim",
    description="The trimmer cuts off the eared rim. The trim is bought as coil and sold as scrap.",
    machine="trimmer",
    blocks=("trim",),
    views=("trim",),
    changed_with="height",
    results=(Results("trimmed", "Trim", Trimmed, take_trimmed, checks=("trim",)),),
)
