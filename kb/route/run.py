"""A format on a line: what the bodymaker's ram does, and what the machines must take."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from kb.book.records import Line, Machine
from kb.process import ram
from kb.route.station import result
from kb.route.stations import Route
from kb.units import Mm, MmPerS, MmPerS2, Ratio, Second


@dataclass(frozen=True, slots=True)
class Ram:
    """The ram of one group of bodymakers making this format."""

    machine: Machine
    stroke_over_height: Ratio = result("ram stroke ÷ can height")
    peak_velocity: MmPerS = result("maximum ram speed, slider-crank", "m/s")
    peak_velocity_harmonic: MmPerS = result("maximum ram speed, harmonic", "m/s")
    peak_acceleration: MmPerS2 = result("maximum ram acceleration, slider-crank", "m/s2")
    peak_acceleration_harmonic: MmPerS2 = result("maximum ram acceleration, harmonic", "m/s2")
    time_per_stroke: Second = result("time of a stroke")
    days_to_service: ram.Day = result("days from service to service")


@dataclass(frozen=True, slots=True)
class LineRun:
    """One route on one line."""

    route: Route
    line: Line
    rams: tuple[Ram, ...]

    def machines(self, kind: str) -> Iterator[Machine]:
        """The line's machines of a kind."""
        return (one for one in self.line.machines if one.kind == kind)


def run(route: Route, line: Line) -> LineRun:
    """A route on a line, with the ram of each group of bodymakers."""
    return LineRun(
        route=route,
        line=line,
        rams=tuple(_ram(route, machine) for machine in line.machines if machine.kind == "bodymaker"),
    )


def _ram(route: Route, machine: Machine) -> Ram:
    stroke, rod, speed = machine.stroke, machine.rod, machine.ram_speed
    if stroke is None or rod is None or speed is None or machine.service_cycles is None:
        raise ValueError(f"bodymaker {machine.id} lacks its ram's sizes")  # the schema requires them
    crank: Mm = stroke / 2
    return Ram(
        machine=machine,
        stroke_over_height=stroke / route.domed.peak,
        peak_velocity=ram.peak_velocity(crank_radius=crank, rod=rod, speed=speed),
        peak_velocity_harmonic=ram.peak_velocity_harmonic(stroke=stroke, speed=speed),
        peak_acceleration=np.abs(ram.acceleration(crank_radius=crank, rod=rod, angle=0.0, speed=speed)),
        peak_acceleration_harmonic=ram.peak_acceleration_harmonic(stroke=stroke, speed=speed),
        time_per_stroke=ram.time_per_stroke(speed=speed),
        days_to_service=ram.days_to_service(
            cycles=float(machine.service_cycles),
            speed=speed,
            running_share=route.case.setting["running-share"],
        ),
    )
