"""Gas in the filled can: what carbonation, nitrogen and warmth make of the pressure inside.

Equilibrium between liquid and headspace, ideal gas in the headspace, and water in place of the drink.
"""

from __future__ import annotations

from typing import Annotated

import numpy as np

from kb.process.domain import not_negative, positive
from kb.units import DegC, Gram, GramPerCm3, Mm3, MPa, Number, Ratio

MolPerLitreAtm = Annotated[Number, "mol/(L atm)"]
"""Solubility: gas dissolved per litre of liquid under one standard atmosphere of that gas."""

# CODATA 2018; exact since the SI of 2019, the molar volume to the digits given
GAS_CONSTANT = 8.314462618  # J/(mol K)
STANDARD_ATMOSPHERE = 0.101325  # MPa
MOLAR_VOLUME = 22.41396954  # L/mol, ideal gas at 0 degC and one standard atmosphere
ICE_POINT = 273.15  # K
# IUPAC standard atomic weights
NITROGEN_MOLAR_MASS = 28.014  # g/mol
WATER_MOLAR_MASS = 18.01528  # g/mol

# Critical point of water as adopted by IAPWS
CRITICAL_TEMPERATURE = 647.096  # K
CRITICAL_PRESSURE = 22.064  # MPa
CRITICAL_DENSITY = 0.322  # g/cm3

# A, B, C of the Henry's-constant equation, IAPWS G7-04, solvent H2O
_HENRY_CARBON_DIOXIDE = (-8.55445, 4.01195, 9.52345)
_HENRY_NITROGEN = (-9.67578, 4.72162, 11.70585)

# Between these the answer passes from Weiss to IAPWS without a step
_WEISS_UP_TO = 40.0  # degC
_IAPWS_FROM = 50.0  # degC


def henry_iapws(*, temperature: DegC) -> MPa:
    """Henry's constant of carbon dioxide in water.

    Args:
        temperature: Liquid temperature [degC].

    Returns:
        Partial pressure over mole fraction dissolved, in the limit of little gas [MPa].

    Raises:
        ValueError: if the temperature is not between absolute zero and water's critical point.

    Source:
        IAPWS G7-04, Guideline on the Henry's Constant and Vapor-Liquid Distribution Constant for Gases in
        H2O and D2O at High Temperatures, 2004 (coefficients as in the public `iapws` package).

    Note:
        Data from 1.04 to 369.5 degC. Below about 10 degC it is lower than other data, by 4.5 % at freezing.

    Example:
        >>> print(henry_iapws(temperature=25.0))
        165.64
    """
    return _henry(temperature=temperature, coefficients=_HENRY_CARBON_DIOXIDE)


def saturation_pressure(*, temperature: DegC) -> MPa:
    """Vapour pressure of water.

    Args:
        temperature: Water temperature [degC].

    Returns:
        Saturation pressure, absolute [MPa].

    Raises:
        ValueError: if the temperature is not between absolute zero and water's critical point.

    Source:
        Wagner and Pruss, International equations for the saturation properties of ordinary water
        substance, J. Phys. Chem. Ref. Data 22 (1993) 783-787, equation 1; IAPWS SR1-86(1992).

    Note:
        From the triple point to the critical point; undercooled water only roughly.

    Example:
        >>> print(saturation_pressure(temperature=100.0))
        0.1014
    """
    kelvin = _kelvin(temperature)
    tau = 1 - kelvin / CRITICAL_TEMPERATURE
    exponent = (
        -7.85951783 * tau
        + 1.84408259 * tau**1.5
        - 11.7866497 * tau**3
        + 22.6807411 * tau**3.5
        - 15.9618719 * tau**4
        + 1.80122502 * tau**7.5
    )
    return CRITICAL_PRESSURE * np.exp(CRITICAL_TEMPERATURE / kelvin * exponent)


def water_density(*, temperature: DegC) -> GramPerCm3:
    """Density of water at its own vapour pressure.

    Args:
        temperature: Water temperature [degC].

    Returns:
        Density [g/cm3].

    Raises:
        ValueError: if the temperature is not between absolute zero and water's critical point.

    Source:
        Wagner and Pruss, International equations for the saturation properties of ordinary water
        substance, J. Phys. Chem. Ref. Data 22 (1993) 783-787, equation 2; IAPWS SR1-86(1992).

    Note:
        From the triple point to the critical point.

    Example:
        >>> print(water_density(temperature=20.0))
        0.9982
    """
    theta = 1 - _kelvin(temperature) / CRITICAL_TEMPERATURE
    return CRITICAL_DENSITY * (
        1
        + 1.99274064 * theta ** (1 / 3)
        + 1.09965342 * theta ** (2 / 3)
        - 0.510839303 * theta ** (5 / 3)
        - 1.75493479 * theta ** (16 / 3)
        - 45.5170352 * theta ** (43 / 3)
        - 6.74694450e5 * theta ** (110 / 3)
    )


