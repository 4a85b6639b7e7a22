"""The method against problems whose best values are known."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.design.optimum import Infeasible, Optimum, Problem, conflict, least, price, widest
from kb.units import Samples


def problem(
    goal: Callable[..., Samples],
    rules: Callable[..., list[Samples]],
    ranges: list[tuple[float, float]],
    equal: int = 0,
) -> Problem:
    """A problem from functions of single numbers."""
    low, high = np.array(ranges, dtype=float).T
    return Problem(
        lambda points: goal(*points.T),
        lambda points: np.stack(np.broadcast_arrays(*rules(*points.T)), axis=1),
        low,
        high,
        equal,
    )


def two_gauges(volume: float, wall: float, base: float, top: float) -> Problem:
    """Mass [g] of a closed can of three gauges [mm], radius and height [mm], at least a volume [ml]."""
    density = 2.72e-3
    return problem(
        lambda r, h: density * (2 * np.pi * r * h * wall + np.pi * r**2 * (base + top)),
        lambda r, h: [np.pi * r**2 * h / 1000 / volume - 1],
        [(10, 80), (20, 400)],
    )


def truss(load: float) -> Problem:
    """Volume of three bars of areas a, b, a under one load."""
    root = np.sqrt(2.0)

    def rules(a: Samples, b: Samples) -> list[Samples]:
        below = root * a**2 + 2 * a * b
        return [2 - load * (root * a + b) / below, 2 - load * b / below, 2 - load / (a + root * b)]

    return problem(lambda a, b: (2 * root * a + b) * 100, rules, [(0.05, 2), (0.05, 2)])


def spring() -> Problem:
    """The tension spring: wire d, coil D, turns N."""

    def rules(d: Samples, coil: Samples, n: Samples) -> list[Samples]:
        shear = (4 * coil**2 - d * coil) / (12566 * (coil * d**3 - d**4)) + 1 / (5108 * d**2) - 1
        return [
            coil**3 * n / (71785 * d**4) - 1,
            -shear,
            140.45 * d / (coil**2 * n) - 1,
            1 - (d + coil) / 1.5,
        ]

    return problem(lambda d, coil, n: (n + 2) * coil * d**2, rules, [(0.05, 2), (0.25, 1.3), (2, 15)])


def beam() -> Problem:
    """The welded beam: weld h and l, bar t and b; rules divided by their limits."""

    def rules(h: Samples, l: Samples, t: Samples, b: Samples) -> list[Samples]:  # noqa: E741
        p, span, e, g = 6000, 14, 30e6, 12e6
        first = p / (np.sqrt(2) * h * l)
        moment = p * (span + l / 2)
        arm = np.sqrt(l**2 / 4 + ((h + t) / 2) ** 2)
        polar = 2 * np.sqrt(2) * h * l * (l**2 / 12 + ((h + t) / 2) ** 2)
        second = moment * arm / polar
        shear = np.sqrt(first**2 + 2 * first * second * l / (2 * arm) + second**2)
        bending = 6 * p * span / (b * t**2)
        drop = 4 * p * span**3 / (e * t**3 * b)
        buckling = (
            4.013 * e * np.sqrt(t**2 * b**6 / 36) / span**2 * (1 - t / (2 * span) * np.sqrt(e / (4 * g)))
        )
        return [
            1 - shear / 13600,
            1 - bending / 30000,
            b - h,
            1 - (0.10471 * h**2 + 0.04811 * t * b * (14 + l)) / 5,
            1 - drop / 0.25,
            buckling / p - 1,
        ]

    return problem(
        lambda h, l, t, b: 1.10471 * h**2 * l + 0.04811 * t * b * (14 + l),  # noqa: E741
        rules,
        [(0.125, 2), (0.1, 10), (0.1, 10), (0.1, 2)],
    )


def test_the_cheapest_sharp_can_is_as_high_as_wide() -> None:
    """Of 355 ml with one gauge: h = 2 r, and one more ml costs 2 / r of area (Stewart, Calculus, 4.7)."""
    can = problem(
        lambda r, h: 2 * np.pi * r**2 + 2 * np.pi * r * h,
        lambda r, h: [np.pi * r**2 * h / 1000 - 355],
        [(10, 90), (10, 300)],
    )
    found = least(can, np.array([20.0, 200.0]))
    assert found.point == pytest.approx([38.3722, 76.7444], rel=1e-5)
    assert found.goal == pytest.approx(27754.5, rel=1e-5)
    assert found.prices[0] == pytest.approx(2000 / 38.3722, rel=1e-5)


def test_discs_cut_from_squares_make_a_taller_can() -> None:
    """H / r = 8 / pi (Stewart, Calculus, 4.7)."""
    can = problem(
        lambda r, h: 8 * r**2 + 2 * np.pi * r * h,
        lambda r, h: [np.pi * r**2 * h / 1000 - 355],
        [(10, 90), (10, 300)],
    )
    found = least(can, np.array([60.0, 60.0]))
    assert found.point == pytest.approx([35.4035, 90.154], rel=1e-5)
    assert found.prices[0] == pytest.approx(56.4916, rel=1e-5)


@settings(max_examples=25, deadline=None)
@given(st.floats(150, 600), st.floats(0.08, 0.15), st.floats(0.2, 0.35), st.floats(0.18, 0.25))
def test_the_price_of_contents_is_the_one_known_in_closed_form(
    volume: float, wall: float, base: float, top: float
) -> None:
    """Two gauges: h / r = (base + top) / wall, and the price of all contents is 2 / 3 of the mass."""
    found = least(two_gauges(volume, wall, base, top), np.array([33.0, 120.0]))
    radius, height = found.point
    assert height / radius == pytest.approx((base + top) / wall, rel=1e-4)
    assert found.prices[0] == pytest.approx(2 / 3 * found.goal, rel=1e-5)
    assert found.residual < 1e-6


def test_two_gauges_at_the_printed_sizes() -> None:
    """355 ml, 0.100, 0.270 and 0.210 mm: 10.107 g; solving again with one ml less gives the same price."""
    can = two_gauges(355, 0.100, 0.270, 0.210)
    found = least(can, np.array([33.0, 120.0]))
    assert found.goal == pytest.approx(10.107, abs=5e-4)
    assert found.prices[0] / 355 == pytest.approx(0.01898, abs=5e-6)
    assert price(can, found, 0, 1e-4) == pytest.approx(found.prices[0], rel=1e-4)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.5, 3.0))
def test_the_price_of_a_truss_is_its_volume_over_its_strength(load: float) -> None:
    """Volume goes as load over strength, so the price of one unit of strength is the volume over 2."""
    found = least(truss(load), np.array([1.0, 1.0]))
    assert found.goal == pytest.approx(263.8958434 * load / 2, rel=1e-6)
    assert found.prices[0] == pytest.approx(found.goal / 2, rel=1e-4)


def test_the_three_bar_truss() -> None:
    """(3 + root 3) / 6 and 1 / root 6."""
    found = least(truss(2.0), np.array([1.0, 1.0]))
    assert found.point == pytest.approx([(3 + np.sqrt(3)) / 6, 1 / np.sqrt(6)], rel=1e-5)


def test_the_tension_spring() -> None:
    """The best of the literature, with two rules binding and their prices."""
    found = least(spring(), np.array([0.06, 0.5, 8.0]), starts=5)
    assert found.goal == pytest.approx(0.0126652328, rel=1e-6)
    assert found.point == pytest.approx([0.05168906, 0.35671765, 11.288971], rel=1e-3)
    assert found.prices == pytest.approx([0.0107591, 0.0243774, 0, 0], rel=1e-3, abs=1e-9)


def test_the_welded_beam() -> None:
    """1.724852307, with shear, bending, weld below bar and buckling binding."""
    found = least(beam(), np.array([0.4, 6.0, 9.0, 0.3]), starts=4)
    assert found.goal == pytest.approx(1.724852307, rel=1e-6)
    assert found.point == pytest.approx([0.20572964, 3.47048866, 9.03662391, 0.20572964], rel=1e-4)
    assert found.prices == pytest.approx([0.59227, 0.45340, 1.35384, 0, 0, 0.27689], rel=1e-3, abs=1e-9)


def test_a_vessel_of_plates_that_are_bought() -> None:
    """Plates in sixteenths of an inch, one by one: the least is the proven 6059.714335."""

    def vessel(shell: float, head: float) -> Problem:
        return problem(
            lambda r, l: (  # noqa: E741
                0.6224 * shell * r * l + 1.7781 * head * r**2 + 3.1661 * shell**2 * l + 19.84 * shell**2 * r
            ),
            lambda r, l: [  # noqa: E741
                (shell - 0.0193 * r) * 100,
                (head - 0.00954 * r) * 100,
                (np.pi * r**2 * l + 4 / 3 * np.pi * r**3) / 1296000 - 1,
            ],
            [(10, 100), (10, 200)],
        )

    best: list[tuple[float, Optimum]] = []
    for shell, head in itertools.product(range(10, 18), range(5, 11)):
        try:
            found = least(vessel(shell / 16, head / 16), np.array([40.0, 180.0]))
        except Infeasible:
            continue
        best.append((found.goal, found))
    goal, found = min(best, key=lambda one: one[0])
    assert goal == pytest.approx(6059.714335048436, rel=1e-7)
    assert found.point == pytest.approx([42.0984456, 176.6365958], rel=1e-6)


def test_a_rule_that_must_hold_exactly() -> None:
    """Problem 71 of Hock and Schittkowski, with the price of a range."""
    found = least(
        problem(
            lambda a, b, c, d: a * d * (a + b + c) + c,
            lambda a, b, c, d: [a * b * c * d - 25, a**2 + b**2 + c**2 + d**2 - 40],
            [(1, 5)] * 4,
            equal=1,
        ),
        np.array([1.0, 5.0, 5.0, 1.0]),
    )
    assert found.goal == pytest.approx(17.0140173, rel=1e-7)
    assert found.point == pytest.approx([1, 4.7429997, 3.8211500, 1.3794083], rel=1e-6)
    assert np.abs(found.prices) == pytest.approx([0.552294, 0.161469], rel=1e-4)
    assert found.range_prices[0, 0] == pytest.approx(1.08787, rel=1e-4)


def test_the_biggest_box_of_given_walls() -> None:
    """77.459666, which is 20 root 15 (problem of the CVXPY documentation, max_volume_box)."""
    found = least(
        problem(
            lambda h, w, d: -np.log(h * w * d),
            lambda h, w, d: [
                np.log(100 / (2 * (h * w + h * d))),
                np.log(10 / (w * d)),
                np.log(h / w / 0.5),
                np.log(2 * w / h),
                np.log(d / w / 0.5),
                np.log(2 * w / d),
            ],
            [(0.1, 50)] * 3,
        ),
        np.array([3.0, 3.0, 3.0]),
    )
    assert np.exp(-found.goal) == pytest.approx(77.45966630736292, rel=1e-6)


def test_an_impossible_problem_says_so_with_its_conflict() -> None:
    """Of four rules two cannot hold together: the set names these two and what each would have to give."""
    wanted = problem(lambda x, y: x + y, lambda x, y: [x - 5, 9 - y, 3 - x, 18 - x - y], [(0, 10), (0, 10)])
    with pytest.raises(Infeasible):
        least(wanted, np.array([1.0, 1.0]), starts=3)
    assert dict(conflict(wanted, np.array([1.0, 1.0]))) == pytest.approx({0: 2.0, 2: 2.0}, abs=1e-6)


def test_rules_of_one_label_give_together() -> None:
    """Two rules under one label are one part of the conflict, and lack the larger room of both."""
    wanted = problem(lambda x: x, lambda x: [2 - x, 4 - x, x - 5], [(0, 10)])
    found = conflict(wanted, np.array([1.0]), ["low", "low", "high"])
    assert {(0, 1)[i == 2]: lacks for i, lacks in found} == pytest.approx({0: 3.0, 1: 3.0}, abs=1e-6)


def test_the_widest_point_is_in_the_middle() -> None:
    """Between two walls the most room is half their distance; where they overlap it is below zero."""

    def walls(low: float, high: float) -> Problem:
        return problem(lambda x, y: x, lambda x, y: [x - low, high - x, y - 1], [(0, 10), (0, 10)])

    found = widest(walls(2, 5), np.array([9.0, 0.0]))
    assert found.room == pytest.approx(1.0)  # as far as room is looked for
    assert 3 - 1e-6 <= found.point[0] <= 4 + 1e-6
    found = widest(walls(4, 5), np.array([9.0, 5.0]))
    assert (found.room, set(found.tight)) == (pytest.approx(0.5), {0, 1})
    assert widest(walls(5, 4), np.array([9.0, 5.0])).room == pytest.approx(-0.5)


def test_rules_that_are_not_asked_only_hold() -> None:
    """Room for one rule alone takes all that the others leave."""
    walls = problem(lambda x: x, lambda x: [x - 4, 5 - x], [(0, 10)])
    found = widest(walls, np.array([4.5]), among=np.array([True, False]))
    assert (found.room, found.point[0]) == (pytest.approx(1.0), pytest.approx(5.0))


def test_the_same_question_has_the_same_answer() -> None:
    """Twice the same problem: the same numbers to the last bit."""
    one, two = (least(beam(), np.array([0.4, 6.0, 9.0, 0.3]), starts=3) for _ in range(2))
    assert one.point.tobytes() == two.point.tobytes()
