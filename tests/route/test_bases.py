"""What the bases of the demo hold: solved once, kept, and met at the worst corner."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from kb import cache
from kb.book.load import Book
from kb.cache import FOLDER
from kb.checks import check_book
from kb.checks.report import Report
from kb.process.shell import base_profile, pressure_curve
from kb.route import bases, take
from kb.route.assemble import Assembled
from kb.route.bases import base_strength
from kb.route.case import Case
from tests.conftest import TODAY

SIZES = {"format.stock.gauge": 0.258, "format.dome.depth": 10.5, "stock.yield_after_bake": 254.0}
"""A worst corner of the demo's 330 ml can."""


@pytest.fixture
def case(formats: Mapping[str, Assembled]) -> Case:
    """The demo's 330 ml can."""
    return formats["b211-330"].case


@pytest.fixture
def solutions() -> Iterator[list[int]]:
    """Grows by one with each solution that is not kept."""
    made: list[int] = []

    def watch(count: int, wanted: int) -> None:
        assert count <= wanted
        made.append(count)

    cache.watchers.append(watch)
    yield made
    cache.watchers.remove(watch)


def alone(case: Case) -> Case:
    """A case as if it were written so."""
    return replace(case, written=None, origin=None)


def test_the_worst_corner_is_that_of_its_own_solution(case: Case) -> None:
    """Thin gauge, shallow dome and soft metal at once: within 0.5 % of the base solved at that corner."""
    corner = case.put(SIZES)
    wall = float(take(corner).ironed[-1].thin)
    near, solved = base_strength(corner, wall=wall), base_strength(alone(corner), wall=wall)
    assert near.reversal == pytest.approx(float(solved.reversal), rel=0.005)
    assert near.load == pytest.approx(float(solved.load), rel=0.02)
    assert near.growth_at(0.45) == pytest.approx(float(solved.growth_at(0.45)), rel=0.02)


def test_growth_is_that_of_the_pressure_curve(case: Case) -> None:
    """Growth rises with the pressure from nothing, meets the solver's own curve, and ends at the reversal."""
    base = base_strength(case, wall=0.095)
    sizes = bases._anchor(case)
    curve = pressure_curve(bases._profile(sizes), bases._metal(sizes))
    pressures = np.array([0.0, 0.2, 0.4, 0.5, 0.6])
    grown = base.growth_at(pressures)
    assert grown[0] == 0.0
    assert np.all(np.diff(grown) > 0)
    assert grown[2:] == pytest.approx([float(curve.growth_at(one)) for one in pressures[2:]], rel=0.02)
    assert np.isnan(base.growth_at(base.reversal * 1.01))


def test_formats_with_one_base_share_its_solutions(
    formats: Mapping[str, Assembled], solutions: list[int], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Once one format's base is solved, another with the same base needs no solution more."""
    monkeypatch.setenv(FOLDER, str(tmp_path))
    fresh = {"format.stock.gauge": 0.2631}  # no format of the demo has it
    one, other = (formats[name].case.with_nominals(fresh) for name in ("b211-330", "b211-330-lantern"))
    wall = one.format.targets.thin_wall
    base_strength(one, wall=wall)
    solved = len(solutions)
    base_strength(other, wall=wall)
    assert len(solutions) == solved > 0


def test_a_broken_entry_is_solved_again(
    case: Case, solutions: list[int], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A base is kept once solved; an entry cut off, or not of numbers, is solved and kept again."""
    monkeypatch.setenv(FOLDER, str(tmp_path))
    calls: list[Mapping[str, float]] = []

    def solve(sizes: Mapping[str, float]) -> tuple[float, ...]:
        calls.append(sizes)
        return (0.6, np.nan)

    sizes = bases._anchor(case)

    def kept() -> tuple[float, ...]:
        (found,) = bases._kept(2)(solve)([sizes])
        return found

    assert kept()[0] == kept()[0] == 0.6
    assert (len(calls), len(solutions)) == (1, 1)
    (entry,) = tmp_path.rglob("*.json")
    for text in ("", '{"content": ["x"], "check": "0"}', entry.read_text()[:20]):
        entry.write_text(text)
        assert kept()[0] == 0.6
    assert len(calls) == len(solutions) == 4
    assert np.isnan(kept()[1])


def test_a_base_that_holds_nothing_has_no_strength(case: Case) -> None:
    """A dome without room for its leg has no number, and raises nothing."""
    flat = alone(case.put({"format.dome.depth": 1.0}))
    assert np.isnan(base_strength(flat, wall=0.095).reversal)


def test_a_profile_is_the_base_of_the_route(case: Case) -> None:
    """The solver's base has the metal of the route's base, its thin wall apart."""
    sizes = {**bases._anchor(case), "wall": float(take(case).ironed[-1].thin)}
    pieces = bases._profile(sizes).pieces[:-1]
    assert type(bases._profile(sizes))(pieces).metal() == pytest.approx(float(take(case).domed.base.metal()))
    assert base_profile.__doc__


def test_another_solver_reads_no_old_answer(
    case: Case, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Once the solver's sources change, what was kept is solved again."""
    monkeypatch.setenv(FOLDER, str(tmp_path))
    answers = iter([(0.6,), (0.7,)])

    def solve(_: Mapping[str, float]) -> tuple[float, ...]:
        return next(answers)

    sizes = [bases._anchor(case)]
    assert bases._kept()(solve)(sizes) == [(0.6,)]
    monkeypatch.setattr(bases, "_program", lambda: ["other sources"])
    assert bases._kept()(solve)(sizes) == [(0.7,)]


def test_moved_sizes_are_solved_where_they_are(case: Case) -> None:
    """A format with another depth has the strength of its own solution, not one read between solutions."""
    moved = case.with_nominals({"format.dome.depth": 11.0})
    wall = bases._anchor(case)["wall"]
    solved = base_strength(alone(moved), wall=wall)
    assert base_strength(moved, wall=wall).reversal == pytest.approx(float(solved.reversal), rel=1e-12)


# --- without the extra ------------------------------------------------------------------------


def test_a_check_without_the_solver_says_that_it_did_not_run(
    demo: Book, demo_report: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without SciPy dome reversal and growth are not checked, and the report says so; the wall still is."""
    monkeypatch.setitem(sys.modules, "scipy", None)  # type: ignore[arg-type]
    report = check_book(demo, today=TODAY, formats=["b211-330"])
    names = {one.rule.name for one in report.verdicts["b211-330"]}
    assert {"dome.reversal", "dome.growth"} & names == set()
    assert {one.what: one.why for one in report.skipped} == {
        "dome.reversal": "sizebook[strength] is not installed",
        "dome.growth": "sizebook[strength] is not installed",
        "end.buckling": "sizebook[strength] is not installed",
        "can.axial-load of base and shoulder": "sizebook[strength] is not installed",
    }
    parts = [one.what for one in report.verdicts["b211-330"] if one.rule.name == "can.axial-load"]
    assert parts == ["axial load of the wall, empty"]
    with_solver = {one.rule.name for one in demo_report.verdicts["b211-330"]}
    assert {"dome.reversal", "dome.growth"} <= with_solver
