from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from kb.process.gas import (
    can_pressure,
    carbon_dioxide_partial_pressure,
    nitrogen_partial_pressure,
    saturation_pressure,
    solubility,
    solubility_iapws,
    solubility_weiss,
    water_density,
)

ATMOSPHERE = 0.101325  # MPa
CAN = {"liquid_volume": 355e3, "headspace_volume": 16e3}  # mm3

# Worked beforehand from the mole balance with Weiss's solubility at every temperature, kPa gauge
WARMING_3_7_VOLUMES = {4: 143.7, 20: 309.2, 40: 563.1, 50: 698.8, 60: 834.1}
WARMING_2_6_VOLUMES = {4: 71.1, 20: 187.9, 40: 367.8, 50: 464.6, 60: 561.9}


@pytest.mark.parametrize(("volumes", "row"), [(3.7, WARMING_3_7_VOLUMES), (2.6, WARMING_2_6_VOLUMES)])
def test_can_warms_as_worked_beforehand(volumes, row):
    """Up to 40 degC the row comes out to its last digit, above within 1 %: other solubility."""
    for temperature, expected in row.items():
        pressure = 1000 * can_pressure(temperature=temperature, volumes=volumes, **CAN)
        assert pressure == pytest.approx(expected, abs=0.06 if temperature <= 40 else 0.01 * expected)


def test_swollen_drink_raises_the_hot_pressure_by_two_per_cent():
    """With the drink expanded to 60 degC and its carbonation thinned alike, 2.6 volumes reach 572.8 kPa."""
    swelling = water_density(temperature=20.0) / water_density(temperature=60.0)
    liquid = 355e3 * swelling
    pressure = can_pressure(
        temperature=60.0, volumes=2.6 / swelling, liquid_volume=liquid, headspace_volume=371e3 - liquid
    )
    assert 1000 * pressure == pytest.approx(572.8, abs=0.3)


@pytest.mark.parametrize("temperature", [0.0, 4.0, 25.0, 45.0, 65.0])
def test_no_carbon_dioxide_is_lost(temperature):
    """Moles dissolved plus moles in the headspace are the moles filled."""
    pressure = carbon_dioxide_partial_pressure(temperature=temperature, volumes=2.8, **CAN)
    filled = 2.8 * 0.355 / 22.41396954
    dissolved = solubility(temperature=temperature) * (pressure / ATMOSPHERE) * 0.355
    free = (pressure * 1e6) * 16e-6 / (8.314462618 * (temperature + 273.15))
    assert dissolved + free == pytest.approx(filled, rel=1e-9)


def test_pressure_found_by_searching_for_the_balance():
    """A root finder on the mole balance, in its own units, meets the closed form."""

    def surplus(bar):
        dissolved = solubility_weiss(temperature=20.0) * bar / 1.01325 * 0.33
        free = bar * 1e5 * 20e-6 / (8.314462618 * 293.15)
        return dissolved + free - 2.8 * 0.33 / 22.41396954

    found = carbon_dioxide_partial_pressure(
        temperature=20.0, volumes=2.8, liquid_volume=330e3, headspace_volume=20e3
    )
    assert 10 * found == pytest.approx(brentq(surplus, 0.1, 20))


def test_full_can_follows_henry_alone():
    """Without headspace the pressure is carbonation over solubility."""
    found = carbon_dioxide_partial_pressure(
        temperature=20.0, volumes=2.8, liquid_volume=330e3, headspace_volume=0.0
    )
    expected = 2.8 / 22.41396954 / solubility(temperature=20.0) * ATMOSPHERE
    assert found == pytest.approx(expected)


def test_size_of_the_can_does_not_matter():
    """Twice the drink over twice the headspace is under the same pressure."""
    once = can_pressure(temperature=30.0, volumes=2.6, nitrogen_mass=0.02, **CAN)
    twice = can_pressure(
        temperature=30.0, volumes=2.6, nitrogen_mass=0.04, liquid_volume=710e3, headspace_volume=32e3
    )
    assert twice == pytest.approx(once)


