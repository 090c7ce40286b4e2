"""Moist-air properties at the local pressure, in closed form, on whole arrays.

Assumptions: dry air and water vapour as ideal gases, so that every quantity per mass of dry air follows
from the saturation pressure of water. Against the real-gas tables of ASHRAE this is low by about 0.5 % in
saturated humidity ratio (test_moist_air has the figures). The wick of a wet bulb carries liquid water at
every temperature; below 0 degC, where ASHRAE takes ice, humidity ratios from a wet bulb are low by about
0.00005 kg/kg per kelvin between dry and wet bulb.

Enthalpy is zero for dry air and for liquid water at 0 degC (about; 2501 kJ/kg for vapour at 0 degC). Humidity
ratio is kg of water vapour per kg of dry air, and enthalpy, specific volume and flow are per kg of dry air.

Sources: ASHRAE Handbook Fundamentals 2017, chapter 1 (equation numbers given at each function; coefficients
from memory, checked against the tables of that chapter); saturation pressure after Hyland and Wexler,
ASHRAE Transactions 89 (1983).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array

ZERO_CELSIUS = 273.15
"""0 degC [K]."""
TRIPLE_POINT = 273.16
"""Triple point of water [K]: saturation over ice below, over liquid above."""
MOLAR_MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air [-]; ASHRAE 2017, ch. 1, eq. (20)."""
DRY_AIR_GAS_CONSTANT = 287.042
"""Gas constant of dry air [J/(kg K)]; ASHRAE 2017, ch. 1, eq. (1)."""
DRY_AIR_HEAT_CAPACITY = 1006.0
"""Heat capacity of dry air [J/(kg K)]; ASHRAE 2017, ch. 1, eq. (28)."""
VAPOUR_HEAT_CAPACITY = 1860.0
"""Heat capacity of water vapour [J/(kg K)]; ASHRAE 2017, ch. 1, eq. (29)."""
LIQUID_HEAT_CAPACITY = 4186.0
"""Heat capacity of liquid water [J/(kg K)]; ASHRAE 2017, ch. 1, eq. (33)."""
VAPORISATION_ENTHALPY = 2.501e6
"""Enthalpy of water vapour at 0 degC [J/kg]; ASHRAE 2017, ch. 1, eq. (29)."""
STANDARD_PRESSURE = 101325.0
"""Standard pressure at sea level [Pa]."""
STANDARD_AIR_DENSITY = 1.2041
"""Density of standard air, to which standard flows refer [kg/m3], about 0.075 lb/ft3 (1.2014): dry air of
20 degC at sea level. Common practice rounds either way; the difference is 0.2 %."""

WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)
"""Coefficients over liquid water: 1/T, 1, T, T^2, T^3, T^4, ln T [K]; ASHRAE 2017, ch. 1, eq. (6)."""
ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
"""Coefficients over ice, in the same order; ASHRAE 2017, ch. 1, eq. (5)."""

COLDEST_SURFACE, WARMEST_SURFACE = 200.0, 340.0
"""Range of `saturation_enthalpy_and_slope` [K]; straight lines beyond."""
LOWEST_PRESSURE = 35e3
"""Air pressure down to which `saturation_enthalpy_and_slope` serves [Pa], that of 8200 m."""
WET_BULB_STEPS = 7
"""Most Newton steps to a wet bulb: within 1e-4 K from -20 to 60 degC dry bulb at any humidity (tested)."""
SETTLED = 1e-6
"""Newton steps to a wet bulb or a dew point end after a move under this [K]: the next would be a million
times smaller."""


def saturation_vapour_pressure(temperature: ArrayLike) -> Array:
    """Saturation pressure of water vapour, over ice below the triple point and over liquid above.

    Parameters
    ----------
    temperature : array_like, any shape
        Temperature [K], 173 to 473 (beyond, the formula goes on).

    Returns
    -------
    ndarray
        Pressure [Pa], shape of `temperature`.

    Raises
    ------
    ValueError
        If a temperature is not above zero or not a number.

    References
    ----------
    Hyland, Wexler, ASHRAE Trans. 89 (1983); ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. (5), (6).
    """
    t = _above_zero("temperature", temperature, "K")
    over_water = np.exp(_log_saturation(WATER, t))
    if np.minimum.reduce(t, axis=None, initial=np.inf) >= TRIPLE_POINT:
        return np.asarray(over_water)
    return np.where(t < TRIPLE_POINT, np.exp(_log_saturation(ICE, t)), over_water)


