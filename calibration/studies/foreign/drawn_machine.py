"""Draws of machines of another structure: sized by a nameplate, set up by a careful hand, then rated.

The size of every part comes from the generic unit of a nameplate, moved as far as real units of it may
lie from it, so that the fit is not surprised by sizes but by structure. Superheat and subcooling at the
rating are drawn as somebody would set them; device and charge follow. What the maker then prints is what the
machine does, within a maker's errors.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import UnitDescription
from calibration.clean_fit.nameplate import as_rated
from calibration.clean_fit.parameters import SPREADS, adjusted, generic_unit
from calibration.studies.foreign.clearance import Clearance
from calibration.studies.foreign.coils import SegmentedCoil
from calibration.studies.foreign.holdup import HOLDUPS
from calibration.studies.foreign.machine import (
    SUPERHEAT_UNIT,
    Around,
    Device,
    Machine,
    Wanted,
    solved,
)
from calibration.studies.foreign.propeller import BentFan
from calibration.studies.foreign.shown import operating_point
from calibration.studies.other_compressor import MapRange, other_compressor
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.operating_point import STATE_CODES, OperatingPoint
from model.cycle.sizing import rating_conditions
from model.cycle.solve import solve
from model.properties.refrigerant import refrigerant

Generator = np.random.Generator

REFRIGERANTS = ("R410A", "R454B")
SMALLEST, LARGEST = 5275.0, 70337.0
"""Rated capacities [W]: 1.5 to 20 tons."""
PARAMETER_SHARE = 0.7
"""Spread of the drawn sizes over the fit's prior [-], as for units of the model's own structure."""
MAP_RANGE = MapRange((-30.0, 26.0), (15.0, 70.0), (40.0, 45.0), 0.9, (2.2, 3.2))
"""Of compressors given by ten coefficients."""
ORIFICES: tuple[Device, ...] = ("Burnell's orifice", "Leung's orifice")
MOST_DRAWS = 60


@dataclass(frozen=True)
class ForeignUnit:
    """A machine, what its nameplate says, and the model's unit of about its size (for limits and starts)."""

    machine: Machine
    description: UnitDescription
    like: Unit
    start: Array


def drawn_foreign_unit(draw: Generator) -> ForeignUnit:
    """A machine that runs well when clean.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of everything.

    Returns
    -------
    ForeignUnit

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found none.
    """
    for _ in range(MOST_DRAWS):
        found = _drawn(draw)
        if found is not None:
            return found
    raise RuntimeError(f"no machine that runs well was found in {MOST_DRAWS} draws")


def _drawn(draw: Generator) -> ForeignUnit | None:
    valve = bool(draw.random() < 0.6)
    description = UnitDescription(
        name="invented",
        refrigerant=str(draw.choice(REFRIGERANTS)),
        expansion="TXV" if valve else "fixed orifice",
        rated_capacity=float(np.exp(draw.uniform(np.log(SMALLEST), np.log(LARGEST)))),
        compressor="scroll" if draw.random() < 0.75 else "reciprocating",
        rated_eer=float(draw.uniform(2.7, 4.1)),
    )
    like = adjusted(generic_unit(description), PARAMETER_SHARE * SPREADS * draw.standard_normal(len(SPREADS)))
    rating = rating_conditions()
    begin = solve(like, rating, patient=False)
    machine, start = _set_up(_sized(like, description, draw), begin, draw)
    if machine is None:
        return None
    unit = ForeignUnit(machine, description, like, start)
    point, _ = foreign_point(unit, rating)
    if not _runs_well(point, float(np.asarray(like.rated_capacity))):
        return None
    rated = as_rated(description, float(point.net_capacity[0]), float(point.eer[0]), draw)
    # Restrictions are counted in the pressure difference of the unit that the nameplate stands for.
    generic = generic_unit(rated)
    machine = replace(
        machine,
        rated_flow=float(np.asarray(generic.rated_flow)),
        rated_difference=float(np.asarray(generic.rated_pressure_difference)),
    )
    return ForeignUnit(machine, rated, like, start)


def _runs_well(point: OperatingPoint, capacity: float) -> bool:
    return bool(
        point.state[0] == STATE_CODES["ok"]
        and 1.5 < point.superheat[0] < 18.0
        and 0.65 < point.net_capacity[0] / capacity < 1.5
        and 2.3 < point.eer[0] < 4.8
        and point.condensing_temperature[0] < 331.0
    )


