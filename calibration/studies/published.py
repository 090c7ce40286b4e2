"""Figures that others published or that the trade goes by, beside the model: charging, charge, weather.

Four comparisons, none of which the model was fitted to test by test:

* superheat of fixed-orifice units over the cells of the charging rule, (3 wet bulb - 80 - outdoor dry bulb) /
  2 [degF] in return air of 80 degF (common practice, no source; charts leave out what it puts under 5 degF),
  from the nameplate alone and after one clean visit that reads what the rule says;
* what wrong charge costs an orifice unit, beside an article's summary of laboratory tests (Home Energy
  Magazine, May/June 2002; summary seen): EER -11 % at -15 % of the charge, 0 to -2 % at +15 %;
* what low charge costs a unit with a valve, beside the correlation of NIST TN 1848 (Domanski, Henderson,
  Payne 2014; coefficients seen);
* how head pressure follows outdoor air and suction pressure the return air's moisture, from one test of
  NISTIR 7350 to another (Kim, Payne, Domanski, Hermes 2006, Appendix D).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.meters import Instruments
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.baseline import Baseline, fit_baseline
from calibration.clean_fit.observation import conditions, observation
from calibration.clean_fit.prediction import predicted
from calibration.studies.laboratory import DESCRIPTION, INSTRUMENTS, laboratory_rows, laboratory_visit
from model.arrays import Array
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.sizing import RATING_RETURN, nominal_unit, rating_conditions
from model.cycle.solve import solve
from model.maintenance.growth import NORMAL_95
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import refrigerant

OUTDOOR, WET_BULB = (
    axis.ravel()
    for axis in np.meshgrid(np.arange(75.0, 106.0, 5.0), np.arange(60.0, 73.0, 2.0), indexing="ij")
)
"""Cells of the charging rule [degF]."""
RULE = (3.0 * WET_BULB - 80.0 - OUTDOOR) / 2.0
"""Superheat that it asks for [degF]."""
LEAST_PRINTED = 5.0
"""Superheat under which no chart prints a number [degF]."""
VISITED = (85.0, 64.0)
"""Outdoor dry bulb and return wet bulb of the one clean visit [degF]."""
REFRIGERANTS, RATING_EER = ("R410A", "R22"), 3.4
"""Of the orifice units, 10.55 kW each [W/W]."""
CAPACITY = 10_550.0
"""Rated capacity of the orifice units [W]."""
ORIFICE_CHARGES = (-0.15, -0.10, 0.15)
"""Deviations of the charge of the orifice units [-]."""
ORIFICE_REPORTED = ("-11", "little", "-2 to 0")
"""Change of EER reported there [%]."""
LOW_CHARGES = (-0.3, -0.2, -0.1)
"""Deviations of the charge of the unit with a valve [-]."""
CHARGE_WEATHER = ((26.7, 15.8, 27.8), (26.7, 15.8, 35.0), (21.1, 10.2, 35.0))
"""Return dry bulb, its dew point and outdoor dry bulb at which NIST TN 1848 is asked [degC]."""
LOW_CHARGE = (-0.946, 0.0493, -0.00118, -1.15)
"""Coefficients of the gross capacity's ratio of NIST TN 1848 for low charge: 1 + (a1 + a2 indoor + a3 outdoor
+ a4 F) F, temperatures in degC, F the deviation of the charge."""
FITTED_TEST = 5
"""Test of NISTIR 7350 that its unit is fitted to."""
WARMER = ((2, 4), (4, 8), (3, 5), (5, 7), (10, 16))
"""Tests with nearly the same return air, the second in warmer outdoor air."""
WETTER = ((2, 3), (4, 5), (13, 5))
"""Tests in nearly the same outdoor air, the second in more humid return air."""


@dataclass(frozen=True)
class Charging:
    """One orifice unit beside the charging rule.

    Attributes
    ----------
    refrigerant, fitted_to : str
        Of the unit; what it was fitted to.
    cells : int
        How many the chart prints.
    error, mean : float
        Root mean square and mean of the predicted less the rule's superheat [K].
    slope : float
        Change of superheat from 75 to 105 degF at 67 degF wet bulb over the rule's [-].
    coverage : float
        Share of the cells whose 90 % range holds the rule's superheat [-].
    """

    refrigerant: str
    fitted_to: str
    cells: int
    error: float
    mean: float
    slope: float
    coverage: float


@dataclass(frozen=True)
class Following:
    """What changes from one test to another, predicted and measured.

    tests: numbers of the two; quantity; shift of the weather [K]; predicted and measured change [K].
    """

    tests: tuple[int, int]
    quantity: str
    shift: float
    predicted: float
    measured: float


@dataclass(frozen=True)
class PublishedStudy:
    """All comparisons.

    Attributes
    ----------
    charging : tuple of Charging
        Orifice units and the charging rule.
    orifice_eer : dict of str to tuple of float
        Change of EER at `ORIFICE_CHARGES`, by refrigerant [%].
    low_charge : tuple of (float, float)
        Change of gross capacity predicted and published, `LOW_CHARGES` within `CHARGE_WEATHER` [%].
    following : tuple of Following
        Head and suction from test to test.
    """

    charging: tuple[Charging, ...]
    orifice_eer: dict[str, tuple[float, ...]]
    low_charge: tuple[tuple[float, float], ...]
    following: tuple[Following, ...]

    @property
    def low_charge_error(self) -> float:
        """Root mean square of predicted less published change of capacity [points]."""
        return float(np.sqrt(np.mean([(own - printed) ** 2 for own, printed in self.low_charge])))


def published_study() -> PublishedStudy:
    """Work out every comparison.

    Returns
    -------
    PublishedStudy
        A second or two of work.
    """
    visits = {row["test"]: laboratory_visit(row) for row in laboratory_rows()}
    baseline = fit_baseline(DESCRIPTION, [visits[FITTED_TEST]], INSTRUMENTS, rated=False)
    charging = [
        _charging(name, visits_of) for name in REFRIGERANTS for visits_of in ((), (_rule_visit(name),))
    ]
    head = _following(baseline, visits, WARMER, "condensing temperature", "outdoor_db")
    suction = _following(baseline, visits, WETTER, "evaporating temperature", "return_dewpoint")
    return PublishedStudy(
        charging=tuple(charging),
        orifice_eer={name: _orifice_eer(name) for name in REFRIGERANTS},
        low_charge=_low_charge(baseline, visits[FITTED_TEST]),
        following=(*head, *suction),
    )


def _description(name: str) -> UnitDescription:
    return UnitDescription("orifice unit", name, "fixed orifice", CAPACITY, rated_eer=RATING_EER)


def _kelvin(fahrenheit: Array | float) -> Array:
    return (np.asarray(fahrenheit) - 32.0) / 1.8 + 273.15


def _weather(outdoor: Array | float, wet_bulb: Array | float) -> Conditions:
    """Return air of 80 degF; temperatures in degF."""
    humidity = moist_air.humidity_ratio_from_wet_bulb(RATING_RETURN, _kelvin(wet_bulb), STANDARD_PRESSURE)
    return Conditions(_kelvin(outdoor), RATING_RETURN, humidity, STANDARD_PRESSURE)


def _rule_visit(name: str) -> Visit:
    """A clean visit to the nameplate's unit on which the suction pipe is as warm as the rule says."""
    outdoor, bulb = VISITED
    unit = nominal_unit(name, CAPACITY, RATING_EER, expansion="fixed orifice")
    point = solve(unit, _weather(outdoor, bulb))
    superheat = (3.0 * bulb - 80.0 - outdoor) / 2.0 / 1.8
    dew = refrigerant(name).dew_temperature(point.suction_pressure)
    return Visit(
        label="clean",
        coil="clean",
        outdoor_db=float(_kelvin(outdoor)),
        return_db=RATING_RETURN,
        return_wb=float(_kelvin(bulb)),
        suction_pressure=float(point.suction_pressure),
        liquid_pressure=float(point.liquid_pressure),
        suction_temperature=float(dew) + superheat,
        liquid_temperature=float(point.liquid_temperature),
    )