def _log_saturation(c: tuple[float, ...], t: Array) -> Array:
    """Natural logarithm of the saturation pressure [ln Pa]."""
    # no fifth term over water: the solver's most frequent call is spared two operations
    fourth = c[4] + t * c[5] if c[5] else c[4]
    power_series = c[1] + t * (c[2] + t * (c[3] + t * fourth))
    return np.asarray(c[0] / t + power_series + c[6] * np.log(t))


def _log_saturation_slope(c: tuple[float, ...], t: Array) -> Array:
    """Slope of `_log_saturation` [1/K]."""
    fourth = 3 * c[4] + t * (4 * c[5]) if c[5] else 3 * c[4]
    power_series = c[2] + t * (2 * c[3] + t * fourth)
    return np.asarray((c[6] - c[0] / t) / t + power_series)


LOG_TRIPLE_PRESSURE = _log_saturation(WATER, np.asarray(TRIPLE_POINT))


def saturation_humidity_ratio(temperature: ArrayLike, pressure: ArrayLike) -> Array:
    """Humidity ratio of saturated air.

    Parameters
    ----------
    temperature : array_like
        Temperature [K].
    pressure : array_like
        Air pressure [Pa], above the saturation pressure of water.

    Returns
    -------
    ndarray
        Humidity ratio [kg/kg], of the shape of both arguments broadcast together.

    Raises
    ------
    ValueError
        If the vapour pressure reaches the air pressure.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (21).
    """
    return _ratio_of(saturation_vapour_pressure(temperature), pressure)


def _ratio_of(vapour_pressure: Array, pressure: ArrayLike) -> Array:
    """Humidity ratio of a vapour pressure."""
    dry = np.asarray(pressure, dtype=np.float64) - vapour_pressure
    if not np.minimum.reduce(dry, axis=None, initial=1.0) > 0:
        raise ValueError(
            f"pressure must be above the vapour pressure, got {np.min(dry):.6g} Pa of dry air in it"
        )
    return np.asarray(MOLAR_MASS_RATIO * vapour_pressure / dry)


def humidity_ratio_from_wet_bulb(temperature: ArrayLike, wet_bulb: ArrayLike, pressure: ArrayLike) -> Array:
    """Humidity ratio from dry bulb and thermodynamic wet bulb.

    Parameters
    ----------
    temperature, wet_bulb : array_like
        Dry-bulb and wet-bulb temperature [K], wet bulb not above dry bulb and not below that of dry air.
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Humidity ratio [kg/kg], of the shape of all arguments broadcast together.

    Raises
    ------
    ValueError
        If a wet bulb is above the dry bulb, or so low that the humidity would be negative.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (33); liquid wick at every temperature.
    """
    t, wet = np.asarray(temperature, dtype=np.float64), np.asarray(wet_bulb, dtype=np.float64)
    above = wet - t
    if not np.maximum.reduce(above, axis=None, initial=-1.0) <= 1e-6:
        raise ValueError(f"wet_bulb must not be above temperature, got {np.max(above):.6g} K above")
    ratio = _wet_bulb_balance(t, wet, saturation_humidity_ratio(wet, pressure))
    if not np.minimum.reduce(ratio, axis=None, initial=1.0) > -1e-9:
        raise ValueError(
            "wet_bulb must not be below that of dry air at the same temperature, "
            f"got one that asks for a humidity ratio of {np.min(ratio):.4g}"
        )
    return np.maximum(ratio, 0.0)


def _wet_bulb_balance(t: Array, wet: Array, saturated: Array) -> Array:
    """Humidity ratio that the wick's energy balance gives, negative where the wet bulb is impossible."""
    dry_c, wet_c = t - ZERO_CELSIUS, wet - ZERO_CELSIUS
    gained = (VAPORISATION_ENTHALPY + (VAPOUR_HEAT_CAPACITY - LIQUID_HEAT_CAPACITY) * wet_c) * saturated
    needed = VAPORISATION_ENTHALPY + VAPOUR_HEAT_CAPACITY * dry_c - LIQUID_HEAT_CAPACITY * wet_c
    return np.asarray((gained - DRY_AIR_HEAT_CAPACITY * (dry_c - wet_c)) / needed)