def solubility_weiss(*, temperature: DegC) -> MolPerLitreAtm:
    """Solubility of carbon dioxide in fresh water, cool range.

    Args:
        temperature: Liquid temperature [degC].

    Returns:
        Solubility [mol/(L atm)].

    Raises:
        ValueError: if the temperature is not above absolute zero.

    Source:
        Weiss, Carbon dioxide in water and seawater: the solubility of a non-ideal gas, Marine Chemistry 2
        (1974) 203-215, constants for mol/(L atm), salinity zero (from memory, high confidence; the same in
        several public codes).

    Note:
        Fitted to data from about -1 to 40 degC.

    Example:
        >>> print(solubility_weiss(temperature=25.0))
        0.03397
    """
    hundreds = (temperature + ICE_POINT) / 100
    positive(absolute_temperature=hundreds)
    return np.exp(-58.0931 + 90.5069 / hundreds + 22.2940 * np.log(hundreds))


def solubility_iapws(*, temperature: DegC) -> MolPerLitreAtm:
    """Solubility of carbon dioxide in water, warm range.

    Args:
        temperature: Liquid temperature [degC].

    Returns:
        Solubility [mol/(L atm)].

    Raises:
        ValueError: if the temperature is not between absolute zero and water's critical point.

    Source:
        Derived: mole fraction from `henry_iapws` at one standard atmosphere, made into moles per litre
        with `water_density`.

    Note:
        Takes the gas as ideal: at 6 bar of carbon dioxide near room temperature that is about 3 % off
        (second virial coefficient from memory).

    Example:
        >>> print(solubility_iapws(temperature=60.0))
        0.01662
    """
    return _moles_per_litre_atm(henry=henry_iapws(temperature=temperature), temperature=temperature)


def solubility(*, temperature: DegC) -> MolPerLitreAtm:
    """Solubility of carbon dioxide used for can pressure.

    Args:
        temperature: Liquid temperature [degC].

    Returns:
        Solubility [mol/(L atm)].

    Raises:
        ValueError: if the temperature is not between absolute zero and water's critical point.

    Source:
        `solubility_weiss` up to 40 degC, `solubility_iapws` from 50 degC, in proportion between; the
        blend is a choice made here.

    Note:
        A step at 40 degC, 0.6 % upwards, would let pressure fall on warming; the blend keeps it rising.

    Example:
        >>> print(solubility(temperature=20.0))
        0.0391
    """
    share = np.clip((temperature - _WEISS_UP_TO) / (_IAPWS_FROM - _WEISS_UP_TO), 0, 1)
    cool = solubility_weiss(temperature=temperature)
    return cool + share * (solubility_iapws(temperature=temperature) - cool)


def carbon_dioxide_partial_pressure(
    *, temperature: DegC, volumes: Ratio, liquid_volume: Mm3, headspace_volume: Mm3
) -> MPa:
    """Pressure of the carbon dioxide in a sealed can, shared between drink and headspace.

    Args:
        temperature: Temperature of the can [degC].
        volumes: Carbonation at filling, litres of gas at 0 degC and 1 atm per litre of drink [-].
        liquid_volume: Drink in the can [mm3].
        headspace_volume: Room above the drink [mm3].

    Returns:
        Partial pressure, absolute [MPa].

    Raises:
        ValueError: if volumes or headspace is negative, the liquid is not above zero, or the temperature
            is not between absolute zero and water's critical point.

    Source:
        Derived: all gas filled is either dissolved, by `solubility`, or an ideal gas in the headspace.

    Note:
        At rest, after equilibrium: a can warmed quickly stays lower. The drink counts as water: a beer
        chart has up to 9 % less gas dissolved near freezing, so cold pressures may come out low. Volumes
        counts the gas as ideal, 0.7 % fewer moles than a real litre holds (from memory). Thermal expansion
        of the drink is left out; at 60 degC it adds about 2 % of the gauge pressure.

    Example:
        >>> print(carbon_dioxide_partial_pressure(
        ...     temperature=20.0, volumes=3.7, liquid_volume=355e3, headspace_volume=16e3))
        0.408
    """
    not_negative(volumes=volumes, headspace_volume=headspace_volume)
    positive(liquid_volume=liquid_volume)
    return _shared_pressure(
        moles=volumes * liquid_volume * 1e-6 / MOLAR_VOLUME,
        solubility=solubility(temperature=temperature),
        temperature=temperature,
        liquid_volume=liquid_volume,
        headspace_volume=headspace_volume,
    )


