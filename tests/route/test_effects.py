"""What each size of the base does, as the route has it."""

from __future__ import annotations

import sys
from collections.abc import Mapping

import pytest

from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.effects import CHANGES, base_effects


@pytest.fixture
def case(formats: Mapping[str, Assembled]) -> Case:
    """The demo's 330 ml can."""
    return formats["b211-330"].case


def test_an_effect_is_that_of_the_route_on_both_sides(case: Case) -> None:
    """The effect of 0.1 mm of depth is the difference of two routes, 0.05 mm to each side."""
    effects = {one.key: one for one in base_effects(case)}
    assert effects.keys() == CHANGES.keys()
    depth = float(case.format.dome.depth)
    below, above = (take(case.put({"format.dome.depth": depth + by})).strength for by in (-0.05, 0.05))
    one = effects["format.dome.depth"]
    assert one.reversal == pytest.approx(float(above.reversal - below.reversal))  # type: ignore[operator]
    assert one.growth == pytest.approx(float(above.growth_design - below.growth_design))  # type: ignore[operator]
    assert one.load == pytest.approx(float(above.base_empty - below.base_empty))  # type: ignore[operator]


def test_effects_point_the_way_that_a_shell_has(case: Case) -> None:
    """Depth and gauge raise the reversal pressure; a wider stand and a more open leg lower it."""
    reversal = {one.key.rpartition(".")[2]: one.reversal for one in base_effects(case)}
    assert min(reversal[name] for name in ("depth", "gauge")) > 0
    assert max(reversal[name] for name in ("stand_diameter", "leg_angle")) < 0


def test_without_the_solver_there_are_no_effects(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without SciPy nothing is computed, and nothing is claimed."""
    monkeypatch.setitem(sys.modules, "scipy", None)  # type: ignore[arg-type]
    assert base_effects(case) == ()
