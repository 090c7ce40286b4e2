"""Units: what a number in a case file or on a screen means, and the same number in SI.

Everything behind this module is in SI (K, Pa absolute, W, m3/s, kg/s, fractions). A case file and a screen
are in one of two systems, ``"US"`` or ``"SI"``. Each kind of quantity has one row here with its label, its
factor and its zero in both systems; `calibration.case.keys` says which kind each key of a case file is.

Gauges read pressure over the air around them, so a gauge pressure needs the local barometric pressure to
become absolute; every other kind ignores it. Minutes, hours, years and money are written alike in both
systems and are not converted.

References
----------
International pound, foot and inch (1959) and international-table British thermal unit, exact by definition;
standard gravity 9.80665 m/s2 (CGPM 1901); conventional inches of mercury and water: NIST SP 811, Appendix
B.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb
from typing import Literal, TypeVar

import numpy as np

from model.arrays import Array
from model.properties.moist_air import STANDARD_PRESSURE

System = Literal["US", "SI"]
SYSTEMS: tuple[System, ...] = ("US", "SI")

FOOT = 0.3048
"""One foot [m], exact."""
INCH = FOOT / 12
"""One inch [m], exact."""
POUND = 0.45359237
"""One pound [kg], exact."""
PSI = POUND * 9.80665 / INCH**2
"""One pound-force per square inch [Pa], exact: 6894.757."""
INCH_OF_MERCURY = 3386.389
"""One conventional inch of mercury [Pa] (NIST SP 811)."""
INCH_OF_WATER = 249.08891
"""One conventional inch of water at 4 degC [Pa] (NIST SP 811)."""
BTU = 1055.05585262
"""One international-table British thermal unit [J], exact."""
HOUR = 3600.0
"""One hour [s]."""
BTU_PER_HOUR = BTU / HOUR
"""One Btu/h [W]: 0.2930711."""
TON = 12000 * BTU_PER_HOUR
"""One ton of refrigeration [W]: 3516.853."""
CFM = FOOT**3 / 60
"""One cubic foot a minute [m3/s]: 0.000471947."""
DEGREE_F = 5 / 9
"""One Fahrenheit degree as a difference [K], exact."""

FloatOrArray = TypeVar("FloatOrArray", float, Array)


@dataclass(frozen=True)
class Scale:
    """One way to write a quantity: ``SI value = (number - zero) * factor + origin``.

    Attributes
    ----------
    label : str
        The unit as it is written on a screen.
    factor : float
        SI units in one of this unit.
    zero : float
        FloatOrArray at which the scale has its fixed point, in this unit: 32 degF for ice.
    origin : float
        SI value at that point: 273.15 K. Two steps keep whole degrees whole from one scale to the other.
    decimals : int
        Digits after the point that are worth showing.
    """

    label: str
    factor: float = 1.0
    zero: float = 0.0
    origin: float = 0.0
    decimals: int = 2

    def to_si(self, number: FloatOrArray) -> FloatOrArray:
        """SI value of a number in this unit; infinite where it would be beyond all floats.

        Parameters
        ----------
        number : float or array
            In this unit.

        Returns
        -------
        float or array
            The same in SI.
        """
        with np.errstate(over="ignore"):
            return (number - self.zero) * self.factor + self.origin

    def from_si(self, value: FloatOrArray) -> FloatOrArray:
        """FloatOrArray in this unit for an SI value; the way back from `to_si`.

        Parameters
        ----------
        value : float or array
            [SI]

        Returns
        -------
        float or array
            In this unit.
        """
        return (value - self.origin) / self.factor + self.zero


@dataclass(frozen=True)
class Quantity:
    """A kind of quantity: how each system writes it.

    Attributes
    ----------
    name : str
        What it is, in words.
    us, si : Scale
        The unit of each system.
    gauge : bool
        True when the number is a pressure over the local barometric pressure.
    look_alikes : tuple of Scale
        Other units in which people write such a number by mistake.
    """

    name: str
    us: Scale
    si: Scale
    gauge: bool = False
    look_alikes: tuple[Scale, ...] = ()

    def scale(self, system: System) -> Scale:
        """Unit of this kind in one system."""
        return self.us if system == "US" else self.si

    def label(self, system: System) -> str:
        """Unit's label in one system; empty for a plain number."""
        return self.scale(system).label

    def to_si(
        self, number: FloatOrArray, system: System, ambient_pressure: float | FloatOrArray = STANDARD_PRESSURE
    ) -> FloatOrArray:
        """SI value of a number typed in one system.

        Parameters
        ----------
        number : float or array
            As typed, in ``label(system)``.
        system : {"US", "SI"}
            System in which it was typed.
        ambient_pressure : float or array
            Local barometric pressure [Pa]; used by gauge pressures alone.

        Returns
        -------
        float or array
            The same in SI.
        """
        value = self.scale(system).to_si(number)
        return value + ambient_pressure if self.gauge else value

    def from_si(
        self, value: FloatOrArray, system: System, ambient_pressure: float | FloatOrArray = STANDARD_PRESSURE
    ) -> FloatOrArray:
        """FloatOrArray to show in one system for an SI value; the way back from `to_si`.

        Parameters
        ----------
        value : float or array
            [SI]; a pressure is absolute.
        system : {"US", "SI"}
            System in which it is shown.
        ambient_pressure : float or array
            Local barometric pressure [Pa]; used by gauge pressures alone.

        Returns
        -------
        float or array
            In ``label(system)``.
        """
        over = value - ambient_pressure if self.gauge else value
        return self.scale(system).from_si(over)

    def shown(self, value: float, system: System, ambient_pressure: float = STANDARD_PRESSURE) -> str:
        """Text of an SI value in one system, rounded to the digits worth showing, without the unit.

        Parameters
        ----------
        value : float
            [SI]; a pressure is absolute.
        system : {"US", "SI"}
            System in which it is shown.
        ambient_pressure : float
            Local barometric pressure [Pa]; used by gauge pressures alone.

        Returns
        -------
        str
            Never a zero with a minus.
        """
        text = f"{self.from_si(value, system, ambient_pressure):.{self.scale(system).decimals}f}"
        return text.removeprefix("-") if not text.strip("-0.") else text