def test_still_can_without_nitrogen_is_under_suction():
    """Purged, still and cold, only water vapour is left: nearly one atmosphere below outside."""
    pressure = can_pressure(temperature=20.0, volumes=0.0, **CAN)
    assert pressure == pytest.approx(saturation_pressure(temperature=20.0) - ATMOSPHERE)
    assert pressure == pytest.approx(-0.09899, abs=1e-5)


def test_nitrogen_adds_to_carbon_dioxide():
    """Each gas brings its own pressure."""
    both = can_pressure(temperature=20.0, volumes=2.0, nitrogen_mass=0.05, **CAN)
    alone = can_pressure(temperature=20.0, volumes=2.0, **CAN)
    assert both - alone == pytest.approx(
        nitrogen_partial_pressure(temperature=20.0, nitrogen_mass=0.05, **CAN)
    )


def test_nitrogen_mostly_stays_in_the_headspace():
    """Under a small headspace between a fifth and a third of the dose dissolves."""
    pressure = nitrogen_partial_pressure(
        temperature=20.0, nitrogen_mass=0.1, liquid_volume=330e3, headspace_volume=16e3
    )
    undissolved = 0.1 / 28.014 * 8.314462618 * 293.15 / 16e3 * 1e3
    assert 0.2 < 1 - pressure / undissolved < 1 / 3


def test_pressure_rises_with_every_degree():
    """No step anywhere, the change of solubility formula included."""
    temperatures = np.linspace(0, 80, 1601)
    pressures = can_pressure(temperature=temperatures, volumes=2.6, **CAN)
    assert np.all(np.diff(pressures) > 0)
    assert np.max(np.abs(np.diff(pressures, n=2))) < 2e-4


def test_solubility_passes_from_one_formula_to_the_other():
    """Weiss to 40 degC, IAPWS from 50, halfway between them at 45."""
    for temperature in (2.0, 25.0, 40.0):
        assert solubility(temperature=temperature) == solubility_weiss(temperature=temperature)
    for temperature in (50.0, 65.0):
        assert solubility(temperature=temperature) == pytest.approx(solubility_iapws(temperature=temperature))
    ends = (solubility_weiss(temperature=45.0), solubility_iapws(temperature=45.0))
    assert solubility(temperature=45.0) == pytest.approx(np.mean(ends))


def test_arrays_equal_single_numbers():
    """Each sample of an array comes out as it would alone."""
    temperatures = np.array([2.0, 39.9, 44.0, 66.0])
    volumes = np.array([[0.0], [2.6], [3.7]])
    together = can_pressure(temperature=temperatures, volumes=volumes, nitrogen_mass=0.01, **CAN)
    assert together.shape == (3, 4)
    for row, column in np.ndindex(together.shape):
        alone = can_pressure(
            temperature=float(temperatures[column]), volumes=float(volumes[row, 0]), nitrogen_mass=0.01, **CAN
        )
        assert together[row, column] == pytest.approx(alone)


@pytest.mark.parametrize(
    ("argument", "value"),
    [("volumes", -0.1), ("nitrogen_mass", -1.0), ("liquid_volume", 0.0), ("headspace_volume", -1.0)],
)
def test_faulty_filling_is_named(argument, value):
    """A filling that cannot be is refused by the argument's name."""
    arguments = CAN | {"temperature": 20.0, "volumes": 2.6, "nitrogen_mass": 0.0}
    with pytest.raises(ValueError, match=argument):
        can_pressure(**(arguments | {argument: value}))


@pytest.mark.parametrize("temperature", [-280.0, 374.0])
def test_temperature_outside_liquid_water_is_refused(temperature):
    """Below absolute zero and above the critical point there is nothing to compute."""
    with pytest.raises(ValueError, match="must be above zero"):
        saturation_pressure(temperature=temperature)


MPA_PER_PSI = 0.006894757


def test_beer_being_pasteurised_stays_under_ninety_psi():
    """Beer of 2.6 volumes at 60 degC, drink 355 ml and headspace 16 ml, is inside what the can must hold."""
    pressure = can_pressure(temperature=60.0, volumes=2.6, liquid_volume=355e3, headspace_volume=16e3)
    assert 75 < pressure / MPA_PER_PSI < 90
