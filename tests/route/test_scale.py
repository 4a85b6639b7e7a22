"""Twice the size: every result of a route grows by the power of length in its unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, get_args, get_type_hints

import pytest

from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.run import run
from kb.route.settings import SETTINGS
from kb.route.station import iter_results

POWERS = {"mm": 1, "m": 1, "mm2": 2, "mm3": 3, "g": 3, "N": 2, "J": 3, "mm/s": 1, "mm/s2": 1}
"""Power of length in each unit: pressures, shares, angles, temperatures and times have none."""

SOLVED = {
    f"strength.{name}"
    for name in (
        "reversal",
        "growth_warmest",
        "growth_design",
        "base_empty",
        "base_full",
        "axial_empty",
        "axial_full",
    )
}
SOLVER = 1e-3
"""Results of the shell solver: the wall is clamped at one height and contact moves from node to node."""

NOT_A_LENGTH = {"seam.code_gap"}
"""Taken against a size code's nominal diameter, which is a name and does not grow."""


def doubled(record: Any) -> Any:
    """A record with all its lengths doubled, areas and forces fourfold, volumes and masses eightfold."""
    hints = get_type_hints(type(record), include_extras=True)
    changes: dict[str, Any] = {}
    for item in fields(record):
        value, unit = getattr(record, item.name), get_args(hints[item.name])[-1:]
        if is_dataclass(value):
            changes[item.name] = doubled(value)
        elif isinstance(value, tuple) and value and is_dataclass(value[0]):
            changes[item.name] = tuple(doubled(one) for one in value)
        elif isinstance(value, float) and unit and unit[0] in POWERS:
            changes[item.name] = value * 2 ** POWERS[unit[0]]
    return replace(record, **changes)


def doubled_case(case: Case) -> Case:
    """A case of twice the size, on machines of twice the size, made of the same metals."""
    setting = {name: value * 2 ** POWERS.get(SETTINGS[name][0], 0) for name, value in case.setting.items()}
    lines = tuple(
        replace(
            line,
            machines=tuple(
                replace(
                    machine, **{n: 2 * getattr(machine, n) for n in ("stroke", "rod") if getattr(machine, n)}
                )
                for machine in line.machines
            ),
        )
        for line in case.lines
    )
    return replace(
        case,
        format=doubled(case.format),
        end=doubled(case.end),
        plant=doubled(case.plant),
        setting=setting,
        lines=lines,
    )


@pytest.mark.parametrize("ident", ["b211-355", "b202-200", "b211-568-206"])
def test_every_result_grows_by_its_unit(ident: str, formats: Mapping[str, Assembled]) -> None:
    """Twice the size is eight times the metal and four times the forces, at the same stresses and shares."""
    case = formats[ident].case
    small, large = iter_results(take(case)), iter_results(take(doubled_case(case)))
    assert [one.key for one in small] == [one.key for one in large]
    for before, after in zip(small, large, strict=True):
        if before.key not in NOT_A_LENGTH:
            times = 2 ** POWERS.get(before.unit, 0)
            expected = times * float(before.value)
            close = SOLVER if before.key in SOLVED else 1e-8
            assert float(after.value) == pytest.approx(expected, rel=close, abs=1e-9), before.key


def test_the_stated_powers(formats: Mapping[str, Assembled]) -> None:
    """By hand: blank mass eightfold, force fourfold, wall stress and can pressure the same."""
    case = formats["b211-330"].case
    small, large = take(case), take(doubled_case(case))
    assert large.blank.mass == pytest.approx(8 * small.blank.mass)
    assert large.ironed[2].force == pytest.approx(4 * small.ironed[2].force)
    assert large.strength.wall_empty == pytest.approx(4 * small.strength.wall_empty)
    assert large.ironed[2].exit_stress == pytest.approx(small.ironed[2].exit_stress)
    assert large.filled.warmest_pressure == pytest.approx(small.filled.warmest_pressure)
    assert large.strength.reversal == pytest.approx(small.strength.reversal, rel=SOLVER)


def test_the_ram_of_twice_the_size(formats: Mapping[str, Assembled]) -> None:
    """At the same strokes a minute, twice the crank and rod run twice as fast, in the same time."""
    case = formats["b211-330"].case
    big = doubled_case(case)
    (small_ram,), (large_ram,) = run(take(case), case.lines[0]).rams, run(take(big), big.lines[0]).rams
    for before, after in zip(iter_results(small_ram), iter_results(large_ram), strict=True):
        times = 2 ** POWERS.get(before.unit, 0)
        assert float(after.value) == pytest.approx(times * float(before.value), rel=1e-8), before.key
