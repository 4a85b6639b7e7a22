"""Checks of the redraw and of the punch that it is drawn over."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "redraw.punch-below-cup",
    "mm",
    levers=("format.cup.punch_diameter",),
    least=5.0,
    source="Room for the redraw sleeve; common practice, no source",
)
def redraw_punch_below_cup(case: Case) -> Iterator[Measured]:
    """The bodymaker punch is smaller than the cup punch.

    Why: The redraw makes the cup narrower. The redraw sleeve needs room between the two diameters.
    Data: cup.punch_diameter, punch.wall_diameter
    Formula: Definition: cup punch diameter minus bodymaker punch diameter.
    To fix: Correct the wrong diameter.
    """
    yield Measured(
        "format.punch.wall_diameter",
        "cup punch diameter minus bodymaker punch diameter",
        case.format.cup.punch_diameter - case.format.punch.wall_diameter,
        least=0.0,
    )


@rule("redraw.die-over-punch", "mm", least=0.2, source="Common practice, no source")
def redraw_die_over_punch(case: Case) -> Iterator[Measured]:
    """The redraw die is wider than the bodymaker punch.

    Why: The metal passes between die and punch. Without clearance the cup tears.
    Data: redraw.die_bore, punch.wall_diameter
    Formula: kb.process.draw.clearance
    To fix: Open the die bore.
    """
    spec = case.format
    yield Measured(
        "format.redraw.die_bore",
        "redraw die bore minus punch diameter",
        spec.redraw.die_bore - spec.punch.wall_diameter,
        least=0.0,
    )


@rule("redraw.draw-ratio", "-", most=1.4, source="Published range for redraws 1.1 to 1.4, from memory")
def redraw_draw_ratio(route: Route) -> Iterator[Measured]:
    """The redraw ratio is below the ratio at which cups tear.

    Why: The first draw has hardened the metal. The limit of the redraw is therefore lower.
    Data: cup.punch_diameter, punch.wall_diameter
    Formula: kb.process.draw.draw_ratio
    To fix: Use a smaller cup punch. This raises the first draw ratio.
    """
    yield measured_result(route, "redrawn.draw_ratio", "format.cup.punch_diameter", "redraw ratio")


@rule("redraw.total-draw-ratio", "-", most=2.45, source="From memory, no publication")
def redraw_total_draw_ratio(route: Route) -> Iterator[Measured]:
    """The total draw ratio is within the limit of the body stock.

    Why: Two draws allow a higher total ratio than one, but the total has a limit too. Above it the cup tears.
    Data: blank.diameter, punch.wall_diameter
    Formula: kb.process.draw.draw_ratio
    To fix: Use a smaller blank: a shorter can or a thinner wall.
    """
    yield measured_result(
        route, "redrawn.total_ratio", "format.blank.diameter", "blank diameter ÷ punch diameter"
    )


@rule("redraw.die-clearance", "-", least=1.02, most=1.25, source="From memory, no publication")
def redraw_die_clearance(route: Route) -> Iterator[Measured]:
    """The clearance between redraw die and punch suits the cup wall.

    Why: A small clearance irons the wall in the redraw die, which is not made for ironing. A large clearance
        lets the wall wrinkle.
    Data: redraw.die_bore, punch.wall_diameter, stock.gauge
    Formula: kb.process.draw.clearance
    To fix: Choose a die bore within the limits.
    """
    yield measured_result(
        route, "redrawn.clearance_over_gauge", "format.redraw.die_bore", "redraw clearance ÷ gauge"
    )


@rule(
    "redraw.die-radius", "-", severity="warning", least=4.0, most=10.0, source="From memory, no publication"
)
def redraw_die_radius(route: Route) -> Iterator[Measured]:
    """The redraw die radius suits the gauge.

    Why: A small radius damages the metal, and it stretches less afterwards. The base tears out.
    Data: redraw.die_radius, stock.gauge
    Formula: Definition: radius ÷ gauge.
    To fix: Set the radius within its limits.
    """
    yield measured_result(
        route, "redrawn.die_radius_over_gauge", "format.redraw.die_radius", "redraw die radius ÷ gauge"
    )


# --- punch ----------------------------------------------------------------------------------------


@rule("punch.step-inward", "mm", least=0.02, source="Common practice, no source")
def punch_step_inward(case: Case) -> Iterator[Measured]:
    """The punch is smaller above its step than below.

    Why: The smaller diameter makes the thick wall for neck and flange. If the step points outward, the can
        cannot be stripped.
    Data: punch.wall_diameter, punch.neck_diameter
    Formula: Definition: wall diameter minus neck diameter.
    To fix: Exchange the two diameters, or correct the wrong one.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.neck_diameter",
        "punch wall diameter minus neck diameter",
        punch.wall_diameter - punch.neck_diameter,
        least=0.0,
    )


