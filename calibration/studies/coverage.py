"""Whether 90 % ranges of predictions contain the true value nine times in ten.

Invented units are drawn with the spreads that the fit takes for granted, and kept where a maker would
have rated them so (`calibration.clean_fit.nameplate`). Each differs from the fitted
model where the fit has no number to turn: exponents, fan curves, zone conductances, volumes, pressure drops,
the valve's curve, and in half of them the form of the compressor, a ten-coefficient map made from a machine
with clearance volume and another curve of efficiency. A visit in random weather is read with errors equally
likely between the meters' documented limits; the unit is fitted to it and predicted at other weather. Where
asked for, machines of another structure throughout stand in their place (`calibration.studies.foreign`).

All of it is invented; the sizes of the differences are common practice, no source. They are large enough that
with a laboratory's meters the errors of prediction are of the size seen on the unit of NISTIR 7350.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from calibration.case.meters import LIMIT_TO_STANDARD, Instruments, standard_accuracies
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.nameplate import (
    RULE_ACCURACY,
    RULE_SUPERHEAT,
    as_rated,
)
from calibration.clean_fit.observation import READINGS_OF_POINT
from calibration.clean_fit.parameters import NAMES, SPREADS, adjusted, generic_unit
from calibration.clean_fit.prediction import predicted
from calibration.studies.foreign.drawn_machine import ForeignUnit, drawn_foreign_unit, foreign_point
from calibration.studies.foreign.found_ranges import WANTED_FOREIGN, Truth
from calibration.studies.other_compressor import MapRange, other_compressor
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.sizing import rating_conditions, with_design_charge
from model.cycle.solve import STATE_CODES, STATES, OperatingPoint, solve
from model.maintenance.growth import NORMAL_95
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE

Generator = np.random.Generator
Kind = Literal["full visit", "gauges and pipes", "nameplate"]

KINDS: tuple[Kind, ...] = ("full visit", "gauges and pipes", "nameplate")
"""What the unit is fitted to."""
GAUGES_AND_PIPES = (
    "suction_pressure",
    "liquid_pressure",
    "suction_temperature",
    "liquid_temperature",
    "outdoor_db",
    "return_db",
    "return_wb",
)
"""Readings of a visit with gauges, pipe probes and a psychrometer in the return air."""
FIGURES = (
    "net_capacity",
    "total_power",
    "eer",
    "suction_pressure",
    "liquid_pressure",
    "superheat",
    "subcooling",
)
"""Predicted figures whose intervals are counted."""
LEVEL_REACH = NORMAL_95
"""Half width of a 90 % range in standard errors [-]."""
WANTED: dict[Truth, tuple[float, float]] = {
    "own structure": (0.85, 0.95),
    "foreign structure": WANTED_FOREIGN,
}
"""Share of 90 % ranges that should contain the true value, by the truth's structure [-]."""
UNITS = 500
PREDICTIONS = 3
"""Weathers at which each fitted unit is predicted."""
RUNNING = [STATE_CODES[name] for name in ("ok", "flash gas", "coil below freezing")]
"""States in which a unit is read or predicted."""
BEST_EFFICIENCY = 0.86
"""Isentropic efficiency beyond which no such compressor exists [-]: draws above it are no units."""
MAP_RANGE = MapRange((-30.0, 26.0), (15.0, 70.0), (40.0, 45.0), 0.9, (2.2, 3.2))
"""Of compressors of another form: wider than where units are read, as makers' maps are."""
BORES = np.exp(np.linspace(-0.9, 0.9, 37))
"""Areas tried to find a matched orifice, over the drawn one [-]."""
MOST_DRAWS = 200
"""Draws of a unit before giving up on finding one that runs well when clean."""


@dataclass(frozen=True)
class Coverage:
    """Shares of 90 % ranges that contain the true value.

    Attributes
    ----------
    units, predictions : int
        How many units were drawn, and how many predictions of each figure were counted.
    shares : dict of str to dict of str to float
        By what the unit was fitted to and by figure [-].
    widths : dict of str to dict of str to float
        Mean standard error, likewise: over the true figure, of superheat and subcooling in K.
    errors : dict of str to dict of str to float
        Root mean square error, likewise.
    truth : str
        What the units were: of the model's own structure or of another.
    """

    units: int
    predictions: int
    shares: dict[str, dict[str, float]]
    widths: dict[str, dict[str, float]]
    errors: dict[str, dict[str, float]]
    truth: Truth = "own structure"

    @property
    def wanted(self) -> tuple[float, float]:
        """Least and largest share required of a full visit [-]."""
        return WANTED[self.truth]

    @property
    def met(self) -> bool:
        """Whether every share of fits to a full visit meets its requirement."""
        low, high = self.wanted
        return all(low <= share <= high for share in self.shares["full visit"].values())


