"""Tolerances: worst corners against every corner there is, drivers, and the seeded population."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import numpy as np
import pytest

from kb.route import take
from kb.route.assemble import Assembled
from kb.route.station import iter_results
from kb.route.stations import Route
from kb.route.study import Input, Spread, Study, pick
from kb.units import Number

FEW = (
    "format.stock.gauge",
    "format.blank.diameter",
    "format.punch.wall_diameter",
    "format.punch.neck_diameter",
    "format.ironing.rings[2].bore",
    "format.trim.height",
)
"""Six sizes whose 64 corners are all taken."""

MONOTONE = (
    "blank.mass",
    "cup.height",
    "redrawn.clearance_over_gauge",
    "ironed[2].thin",
    "ironed[2].thick",
    "ironed[2].reduction",
    "stroke.total_reduction",
    "domed.height",
    "trimmed.allowance",
    "trimmed.trim_share",
    "flanged.height",
    "flanged.straight",
    "flanged.mass",
    "filled.sealed",
    "filled.headspace",
    "filled.warmest_pressure",
    "strength.reversal",
    "strength.axial_empty",
)
"""Results that move one way with each of the six."""


def few(assembled: Assembled) -> Study:
    """A study of the six sizes alone."""
    return Study(assembled.case, [one for one in assembled.study.inputs if one.key in FEW])


@pytest.mark.parametrize("ident", ["b211-330", "b204-355", "b211-568-206"])
def test_worst_corners_are_the_worst_of_all_corners(ident: str, formats: Mapping[str, Assembled]) -> None:
    """For results that move one way with each size, the two corners reported are the worst of all 64."""
    study = few(formats[ident])
    assert len(study.inputs) == len(FEW)
    corners = np.array(list(itertools.product(*((one.low, one.high) for one in study.inputs))))
    every = take(study.case.put({one.key: corners[:, i] for i, one in enumerate(study.inputs)}))
    spreads = study.spreads(lambda route: [pick(key)(route) for key in MONOTONE])
    for key, spread in zip(MONOTONE, spreads, strict=True):
        values = np.broadcast_to(pick(key)(every), (len(corners),))
        # the thin wall moves a solved base by no more than the solver's own error, so not one way
        close = 1e-8 if key in {"strength.reversal", "strength.axial_empty"} else 1e-12
        assert spread.low == pytest.approx(float(np.min(values)), rel=close), key
        assert spread.high == pytest.approx(float(np.max(values)), rel=close), key
        assert spread.nominal == pytest.approx(float(pick(key)(study.nominal)), rel=1e-12), key


def test_nominal_is_between_its_corners(formats: Mapping[str, Assembled]) -> None:
    """With all tolerances of all demo formats, every result's nominal is within its two corners."""
    for ident in ("b211-440-light", "b202-200", "b211-500-206"):
        spreads = formats[ident].study.spreads(lambda route: [one.value for one in iter_results(route)])
        for one, spread in zip(iter_results(formats[ident].study.nominal), spreads, strict=True):
            if one.key == "strength.growth_design" and ident == "b211-440-light":
                assert np.isnan(spread.high)  # at its worst corner the dome does not hold the design pressure
                continue
            slack = 1e-9 * max(abs(spread.nominal), 1.0)
            assert spread.low - slack <= spread.nominal <= spread.high + slack, one.key


def test_a_result_no_tolerance_touches_has_no_spread(formats: Mapping[str, Assembled]) -> None:
    """The dome's depth over its stand moves with the depth alone; the pitch only with the blank."""
    study = few(formats["b211-330"])
    (share, pitch) = study.spreads(lambda route: [route.domed.depth_share, route.blank.pitch])
    assert share.low == share.nominal == share.high
    assert pitch.high - pitch.low == pytest.approx(0.06)


def test_a_study_without_tolerances(formats: Mapping[str, Assembled]) -> None:
    """A case none of whose sizes has a tolerance is its nominal in all corners, and nothing drives it."""
    study = Study(formats["b211-330"].case, [])
    thin = float(study.nominal.ironed[2].thin)
    assert study.spreads(lambda route: [route.ironed[2].thin]) == [Spread(thin, thin, thin)]
    assert study.drivers(pick("ironed[2].thin")) == []


def test_a_result_lost_at_one_limit_is_lost_in_both_corners(formats: Mapping[str, Assembled]) -> None:
    """What cannot be computed at a size's limit is reported as such, whichever side the limit binds."""
    study = few(formats["b211-330"])
    gauge = next(one for one in study.inputs if one.key == "format.stock.gauge")

    def lost(at: float) -> list[Spread]:
        def value(route: Route) -> list[Number]:
            now = np.asarray(route.case.format.stock.gauge, dtype=float)
            return [np.where(np.isclose(now, at), np.nan, now), -np.where(np.isclose(now, at), np.nan, now)]

        return study.spreads(value)

    for spread in (*lost(gauge.low), *lost(gauge.high)):
        assert np.isnan(spread.low)
        assert np.isnan(spread.high)
        assert np.isfinite(spread.nominal)


