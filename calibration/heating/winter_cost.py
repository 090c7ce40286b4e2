"""A case's winter: its heat pump's heating season at every level of fouling, most likely and as draws.

The same fouling that the summer's readings show is on the outdoor coil in winter. Draws of the heating
parameters, of the frost's growth with lost airflow, of the model's own error in what a fault changes and of
the load give the ranges. What the case leaves out is filled in with a documented value and said.

References
----------
Set point 70 degF as in the heating tests of AHRI 210/240; load line as in `model.heating.winter` (both from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calibration.case import records as cases
from calibration.case.records import Case
from calibration.clean_fit.prediction import CHANGE_SPREAD
from calibration.costs.quasi_draws import evenly_spread, normal_scores
from calibration.costs.season_case import SeasonCase
from calibration.heating.heating_fit import HEATING_PARAMETERS, HeatingFit, heats
from calibration.said import said
from model.arrays import Array
from model.cycle.faults import Faults
from model.cycle.solve import STATE_CODES
from model.heating.boundary import HeatingConditions
from model.heating.frost import AIRFLOW_POWERS, demand_defrost_credit, frost_anchor, frosted
from model.heating.heat_pump import RATING_RETURN, HeatPump
from model.heating.one_meter import on_one_meter
from model.heating.solve import solve_heating
from model.heating.winter import (
    AHRI_COLD,
    AHRI_LOAD_SHARE,
    DRIEST,
    HEATING_CYCLING,
    NO_HEATING_ABOVE,
    STEAMIEST,
    HeatingRules,
    HeatingTable,
    WinterByLevel,
    winter_by_level,
)
from model.maintenance.running_cost import DAYS_PER_STEP, RunningCost
from model.properties import moist_air
from model.season.fouling_cost import Setting
from model.season.year_by_level import YearByLevel

OUTDOOR: Array = np.linspace(245.0, 292.0, 13)
HUMIDITY: Array = np.linspace(DRIEST, STEAMIEST, 5)
LEVEL: Array = np.linspace(0.0, 0.8, 9)
DRAWN_LEVEL: Array = np.linspace(0.0, 0.8, 5)
"""Grids of the tables [K], [-], [-]: finer for the most likely unit."""
PUMPS_DRAWN = 16
"""Draws of the heat pump's parameters; the other draws run through them again and again [-]."""
GIVEN_LOAD, ASSUMED_LOAD = 0.10, 0.25
"""Standard deviation of the logarithm of the heating load, given by the case or assumed [-]; judgement."""
RANDOM_STATE = 20263
"""State from which every draw starts."""


@dataclass(frozen=True)
class WinterCase:
    """A case's winter.

    Attributes
    ----------
    fit : HeatingFit
        Its heat pump.
    rules : HeatingRules
        Load and controls.
    table : HeatingTable
        Of the most likely unit.
    likely, drawn : WinterByLevel
        Heating seasons of the most likely unit, one sample, and of draws.
    air : (float, float)
        Room temperature [K] and barometer [Pa].
    assumptions : tuple of str
        A sentence for every value that was filled in.
    """

    fit: HeatingFit
    rules: HeatingRules
    table: HeatingTable
    likely: WinterByLevel
    drawn: WinterByLevel
    air: tuple[float, float]
    assumptions: tuple[str, ...]

    def on_one_meter(self, likely: YearByLevel, drawn: YearByLevel) -> WinterCase:
        """The same with blocks and demand charges on top of cooling, most likely and of as many draws."""
        return replace(self, likely=on_one_meter(self.likely, likely), drawn=on_one_meter(self.drawn, drawn))

    def by_rise(self, rise: Array, setting: Setting, cooling: YearByLevel) -> WinterByLevel:
        """Heating seasons of the most likely unit at rises of the pressure drop at its indoor coil.

        Parameters
        ----------
        rise : ndarray, shape (rises,)
            Over the clean coil's [-].
        setting : Setting
            Weather and tariff.
        cooling : YearByLevel
            Its cooling seasons at the same rises.

        Returns
        -------
        WinterByLevel
            One sample a rise.
        """
        table = heating_table(self.fit.pump, self.air, LEVEL, rise=rise[:, None, None, None])
        season = winter_by_level(table, setting.year, self.rules, setting.tariff, DAYS_PER_STEP)
        return on_one_meter(season, cooling)


def with_winter(running: RunningCost, winter: WinterCase | None, *, drawn: bool = False) -> RunningCost:
    """Running cost of a year with its heating season, so that dates come from both.

    Parameters
    ----------
    running : RunningCost
        Of the cooling season, by step and level.
    winter : WinterCase or None
        None for a unit that does not heat.
    drawn : bool
        Whether the running cost is that of the draws, and not of the most likely unit.

    Returns
    -------
    RunningCost
        Readings can still be taken in cooling alone.
    """
    if winter is None:
        return running
    season = winter.drawn if drawn else winter.likely
    return replace(running, cost=running.cost + season.cost_by_step(running.level))


def has_winter(case: Case, inputs: SeasonCase) -> bool:
    """Whether winter can be in a case's costs: it heats, at one speed, and its year has hours.

    Parameters
    ----------
    case : Case
    inputs : SeasonCase
        Its season.

    Returns
    -------
    bool
    """
    return heats(case.unit) and inputs.setting.year.is_hourly