def coverage_study(
    units: int = UNITS,
    seed: int = 20_261_125,
    kinds: tuple[Kind, ...] = KINDS,
    progress: Callable[[float], None] | None = None,
    instruments: Instruments | None = None,
    *,
    truth: Truth = "own structure",
) -> Coverage:
    """Fit invented units to one visit each and count the predictions whose range contains the true value.

    Parameters
    ----------
    units : int
        How many units, at least 1.
    seed : int
        Of the draws; every unit has its own, so that more units do not change the first ones.
    kinds : tuple of str
        What to fit to.
    progress : callable, optional
        Called with the share done [-].
    instruments : Instruments, optional
        Meters; the documented defaults if not given.
    truth : str
        What the units are.

    Raises
    ------
    ValueError
        Where `units` is below 1.
    """
    if units < 1:
        raise ValueError(f"units must be at least 1, got {units}")
    meters = instruments or Instruments()
    scores: dict[str, dict[str, list[Array]]] = {kind: {name: [] for name in FIGURES} for kind in kinds}
    for number in range(units):
        draw = np.random.default_rng([seed, number])
        drawn = (_drawn if truth == "own structure" else _drawn_foreign)(draw, meters)
        weather = drawn_conditions(draw, PREDICTIONS)
        truly = drawn.point(weather)
        running = np.isin(truly.state, RUNNING)
        for kind in kinds:
            baseline = fit_baseline(drawn.description, _visits(drawn.visit, kind), meters)
            prediction = predicted(baseline, weather)
            for name in FIGURES:
                true, point = np.asarray(getattr(truly, name)), np.asarray(getattr(prediction.point, name))
                scale = 1.0 if name in ("superheat", "subcooling") else true
                rows = np.stack([(point - true) / scale, prediction.standard_errors[name] / scale])
                scores[kind][name].append(rows[:, running])
        if progress is not None:
            progress((number + 1) / units)
    return replace(_counted(units, scores), truth=truth)


def _counted(units: int, scores: dict[str, dict[str, list[Array]]]) -> Coverage:
    joined = {
        kind: {name: np.concatenate(rows, axis=1) for name, rows in by_name.items()}
        for kind, by_name in scores.items()
    }

    def of(function: Callable[[Array, Array], Any]) -> dict[str, dict[str, float]]:
        return {
            kind: {name: float(function(rows[0], rows[1])) for name, rows in by_name.items()}
            for kind, by_name in joined.items()
        }

    return Coverage(
        units=units,
        predictions=next(iter(next(iter(joined.values())).values())).shape[1],
        shares=of(lambda error, spread: np.mean(np.abs(error) < LEVEL_REACH * spread)),
        widths=of(lambda error, spread: np.mean(spread)),
        errors=of(lambda error, spread: np.sqrt(np.mean(error**2))),
    )


def _visits(visit: Visit, kind: Kind) -> tuple[Visit, ...]:
    if kind == "nameplate":
        return ()
    if kind == "full visit":
        return (visit,)
    readings = visit.readings()
    kept: dict[str, Any] = {name: readings[name] for name in GAUGES_AND_PIPES}
    return (Visit(visit.label, visit.coil, **kept),)


class _Drawn(NamedTuple):
    """Nameplate of a unit, a visit to it, and what it does in any weather."""

    description: UnitDescription
    visit: Visit
    point: Callable[[Conditions], OperatingPoint]


def _drawn(draw: Generator, meters: Instruments) -> _Drawn:
    description, unit, visit = drawn_read_unit(draw, meters)
    return _Drawn(description, visit, partial(solve, unit))


def drawn_read_unit(draw: Generator, meters: Instruments) -> tuple[UnitDescription, Unit, Visit]:
    """A unit that runs well when clean, its nameplate, and a visit to it.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of everything.
    meters : Instruments
        With which the visit is read.

    Returns
    -------
    (UnitDescription, Unit, Visit)

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found none.
    """
    for _ in range(MOST_DRAWS):
        description = drawn_nameplate(draw)
        unit = drawn_unit(description, draw)
        if float(np.asarray(unit.compressor.efficiency)) > BEST_EFFICIENCY:
            continue
        point = solve(unit, rating_conditions())
        if not runs_well(unit, point):
            continue
        description = as_rated(description, float(point.net_capacity), float(point.eer), draw)
        weather = drawn_conditions(draw, 1)
        point = solve(unit, weather)
        if np.isin(point.state, RUNNING).all():
            return description, unit, read_visit(weather, point, draw, meters)
    raise RuntimeError(f"no unit that runs well was found in {MOST_DRAWS} draws")