def test_a_result_that_turns_is_taken_at_its_turn(formats: Mapping[str, Assembled]) -> None:
    """A result that falls to both limits of the depth is largest between them, not at nominal."""
    study = few(formats["b211-330"])
    depth = Input("format.dome.depth", 10.6, 10.5, 10.7)
    study = Study(study.case, [depth, *(one for one in study.inputs if one.key == "format.stock.gauge")])

    def hill(route: Route) -> list[Number]:
        off = np.asarray(route.case.format.dome.depth, dtype=float) - 10.64
        return [5 - off**2 + np.asarray(route.case.format.stock.gauge), off**2]

    rising, falling = study.spreads(hill)
    gauge = study.inputs[1]
    assert rising.high == pytest.approx(5 + gauge.high, abs=1e-9)
    assert rising.low == pytest.approx(5 - 0.14**2 + gauge.low)
    assert falling.low == pytest.approx(0.0, abs=1e-9)
    assert falling.high == pytest.approx(0.14**2)


# --- drivers ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "key", ["ironed[2].thin", "trimmed.allowance", "flanged.mass", "filled.headspace", "strength.reversal"]
)
def test_drivers_share_the_whole(key: str, formats: Mapping[str, Assembled]) -> None:
    """The shares are listed strongest first; with those too small to list they add up to one."""
    study = formats["b211-330"].study
    drivers = study.drivers(pick(key))
    shares = [share for _, share in drivers]
    assert shares == sorted(shares, reverse=True)
    assert 1 - 0.001 * len(study.inputs) <= sum(shares) <= 1 + 1e-12


def test_the_wall_is_driven_by_ring_and_punch(formats: Mapping[str, Assembled]) -> None:
    """With equal tolerances on both diameters, ring and punch drive the thin wall half each."""
    drivers = dict(formats["b211-330"].study.drivers(pick("ironed[2].thin")))
    assert set(drivers) == {"format.ironing.rings[2].bore", "format.punch.wall_diameter"}
    assert drivers["format.punch.wall_diameter"] == pytest.approx(0.5, abs=0.02)


def test_targets_drive_nothing(formats: Mapping[str, Assembled]) -> None:
    """Tolerances that are targets are no inputs; every other one of the files is."""
    for assembled in formats.values():
        keys = {one.key for one in assembled.study.inputs}
        assert not any(key.startswith(("format.targets.", "format.fill.headspace", "plant.")) for key in keys)
        assert "format.flange.finished_height" not in keys
        assert {"format.stock.gauge", "end.gauge", "stock.yield_after_bake"} <= keys


# --- population -------------------------------------------------------------------------------

CANS = {"count": 4000, "sigmas": 3.0}


def test_the_same_seed_gives_the_same_cans(formats: Mapping[str, Assembled]) -> None:
    """Two populations of one seed are alike to the last byte, those of two seeds are not."""
    study = formats["b211-330"].study
    one, again, other = (
        np.asarray(study.population(seed=seed, **CANS).trimmed.allowance).tobytes() for seed in (11, 11, 12)
    )
    assert one == again
    assert one != other


def test_a_population_is_inside_the_corners_about_the_nominal(formats: Mapping[str, Assembled]) -> None:
    """Cans scatter about the nominal, well inside the worst corners, wider than any one size makes them.

    Tolerances here are even about their nominals, so the mean is the nominal within four standard errors.
    """
    study = formats["b211-330"].study
    cans = study.population(seed=5, **CANS)
    for key in ("ironed[2].thin", "trimmed.allowance", "flanged.mass", "filled.headspace"):
        values = np.asarray(pick(key)(cans))
        (spread,) = study.spreads(lambda route, key=key: [pick(key)(route)])
        assert values.shape == (CANS["count"],)
        assert spread.low <= np.min(values) < np.max(values) <= spread.high
        error = float(np.std(values)) / np.sqrt(CANS["count"])
        assert float(np.mean(values)) == pytest.approx(
            spread.nominal, abs=4 * error + 1e-4 * abs(spread.nominal)
        )


def test_a_population_scatters_as_its_tolerances_say(formats: Mapping[str, Assembled]) -> None:
    """A size's standard deviation is its half tolerance over the sigmas, and no can is outside its limits."""
    study = formats["b211-330"].study
    cans = study.population(seed=5, **CANS)
    gauges = np.asarray(cans.case.format.stock.gauge)
    assert 0.258 <= np.min(gauges) < np.max(gauges) <= 0.266
    # cutting off at three sigma takes 1.3 % off the standard deviation; 4000 cans show it to 3 %
    assert float(np.std(gauges)) == pytest.approx(0.004 / 3, rel=0.04)
    wide = study.population(seed=5, count=4000, sigmas=1.5)
    assert float(np.std(wide.case.format.stock.gauge)) > 1.5 * float(np.std(gauges))