def winter_case(case: Case, fit: HeatingFit, inputs: SeasonCase, draws: int) -> WinterCase:
    """The heating seasons of a case.

    Parameters
    ----------
    case : Case
        That `has_winter`.
    fit : HeatingFit
        Its heat pump.
    inputs : SeasonCase
        Weather and tariff.
    draws : int
        How many draws [-].

    Returns
    -------
    WinterCase

    Raises
    ------
    ValueError
        Where its heating load has no meaning.
    """
    season = case.season or cases.Season()
    assumed: list[str] = []
    rules = heating_rules(case, season, assumed)
    room = RATING_RETURN if season.heating_setpoint is None else season.heating_setpoint
    at = (room, case.unit.ambient_pressure)
    chance = evenly_spread(3, draws, RANDOM_STATE)
    own = evenly_spread(len(HEATING_PARAMETERS), PUMPS_DRAWN, RANDOM_STATE)
    table = heating_table(fit.pump, at, LEVEL)
    drawn = _drawn_table(fit.drawn(normal_scores(own)[..., None, None, None]), at, chance)
    spread = ASSUMED_LOAD if season.heating_design_load is None else GIVEN_LOAD
    setting = inputs.setting
    return WinterCase(
        fit=fit,
        rules=rules,
        table=table,
        likely=winter_by_level(table, setting.year, rules, setting.tariff, DAYS_PER_STEP),
        drawn=winter_by_level(
            drawn,
            setting.year,
            rules,
            setting.tariff,
            DAYS_PER_STEP,
            np.exp(spread * normal_scores(chance[2])),
        ),
        air=at,
        assumptions=tuple(assumed),
    )


def heating_rules(case: Case, season: cases.Season, assumed: list[str]) -> HeatingRules:
    """Load and controls of a case's winter.

    Parameters
    ----------
    case : Case
        For its nameplate and its share of the building.
    season : Season
        Its entries.
    assumed : list of str
        Takes a sentence for every value that is filled in.

    Returns
    -------
    HeatingRules

    Raises
    ------
    ValueError
        Where the load line does not fall with the temperature.
    """
    no_load = season.heating_balance_temperature or NO_HEATING_ABOVE
    design, load = season.heating_design_outdoor or AHRI_COLD, season.heating_design_load
    if load is None:
        rated = float(case.unit.rated_heating_capacity or 0.0)
        load = AHRI_LOAD_SHARE * rated * (no_load - design) / (NO_HEATING_ABOVE - AHRI_COLD)
        assumed.append(said("no heating load given: the load line of AHRI 210/240, region IV, assumed"))
    else:
        load = load * case.share
    if season.backup_price is None:
        assumed.append(
            said("no price of backup heat given: electric resistance at the electricity's price assumed")
        )
    demand = case.unit.defrost == "demand"
    return HeatingRules(
        no_load=no_load,
        design_outdoor=design,
        design_load=load,
        cycling=HEATING_CYCLING if season.cycling_loss is None else season.cycling_loss,
        credit=float(demand_defrost_credit()) if demand else 1.0,
        backup_price=season.backup_price,
        backup_carbon=season.backup_carbon,
        backup_below=np.inf if season.backup_below is None else season.backup_below,
        pump_above=season.heat_pump_above or 0.0,
    )


def heating_table(
    pump: HeatPump,
    at: tuple[float, float],
    level: Array,
    airflow_power: Array | float = AIRFLOW_POWERS[1],
    rise: Array | float = 0.0,
) -> HeatingTable:
    """Mean performance of a heat pump on the grid of winters.

    Parameters
    ----------
    pump : HeatPump
        One, or a family along a first axis with three more behind it.
    at : (float, float)
        Room temperature [K] and barometer [Pa].
    level : ndarray, shape (levels,)
        Blocked shares of the outdoor coil [-].
    airflow_power : array_like
        As for `model.heating.frost.frosted` [-].
    rise : array_like
        Of the air pressure drop at the indoor coil over the clean coil's [-]; a first axis with three more
        behind it becomes samples.

    Returns
    -------
    HeatingTable
    """
    humidity = moist_air.humidity_ratio_from_relative_humidity(OUTDOOR, HUMIDITY[:, None], at[1])
    air = HeatingConditions(OUTDOOR, humidity, at[0], at[1])
    point = solve_heating(pump, air, Faults(condenser_blocked=level[:, None, None], evaporator_dust=rise))
    mean = frosted(pump, point, OUTDOOR, frost_anchor(pump), airflow_power)
    runs = point.state < STATE_CODES["low-pressure trip"]
    capacity, power = np.where(runs, mean.capacity, 0.0), np.broadcast_to(mean.power, runs.shape)
    shape = (-1, level.size, HUMIDITY.size, OUTDOOR.size)
    return HeatingTable(OUTDOOR, HUMIDITY, level, capacity.reshape(shape), power.reshape(shape))


def _drawn_table(pumps: HeatPump, at: tuple[float, float], chance: Array) -> HeatingTable:
    """Tables of draws: each heat pump with the least and the most growth of frost, and in between by draw."""
    ends = [heating_table(pumps, at, DRAWN_LEVEL, power) for power in (AIRFLOW_POWERS[0], AIRFLOW_POWERS[-1])]
    place, change = chance[0], np.maximum(1.0 + CHANGE_SPREAD * normal_scores(chance[1]), 0.0)
    which = np.arange(place.size) % PUMPS_DRAWN

    def drawn(name: str) -> Array:
        least, most = (getattr(end, name)[which] for end in ends)
        values = least + place[:, None, None, None] * (most - least)
        clean = values[:, :1]
        return np.asarray(clean + change[:, None, None, None] * (values - clean))

    return HeatingTable(OUTDOOR, HUMIDITY, DRAWN_LEVEL, drawn("capacity"), drawn("power"))
