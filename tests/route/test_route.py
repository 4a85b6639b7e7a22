"""One format through every station: what stays, what balances, what must be nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from kb.process.profile import tube_section
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.study import pick

IDS = (
    "b211-330",
    "b211-330-beacon",
    "b211-330-lantern",
    "b211-350",
    "b211-355",
    "b211-440",
    "b211-440-light",
    "b211-500",
    "b204-250",
    "b204-250-regatta",
    "b204-325",
    "b204-330",
    "b204-330-200",
    "b204-330-ferry",
    "b204-355",
    "b202-200",
    "b202-250",
    "b211-355-206",
    "b211-500-206",
    "b211-568-206",
)


@pytest.fixture(params=IDS)
def route(request: pytest.FixtureRequest, formats: Mapping[str, Assembled]) -> Route:
    """Each demo format's route in turn."""
    return formats[request.param].study.nominal


@pytest.fixture
def case(formats: Mapping[str, Assembled]) -> Case:
    """One format, to be changed."""
    return formats["b211-330"].case


def test_every_demo_format_is_routed(formats: Mapping[str, Assembled]) -> None:
    """The list above is the demo book's."""
    assert set(IDS) == set(formats)


# --- metal ------------------------------------------------------------------------------------


def test_metal_stays_from_blank_to_domed_can(route: Route) -> None:
    """Cup, redrawn cup, the can after each ring and the domed can hold the blank's metal, to 1e-9."""
    shapes = [route.cup.shape, route.redrawn.shape, *(r.shape for r in route.ironed), route.domed.shape]
    metal = [float(shape.metal()) for shape in shapes]
    assert metal == pytest.approx([float(route.blank.volume)] * len(shapes), rel=1e-9)


def test_blank_is_trimmed_can_and_scrap(route: Route) -> None:
    """What the blank weighs is the trimmed can and the trim; the flanged can weighs what the trimmed did."""
    density = route.case.stock.density / 1000
    trimmed = float(route.trimmed.shape.metal()) * density
    assert route.blank.mass == pytest.approx(trimmed + route.trimmed.trim_mass / 1000, rel=1e-12)
    assert route.trimmed.trim_share == pytest.approx(route.trimmed.trim_mass / 1000 / route.blank.mass)
    assert route.flanged.mass == pytest.approx(trimmed, rel=1e-9)
    assert float(route.flanged.shape.metal()) == pytest.approx(float(route.trimmed.shape.metal()), rel=1e-9)


def test_coil_is_blanks_and_skeleton(route: Route) -> None:
    """A thousand cans' coil is a thousand blanks and the skeleton; the share of blanks is the coil use."""
    blank = route.blank
    assert blank.coil_mass == pytest.approx(1000 * blank.mass + blank.skeleton_mass)
    assert blank.utilisation == pytest.approx(1000 * blank.mass / blank.coil_mass)


def test_trim_is_the_open_ones_above_the_cut(route: Route) -> None:
    """The mean allowance of thick wall weighs what is scrapped, for a can trimmed above the step."""
    punch = route.case.format.punch
    assert route.case.format.trim.height > punch.step_height + punch.step_length
    section = tube_section(inside_radius=punch.neck_diameter / 2, wall=route.ironed[-1].thick)
    scrap = route.trimmed.mean_allowance * section * route.case.stock.density
    assert route.trimmed.trim_mass == pytest.approx(scrap, rel=1e-9)


def test_walls_fall_and_heights_rise(route: Route) -> None:
    """Each ring thins the wall and lengthens the can, and reductions and strains multiply up to the total."""
    gauge = route.case.format.stock.gauge
    thin = [gauge, *(float(ring.thin) for ring in route.ironed)]
    assert thin == sorted(thin, reverse=True)
    heights = [route.redrawn.height, *(ring.height for ring in route.ironed)]
    assert heights == sorted(heights)
    left = np.prod([1 - ring.reduction for ring in route.ironed])
    assert route.stroke.total_reduction == pytest.approx(1 - left)
    strain = sum(ring.strain for ring in route.ironed)
    assert strain == pytest.approx(np.log(gauge / thin[-1]))


def test_domed_can_differs_from_ironed_can_by_its_base_alone(route: Route) -> None:
    """Doming draws metal from the wall: the domed can is no taller than the last ring left it."""
    assert route.domed.height < route.ironed[-1].height
    assert route.domed.wall < route.case.format.stock.gauge
    base = float(route.domed.base.metal()) * route.case.stock.density / 1000
    assert route.domed.base_mass == pytest.approx(base)


