"""The end, and the double seam of body and end."""

from __future__ import annotations

import math
from dataclasses import dataclass

from kb.errors import installed
from kb.process import blank, seam, size_code
from kb.route.bases import end_pressure
from kb.route.body import end_sizes
from kb.route.case import Case
from kb.route.station import Results, Station, computed, result
from kb.route.stations.flange import Flanged
from kb.units import Gram, Mm, MPa, Ratio

END = "end-calibration"
"""Setting: measured over computed."""


@dataclass(frozen=True)
class LooseEnd:
    """The end as it comes to the seamer. It is solved when its pressure is read."""

    case: Case
    flat: Mm = result("flat bottom of the countersink")
    shell_mass: Gram = result("mass of the end without tab, from its cut edge")
    added_mass: Gram = result("tab, coating and compound of the end")

    @computed("pressure at which the end buckles", "kPa", main=True, calibrated_by=(END,))
    def buckling(self) -> MPa | None:
        """Pressure at which the seamed end buckles; None without the extra `strength`."""
        return self.case.setting[END] * end_pressure(self.case) if installed("strength") else None


def take_end(case: Case) -> LooseEnd:
    """The end from its own file."""
    end = case.end
    shell = blank.mass(volume=math.pi / 4 * end.cut_edge**2 * end.gauge, density=case.end_stock.density)
    return LooseEnd(case=case, flat=end_sizes(case).flat, shell_mass=shell, added_mass=end.mass - shell)


@dataclass(frozen=True, slots=True)
class Seam:
    """The double seam of body and end."""

    overlap: Mm = result("overlap", main=True, drivers="seam overlap")
    overlap_share: Ratio = result("overlap ÷ maximum possible overlap", "%")
    free_space: Mm = result("free space", main=True)
    thickness_target: Mm = result("seam thickness expected")
    butting: Ratio = result("body hook butting", "%", main=True)
    hook_from_flange: Mm = result("body hook expected from the flange")
    chuck_clearance: Mm = result("plug diameter minus seaming chuck diameter")
    countersink_room: Mm = result("countersink depth minus seam length")
    code_gap: Mm = result("curl diameter minus nominal of the code")


def take_seam(case: Case, flanged: Flanged) -> Seam:
    """The double seam as declared, against the end and the flange that make it."""
    spec, end = case.format.seam, case.end
    return Seam(
        overlap=seam.overlap(
            body_hook=spec.body_hook, end_hook=spec.end_hook, end_gauge=end.gauge, length=spec.length
        ),
        overlap_share=seam.overlap_share(
            body_hook=spec.body_hook,
            end_hook=spec.end_hook,
            end_gauge=end.gauge,
            body_wall=flanged.neck_wall,
            length=spec.length,
        ),
        free_space=seam.free_space(
            thickness=spec.thickness, end_gauge=end.gauge, body_wall=flanged.edge_wall
        ),
        thickness_target=seam.thickness_target(
            end_gauge=end.gauge, body_wall=flanged.edge_wall, allowance=case.setting["seam-allowance"]
        ),
        butting=seam.body_hook_butting(
            body_hook=spec.body_hook, length=spec.length, end_gauge=end.gauge, body_wall=flanged.edge_wall
        ),
        hook_from_flange=case.format.flange.width - case.setting["body-hook-loss"],
        chuck_clearance=seam.plug_chuck_clearance(
            plug_diameter=case.format.neck.plug_diameter, chuck_diameter=end.chuck_diameter
        ),
        countersink_room=end.countersink - spec.length,
        code_gap=end.curl_diameter - size_code.nominal_mm(code=end.code),
    )


STATION = Station(
    id="seam",
    title="End and seam",
    short="Seam",
    description="The seamer rolls body and end together into a double seam.",
    blocks=("seam",),
    views=("seam", "end"),
    interface=("seam",),
    results=(
        Results("loose_end", "End", LooseEnd, take_end, checks=("end",)),
        Results("seam", "Seam", Seam, take_seam),
    ),
)
