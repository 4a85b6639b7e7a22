"""Zahm and Nagel / ASBC carbonation chart for beer, in the regression circulated among brewers, undated.

Seen on a public brewing forum: psig = -16.6999 - 0.0101059 T + 0.00116512 T^2 + 0.173354 T V + 4.24267 V
- 0.0684226 V^2, T in degF, V in volumes.
"""

from __future__ import annotations

import pytest

from kb.process.gas import carbon_dioxide_partial_pressure, saturation_pressure

MPA_PER_PSI = 0.006894757
ATMOSPHERE_PSI = 14.696
FORUM_ROW = (32, 4.0, 22.235)  # degF, volumes, psig


def chart_psig(fahrenheit, volumes):
    """Gauge pressure of the chart's regression."""
    return (
        -16.6999
        - 0.0101059 * fahrenheit
        + 0.00116512 * fahrenheit**2
        + 0.173354 * fahrenheit * volumes
        + 4.24267 * volumes
        - 0.0684226 * volumes**2
    )


def chart_over_water(fahrenheit, volumes):
    """Partial pressure of carbon dioxide by the chart, over that found for water, both at equilibrium."""
    celsius = (fahrenheit - 32) / 1.8
    water = carbon_dioxide_partial_pressure(
        temperature=celsius, volumes=volumes, liquid_volume=1e6, headspace_volume=0.0
    )
    vapour = saturation_pressure(temperature=celsius) / MPA_PER_PSI
    return (chart_psig(fahrenheit, volumes) + ATMOSPHERE_PSI - vapour) * MPA_PER_PSI / water


def test_regression_is_copied_rightly():
    """The row quoted with the regression comes out to its three decimals."""
    fahrenheit, volumes, psig = FORUM_ROW
    assert chart_psig(fahrenheit, volumes) == pytest.approx(psig, abs=5e-4)


@pytest.mark.parametrize("volumes", [2.2, 2.6, 3.0, 4.0])
def test_cellar_warmth(volumes):
    """At 60 degF beer and water agree to 3.5 %, the spread among published charts."""
    assert chart_over_water(60, volumes) == pytest.approx(1, rel=0.035)


@pytest.mark.parametrize("volumes", [2.2, 2.6, 3.0, 4.0])
@pytest.mark.parametrize("fahrenheit", [32, 40, 50])
def test_in_the_cold(fahrenheit, volumes):
    """Beer takes up less gas than water in the cold, so the chart is higher, by no more than a tenth."""
    assert 1.0 < chart_over_water(fahrenheit, volumes) < 1.1