def _charging(name: str, visits: Sequence[Visit]) -> Charging:
    baseline = fit_baseline(_description(name), visits, Instruments())
    printed = RULE >= LEAST_PRINTED
    prediction = predicted(baseline, _weather(OUTDOOR[printed], WET_BULB[printed]))
    rule = RULE[printed] / 1.8
    off = prediction.point.superheat - rule
    ends = solve(baseline.unit, _weather(np.array([75.0, 105.0]), 67.0)).superheat
    return Charging(
        refrigerant=name,
        fitted_to="one clean visit" if visits else "nameplate",
        cells=int(printed.sum()),
        error=float(np.sqrt(np.mean(off**2))),
        mean=float(np.mean(off)),
        slope=float((ends[0] - ends[1]) / (15.0 / 1.8)),
        coverage=float(np.mean(np.abs(off) < NORMAL_95 * prediction.standard_errors["superheat"])),
    )


def _orifice_eer(name: str) -> tuple[float, ...]:
    unit = nominal_unit(name, CAPACITY, RATING_EER, expansion="fixed orifice")
    charges = np.array([0.0, *ORIFICE_CHARGES])
    eer = solve(unit, rating_conditions(), Faults(charge_change=charges)).eer
    return tuple(float(100.0 * (one / eer[0] - 1.0)) for one in eer[1:])


