"""Forces, work and forming: what must hold at every station, for any numbers."""

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


@pytest.fixture(scope="module", params=["b211-330", "b211-355", "b211-500", "b204-330", "b202-200"])
def route(request: pytest.FixtureRequest, formats: Mapping[str, Assembled]) -> Route:
    """Routes of several bodies and walls."""
    return formats[request.param].study.nominal


@pytest.fixture
def case(formats: Mapping[str, Assembled]) -> Case:
    """One format, to be changed."""
    return formats["b211-330"].case


# --- ironing ----------------------------------------------------------------------------------


def hardened(case: Case, strain: float) -> float:
    """Flow stress by the hardening law of the stock, written again here [MPa]."""
    law = case.stock.hardening
    return float(law.saturation - (law.saturation - law.start) * np.exp(-strain / law.scale))


def least_work(route: Route) -> float:
    """Ideal plastic work of thinning the finished wall in plane strain, integrated on its own [J]."""
    case, last = route.case, route.ironed[-1]
    drawn = float(np.log(case.format.blank.diameter / case.format.punch.wall_diameter))
    thickness = float(np.log(case.format.stock.gauge / last.thin))
    steps = (np.arange(4000) + 0.5) / 4000 * thickness
    stress = np.mean([2 / np.sqrt(3) * hardened(case, drawn + 2 / np.sqrt(3) * e) for e in steps])
    punch = case.format.punch
    thin = tube_section(inside_radius=punch.wall_diameter / 2, wall=last.thin)
    height = punch.step_height - last.engaged_from + case.format.ironing.rings[-1].distance
    return float(stress * thickness * thin * height) / 1000


def test_the_ram_does_more_than_the_ideal_work(route: Route) -> None:
    """The work of the ram is above the ideal work of the thin wall alone, and of all the wall."""
    assert float(route.stroke.work) > least_work(route)
    assert float(route.stroke.work) > float(route.stroke.ideal_work) >= least_work(route)
    for ring in route.ironed:
        assert float(ring.work) >= float(ring.ideal_work)


def test_without_friction_ram_and_wall_are_one(case: Case) -> None:
    """Without friction the ram pushes as hard as the wall pulls, and does the ideal work."""
    smooth = take(case.put({"setting.die-friction": 0.0, "setting.punch-friction": 0.0}))
    for ring in smooth.ironed:
        assert float(ring.force) == pytest.approx(float(ring.tension))
    assert float(smooth.stroke.work) == pytest.approx(float(smooth.stroke.ideal_work), rel=5e-3)


def test_ram_force_of_ring_three(case: Case) -> None:
    """Ring 3 of the 330 ml can takes 5.7 to 7.6 kN of the ram, the wall carrying 3.3 kN of it."""
    ring = take(case).ironed[2]
    assert float(ring.tension) == pytest.approx(3300, rel=0.03)
    assert 5700 < float(ring.force) < 7600


def test_a_rougher_punch_relieves_the_wall_and_not_the_ram(case: Case) -> None:
    """More friction on the punch lowers the tension; the ram pushes harder than the wall pulls."""
    smooth, rough = (take(case.put({"setting.punch-friction": f})).ironed[2] for f in (0.06, 0.10))
    assert float(rough.tension) < float(smooth.tension)
    assert float(rough.force) / float(rough.tension) > float(smooth.force) / float(smooth.tension) > 1


# --- ears and rim -----------------------------------------------------------------------------


def test_ears_grow_with_the_strain_of_the_redraw(case: Case) -> None:
    """In proportion to strain, ears of 1.7 mm by volume are 2.8 mm; at share 0 they keep their metal."""
    by_volume, by_strain = (take(case.put({"setting.redraw-ear-growth": share})) for share in (0.0, 1.0))
    growth = np.log(case.format.blank.diameter / case.format.punch.wall_diameter) / np.log(
        case.format.blank.diameter / case.format.cup.punch_diameter
    )
    assert float(growth) == pytest.approx(1.64, abs=0.01)
    assert float(by_strain.domed.ear / by_volume.domed.ear) == pytest.approx(float(growth))
    assert float(by_strain.domed.ear) == pytest.approx(2.8, abs=0.1)
    lost = float(by_volume.trimmed.allowance - by_strain.trimmed.allowance)
    assert lost == pytest.approx(float(by_strain.domed.ear - by_volume.domed.ear) / 2)
    cup = tube_section(inside_radius=case.format.cup.punch_diameter / 2, wall=by_volume.cup.rim)
    redrawn = tube_section(inside_radius=case.format.punch.wall_diameter / 2, wall=by_volume.redrawn.rim)
    assert float(by_volume.redrawn.ear * redrawn) == pytest.approx(float(by_volume.cup.ear * cup))