def test_ears_stand_about_the_mean(route: Route) -> None:
    """Peak and valley are half the ears from the mean; the can's ears hold the metal of the redrawn cup's."""
    domed, cup = route.domed, route.cup
    assert domed.peak - domed.valley == pytest.approx(domed.ear)
    assert (domed.peak + domed.valley) / 2 == pytest.approx(domed.height)
    spec = route.case.format
    redrawn_rim = tube_section(inside_radius=spec.punch.wall_diameter / 2, wall=route.redrawn.rim)
    can_rim = tube_section(inside_radius=spec.punch.neck_diameter / 2, wall=route.ironed[-1].thick)
    assert domed.ear * can_rim == pytest.approx(route.redrawn.ear * redrawn_rim)
    # the demo's stock counts ears over the valley: valley and ear make up peak
    assert cup.ear / (cup.height - cup.ear / 2) == pytest.approx(spec.stock.earing)


def test_ears_over_the_mean_are_a_share_of_the_mean(case: Case) -> None:
    """Stock whose certificate counts ears over the mean height has that share of the mean."""
    over_mean = take(replace(case, stock=replace(case.stock, earing_over="mean")))
    assert over_mean.cup.ear == pytest.approx(case.format.stock.earing * over_mean.cup.height)


def test_neck_goes_from_body_to_plug(route: Route) -> None:
    """The stages start at the body, take equal shares, thicken the wall and end at the plug diameter."""
    spec, stages = route.case.format.neck, route.necked
    assert len(stages) == spec.stages
    assert stages[-1].diameter == pytest.approx(spec.plug_diameter)
    assert [s.reduction for s in stages] == pytest.approx([stages[0].reduction] * len(stages))
    walls = [float(stage.wall) for stage in stages]
    assert walls == sorted(walls)
    assert walls[-1] == pytest.approx(float(route.flanged.neck_wall))
    for stage in stages:
        assert stage.wall_low <= stage.wall <= stage.wall_high
        assert stage.die_bore == pytest.approx(stage.diameter + 2 * stage.wall)


def test_declared_stages_are_taken_as_written(case: Case) -> None:
    """Where a format declares its stage diameters, those are the stages."""
    declared = (64.5, 60.0, 56.0, 52.4)
    neck = replace(case.format.neck, diameters=declared, stages=4)
    changed = replace(case, format=replace(case.format, neck=neck))
    assert [float(stage.diameter) for stage in take(changed).necked] == list(declared)


# --- nothing ----------------------------------------------------------------------------------


def test_a_ring_wider_than_the_wall_does_nothing(case: Case) -> None:
    """A first ring that the wall does not touch takes no reduction, stress or force and leaves the gauge."""
    route = take(case.put({"format.ironing.rings[0].bore": 67.0}))
    idle = route.ironed[0]
    for value in (idle.reduction, idle.thick_reduction, idle.strain, idle.exit_stress, idle.force):
        assert float(value) == 0.0
    assert float(idle.thin) == case.format.stock.gauge
    assert float(idle.thick) == pytest.approx(float(route.redrawn.rim))
    assert float(idle.shape.metal()) == pytest.approx(float(route.blank.volume), rel=1e-9)


def test_the_thick_wall_is_no_thicker_than_what_comes(case: Case) -> None:
    """With the ring before the last closed below the gap above the step, the neck gets that ring's wall."""
    fed = take(case)
    closed = case.format.ironing.rings[1].bore - 2 * (float(fed.ironed[-1].spare) + 0.004)
    starved = take(case.put({"format.ironing.rings[1].bore": closed}))
    assert float(fed.ironed[-1].spare) > 0 > float(starved.ironed[-1].spare)
    assert float(starved.ironed[-1].thick) == pytest.approx(float(starved.ironed[1].thin))
    assert float(starved.ironed[-1].thick_reduction) == 0.0
    assert float(starved.ironed[-1].thick) == pytest.approx(float(fed.ironed[-1].thick) - 0.004, abs=1e-4)
    assert starved.flanged.neck_wall < fed.flanged.neck_wall


def test_no_dome_stretch_without_stretching(case: Case) -> None:
    """When all of the dome's surface is drawn in, the dome keeps the gauge."""
    drawn_in = take(case.put({"setting.dome-draw-in": 1.0}))
    assert drawn_in.domed.wall == pytest.approx(case.format.stock.gauge)
    assert drawn_in.domed.thinning == pytest.approx(0.0, abs=1e-15)
    stretched = take(case.put({"setting.dome-draw-in": 0.0}))
    assert stretched.domed.wall == pytest.approx(case.format.stock.gauge / (1 + stretched.domed.stretch))