def _same(name: str, label: str, factor: float = 1.0, decimals: int = 2) -> Quantity:
    """Quantity that both systems write alike."""
    return Quantity(name, Scale(label, factor, decimals=decimals), Scale(label, factor, decimals=decimals))


_FAHRENHEIT = Scale("degF", DEGREE_F, 32.0, 273.15, 1)
_CELSIUS = Scale("degC", 1.0, 0.0, 273.15, 1)
_PSI = Scale("psi", PSI, decimals=1)
_KPA = Scale("kPa", 1000.0, decimals=1)
_BAR = Scale("bar", 1e5, decimals=2)
_PASCAL = Scale("Pa", 1.0, decimals=0)
_PERCENT_ALIKE = Scale("percent", 0.01)

TEMPERATURE = Quantity("temperature", _FAHRENHEIT, _CELSIUS, look_alikes=(Scale("K"),))
TEMPERATURE_DIFFERENCE = Quantity(
    "temperature difference", Scale("degF", DEGREE_F, decimals=1), Scale("K", 1.0, decimals=2)
)
GAUGE_PRESSURE = Quantity("gauge pressure", _PSI, _KPA, gauge=True, look_alikes=(_BAR, _PASCAL))
PRESSURE_DIFFERENCE = Quantity("pressure difference", _PSI, _KPA, look_alikes=(_BAR, _PASCAL))
BAROMETRIC_PRESSURE = Quantity(
    "barometric pressure",
    Scale("inHg", INCH_OF_MERCURY, decimals=2),
    Scale("kPa", 1000.0, decimals=2),
    look_alikes=(_PSI, Scale("hPa", 100.0), _PASCAL, _BAR),
)
STATIC_PRESSURE = Quantity(
    "static pressure", Scale("inH2O", INCH_OF_WATER, decimals=2), Scale("Pa", 1.0, decimals=0)
)
AIRFLOW = Quantity(
    "airflow",
    Scale("cfm", CFM, decimals=0),
    Scale("m3/s", 1.0, decimals=3),
    look_alikes=(Scale("m3/h", 1 / HOUR),),
)
STANDARD_AIRFLOW = Quantity(
    "airflow of standard air",
    Scale("scfm", CFM, decimals=0),
    Scale("m3/s", 1.0, decimals=3),
    look_alikes=(Scale("m3/h", 1 / HOUR),),
)
CAPACITY = Quantity(
    "capacity",
    Scale("Btu/h", BTU_PER_HOUR, decimals=0),
    Scale("W", 1.0, decimals=0),
    look_alikes=(Scale("thousand Btu/h", 1000 * BTU_PER_HOUR), Scale("tons", TON), Scale("kW", 1000.0)),
)
POWER = Quantity(
    "power", Scale("W", 1.0, decimals=0), Scale("W", 1.0, decimals=0), look_alikes=(Scale("kW", 1000.0),)
)
EFFICIENCY = Quantity(
    "energy efficiency", Scale("Btu/(W h)", BTU_PER_HOUR, decimals=2), Scale("W/W", 1.0, decimals=3)
)
COEFFICIENT = _same("coefficient of performance", "W/W", 1.0, 3)
REFRIGERANT_FLOW = Quantity(
    "refrigerant flow", Scale("lb/h", POUND / HOUR, decimals=1), Scale("g/s", 1e-3, decimals=2)
)
AIR_MASS_FLOW = Quantity(
    "dry-air flow", Scale("lb/h", POUND / HOUR, decimals=0), Scale("kg/s", 1.0, decimals=4)
)
MASS = Quantity("mass", Scale("lb", POUND, decimals=2), Scale("kg", 1.0, decimals=3))
LENGTH = Quantity("length", Scale("ft", FOOT, decimals=0), Scale("m", 1.0, decimals=0))
HUMIDITY_RATIO = Quantity("humidity ratio", Scale("lb/lb", 1.0, decimals=5), Scale("kg/kg", 1.0, decimals=5))
ENTHALPY = Quantity("enthalpy", Scale("Btu/lb", BTU / POUND, decimals=2), Scale("kJ/kg", 1000.0, decimals=2))
CONDUCTANCE = Quantity(
    "conductance", Scale("Btu/(h degF)", BTU_PER_HOUR / DEGREE_F, decimals=0), Scale("W/K", 1.0, decimals=0)
)
PERCENT = Quantity(
    "percent", Scale("%", 0.01, decimals=1), Scale("%", 0.01, decimals=1), look_alikes=(Scale("a fraction"),)
)
FRACTION = Quantity(
    "fraction", Scale("", 1.0, decimals=3), Scale("", 1.0, decimals=3), look_alikes=(_PERCENT_ALIKE,)
)
VOLTAGE = _same("voltage", "V", 1.0, 1)
CURRENT = _same("current", "A", 1.0, 2)
MINUTES = _same("time", "min", 1.0, 0)
HOURS = _same("hours", "h", 1.0, 0)
YEARS = _same("years", "years", 1.0, 2)
RATE_PER_YEAR = _same("growth a year", "1/year", 1.0, 3)
ENERGY = _same("energy", "kWh", 3.6e6, 0)
COUNT = _same("count", "", 1.0, 0)
MONEY = _same("money", "", 1.0, 2)
ENERGY_PRICE = _same("energy price", "per kWh", 1.0, 4)
DEMAND_PRICE = _same("demand price", "per kW and month", 1.0, 2)
CARBON_INTENSITY = _same("carbon intensity", "kg/kWh", 1.0, 3)


