"""Checks of the pallet, and of a format on each line that makes it; their findings point into the format."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from kb.book.records import Band, Machine
from kb.checks.rule import Measured, rule
from kb.process import pallet
from kb.route.case import Case
from kb.route.run import LineRun
from kb.route.stations import Route
from kb.units import Number

# --- pallet ---------------------------------------------------------------------------------------


@rule("pallet.layer", "count", limit="spec")
def pallet_layer(route: Route) -> Iterator[Measured]:
    """The declared number of cans fits in a layer and fills it.

    Why: The palletizer pattern is set by number. One can too many crushes its neighbours. Too few cans shift
        during transport.
    Data: pallet.per_layer, body diameter, plant pallet; settings for outside coating, can gap and least fill
    Formula: kb.process.pallet.best_layer for the coated body with the gap between cans
    To fix: Set the number that fits.
    """
    case, board, layer = route.case, route.case.plant.pallet, route.palletized
    # the pattern is named for the nominal size, the first of samples
    length, width, diameter = (
        float(np.ravel(size)[0])
        for size in (board.length + 2 * board.overhang, board.width + 2 * board.overhang, layer.spacing)
    )
    _, pattern = pallet.best_layer(length=length, width=width, diameter=diameter)
    yield Measured(
        "format.pallet.per_layer",
        "cans per layer",
        float(case.format.pallet.per_layer),
        least=layer.fewest,
        most=layer.fits,
        against=f"the number that fits, {pattern}",
    )


@rule("pallet.height", "mm", limit="spec")
def pallet_height(route: Route) -> Iterator[Measured]:
    """The loaded pallet is below the maximum height.

    Why: A higher pallet does not fit strapping machine, truck and rack.
    Data: pallet.layers, flange.finished_height, plant pallet
    Formula: Definition: pallet base, one layer of cans and one sheet for each layer, and a top sheet.
    To fix: Use one layer less.
    """
    case, board = route.case, route.case.plant.pallet
    layers = case.format.pallet.layers
    height = board.base + layers * (route.flanged.height + board.sheet) + board.sheet
    yield Measured(
        "format.pallet.layers", "pallet height", height, most=board.height, against="the plant's pallet"
    )


# --- line -----------------------------------------------------------------------------------------


def _at_machine(run: LineRun, machine: Machine, what: str, value: Number, **more: Any) -> Measured:
    """A value at a machine of the line; the finding points to the line in the format."""
    lines = run.route.case.format.lines
    at = f"format.lines[{lines.index(run.line.id)}]" if run.line.id in lines else "format.lines"
    return Measured(at, f"{what} at {run.line.id}/{machine.id}", value, **more)


def _ranges(run: LineRun, of: str, what: str, value: Number, **more: Any) -> Iterator[Measured]:
    for machine in run.line.machines:
        band: Band | None = getattr(machine, of)
        if band is not None:
            limits = {"least": band.low, "most": band.high, "against": "the machine's range"}
            yield _at_machine(run, machine, what, value, **limits, **more)


@rule("line.across", "count", limit="spec", levers=("format.blank.across",))
def line_across(run: LineRun) -> Iterator[Measured]:
    """The number of blanks across is that of the die set in the cupper.

    Why: The die set of the cupper has a fixed number across.
    Data: blank.across, line machine across
    Formula: Definition.
    To fix: Use the number across of the cupper, or remove this line from the format.
    """
    for machine in run.machines("cupper"):
        if machine.across is not None:
            yield _at_machine(
                run,
                machine,
                "blanks across",
                float(run.route.case.format.blank.across),
                least=float(machine.across),
                most=float(machine.across),
                against="the cupper's die set",
            )


@rule("line.strip-width", "mm", limit="spec", levers=("format.blank.edge", "format.blank.web"))
def line_strip_width(run: LineRun) -> Iterator[Measured]:
    """The strip width is within the range of the cupper feed.

    Why: Feed rolls and guides take a limited range of widths. A wider strip jams.
    Data: blank layout, line machine strip_width
    Formula: kb.process.blank.strip_width
    To fix: Change the number across, the web or the edge.
    """
    yield from _ranges(
        run, "strip_width", "strip width", run.route.blank.strip_width, result="blank.strip_width"
    )


@rule(
    "line.cupper-force",
    "-",
    show="%",
    levers=("format.stock.gauge", "format.blank.across"),
    most=0.85,
    source="Common practice, no source",
)
def line_cupper_force(run: LineRun) -> Iterator[Measured]:
    """The force of blanking, drawing and holding is below the rating of the press.

    Why: An overloaded press stops during the stroke or breaks. The drawing force here is the textbook form,
        the higher of two. The lower one, with friction and bending, is for the force monitor.
    Data: stock.gauge, blank.diameter, blank.across, material tensile and shear_strength, line machine force
    Formula: kb.process.blank.cutting_force, kb.process.draw.drawing_force, kb.process.draw.holder_pressure
    To fix: Cut fewer blanks across, or use a press with a higher rating.
    """
    for machine in run.machines("cupper"):
        if machine.force is not None:
            yield _at_machine(run, machine, "press force ÷ rating", run.route.cup.press_force / machine.force)


@rule("line.ram-force", "-", show="%", most=0.8, source="Common practice, no source")
def line_ram_force(run: LineRun) -> Iterator[Measured]:
    """The force of redraw and ironing is below the rating of the ram.

    Why: The ram drive is rated for one force. Above it, bearing and clutch are overloaded.
    Data: cup.punch_diameter, ironing.rings[].bore, stock.gauge, line machine force
    Formula: kb.process.draw.drawing_force in the redraw; kb.process.ironing.ram_force, summed over the rings
        on the wall at once; the greater of the two
    To fix: Reduce less in each ring, or set the rings further apart.
    """
    route = run.route
    for machine in run.machines("bodymaker"):
        if machine.force is not None:
            yield _at_machine(
                run,
                machine,
                "maximum force ÷ rating",
                np.maximum(route.redrawn.drawing_force, route.stroke.peak_force) / machine.force,
            )


@rule("line.ram-stroke", "-", least=2.9, source="From memory, no publication")
def line_ram_stroke(run: LineRun) -> Iterator[Measured]:
    """The stroke is long enough to iron the can and to strip it.

    Why: A tall can needs a long stroke for infeed, ironing and stripping. A short stroke leaves the can in
        the tool pack.
    Data: route's untrimmed height, line machine stroke
    Formula: Definition: stroke ÷ height at the ear peaks.
    To fix: Make the can on a line with a longer stroke.
    """
    for ram in run.rams:
        yield _at_machine(run, ram.machine, "stroke ÷ can height", ram.stroke_over_height)


@rule("line.ring-travel", "mm", limit="spec")
def line_ring_travel(run: LineRun) -> Iterator[Measured]:
    """The wall leaves the last ring before the end of the stroke.

    Why: If the last ring still holds the wall at the end of the stroke, the domer tears the can.
    Data: ironing.rings[].distance, route's height, line machine stroke
    Formula: Derived: ram travel at which the rim leaves the last ring.
    To fix: Set the rings closer together.
    """
    for ram in run.rams:
        yield _at_machine(
            run,
            ram.machine,
            "ram travel through the rings",
            run.route.ironed[-1].engaged_to,
            result=f"ironed[{len(run.route.ironed) - 1}].engaged_to",
            most=ram.machine.stroke,
            against="the stroke",
        )


@rule("line.rod-length", "mm", limit="spec")
def line_rod_length(case: Case) -> Iterator[Measured]:
    """The connecting rod of the ram is longer than the stroke.

    Why: A crank drive needs a rod longer than its crank. If the rod is shorter than the stroke, usually the
        two numbers are exchanged.
    Data: line machine stroke, rod
    Formula: Definition: rod length against stroke. The stroke is twice the crank radius.
    To fix: Correct rod or stroke in the file of the line.
    """
    for i, line in enumerate(case.lines):
        for machine in line.machines:
            if machine.kind == "bodymaker" and machine.rod is not None:
                yield Measured(
                    f"format.lines[{i}]",
                    f"connecting rod at {line.id}/{machine.id}",
                    machine.rod,
                    least=machine.stroke,
                    against="the stroke",
                )


@rule(
    "line.ram-speed",
    "mm/s",
    show="m/s",
    severity="warning",
    most=12500.0,
    source="From memory, no publication",
)
def line_ram_speed(run: LineRun) -> Iterator[Measured]:
    """The ram speed is below the limit for the coolant film.

    Why: Above the limit the coolant film breaks down. Pick-up and scores follow.
    Data: line machine stroke, rod, ram_speed
    Formula: kb.process.ram.peak_velocity
    To fix: Run this format at a lower speed.
    """
    for ram in run.rams:
        yield _at_machine(run, ram.machine, "maximum ram speed", ram.peak_velocity)


@rule("line.can-height", "mm", limit="spec")
def line_can_height(run: LineRun) -> Iterator[Measured]:
    """The can height is within the range of every machine of the line.

    Why: If one machine cannot take the can, the line cannot make the format.
    Data: flange.finished_height, line machines' can_height
    Formula: Definition.
    To fix: Remove this line from the format, or change the parts of the machine and then its range.
    """
    yield from _ranges(run, "can_height", "can height", run.route.case.format.flange.finished_height)


@rule("line.can-diameter", "mm", limit="spec")
def line_can_diameter(run: LineRun) -> Iterator[Measured]:
    """The can diameter is within the range of every machine of the line.

    Why: Star wheels, guides and pockets are made for a limited range. Other cans jam.
    Data: punch.wall_diameter, thin wall, line machines' can_diameter
    Formula: Definition: punch diameter plus two walls.
    To fix: Remove this line from the format, or change the parts of the machine and then its range.
    """
    route = run.route
    outside = route.case.format.punch.wall_diameter + 2 * route.ironed[-1].thin
    yield from _ranges(run, "can_diameter", "can diameter", outside)


@rule("line.plug-diameter", "mm", limit="spec")
def line_plug_diameter(run: LineRun) -> Iterator[Measured]:
    """Necker and flanger have the parts for the plug diameter.

    Why: The last dies and pilots, and the flanger heads, are made for one end size.
    Data: neck.plug_diameter, line machines' plug_diameter
    Formula: Definition.
    To fix: Remove this line from the format, or equip the machine.
    """
    yield from _ranges(run, "plug_diameter", "plug diameter", run.route.case.format.neck.plug_diameter)


@rule("line.neck-stages", "count", limit="spec", levers=("format.neck.stages",))
def line_neck_stages(run: LineRun) -> Iterator[Measured]:
    """The necker has as many stages as the format needs.

    Why: If stages are missing, the neck cannot be finished.
    Data: neck.stages, line machine stages
    Formula: Definition.
    To fix: Use fewer stages, if the reduction per stage allows.
    """
    for machine in run.machines("necker"):
        if machine.stages is not None:
            yield _at_machine(
                run,
                machine,
                "neck stages",
                float(run.route.case.format.neck.stages),
                most=float(machine.stages),
                against="the necker's stages",
            )