def _sized(like: Unit, description: UnitDescription, draw: Generator) -> Machine:
    """A machine with the sizes of a unit and another structure."""

    def around(value: object, spread: float) -> float:
        return float(np.asarray(value)) * float(np.exp(spread * draw.standard_normal()))

    valve = description.expansion == "TXV"
    circuit, outdoor, indoor = like.circuit, like.outdoor_fan, like.indoor_fan
    device: Device = "valve" if valve else ORIFICES[int(draw.integers(len(ORIFICES)))]
    trapped = not valve and draw.random() < 0.3
    return Machine(
        refrigerant=like.refrigerant,
        device=device,
        void=HOLDUPS[int(draw.integers(len(HOLDUPS)))],
        compressor=_compressor(like, draw),
        condenser=_condenser(like, draw),
        evaporator=_evaporator(like, draw),
        outdoor_fan=BentFan(
            float(np.asarray(outdoor.airflow)), float(np.asarray(outdoor.power)), draw.uniform(1.2, 3.2),
            draw.uniform(0.0, 1.2), draw.uniform(-0.1, 0.4), draw.uniform(0.45, 0.8), draw.uniform(1.5, 1.9),
        ),
        indoor_fan=BentFan(
            around(indoor.airflow, 0.08), float(np.asarray(indoor.power)), draw.uniform(0.5, 2.0),
            draw.uniform(0.0, 0.8), draw.uniform(-0.7, -0.2), draw.uniform(0.25, 0.5), draw.uniform(1.5, 1.9),
        ),
        device_area=1.0, spring=0.0, opening=1.0, reserve=draw.uniform(1.25, 1.9), charge=1.0,
        liquid_volume=around(circuit.liquid_line_volume, 0.4),
        suction_volume=around(circuit.suction_volume, 0.4),
        accumulator=0.15 * float(np.asarray(circuit.charge)) if trapped else 0.0,
        suction_drop=around(circuit.suction_drop, 0.4),
        liquid_drop=around(circuit.liquid_line_drop, 0.4),
        suction_gain=around(circuit.suction_line_ntu, 0.4)
        * float(np.asarray(like.rated_flow)) * 900.0,
        dust_insulation=draw.uniform(0.1, 0.5),
        blanketing=draw.uniform(1.0, 6.0),
        tilt=(float(draw.uniform(-1.0, 1.0)), float(draw.uniform(-1.0, 1.0))),
        rated_flow=float(np.asarray(like.rated_flow)),
        rated_difference=float(np.asarray(like.rated_pressure_difference)),
    )  # fmt: skip


def _compressor(like: Unit, draw: Generator) -> Clearance:
    other, old = other_compressor(like, draw, MAP_RANGE), like.compressor
    clearance, expansion = draw.uniform(0.01, 0.05), draw.uniform(0.85, 0.95)
    same = (1.0 - 2.0 * float(np.asarray(old.leakage_slope))) / (1.0 - clearance * (3.0**expansion - 1.0))
    rating = other.rating_map if draw.random() < 0.5 else None
    return Clearance(
        swept=float(np.asarray(old.displacement) * np.asarray(old.displacement_scale)) * same,
        clearance=clearance,
        expansion=expansion,
        efficiency=min(float(np.asarray(old.efficiency)), 0.8),
        best_ratio=draw.uniform(2.2, 3.2),
        curvature=draw.uniform(0.1, 0.35),
        constant_power=float(np.asarray(old.constant_power)),
        # Discharge gas is some 40 K above outdoor air at the rating.
        shell=float(np.asarray(old.shell_loss)) / 40.0,
        flow_map=None if rating is None else rating.flow_coefficients,
        power_map=None if rating is None else rating.power_coefficients,
        density_share=draw.uniform(0.7, 1.0),
    )


