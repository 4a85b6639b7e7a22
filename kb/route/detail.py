"""Results that no check reads: surfaces to coat, pressure over temperature."""

from __future__ import annotations

from dataclasses import dataclass

from kb.route.result import Result, iter_results, result
from kb.route.stations import Route
from kb.route.stations.filled import TEMPERATURES, pressure_at
from kb.units import DegC, Mm2, MPa


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


def take_detail(route: Route) -> Detail:
    """What no check asks for and a reader may: surfaces to coat, pressure over temperature."""
    shape, headspace = route.flanged.shape, route.filled.headspace_volume
    return Detail(
        area_inside=shape.area_inside(),
        area_outside=shape.area_outside(),
        pressures=tuple(
            Pressure(temperature=t, gauge_pressure=pressure_at(route.case, headspace, temperature=t))
            for t in TEMPERATURES
        ),
    )


def all_results(route: Route) -> list[Result]:
    """Every number of a route with its words, in process order, and the details after them."""
    return [*iter_results(route), *iter_results(take_detail(route), "detail.")]