def test_no_carbonation_no_pressure_at_filling(case: Case) -> None:
    """A still drink closed at its filling temperature is at most its vapour over the air outside."""
    still = take(case.put({"format.fill.carbonation": 0.0}))
    assert abs(float(still.filled.fill_pressure)) < 0.12
    assert float(still.filled.warmest_pressure) < float(take(case).filled.warmest_pressure)


def test_no_heat_and_no_load_leave_the_cold_gap(case: Case) -> None:
    """Without ring load, at the gauge room's temperature, the wall is the cold gap."""
    cold = take(
        case.put(
            {
                "setting.ring-pressure-share": 0.0,
                "plant.ring_temperature": 20.0,
                "plant.punch_temperature": 20.0,
            }
        )
    )
    for ring in cold.ironed:
        assert float(ring.growth) == pytest.approx(0.0, abs=1e-15)
        assert float(ring.thin) == pytest.approx(float(ring.gap))


def test_a_punch_that_grows_into_the_ring_leaves_no_wall(case: Case) -> None:
    """Where heat leaves no gap the route still computes, with no wall to speak of."""
    grown = take(
        case.put(
            {
                "format.ironing.rings[2].bore": 65.9,
                "setting.punch-expansion": 3e-5,
                "setting.ring-expansion": 1e-6,
                "plant.ring_temperature": 95.0,
                "plant.punch_temperature": 95.0,
            }
        )
    )
    assert float(grown.ironed[-1].thin) == pytest.approx(1e-6)


# --- trim and blank ---------------------------------------------------------------------------


@pytest.mark.parametrize("ident", IDS)
def test_the_blank_that_is_needed_leaves_no_allowance(ident: str, formats: Mapping[str, Assembled]) -> None:
    """On the blank worked out as needed, the ear valleys just reach the cut; thrice worked out, to 0.001 mm.

    Worked out once it is short by the change of the ears themselves. They are a share of the cup's height,
    and so of the blank, and grow in the redraw: here below 3 % of what the allowance was.
    """
    case = formats[ident].case
    before = formats[ident].study.nominal.trimmed
    once = take(case.put({"format.blank.diameter": before.blank_needed})).trimmed
    assert abs(once.allowance) < 0.03 * abs(before.allowance)
    assert abs(once.allowance) > 0
    twice = take(case.put({"format.blank.diameter": once.blank_needed})).trimmed
    thrice = take(case.put({"format.blank.diameter": twice.blank_needed})).trimmed
    assert thrice.allowance == pytest.approx(0.0, abs=1e-3)


def test_a_millimetre_of_trim_is_nearly_a_millimetre_of_height(case: Case) -> None:
    """Cut 1 mm higher, the can is higher by the thick wall's metal on the smaller, thicker neck."""
    low, high = take(case), take(case.put({"format.trim.height": case.format.trim.height + 1.0}))
    body = tube_section(inside_radius=case.format.punch.neck_diameter / 2, wall=low.ironed[-1].thick)
    neck = tube_section(inside_radius=case.format.neck.plug_diameter / 2, wall=low.flanged.neck_wall)
    assert high.flanged.height - low.flanged.height == pytest.approx(body / neck, rel=1e-9)
    assert high.trimmed.allowance - low.trimmed.allowance == pytest.approx(-1.0)


@pytest.mark.parametrize(
    ("key", "result", "sign"),
    [
        ("format.stock.gauge", "trimmed.allowance", 1),
        ("format.blank.diameter", "trimmed.allowance", 1),
        ("format.ironing.rings[2].bore", "trimmed.allowance", -1),
        ("format.punch.wall_diameter", "ironed[2].thin", -1),
        ("format.stock.earing", "trimmed.allowance", -1),
        ("format.trim.height", "filled.sealed", 1),
        ("format.dome.depth", "filled.brimful", -1),
        ("format.fill.carbonation", "filled.warmest_pressure", 1),
        ("format.stock.gauge", "strength.reversal", 1),
        ("format.ironing.rings[2].bore", "strength.axial_empty", 1),
        ("format.neck.plug_diameter", "flanged.edge_strain", -1),
        ("format.seam.body_hook", "seam.overlap", 1),
        ("end.gauge", "seam.free_space", -1),
        ("setting.die-friction", "ironed[2].exit_stress", 1),
        ("setting.punch-friction", "ironed[2].exit_stress", -1),
    ],
)
def test_results_move_the_way_they_must(case: Case, key: str, result: str, sign: int) -> None:
    """What a half per cent more of one number does is known beforehand, at least its sign."""
    read, now = pick(result), float(case.at(key))
    moved = float(read(take(case.put({key: now * 1.0005})))) - float(read(take(case)))
    assert np.sign(moved) == sign
