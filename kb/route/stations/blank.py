"""The disc and its place in the coil."""

from __future__ import annotations

from dataclasses import dataclass

from kb.process import blank as blank_formulas
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.units import Gram, Metre, Mm, Mm3, N, Ratio


@dataclass(frozen=True, slots=True)
class Blank:
    """The disc, and the coil it is cut from."""

    volume: Mm3 = result("metal in the blank", walk=True)
    mass: Gram = result("blank mass", main=True, walk=True)
    pitch: Mm = result("feed pitch", walk=True)
    strip_width: Mm = result("strip width", main=True, walk=True)
    utilisation: Ratio = result("coil used for blanks", "%", main=True)
    coil_mass: Gram = result("coil per 1000 cans", "kg", main=True)
    coil_length: Metre = result("coil length per 1000 cans")
    skeleton_mass: Gram = result("skeleton scrap per 1000 cans", "kg")
    cutting_force: N = result("blanking force, one blank", "kN")
    clearance_share: Ratio = result("cut edge clearance ÷ gauge", "%")


def take_blank(case: Case) -> Blank:
    """The disc and its place in the coil."""
    spec, stock, gauge = case.format.blank, case.stock, case.format.stock.gauge
    volume = blank_formulas.disc_volume(diameter=spec.diameter, gauge=gauge)
    mass = blank_formulas.mass(volume=volume, density=stock.density)
    coil_mass = blank_formulas.coil_mass_per_thousand(
        diameter=spec.diameter,
        across=spec.across,
        web=spec.web,
        edge=spec.edge,
        gauge=gauge,
        density=stock.density,
    )
    return Blank(
        volume=volume,
        mass=mass,
        pitch=blank_formulas.pitch(diameter=spec.diameter, web=spec.web),
        strip_width=blank_formulas.strip_width(
            diameter=spec.diameter, across=spec.across, web=spec.web, edge=spec.edge
        ),
        utilisation=blank_formulas.utilisation(
            diameter=spec.diameter, across=spec.across, web=spec.web, edge=spec.edge
        ),
        coil_mass=coil_mass,
        coil_length=blank_formulas.coil_length_per_thousand(
            diameter=spec.diameter, across=spec.across, web=spec.web
        ),
        skeleton_mass=coil_mass - 1000 * mass,
        cutting_force=blank_formulas.cutting_force(
            diameter=spec.diameter, gauge=gauge, shear_strength=stock.shear_strength
        ),
        clearance_share=spec.die_clearance / gauge,
    )


STATION = Station(
    id="blank",
    title="Blank",
    description="The cupper cuts a blank from the coil. It contains all metal of the can.",
    machine="cupper",
    blocks=("stock", "blank"),
    views=("blank", "web"),
    tools=("blank.diameter", "blank.across", "blank.die_clearance"),
    changed_with="metal",
    results=(Results("blank", "Blank", Blank, take_blank, checks=("stock",)),),
)