def _drawn_foreign(draw: Generator, meters: Instruments) -> _Drawn:
    """A machine of another structure, as `_drawn`."""
    for _ in range(MOST_DRAWS):
        unit = drawn_foreign_unit(draw)
        weather = drawn_conditions(draw, 1)
        point = foreign_point(unit, weather)[0]
        if np.isin(point.state, RUNNING).all():
            visit = read_visit(weather, point, draw, meters)
            return _Drawn(unit.description, visit, partial(_foreign_at, unit))
    raise RuntimeError(f"no machine that can be read was found in {MOST_DRAWS} draws")


def _foreign_at(unit: ForeignUnit, weather: Conditions) -> OperatingPoint:
    return foreign_point(unit, weather)[0]


def drawn_nameplate(draw: Generator) -> UnitDescription:
    """A nameplate of 1.5 to 10 tons.

    Parameters
    ----------
    draw : numpy.random.Generator

    Returns
    -------
    UnitDescription
    """
    return UnitDescription(
        name="invented",
        refrigerant=str(draw.choice(["R410A", "R454B"])),
        expansion="TXV" if draw.random() < 0.65 else "fixed orifice",
        rated_capacity=float(draw.uniform(5_300.0, 35_000.0)),
        compressor="scroll" if draw.random() < 0.75 else "reciprocating",
        rated_eer=float(draw.uniform(2.7, 4.1)),
    )


def runs_well(unit: Unit, point: OperatingPoint) -> bool:
    """Whether a unit at its rating point is one that somebody would have sold.

    Parameters
    ----------
    unit : Unit
    point : OperatingPoint
        Of it at the rating.

    Returns
    -------
    bool
    """
    return bool(
        STATES[int(point.state)] == "ok"
        and 1.5 < float(point.subcooling) < 14.0
        and 1.5 < float(point.superheat) < 18.0
        and 0.65 < float(point.net_capacity) / float(np.asarray(unit.rated_capacity)) < 1.5
    )


def drawn_unit(description: UnitDescription, draw: Generator) -> Unit:
    """A unit of this nameplate as it may really be, unlike the model in what the fit takes as known.

    Parameters
    ----------
    description : UnitDescription
        The nameplate.
    draw : numpy.random.Generator
        Of everything else.

    Returns
    -------
    Unit
        It need not run well.
    """
    return unit_with(description, SPREADS * draw.standard_normal(len(SPREADS)), draw)


def unit_with(description: UnitDescription, values: Array, draw: Generator) -> Unit:
    """The same with given parameters.

    Parameters
    ----------
    description : UnitDescription
        The nameplate.
    values : ndarray, shape (parameters,)
        Off the nameplate's unit.
    draw : numpy.random.Generator
        Of everything else.

    Returns
    -------
    Unit
        It need not run well.
    """
    unit = _with_other_numbers(adjusted(generic_unit(description), values), draw)
    # Charged for its own volumes by whoever set it up, and off by what its charge was drawn to be off.
    circuit = with_design_charge(unit).circuit
    charge = np.asarray(circuit.charge) * np.exp(values[NAMES.index("charge")])
    unit = replace(unit, circuit=replace(circuit, charge=charge))
    if draw.random() < 0.5:
        unit = replace(unit, compressor=other_compressor(unit, draw, MAP_RANGE))
    return unit if unit.expansion.kind == "TXV" else _matched_bore(unit, draw)


def _matched_bore(unit: Unit, draw: Generator) -> Unit:
    """The unit with the orifice that its maker matched to it: by the charging rule's superheat at the rating.

    The nearest of `BORES` where none of them shows it; of a unit that runs with none of them, that drawn.
    """
    wanted = RULE_SUPERHEAT + RULE_ACCURACY * draw.standard_normal()
    areas = np.asarray(unit.expansion.area) * BORES
    tried = replace(unit, expansion=replace(unit.expansion, area=areas))
    # A bore that no steady state goes with is not tried in many small steps: no maker took it.
    point = solve(tried, rating_conditions(), patient=False)
    found = point.state < STATE_CODES["device overfeeds"]
    if not np.any(found):
        return unit
    area = float(np.interp(-wanted, -point.superheat[found], areas[found]))
    return replace(unit, expansion=replace(unit.expansion, area=area))