def test_the_rim_takes_what_the_die_lets_through(case: Case) -> None:
    """The 330 ml cup's rim is 12.6 % thicker: the clearance, less than the 28 % of a free rim."""
    cup = take(case).cup
    assert float(cup.rim) == pytest.approx(float(cup.clearance))
    assert float(cup.rim) / case.format.stock.gauge - 1 == pytest.approx(0.126, abs=0.001)


def test_a_rim_with_room_is_free(case: Case) -> None:
    """With room to spare the rim thickens by the strain ratio alone, and no wider die changes it."""
    wide, wider = (take(case.put({"format.cup.die_bore": bore})).cup for bore in (89.0, 89.5))
    assert float(wide.rim) == float(wider.rim) < float(wide.clearance)
    ratio = (case.format.blank.diameter / case.format.cup.punch_diameter) ** (1 / 1.825)
    assert float(wide.rim) == pytest.approx(case.format.stock.gauge * ratio)


# --- base -------------------------------------------------------------------------------------


def test_metal_is_constant_through_doming(route: Route) -> None:
    """The domed can has the metal of the blank, to 1e-10."""
    assert float(route.domed.shape.metal()) == pytest.approx(float(route.blank.volume), rel=1e-10)


def test_the_wall_follows_the_metal_drawn_in(route: Route) -> None:
    """The can loses the height that the wall is drawn down, within 0.2 mm of taper and offset."""
    lost = float(route.ironed[-1].height - route.domed.height)
    assert lost == pytest.approx(float(route.domed.drawn_down), abs=0.2)
    assert 2.0 < lost < 3.5


def test_the_base_gains_thin_wall_only(route: Route) -> None:
    """Doming adds to the base the metal of the thin wall drawn down, within 10 % of it."""
    case, last = route.case, route.ironed[-1]
    density = case.stock.density / 1000
    before = float(route.ironed[-1].shape.metal() - wall_above_foot(route)) * density
    added = route.domed.drawn_down * tube_section(
        inside_radius=case.format.punch.wall_diameter / 2, wall=last.thin
    )
    assert float(route.domed.base_mass) - before == pytest.approx(float(added) * density, rel=0.10)


def wall_above_foot(route: Route) -> float:
    """Metal of the straight wall before doming [mm3]."""
    return float(sum(piece.metal for piece in route.ironed[-1].shape.pieces[-3:]))


def test_the_chime_thins_from_its_outer_end(route: Route) -> None:
    """The nose keeps the gauge, the top of the chime has the thin wall, the chime is thinner."""
    gauge = route.case.format.stock.gauge
    walls = [float(piece.wall1) for piece in route.domed.base.pieces]
    assert walls[-1] == float(route.ironed[-1].thin)
    assert gauge in walls
    assert 0.05 < float(route.domed.chime_thinning) < 0.35


def test_nothing_is_drawn_down_when_all_is_stretched(case: Case) -> None:
    """When no metal is drawn in, the wall stays where it is and the chime keeps its metal."""
    stretched = take(case.put({"setting.dome-draw-in": 0.0}))
    assert float(stretched.domed.drawn_down) == pytest.approx(0.0, abs=1e-9)
    assert float(stretched.domed.chime_thinning) == pytest.approx(0.0, abs=1e-9)
    # surface is counted on the inside, so the dome's metal differs from the flat base's by its curvature
    assert float(stretched.ironed[-1].height - stretched.domed.height) == pytest.approx(0.0, abs=0.5)


# --- draw -------------------------------------------------------------------------------------


