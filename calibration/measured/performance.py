"""What a visit's readings say about the unit: superheat, subcooling, capacity, power and efficiency.

Capacity is by the air-enthalpy method: dry-air flow times the enthalpy that the air loses between return and
supply, the condensate's own enthalpy neglected as the standard does (about 0.4 % of a wet coil's capacity).
The blower's heat is inside it, so it is net of the blower; the coil's own capacity is that plus the blower's
power. An airflow at the meter is taken to be measured in the return air. The latent part is the water's heat
of vaporisation at 0 degC, the sensible part the rest, as in `model.cycle.solve`.

Every figure carries a standard error: all figures come from one function of the readings, which is evaluated
once for all slightly changed readings together; each reading's slope times its meter's standard accuracy,
added in squares. A reading that was not taken leaves out the figures that need it and no others.

References
----------
ANSI/ASHRAE 37, Methods of testing for rating unitary air-conditioning equipment, indoor air enthalpy method
(form from memory). JCGM 100:2008, Guide to the expression of uncertainty in measurement, eq. (10).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from calibration.case.meters import METER_OF_READING, Instruments, standard_accuracies
from calibration.case.records import UnitDescription, Visit
from calibration.estimate import Estimate, with_error
from model.arrays import Array
from model.properties import moist_air
from model.properties.refrigerant import refrigerant

Readings = Mapping[str, Array]

STEP = 0.02
"""Change of a reading for its slope, in standard accuracies [-]: small for curvature, large for rounding."""
INWARD = 1e-9
"""How far inside a physical bound a changed reading stays [K]."""


@dataclass(frozen=True)
class MeasuredPerformance:
    """Figures of one visit in SI, None where a reading for it was not taken.

    Attributes
    ----------
    label : str
        The visit's.
    evaporating_temperature, condensing_temperature : Estimate or None
        Dew point at the suction pressure, bubble point at the liquid pressure [K].
    superheat, subcooling, discharge_superheat : Estimate or None
        Over the dew point at suction, under the bubble point, over the dew point at discharge [K].
    approach : Estimate or None
        Condensing temperature over outdoor air [K].
    air_drop, condenser_air_rise : Estimate or None
        Return over supply air; leaving over entering condenser air [K].
    return_humidity_ratio, supply_humidity_ratio : Estimate or None
        [kg/kg].
    air_flow : Estimate or None
        Indoor airflow [kg/s of dry air].
    net_capacity, gross_capacity, sensible_capacity, latent_capacity : Estimate or None
        Net of the blower; of the coil; sensible and latent part of the net one [W].
    sensible_heat_ratio : Estimate or None
        Sensible over net capacity [-].
    compressor_power, outdoor_power, indoor_power, total_power : Estimate or None
        [W]; total is outdoor unit and blower.
    eer, eer_without_blower : Estimate or None
        Net capacity over total power; coil's capacity over outdoor power [W/W].
    missing : mapping of str to tuple of str
        For each figure that is None the readings that it waits for; for a sensible heat ratio without any
        cooling those words.
    shares : mapping of str to mapping of str to float
        For each figure what one standard accuracy of each reading moves it by [SI], with its sign.
    """

    label: str
    missing: Mapping[str, tuple[str, ...]]
    shares: Mapping[str, Mapping[str, float]]
    evaporating_temperature: Estimate | None = None
    condensing_temperature: Estimate | None = None
    superheat: Estimate | None = None
    subcooling: Estimate | None = None
    discharge_superheat: Estimate | None = None
    approach: Estimate | None = None
    air_drop: Estimate | None = None
    condenser_air_rise: Estimate | None = None
    return_humidity_ratio: Estimate | None = None
    supply_humidity_ratio: Estimate | None = None
    air_flow: Estimate | None = None
    net_capacity: Estimate | None = None
    gross_capacity: Estimate | None = None
    sensible_capacity: Estimate | None = None
    latent_capacity: Estimate | None = None
    sensible_heat_ratio: Estimate | None = None
    compressor_power: Estimate | None = None
    outdoor_power: Estimate | None = None
    indoor_power: Estimate | None = None
    total_power: Estimate | None = None
    eer: Estimate | None = None
    eer_without_blower: Estimate | None = None

    @property
    def cop(self) -> Estimate | None:
        """Coefficient of performance, blower included [W/W]: the EER in SI."""
        return self.eer

    @property
    def cop_without_blower(self) -> Estimate | None:
        """Coefficient of performance of coil and outdoor unit [W/W]."""
        return self.eer_without_blower

    def estimates(self) -> dict[str, Estimate]:
        """Every figure that could be worked out, by name."""
        found = {name: getattr(self, name) for name in NEEDS}
        return {name: estimate for name, estimate in found.items() if estimate is not None}


_Need = tuple[tuple[str, ...], ...]
_RETURN: _Need = (("return_db",), ("return_wb", "return_rh", "return_dewpoint"))
_SUPPLY: _Need = (("supply_db",), ("supply_wb", "supply_rh", "supply_dewpoint"))
_FLOW: _Need = (*_RETURN, ("indoor_airflow", "indoor_airflow_standard"))
_AIR: _Need = (*_FLOW, *_SUPPLY)
_POWERS: _Need = (("outdoor_power",), ("indoor_power",))
NEEDS: dict[str, _Need] = {
    "evaporating_temperature": (("suction_pressure",),),
    "condensing_temperature": (("liquid_pressure",),),
    "superheat": (("suction_pressure",), ("suction_temperature",)),
    "subcooling": (("liquid_pressure",), ("liquid_temperature",)),
    "discharge_superheat": (("discharge_pressure",), ("discharge_temperature",)),
    "approach": (("liquid_pressure",), ("outdoor_db",)),
    "air_drop": (("return_db",), ("supply_db",)),
    "condenser_air_rise": (("condenser_leaving_db",), ("outdoor_db",)),
    "return_humidity_ratio": _RETURN,
    "supply_humidity_ratio": _SUPPLY,
    "air_flow": _FLOW,
    "net_capacity": _AIR,
    "gross_capacity": (*_AIR, ("indoor_power",)),
    "sensible_capacity": _AIR,
    "latent_capacity": _AIR,
    "sensible_heat_ratio": _AIR,
    "compressor_power": (("compressor_power",),),
    "outdoor_power": (("outdoor_power",),),
    "indoor_power": (("indoor_power",),),
    "total_power": _POWERS,
    "eer": (*_AIR, *_POWERS),
    "eer_without_blower": (*_AIR, *_POWERS),
}
"""Readings that each figure needs: one of each group."""


def measured_performance(
    visit: Visit,
    unit: UnitDescription,
    instruments: Instruments | None = None,
    errors: Mapping[str, float] | None = None,
) -> MeasuredPerformance:
    """Figures of one visit with their standard errors.

    Parameters
    ----------
    visit : Visit
        Readings.
    unit : UnitDescription
        The unit, for its refrigerant.
    instruments : Instruments or None
        Meters; None for the documented defaults.
    errors : mapping of str to float, optional
        Standard errors of values that no meter showed [SI], in the place of the meters': those that stand in
        for suspect readings. They count as independent of the other readings, from which they follow.

    Returns
    -------
    MeasuredPerformance
        Figures in SI; those without their readings are None and listed in `missing`.
    """
    readings = visit.readings()
    accuracies = standard_accuracies(readings, instruments or Instruments()) | dict(errors or {})
    missing = missing_readings(readings)
    names = [name for name in NEEDS if name not in missing]
    tiny = np.finfo(float).tiny
    changed = [name for name in METER_OF_READING if name in readings and accuracies[name] > tiny]
    low, high = _changed_readings(visit, readings, accuracies, changed)
    columns = {name: np.full(2 * len(changed) + 1, value) for name, value in readings.items()}
    for index, name in enumerate(changed):
        columns[name][1 + index], columns[name][1 + len(changed) + index] = low[index], high[index]
    figures = figures_of_readings(columns, visit.ambient_pressure, unit.refrigerant, names)
    estimates, shares = {}, {}
    for name, values in figures.items():
        if not np.isfinite(values).all():
            missing[name] = ("a supply that is cooler than the return",)
            continue
        slopes = (values[1 + len(changed) :] - values[1 : 1 + len(changed)]) / (high - low)
        moved = slopes * np.array([accuracies[reading] for reading in changed])
        estimates[name] = with_error(float(values[0]), float(np.sqrt(np.sum(moved**2))))
        shares[name] = {r: float(m) for r, m in zip(changed, moved, strict=True) if m}
    return MeasuredPerformance(visit.label, missing, shares, **estimates)


def missing_readings(readings: Mapping[str, float]) -> dict[str, tuple[str, ...]]:
    """Readings that figures wait for; figures that can be worked out are left out.

    Parameters
    ----------
    readings : mapping of str to float
        Readings that were taken, by key.

    Returns
    -------
    dict of str to tuple of str
        For each figure that cannot be worked out the readings to take, the usual one of each choice.
    """
    taken = set(readings)
    if {"compressor_power", "outdoor_fan_power"} <= taken:
        taken.add("outdoor_power")
    if {"outdoor_power", "outdoor_fan_power"} <= taken:
        taken.add("compressor_power")
    lacking = {
        name: tuple(group[0] for group in groups if not taken.intersection(group))
        for name, groups in NEEDS.items()
    }
    return {name: groups for name, groups in lacking.items() if groups}


def _changed_readings(
    visit: Visit, readings: Mapping[str, float], accuracies: Mapping[str, float], names: list[str]
) -> tuple[Array, Array]:
    """Each reading a little lower and a little higher, kept within what is physically possible."""
    low = np.array([readings[name] - STEP * accuracies[name] for name in names])
    high = np.array([readings[name] + STEP * accuracies[name] for name in names])
    for index, name in enumerate(names):
        side = name.partition("_")[0]
        if name.endswith("_wb") and f"{side}_db" in readings:
            dry = readings[f"{side}_db"]
            driest = float(moist_air.wet_bulb(dry, 0.0, visit.ambient_pressure))
            low[index] = max(low[index], min(driest + INWARD, readings[name] - INWARD))
            high[index] = min(high[index], max(dry, readings[name]))
        elif name.endswith("_db") and f"{side}_wb" in readings:
            low[index] = max(low[index], min(readings[f"{side}_wb"], readings[name] - INWARD))
        elif name.endswith("_rh"):
            low[index], high[index] = max(low[index], 0.0), min(high[index], 1.0)
    return low, high


def figures_of_readings(
    readings: Readings, ambient_pressure: float, refrigerant_name: str, names: list[str]
) -> dict[str, Array]:
    """Figures of many sets of readings at once.

    Parameters
    ----------
    readings : mapping of str to ndarray
        Readings [SI] by key, all of one shape.
    ambient_pressure : float
        Local barometric pressure [Pa].
    refrigerant_name : str
        Refrigerant of the unit.
    names : list of str
        Figures to work out, keys of `NEEDS` whose readings are all there.

    Returns
    -------
    dict of str to ndarray
        Figures [SI] by name, shape of the readings.
    """
    bench = _Bench(readings, ambient_pressure, refrigerant_name)
    return {name: _FIGURES[name](bench) for name in names}


class _Bench:
    """One or many sets of readings, and what several figures share, worked out once."""

    def __init__(self, readings: Readings, ambient_pressure: float, refrigerant_name: str) -> None:
        self.readings = readings
        self.ambient_pressure = ambient_pressure
        self.refrigerant_name = refrigerant_name

    @cached_property
    def evaporating_temperature(self) -> Array:
        return refrigerant(self.refrigerant_name).dew_temperature(self.readings["suction_pressure"])

    @cached_property
    def condensing_temperature(self) -> Array:
        return refrigerant(self.refrigerant_name).bubble_temperature(self.readings["liquid_pressure"])

    def discharge_superheat(self) -> Array:
        fluid = refrigerant(self.refrigerant_name)
        return self.readings["discharge_temperature"] - fluid.dew_temperature(
            self.readings["discharge_pressure"]
        )

    @cached_property
    def return_humidity_ratio(self) -> Array:
        return humidity_ratio(self.readings, "return", self.ambient_pressure)

    @cached_property
    def supply_humidity_ratio(self) -> Array:
        return humidity_ratio(self.readings, "supply", self.ambient_pressure)

    @cached_property
    def air_flow(self) -> Array:
        if "indoor_airflow_standard" in self.readings:
            return self.readings["indoor_airflow_standard"] * moist_air.STANDARD_AIR_DENSITY
        dry_bulb = self.readings["return_db"]
        flow = self.readings["indoor_airflow"]
        return moist_air.dry_air_mass_flow(flow, dry_bulb, self.return_humidity_ratio, self.ambient_pressure)

    @cached_property
    def net_capacity(self) -> Array:
        entering = moist_air.enthalpy(self.readings["return_db"], self.return_humidity_ratio)
        leaving = moist_air.enthalpy(self.readings["supply_db"], self.supply_humidity_ratio)
        return self.air_flow * (entering - leaving)

    @cached_property
    def latent_capacity(self) -> Array:
        condensed = self.return_humidity_ratio - self.supply_humidity_ratio
        return self.air_flow * condensed * moist_air.VAPORISATION_ENTHALPY

    def latent_share(self) -> Array:
        cooling = self.net_capacity > 0
        share = np.full(cooling.shape, np.nan)
        np.divide(self.latent_capacity, self.net_capacity, out=share, where=cooling)
        return share

    @cached_property
    def gross_capacity(self) -> Array:
        return self.net_capacity + self.readings["indoor_power"]

    @cached_property
    def outdoor_power(self) -> Array:
        if "outdoor_power" in self.readings:
            return self.readings["outdoor_power"]
        return self.readings["compressor_power"] + self.readings["outdoor_fan_power"]

    def compressor_power(self) -> Array:
        if "compressor_power" in self.readings:
            return self.readings["compressor_power"]
        return self.readings["outdoor_power"] - self.readings["outdoor_fan_power"]

    @cached_property
    def total_power(self) -> Array:
        return self.outdoor_power + self.readings["indoor_power"]


_FIGURES: dict[str, Callable[[_Bench], Array]] = {
    "evaporating_temperature": lambda b: b.evaporating_temperature,
    "condensing_temperature": lambda b: b.condensing_temperature,
    "superheat": lambda b: b.readings["suction_temperature"] - b.evaporating_temperature,
    "subcooling": lambda b: b.condensing_temperature - b.readings["liquid_temperature"],
    "discharge_superheat": lambda b: b.discharge_superheat(),
    "approach": lambda b: b.condensing_temperature - b.readings["outdoor_db"],
    "air_drop": lambda b: b.readings["return_db"] - b.readings["supply_db"],
    "condenser_air_rise": lambda b: b.readings["condenser_leaving_db"] - b.readings["outdoor_db"],
    "return_humidity_ratio": lambda b: b.return_humidity_ratio,
    "supply_humidity_ratio": lambda b: b.supply_humidity_ratio,
    "air_flow": lambda b: b.air_flow,
    "net_capacity": lambda b: b.net_capacity,
    "gross_capacity": lambda b: b.gross_capacity,
    "sensible_capacity": lambda b: b.net_capacity - b.latent_capacity,
    "latent_capacity": lambda b: b.latent_capacity,
    "sensible_heat_ratio": lambda b: 1.0 - b.latent_share(),
    "compressor_power": lambda b: b.compressor_power(),
    "outdoor_power": lambda b: b.outdoor_power,
    "indoor_power": lambda b: b.readings["indoor_power"],
    "total_power": lambda b: b.total_power,
    "eer": lambda b: b.net_capacity / b.total_power,
    "eer_without_blower": lambda b: b.gross_capacity / b.outdoor_power,
}


def humidity_ratio(readings: Readings, side: str, ambient_pressure: float) -> Array:
    """Humidity ratio of the return or supply air from whichever humidity was read.

    Parameters
    ----------
    readings : mapping of str to ndarray
        Readings [SI]: the side's dry bulb and one of its wet bulb, relative humidity and dew point.
    side : {"return", "supply"}
        Which air.
    ambient_pressure : float
        Local barometric pressure [Pa].

    Returns
    -------
    ndarray
        Humidity ratio [kg/kg]; a reading beyond saturation or bone-dry air counts as the bound itself.

    Raises
    ------
    KeyError
        When no humidity of that side was read.
    """
    dry_bulb = readings[f"{side}_db"]
    if f"{side}_wb" in readings:
        driest = moist_air.wet_bulb(dry_bulb, 0.0, ambient_pressure)
        wet_bulb = np.clip(readings[f"{side}_wb"], driest, dry_bulb)
        return moist_air.humidity_ratio_from_wet_bulb(dry_bulb, wet_bulb, ambient_pressure)
    if f"{side}_rh" in readings:
        share = np.clip(readings[f"{side}_rh"], 0.0, 1.0)
        return moist_air.humidity_ratio_from_relative_humidity(dry_bulb, share, ambient_pressure)
    return moist_air.humidity_ratio_from_dew_point(readings[f"{side}_dewpoint"], ambient_pressure)