@rule("punch.step-below-shoulder", "mm", least=0.5, source="Common practice, no source")
def punch_step_below_shoulder(case: Case) -> Iterator[Measured]:
    """The thick wall starts below the neck.

    Why: A neck that starts in the thin wall pleats. A step that ends inside the cone leaves an uneven wall
        under the first dies.
    Data: punch.step_height, punch.step_length, neck.shoulder_height
    Formula: Definition: shoulder height minus the height of the top of the step.
    To fix: Lower the step on the punch, or raise the start of the neck.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.step_height",
        "neck start above the step",
        case.format.neck.shoulder_height - punch.step_height - punch.step_length,
        least=0.0,
    )


@rule("punch.nose-radius", "-", severity="warning", least=4.0, most=9.0, source="From memory, no publication")
def punch_nose_radius(route: Route) -> Iterator[Measured]:
    """The punch nose is round enough for the gauge.

    Why: The nose pushes the can through all rings and forms the stand. With a small radius the base breaks
        out.
    Data: punch.nose_radius, stock.gauge
    Formula: Definition: radius ÷ gauge.
    To fix: Set the radius within its limits. Dome and stand change with it.
    """
    yield measured_result(
        route, "redrawn.nose_radius_over_gauge", "format.punch.nose_radius", "punch nose radius ÷ gauge"
    )


@rule("punch.strip-step", "mm", severity="warning", most=0.085, source="From memory, no publication")
def punch_strip_step(route: Route) -> Iterator[Measured]:
    """The step of the punch is shallow enough for the can to strip.

    Why: The inside of the thick wall is smaller than the punch below it. Stripping must stretch it over the
        punch.
    Data: punch.wall_diameter, punch.neck_diameter
    Formula: Definition: half the difference of the two diameters.
    To fix: Use a larger neck diameter on the punch.
    """
    punch = route.case.format.punch
    step = (punch.wall_diameter - punch.neck_diameter) / 2
    yield Measured("format.punch.neck_diameter", "step of the punch", step)


@rule(
    "punch.runout",
    "-",
    show="%",
    severity="warning",
    levers=(),
    most=0.5,
    source="Common practice, no source",
)
def punch_runout(route: Route) -> Iterator[Measured]:
    """The tolerances of ring and punch use up only part of the wall tolerance.

    Why: Run-out, heat and wear need the rest of the wall tolerance. If the tools use it up, the wall goes
        outside its limits.
    Data: ironing.rings[].bore, punch.wall_diameter, targets.thin_wall
    Formula: Derived: half the sum of the two diameter tolerances ÷ tolerance of the thin wall.
    To fix: Buy ring and punch to closer tolerances, or agree a wider tolerance of the wall.
    """
    case, last = route.case, len(route.ironed) - 1
    ring = case.band(f"format.ironing.rings[{last}].bore")
    punch = case.band("format.punch.wall_diameter")
    wall = case.band("format.targets.thin_wall")
    spent = (ring[1] - ring[0] + punch[1] - punch[0]) / 2
    yield Measured(
        "format.targets.thin_wall",
        "tool tolerance ÷ wall tolerance",
        spent / np.maximum(wall[1] - wall[0], 1e-9),
    )