def humidity_ratio_from_relative_humidity(
    temperature: ArrayLike, relative_humidity: ArrayLike, pressure: ArrayLike
) -> Array:
    """Humidity ratio from dry bulb and relative humidity.

    Parameters
    ----------
    temperature : array_like
        Dry-bulb temperature [K].
    relative_humidity : array_like
        Vapour pressure over that of saturation [-], 0 to 1.
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Humidity ratio [kg/kg], of the shape of all arguments broadcast together.

    Raises
    ------
    ValueError
        If a relative humidity lies outside 0 to 1.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. (12), (20).
    """
    share = np.asarray(relative_humidity, dtype=np.float64)
    lowest = np.minimum.reduce(share, axis=None, initial=1.0)
    highest = np.maximum.reduce(share, axis=None, initial=0.0)
    if not (lowest >= 0 and highest <= 1):
        raise ValueError(
            f"relative_humidity must lie in [0, 1], got {lowest if not lowest >= 0 else highest:.6g}"
        )
    return _ratio_of(share * saturation_vapour_pressure(temperature), pressure)


def humidity_ratio_from_dew_point(dew_point: ArrayLike, pressure: ArrayLike) -> Array:
    """Humidity ratio from the dew point (frost point below 0.01 degC), as `saturation_humidity_ratio`.

    Parameters
    ----------
    dew_point : array_like
        Dew-point temperature [K].
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Humidity ratio [kg/kg], of the shape of both arguments broadcast together.

    References
    ----------
    Definition of the dew point: saturated at the same humidity ratio (ASHRAE 2017, ch. 1).
    """
    return saturation_humidity_ratio(dew_point, pressure)