def _low_charge(baseline: Baseline, visit: Visit) -> tuple[tuple[float, float], ...]:
    seen = observation(visit, INSTRUMENTS)
    at_test = conditions(seen.settings, STANDARD_PRESSURE)
    rows = []
    for indoor, dew_point, outdoor in CHARGE_WEATHER:
        humidity = moist_air.humidity_ratio_from_dew_point(dew_point + 273.15, STANDARD_PRESSURE)
        weather = replace(
            at_test,
            outdoor_temperature=outdoor + 273.15,
            return_temperature=indoor + 273.15,
            return_humidity_ratio=humidity,
        )
        charges = np.array([0.0, *LOW_CHARGES])
        capacity = solve(baseline.unit, weather, Faults(charge_change=charges)).gross_capacity
        a1, a2, a3, a4 = LOW_CHARGE
        rows += [
            (
                float(100.0 * (own / capacity[0] - 1.0)),
                100.0 * (a1 + a2 * indoor + a3 * outdoor + a4 * low) * low,
            )
            for own, low in zip(capacity[1:], LOW_CHARGES, strict=True)
        ]
    return tuple(rows)


def _following(
    baseline: Baseline,
    visits: dict[float, Visit],
    pairs: Sequence[tuple[int, int]],
    quantity: str,
    shifted: str,
) -> list[Following]:
    """How far a saturated temperature moves from the first to the second test of each pair."""
    fluid, field = refrigerant(DESCRIPTION.refrigerant), quantity.replace(" ", "_")
    rows = []
    for pair in pairs:
        own, read = [], []
        for number in pair:
            seen = observation(visits[number], INSTRUMENTS)
            point = solve(baseline.unit, conditions(seen.settings, STANDARD_PRESSURE))
            own.append(float(getattr(point, field)))
            pressure = seen.values[seen.names.index(_PRESSURES[quantity])]
            bubble = quantity == "condensing temperature"
            line = fluid.bubble_temperature if bubble else fluid.dew_temperature
            read.append(float(line(pressure)))
        shift = getattr(visits[pair[1]], shifted) - getattr(visits[pair[0]], shifted)
        rows.append(Following(pair, quantity, shift, own[1] - own[0], read[1] - read[0]))
    return rows


_PRESSURES = {
    "condensing temperature": "liquid_pressure",
    "evaporating temperature": "suction_pressure",
}