def nitrogen_partial_pressure(
    *, temperature: DegC, nitrogen_mass: Gram, liquid_volume: Mm3, headspace_volume: Mm3
) -> MPa:
    """Pressure of the nitrogen dosed into a can before it is seamed.

    Args:
        temperature: Temperature of the can [degC].
        nitrogen_mass: Nitrogen left in the can after seaming [g].
        liquid_volume: Drink in the can [mm3].
        headspace_volume: Room above the drink [mm3].

    Returns:
        Partial pressure, absolute [MPa].

    Raises:
        ValueError: if mass or headspace is negative, the liquid is not above zero, or the temperature is
            not between absolute zero and water's critical point.

    Source:
        Derived: as carbon dioxide, ideal gas in the headspace and Henry's law in the drink with the
        nitrogen coefficients of IAPWS G7-04 (2004).

    Note:
        At rest: nitrogen dissolves slowly, and in a small headspace about a quarter of it does, so a fresh
        can is higher. Henry's constant holds from 5 degC. Mass boiled off before seaming must be left out.

    Example:
        >>> print(nitrogen_partial_pressure(
        ...     temperature=20.0, nitrogen_mass=0.1, liquid_volume=330e3, headspace_volume=16e3))
        0.4029
    """
    not_negative(nitrogen_mass=nitrogen_mass, headspace_volume=headspace_volume)
    positive(liquid_volume=liquid_volume)
    henry = _henry(temperature=temperature, coefficients=_HENRY_NITROGEN)
    return _shared_pressure(
        moles=nitrogen_mass / NITROGEN_MOLAR_MASS,
        solubility=_moles_per_litre_atm(henry=henry, temperature=temperature),
        temperature=temperature,
        liquid_volume=liquid_volume,
        headspace_volume=headspace_volume,
    )


def can_pressure(
    *,
    temperature: DegC,
    volumes: Ratio,
    liquid_volume: Mm3,
    headspace_volume: Mm3,
    nitrogen_mass: Gram = 0.0,
) -> MPa:
    """Gauge pressure in a filled and seamed can at rest.

    Args:
        temperature: Temperature of the can [degC].
        volumes: Carbonation at filling, litres of gas at 0 degC and 1 atm per litre of drink [-].
        liquid_volume: Drink in the can [mm3].
        headspace_volume: Room above the drink [mm3].
        nitrogen_mass: Nitrogen left in the can after seaming [g].

    Returns:
        Pressure above one standard atmosphere; negative for still drink without nitrogen [MPa].

    Raises:
        ValueError: if volumes, nitrogen or headspace is negative, the liquid is not above zero, or the
            temperature is not between absolute zero and water's critical point.

    Source:
        Derived: partial pressures of carbon dioxide, nitrogen and water vapour (Dalton), less one
        standard atmosphere.

    Note:
        The headspace is taken as purged, no air left in; air would add up to one atmosphere. The can is
        taken as rigid. Felmingham (J. Inst. Brewing, 1960) found less than Henry's law at 60 degC.

    Example:
        >>> print(can_pressure(temperature=20.0, volumes=3.7, liquid_volume=355e3, headspace_volume=16e3))
        0.3092
    """
    carbon_dioxide = carbon_dioxide_partial_pressure(
        temperature=temperature,
        volumes=volumes,
        liquid_volume=liquid_volume,
        headspace_volume=headspace_volume,
    )
    nitrogen = nitrogen_partial_pressure(
        temperature=temperature,
        nitrogen_mass=nitrogen_mass,
        liquid_volume=liquid_volume,
        headspace_volume=headspace_volume,
    )
    return carbon_dioxide + nitrogen + saturation_pressure(temperature=temperature) - STANDARD_ATMOSPHERE


def _kelvin(temperature: DegC) -> Number:
    """Absolute temperature, refused outside the range of liquid water's equations [K]."""
    kelvin = temperature + ICE_POINT
    positive(absolute_temperature=kelvin, kelvin_below_critical_point=CRITICAL_TEMPERATURE - kelvin)
    return kelvin


def _henry(*, temperature: DegC, coefficients: tuple[float, float, float]) -> MPa:
    """Henry's constant of a gas in water, equation 3 of IAPWS G7-04 [MPa]."""
    a, b, c = coefficients
    reduced = _kelvin(temperature) / CRITICAL_TEMPERATURE
    tau = 1 - reduced
    exponent = a / reduced + b * tau**0.355 / reduced + c * reduced**-0.41 * np.exp(tau)
    return saturation_pressure(temperature=temperature) * np.exp(exponent)


def _moles_per_litre_atm(*, henry: MPa, temperature: DegC) -> MolPerLitreAtm:
    """Moles of gas in a litre of water under one standard atmosphere of it [mol/(L atm)]."""
    fraction = STANDARD_ATMOSPHERE / henry
    water = 1000 * water_density(temperature=temperature) / WATER_MOLAR_MASS
    return fraction / (1 - fraction) * water


def _shared_pressure(
    *,
    moles: Number,
    solubility: MolPerLitreAtm,
    temperature: DegC,
    liquid_volume: Mm3,
    headspace_volume: Mm3,
) -> MPa:
    """Pressure at which moles of gas divide between liquid and headspace [MPa]."""
    dissolved_per_mpa = solubility / STANDARD_ATMOSPHERE * liquid_volume * 1e-6
    free_per_mpa = headspace_volume * 1e-3 / (GAS_CONSTANT * (temperature + ICE_POINT))
    return moles / (dissolved_per_mpa + free_per_mpa)