def vapour_pressure(humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Partial pressure of water vapour.

    Parameters
    ----------
    humidity_ratio : array_like
        Humidity ratio [kg/kg], >= 0.
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Pressure [Pa], of the shape of both arguments broadcast together.

    Raises
    ------
    ValueError
        If a humidity ratio is negative or not a number.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (36).
    """
    w = np.asarray(humidity_ratio, dtype=np.float64)
    if not np.minimum.reduce(w, axis=None, initial=0.0) >= 0:
        raise ValueError(f"humidity_ratio must be at least 0, got {np.min(w):.6g}")
    return np.asarray(np.asarray(pressure, dtype=np.float64) * w / (MOLAR_MASS_RATIO + w))


def relative_humidity(temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Vapour pressure over that of saturation at the dry bulb.

    Parameters
    ----------
    temperature : array_like
        Dry-bulb temperature [K].
    humidity_ratio : array_like
        Humidity ratio [kg/kg].
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Relative humidity [-], above 1 where the air would be over-saturated.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (12).
    """
    return np.asarray(vapour_pressure(humidity_ratio, pressure) / saturation_vapour_pressure(temperature))


def dew_point(humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Dew point, or frost point below 0.01 degC, by Newton steps on the saturation line.

    Parameters
    ----------
    humidity_ratio : array_like
        Humidity ratio [kg/kg], > 0.
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Temperature [K], of the shape of both arguments broadcast together.

    Raises
    ------
    ValueError
        If a humidity ratio is not above zero: dry air has no dew point.

    References
    ----------
    Definition, the inverse of ASHRAE 2017, ch. 1, eqs. (5), (6); the method is derived here.
    """
    partial = vapour_pressure(humidity_ratio, pressure)
    if not np.minimum.reduce(partial, axis=None, initial=1.0) > 0:
        raise ValueError("humidity_ratio must be above 0 for a dew point, got 0")
    log_partial = np.log(partial)
    over_water = _saturation_temperature(WATER, log_partial)
    frozen = log_partial < LOG_TRIPLE_PRESSURE
    if not frozen.any():
        return over_water
    return np.where(frozen, _saturation_temperature(ICE, log_partial), over_water)


def _saturation_temperature(c: tuple[float, ...], log_pressure: Array) -> Array:
    """Temperature of a saturation pressure; ln p is nearly straight in 1/T, so that few steps are needed."""
    # Clausius-Clapeyron line through the triple point, 611.657 Pa
    t = np.asarray(1.0 / (1.0 / TRIPLE_POINT - (log_pressure - np.log(611.657)) / 5420.0))
    for _ in range(4):
        # a Newton step in 1/T, as a move of T
        excess = (_log_saturation(c, t) - log_pressure) / _log_saturation_slope(c, t)
        move = t * excess / (t + excess)
        t = t - move
        if np.abs(move).max(initial=0.0) < SETTLED:
            break
    return np.asarray(t)


def wet_bulb(temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Thermodynamic wet-bulb temperature, by Newton steps.

    Parameters
    ----------
    temperature : array_like
        Dry-bulb temperature [K].
    humidity_ratio : array_like
        Humidity ratio [kg/kg], 0 to saturation.
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Temperature [K], of the shape of all arguments broadcast together.

    Raises
    ------
    ValueError
        If a humidity ratio is negative or not a number.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (33), turned round; liquid wick at every temperature.
    """
    t, w = np.asarray(temperature, dtype=np.float64), np.asarray(humidity_ratio, dtype=np.float64)
    if not np.minimum.reduce(w, axis=None, initial=0.0) >= 0:
        raise ValueError(f"humidity_ratio must be at least 0, got {np.min(w):.6g}")
    target = enthalpy(t, w)
    # the saturated enthalpy less that of the water added falls to the target at the wet bulb
    wet = np.asarray(t - 0.0 * target)
    for _ in range(WET_BULB_STEPS):
        saturated, slope = saturation_enthalpy_and_slope(wet, pressure)
        celsius = wet - ZERO_CELSIUS
        carried = VAPORISATION_ENTHALPY + VAPOUR_HEAT_CAPACITY * celsius
        full = (saturated - DRY_AIR_HEAT_CAPACITY * celsius) / carried
        growth = (slope - DRY_AIR_HEAT_CAPACITY - VAPOUR_HEAT_CAPACITY * full) / carried
        added = LIQUID_HEAT_CAPACITY * (full - w)
        error = saturated - added * celsius - target
        move = error / (slope - added - LIQUID_HEAT_CAPACITY * growth * celsius)
        wet = wet - move
        if np.abs(move).max(initial=0.0) < SETTLED:
            break
    return wet


def enthalpy(temperature: ArrayLike, humidity_ratio: ArrayLike) -> Array:
    """Enthalpy per kg of dry air.

    Parameters
    ----------
    temperature : array_like
        Dry-bulb temperature [K].
    humidity_ratio : array_like
        Humidity ratio [kg/kg].

    Returns
    -------
    ndarray
        Enthalpy [J/kg of dry air], of the shape of both arguments broadcast together.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (30).
    """
    celsius = np.asarray(temperature, dtype=np.float64) - ZERO_CELSIUS
    w = np.asarray(humidity_ratio, dtype=np.float64)
    return np.asarray(
        DRY_AIR_HEAT_CAPACITY * celsius + w * (VAPORISATION_ENTHALPY + VAPOUR_HEAT_CAPACITY * celsius)
    )


def saturation_enthalpy_and_slope(temperature: ArrayLike, pressure: ArrayLike) -> tuple[Array, Array]:
    """Enthalpy of saturated air and its slope with temperature, for coils and wet bulbs.

    Parameters
    ----------
    temperature : array_like
        Temperature [K]; straight lines below 200 K and above 340 K, for solvers that pass through.
    pressure : array_like
        Air pressure [Pa], above 35 kPa.

    Returns
    -------
    enthalpy : ndarray
        Enthalpy [J/kg of dry air], of the shape of both arguments broadcast together.
    slope : ndarray
        Slope [J/(kg K)], exact.

    Raises
    ------
    ValueError
        If a pressure is not above 35 kPa or an argument is not a number.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. (5), (6), (21), (30).
    """
    given, p = np.asarray(temperature, dtype=np.float64), np.asarray(pressure, dtype=np.float64)
    lowest = np.minimum.reduce(p, axis=None, initial=STANDARD_PRESSURE)
    if not lowest > LOWEST_PRESSURE:
        raise ValueError(f"pressure must be above {LOWEST_PRESSURE:.0f} Pa, got {lowest:.6g}")
    t = np.minimum(np.maximum(given, COLDEST_SURFACE), WARMEST_SURFACE)
    log_partial, log_slope = _log_saturation(WATER, t), _log_saturation_slope(WATER, t)
    coldest = np.minimum.reduce(t, axis=None, initial=np.inf)
    if not coldest > 0:
        raise ValueError(f"temperature must be a number, got {coldest}")
    if coldest < TRIPLE_POINT:
        frozen = t < TRIPLE_POINT
        log_partial = np.where(frozen, _log_saturation(ICE, t), log_partial)
        log_slope = np.where(frozen, _log_saturation_slope(ICE, t), log_slope)
    partial = np.exp(log_partial)
    dry = p - partial
    w = MOLAR_MASS_RATIO * partial / dry
    celsius = t - ZERO_CELSIUS
    vapour = VAPORISATION_ENTHALPY + VAPOUR_HEAT_CAPACITY * celsius
    slope = DRY_AIR_HEAT_CAPACITY + w * (VAPOUR_HEAT_CAPACITY + vapour * log_slope * p / dry)
    value = DRY_AIR_HEAT_CAPACITY * celsius + w * vapour
    return np.asarray(value + slope * (given - t)), np.asarray(slope)


def specific_volume(temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Volume of moist air per kg of dry air.

    Parameters
    ----------
    temperature : array_like
        Dry-bulb temperature [K].
    humidity_ratio : array_like
        Humidity ratio [kg/kg].
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Specific volume [m3/kg of dry air], of the shape of all arguments broadcast together.

    Raises
    ------
    ValueError
        If a pressure is not above zero or not a number.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (26).
    """
    p = _above_zero("pressure", pressure, "Pa")
    t, w = np.asarray(temperature, dtype=np.float64), np.asarray(humidity_ratio, dtype=np.float64)
    return np.asarray(DRY_AIR_GAS_CONSTANT * t * (1 + w / MOLAR_MASS_RATIO) / p)


def density(temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike) -> Array:
    """Density of moist air, mass of dry air and vapour together.

    Parameters
    ----------
    temperature : array_like
        Dry-bulb temperature [K].
    humidity_ratio : array_like
        Humidity ratio [kg/kg].
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Density [kg/m3], of the shape of all arguments broadcast together.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (9b).
    """
    w = np.asarray(humidity_ratio, dtype=np.float64)
    return np.asarray((1 + w) / specific_volume(temperature, w, pressure))


def dry_air_mass_flow(
    volume_flow: ArrayLike, temperature: ArrayLike, humidity_ratio: ArrayLike, pressure: ArrayLike
) -> Array:
    """Mass flow of dry air in a volume flow of moist air, at the state where the volume is measured.

    Parameters
    ----------
    volume_flow : array_like
        Volume flow [m3/s].
    temperature : array_like
        Dry-bulb temperature [K].
    humidity_ratio : array_like
        Humidity ratio [kg/kg].
    pressure : array_like
        Air pressure [Pa].

    Returns
    -------
    ndarray
        Mass flow [kg/s of dry air], of the shape of all arguments broadcast together.

    References
    ----------
    Definition: volume flow over the specific volume per mass of dry air.
    """
    flow = np.asarray(volume_flow, dtype=np.float64)
    return np.asarray(flow / specific_volume(temperature, humidity_ratio, pressure))


def standard_pressure(altitude: ArrayLike) -> Array:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : array_like, any shape
        Height above sea level [m], -5000 to 11000.

    Returns
    -------
    ndarray
        Pressure [Pa], shape of `altitude`.

    Raises
    ------
    ValueError
        If an altitude lies outside the range.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. (3).
    """
    z = np.asarray(altitude, dtype=np.float64)
    lowest = np.minimum.reduce(z, axis=None, initial=0.0)
    highest = np.maximum.reduce(z, axis=None, initial=0.0)
    if not (lowest >= -5000 and highest <= 11000):
        raise ValueError(
            f"altitude must lie in [-5000, 11000] m, got {lowest if not lowest >= -5000 else highest:.6g}"
        )
    return np.asarray(STANDARD_PRESSURE * (1 - 2.25577e-5 * z) ** 5.2559)


def _above_zero(name: str, values: ArrayLike, unit: str) -> Array:
    """Values as an array, checked to be numbers above zero."""
    array = np.asarray(values, dtype=np.float64)
    if not np.minimum.reduce(array, axis=None, initial=1.0) > 0:
        raise ValueError(f"{name} must be above 0 {unit}, got {np.min(array):.6g}")
    return array


def heat_capacity(humidity_ratio: ArrayLike) -> Array:
    """Heat capacity of moist air per mass of dry air.

    Parameters
    ----------
    humidity_ratio : array_like, any shape
        [kg/kg dry air], >= 0.

    Returns
    -------
    ndarray
        [J/(kg dry air K)], shape of `humidity_ratio`.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, equation 30 (constants of the enthalpy).
    """
    return np.asarray(DRY_AIR_HEAT_CAPACITY + VAPOUR_HEAT_CAPACITY * np.asarray(humidity_ratio, dtype=float))


def temperature_from_enthalpy(enthalpy: ArrayLike, humidity_ratio: ArrayLike) -> Array:
    """Dry-bulb temperature of moist air from its enthalpy, the inverse of `enthalpy`.

    Parameters
    ----------
    enthalpy : array_like
        Enthalpy over dry air and liquid water at 0 degC [J/kg dry air].
    humidity_ratio : array_like
        [kg/kg dry air], >= 0; broadcasts with `enthalpy`.

    Returns
    -------
    ndarray
        [K], broadcast shape.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, equation 30.
    """
    humidity = np.asarray(humidity_ratio, dtype=float)
    heat = np.asarray(enthalpy, dtype=float) - humidity * VAPORISATION_ENTHALPY
    return np.asarray(ZERO_CELSIUS + heat / heat_capacity(humidity))