def _condenser(like: Unit, draw: Generator) -> SegmentedCoil:
    old, flow = like.condenser, float(np.asarray(like.rated_flow))
    volume = like.outdoor_fan.airflow * 1.1274 * 1016.0
    gas, mixture, liquid = (
        float(np.asarray(value)) * float(np.exp(0.3 * draw.standard_normal()))
        for value in (old.vapour_conductance, old.condensing_conductance, old.liquid_conductance)
    )
    return SegmentedCoil(
        air_conductance=float(np.asarray(old.air_conductance)),
        air_exponent=draw.uniform(0.45, 0.7),
        gas_conductance=gas, mixture_conductance=mixture, liquid_conductance=liquid,
        flow_exponent=draw.uniform(0.6, 0.85),
        rated_flow=flow,
        rated_air=float(np.asarray(volume)),
        rated_pressure=float(np.asarray(old.rated_pressure)),
        volume=float(np.asarray(old.volume)) * float(np.exp(0.2 * draw.standard_normal())),
        flow_area=flow / draw.uniform(120.0, 300.0),
        drop=float(np.asarray(old.pressure_drop)),
        unevenness=draw.uniform(-0.5, 0.5),
    )  # fmt: skip


def _evaporator(like: Unit, draw: Generator) -> SegmentedCoil:
    old, flow = like.evaporator, float(np.asarray(like.rated_flow))
    return SegmentedCoil(
        air_conductance=float(np.asarray(old.air_conductance)),
        air_exponent=draw.uniform(0.45, 0.7),
        gas_conductance=float(np.asarray(old.vapour_conductance)),
        mixture_conductance=float(np.asarray(old.boiling_conductance)),
        liquid_conductance=1.0,
        flow_exponent=draw.uniform(0.5, 0.85),
        rated_flow=flow,
        rated_air=float(np.asarray(old.rated_airflow)) * 1027.0,
        rated_pressure=1e6,
        volume=float(np.asarray(old.volume)) * float(np.exp(0.2 * draw.standard_normal())),
        flow_area=flow / draw.uniform(80.0, 200.0),
        drop=float(np.asarray(old.pressure_drop)) * float(np.exp(0.4 * draw.standard_normal())),
        unevenness=draw.uniform(-0.4, 0.4),
    )


def _set_up(machine: Machine, begin: OperatingPoint, draw: Generator) -> tuple[Machine | None, Array]:
    """The machine with its device and charge, and its unknowns at the rating; None without a steady state."""
    superheat, subcooling = draw.uniform(3.0, 9.0), draw.uniform(3.5, 8.0)
    if machine.device == "valve":
        superheat = draw.uniform(5.5, 10.0)
    start = start_of(begin, machine)
    wanted = Wanted(np.array([superheat]), np.array([subcooling]))
    found, _, unknowns = solved(machine, rating_conditions(), start=start, wanted=wanted)
    if np.isnan(unknowns).any():
        return None, unknowns
    machine = replace(machine, charge=float(found.charge[0]))
    if machine.device == "valve":
        machine = _with_valve(machine, found, superheat, draw.uniform(2.0, 4.5))
    full, _, _ = solved(machine, rating_conditions(), start=unknowns, wanted=wanted)
    return replace(machine, device_area=float(full.flow[0] / full.device_flow[0])), unknowns


def _with_valve(machine: Machine, found: Around, superheat: float, opening: float) -> Machine:
    """The machine with a spring that lets its valve open fully at the superheat found."""
    fluid, low = refrigerant(machine.refrigerant), found.low
    closed = fluid.dew_pressure(low.dew_temperature + superheat - opening)
    rated = fluid.dew_pressure(low.dew_temperature + superheat)
    spring = float((closed - low.pressure)[0])
    return replace(machine, spring=spring, opening=float((rated - closed)[0]))


def start_of(begin: OperatingPoint, machine: Machine) -> Array:
    """Unknowns to start from, by a point of the product's model.

    Parameters
    ----------
    begin : OperatingPoint
    machine : Machine

    Returns
    -------
    ndarray, shape (3, ...)
    """
    high = refrigerant(machine.refrigerant).bubble_pressure(begin.condensing_temperature)
    superheat = np.clip(begin.evaporator_superheat, 0.5, 15.0) / SUPERHEAT_UNIT
    return np.stack(np.atleast_1d(np.log(1.01 * begin.suction_pressure), np.log(high), superheat))


def foreign_point(
    unit: ForeignUnit, conditions: Conditions, faults: Faults = HEALTHY
) -> tuple[OperatingPoint, Array]:
    """What a machine shows in some weather with some faults.

    Parameters
    ----------
    unit : ForeignUnit
    conditions : Conditions
    faults : Faults

    Returns
    -------
    (OperatingPoint, ndarray)
        Of one axis, and the share of the compressor's flow that leaks [-].
    """
    found, given, unknowns = solved(unit.machine, conditions, faults, start=unit.start)
    return operating_point(found, given, unknowns, unit.machine), found.leaked
