"""Silhouettes that compare formats to one scale."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from kb.drawing.body import silhouette
from kb.route.stations import Route


def test_silhouettes_share_one_scale(routes: Mapping[str, Route]) -> None:
    """Each silhouette is as high as its can at the scale given, and all of it is in its box."""
    for route in routes.values():
        one = silhouette(route, px_per_mm=0.5)
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", re.sub(r"A\S+ \S+ 0 0 [01]", "L", one.path))]
        xs, ys = numbers[0::2], numbers[1::2]
        assert one.height == pytest.approx(0.5 * float(route.flanged.height), abs=1e-9)
        body = 2 * float(route.case.format.punch.wall_diameter / 2 + route.ironed[-1].thin)
        assert 0.5 * body <= one.width + 1e-9 < 0.5 * (body + 0.5)
        assert (min(xs), min(ys)) == pytest.approx((0.0, 0.0), abs=0.03)
        assert (max(xs), max(ys)) == pytest.approx((one.width, one.height), abs=0.03)


def test_a_silhouette_is_one_closed_symmetric_path(route: Route) -> None:
    """The outline is one closed path, whose right half mirrors its left."""
    one = silhouette(route, px_per_mm=1.0)
    assert one.path.count("M") == one.path.count("Z") == 1
    ends = re.findall(r"(-?\d+\.?\d*) (-?\d+\.?\d*)(?=[LAZ]|$)", one.path)
    places = {(round(float(x), 2), round(float(y), 2)) for x, y in ends}
    mirrored = {(round(one.width - x, 2), y) for x, y in places}
    assert len(places) > 40
    assert all(any(abs(x - u) <= 0.011 and y == v for u, v in places) for x, y in mirrored)


def test_a_silhouette_is_the_same_each_time(route: Route) -> None:
    """Drawn twice it is the same text."""
    assert silhouette(route, px_per_mm=1.3) == silhouette(route, px_per_mm=1.3)