def _with_other_numbers(unit: Unit, draw: Generator) -> Unit:
    def around(value: ArrayLike, spread: float) -> Array:
        return np.asarray(np.asarray(value, dtype=float) * np.exp(spread * draw.standard_normal()))

    circuit, coil, condenser, valve = unit.circuit, unit.evaporator, unit.condenser, unit.expansion
    machine, fan, blower = unit.compressor, unit.outdoor_fan, unit.indoor_fan
    return replace(
        unit,
        compressor=replace(machine, constant_power=around(machine.constant_power, 0.5)),
        outdoor_fan=replace(fan, curve_slope=draw.uniform(1.6, 3.6), coil_share=draw.uniform(0.45, 0.75)),
        indoor_fan=replace(blower, airflow=around(blower.airflow, 0.08), power=around(blower.power, 0.2)),
        circuit=replace(
            circuit,
            liquid_line_volume=around(circuit.liquid_line_volume, 0.5),
            suction_volume=around(circuit.suction_volume, 0.3),
            suction_drop=around(circuit.suction_drop, 0.6),
        ),
        evaporator=replace(
            coil,
            air_exponent=np.asarray(coil.air_exponent) + draw.uniform(-0.1, 0.1),
            vapour_conductance=around(coil.vapour_conductance, 0.3),
            pressure_drop=around(coil.pressure_drop, 0.5),
        ),
        condenser=replace(
            condenser,
            vapour_conductance=around(condenser.vapour_conductance, 0.3),
            condensing_conductance=around(condenser.condensing_conductance, 0.3),
            liquid_conductance=around(condenser.liquid_conductance, 0.4),
            volume=around(condenser.volume, 0.35),
            pressure_drop=around(condenser.pressure_drop, 0.4),
        ),
        expansion=replace(
            valve,
            reserve=draw.uniform(1.3, 1.8),
            opening_superheat=np.asarray(valve.opening_superheat) * draw.uniform(0.7, 1.4),
        ),
    )


def drawn_conditions(draw: Generator, count: int) -> Conditions:
    """Weather of visits: outdoor 68 to 109 degF, return 70 to 82 degF at 35 to 65 % humidity.

    Parameters
    ----------
    draw : numpy.random.Generator
    count : int
        How many.

    Returns
    -------
    Conditions
        Of shape (count,), at sea level.
    """
    outdoor, back = draw.uniform(293.0, 316.0, count), draw.uniform(294.3, 301.0, count)
    humidity = moist_air.humidity_ratio_from_relative_humidity(
        back, draw.uniform(0.35, 0.65, count), STANDARD_PRESSURE
    )
    return Conditions(outdoor, back, humidity, STANDARD_PRESSURE)


def read_visit(weather: Conditions, point: OperatingPoint, draw: Generator, meters: Instruments) -> Visit:
    """Every reading of a visit, each with an error equally likely between its meter's limits.

    Parameters
    ----------
    weather : Conditions
        Of shape (1,), at the standard atmosphere.
    point : OperatingPoint
        A unit in it, of shape (1,).
    draw : numpy.random.Generator
        Of the errors.
    meters : Instruments
        Standard accuracies; `LIMIT_TO_STANDARD` turns them into limits.

    Returns
    -------
    Visit
        [SI], wet bulbs not above dry bulbs.
    """
    pressure = np.asarray(STANDARD_PRESSURE)
    back, humidity = np.asarray(weather.return_temperature), np.asarray(weather.return_humidity_ratio)
    exact = {
        name: float(function(point, pressure)[0])
        for name, function in READINGS_OF_POINT.items()
        if name not in ("supply_rh", "supply_dewpoint", "compressor_power")
    }
    exact |= {
        "outdoor_db": float(np.asarray(weather.outdoor_temperature)[0]),
        "return_db": float(back[0]),
        "return_wb": float(moist_air.wet_bulb(back, humidity, pressure)[0]),
        "indoor_airflow_standard": float(point.indoor_airflow[0]) / moist_air.STANDARD_AIR_DENSITY,
        "indoor_power": float(point.blower_power[0]),
    }
    spreads = standard_accuracies(exact, meters)
    read: dict[str, Any] = {
        name: value + spreads[name] / LIMIT_TO_STANDARD * draw.uniform(-1.0, 1.0)
        for name, value in exact.items()
    }
    for side in ("return", "supply"):
        read[f"{side}_wb"] = min(read[f"{side}_wb"], read[f"{side}_db"])
    return Visit(label="clean", coil="clean", **read)