def celsius_coefficients(coefficients: Sequence[float], form: System) -> tuple[float, ...]:
    """Ten coefficients of an AHRI 540 polynomial moved to temperatures in degC.

    Parameters
    ----------
    coefficients : sequence of 10 floats
        In the standard's order: 1, S, D, S2, SD, D2, S3, D S2, S D2, D3.
    form : {"US", "SI"}
        ``"US"``: suction and discharge dew-point temperatures in degF; ``"SI"``: in degC.

    Returns
    -------
    tuple of 10 floats
        The same polynomial of temperatures in degC; its result keeps its unit.

    Raises
    ------
    ValueError
        When there are not ten coefficients.

    References
    ----------
    AHRI 540, Performance rating of positive displacement refrigerant compressors (order from memory).
    """
    if len(coefficients) != len(_TERMS):
        raise ValueError(f"coefficients must be {len(_TERMS)} numbers (AHRI 540), got {len(coefficients)}")
    slope, shift = (1.8, 32.0) if form == "US" else (1.0, 0.0)
    moved = dict.fromkeys(_TERMS, 0.0)
    for (power_s, power_d), coefficient in zip(_TERMS, coefficients, strict=True):
        for i in range(power_s + 1):
            for j in range(power_d + 1):
                share_s = comb(power_s, i) * slope**i * shift ** (power_s - i)
                share_d = comb(power_d, j) * slope**j * shift ** (power_d - j)
                moved[i, j] += coefficient * share_s * share_d
    return tuple(moved.values())


_TERMS = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2), (3, 0), (2, 1), (1, 2), (0, 3))
"""Powers of suction and discharge temperature in the order of AHRI 540."""