def test_the_press_limit_uses_the_higher_force(route: Route) -> None:
    """The textbook force, which rates the press, is at least 1.5 times the one for the monitor."""
    assert float(route.cup.drawing_force) > 1.5 * float(route.cup.monitor_force)
    assert float(route.redrawn.drawing_force) > float(route.redrawn.monitor_force)
    across = route.case.format.blank.across
    push = max(float(route.cup.drawing_force), float(route.blank.cutting_force)) + float(
        route.cup.holder_force
    )
    assert float(route.cup.press_force) == pytest.approx(across * push)


def test_monitor_force_of_the_cup(case: Case) -> None:
    """With friction of 0.08 to 0.12 the 330 ml cup is drawn with 7.6 to 11 kN."""
    for friction in (0.08, 0.10, 0.12):
        assert 7600 < float(take(case.put({"setting.draw-friction": friction})).cup.monitor_force) < 11_000


def test_one_holder_force_is_printed(route: Route) -> None:
    """The cup has one draw pad force: the pressure on the ring that is held."""
    spec = route.case.format
    inside = spec.cup.die_bore + 2 * spec.cup.die_radius
    ring = np.pi / 4 * (spec.blank.diameter**2 - inside**2)
    assert float(route.cup.holder_force) == pytest.approx(float(route.cup.holder_pressure) * ring)
    assert [name for name in dir(route.cup) if name.startswith("holder_force")] == ["holder_force"]


# --- neck -------------------------------------------------------------------------------------


def test_bending_is_part_of_the_neck_load(case: Case) -> None:
    """With 2 to 4 bends of 2.2 to 3.6 MPa each, the 330 ml neck takes 42 to 63 % of wall buckling."""
    none, two, four = (take(case.put({"setting.neck-bends": n})).necked[-1] for n in (0.0, 2.0, 4.0))
    each = float(four.bending_stress) / 4
    assert 2.2 < each < 3.6
    assert float(none.bending_stress) == 0.0
    assert float(two.stress - none.stress) == pytest.approx(2 * each)
    assert float(none.buckling_share) < 0.27
    assert 0.42 < float(two.buckling_share) < float(four.buckling_share) < 0.63


def test_more_stages_pleat_less(case: Case) -> None:
    """With more stages each diameter step is a smaller number of walls."""
    few, many = (
        take(replace(case, format=replace(case.format, neck=replace(case.format.neck, stages=n)))).necked
        for n in (6, 12)
    )
    assert max(float(one.pleating) for one in many) < min(float(one.pleating) for one in few)


# --- filled can -------------------------------------------------------------------------------


def test_the_wall_is_judged_as_baked(case: Case) -> None:
    """The hoop stress is a share of the strength after baking, 20 to 40 MPa below that after ironing."""
    route = take(case)
    loss = float(route.ironed[-1].exit_strength - route.filled.baked_strength)
    assert 20 < loss < 40
    assert float(route.filled.hoop_share) == pytest.approx(
        float(route.filled.hoop_stress / route.filled.baked_strength)
    )
    hard = take(replace(case, stock=replace(case.stock, yield_after_bake=case.stock.yield_strength)))
    assert float(hard.filled.baked_strength) == pytest.approx(float(hard.ironed[-1].exit_strength))


def test_ring_and_punch_warm_by_themselves(case: Case) -> None:
    """A warmer ring opens the gap, a warmer punch closes it, by half of what the diameter grows."""
    cold, ring, punch = (
        take(case.put({"plant.ring_temperature": r, "plant.punch_temperature": p})).ironed[-1]
        for r, p in ((20.0, 20.0), (60.0, 20.0), (20.0, 60.0))
    )
    half = 65.84 * 5.5e-6 * 40 / 2
    assert float(ring.thin - cold.thin) == pytest.approx(half, rel=0.01)
    assert float(cold.thin - punch.thin) == pytest.approx(half, rel=0.01)


def test_the_hot_can_has_its_own_pressure(case: Case) -> None:
    """The pressure in the hot can is that at 60 degC, above the one at the highest temperature in store."""
    filled = take(case).filled
    assert case.setting["hot-temperature"] == 60.0
    assert float(filled.hot_pressure) > float(filled.warmest_pressure)
    at_store = take(case.put({"setting.hot-temperature": case.plant.warmest})).filled
    assert float(at_store.hot_pressure) == pytest.approx(float(filled.warmest_pressure))
