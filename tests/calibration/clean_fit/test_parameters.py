"""Adjustable numbers of a unit: a maker's map acts as its compressor, measured fans are taken over."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.records import PrintedMap, UnitDescription
from calibration.case.units import HOUR, POUND
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.parameters import (
    LARGEST_EFFICIENCY,
    NAMES,
    adjusted,
    generic_unit,
    si_map,
    standard_airflow,
)
from model.components import compressor
from model.cycle.boundary import Conditions, surroundings
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, nominal_unit, rating_conditions
from model.cycle.solve import solve
from model.properties import moist_air
from model.properties.refrigerant import refrigerant
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of


def printed_map(description: UnitDescription, form: str, superheat: float = 11.1) -> PrintedMap:
    """Ten coefficients fitted to the generic compressor of a nameplate, in lb/h and degF or kg/h and degC."""
    machine, gas = generic_unit(description).compressor, refrigerant(description.refrigerant)
    suction, discharge = (
        grid.ravel() for grid in np.meshgrid(np.linspace(270, 292, 9), np.linspace(300, 340, 11))
    )
    low, high = gas.dew_pressure(suction), gas.dew_pressure(discharge)
    state = gas.vapour(low, superheat)
    ratio = high / low
    flow = compressor.volumetric_flow(machine, ratio) * state.density
    rise = gas.isentropic_enthalpy(high, state.entropy) - state.enthalpy
    power = compressor.compression_power(machine, flow, rise, ratio)
    slope, shift = (1.8, 32.0) if form == "US" else (1.0, 0.0)
    s, d = slope * (suction - 273.15) + shift, slope * (discharge - 273.15) + shift
    one = np.ones_like(s)
    terms = np.stack([one, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3], axis=1)
    per_hour = HOUR / (POUND if form == "US" else 1.0)
    fitted = [np.linalg.lstsq(terms, values, rcond=None)[0] for values in (flow * per_hour, power)]
    return PrintedMap(form, *(tuple(map(float, one)) for one in fitted), superheat=superheat)


@pytest.mark.parametrize("form", ["US", "SI"])
def test_a_unit_with_the_map_of_its_own_compressor_is_the_same_unit(form):
    """The polynomial is left 1 % for its fit, and 3 % of the flow for superheat away from the map's."""
    mapped = generic_unit(replace(DESCRIPTION, compressor_map=printed_map(DESCRIPTION, form)))
    plain = generic_unit(DESCRIPTION)
    assert mapped.compressor.rating_map is not None
    first, second = (solve(unit, rating_conditions()) for unit in (plain, mapped))
    assert float(second.net_capacity) == pytest.approx(float(first.net_capacity), rel=0.02)
    assert float(second.compressor_power) == pytest.approx(float(first.compressor_power), rel=0.02)


def test_both_forms_of_one_map_are_the_same_map():
    american, metric = (si_map(printed_map(DESCRIPTION, form)) for form in ("US", "SI"))
    for name in ("flow_coefficients", "power_coefficients"):
        values = [
            compressor.map_value(getattr(one, name), np.array([0.0, 10.0]), np.array([40.0, 60.0]))
            for one in (american, metric)
        ]
        assert values[0] == pytest.approx(values[1], rel=1e-6)


def test_a_map_of_a_fixed_return_gas_has_the_superheat_of_ten_degrees():
    coefficients = (1.0,) * 10
    gas = PrintedMap("SI", coefficients, coefficients, return_gas_temperature=291.45)
    assert si_map(gas).superheat == pytest.approx(8.3)
    assert si_map(PrintedMap("SI", coefficients, coefficients)).superheat == pytest.approx(11.1)


def test_a_mapped_unit_is_fitted_to_its_clean_visit():
    truth = true_unit()
    description = replace(DESCRIPTION, compressor_map=printed_map(DESCRIPTION, "US"))
    baseline = fit_baseline(description, [visit_of(truth)])
    weather = rating_conditions()
    real, guess = solve(truth, weather), solve(baseline.unit, weather)
    assert float(guess.total_power) == pytest.approx(float(real.total_power), rel=0.03)
    assert float(guess.net_capacity) == pytest.approx(float(real.net_capacity), rel=0.04)


@pytest.mark.parametrize(
    ("part", "factor", "sentence"),
    [
        ("mass_flow", 10.0, "mass_flow: gives"),
        ("power", 0.01, "power: gives"),
        ("power", -1.0, "power: gives -"),
    ],
)
def test_a_map_of_another_size_is_refused(part, factor, sentence):
    printed = printed_map(DESCRIPTION, "US")
    wrong = replace(printed, **{part: tuple(factor * value for value in getattr(printed, part))})
    with pytest.raises(ValueError, match=sentence.replace("-", r"\-")):
        generic_unit(replace(DESCRIPTION, compressor_map=wrong))


def test_measured_fans_take_the_place_of_rated_ones():
    rating = {"return_db": RATING_RETURN, "outdoor_db": RATING_OUTDOOR}
    visit = replace(visit_of(true_unit()), indoor_power=400.0, outdoor_fan_power=150.0, **rating)
    unit = generic_unit(DESCRIPTION, [visit, replace(visit, indoor_power=440.0, outdoor_fan_power=None)])
    assert float(np.asarray(unit.indoor_fan.power)) == pytest.approx(420.0)
    assert float(np.asarray(unit.outdoor_fan.power)) == pytest.approx(150.0)


@pytest.mark.parametrize("pressure", [101_325.0, 75_000.0])
def test_fans_measured_in_thin_air_come_out_again_in_the_same_air(pressure):
    """There and back at the visit's weather; the air's density leaves out its vapour, which is 0.5 %."""
    made = replace(visit_of(true_unit()), ambient_pressure=pressure)
    visit = replace(made, indoor_airflow=0.55, indoor_power=400.0, outdoor_fan_power=150.0)
    humidity = moist_air.humidity_ratio_from_wet_bulb(visit.return_db, visit.return_wb, pressure)
    weather = Conditions(visit.outdoor_db, visit.return_db, humidity, pressure)
    given = surroundings(generic_unit(DESCRIPTION, [visit]), weather)
    flow = moist_air.dry_air_mass_flow(0.55, visit.return_db, humidity, pressure)
    assert given.evaporator_air.flow == pytest.approx(float(flow), rel=6e-3)
    assert given.blower_power == pytest.approx(400.0, rel=6e-3)
    assert given.outdoor_fan_power == pytest.approx(150.0, rel=6e-3)


def test_airflow_at_the_meter_is_standard_air_at_its_density():
    """Dry air of 20 degC at sea level is standard air, so both airflows agree; none without humidity."""
    visit = replace(
        visit_of(true_unit()), return_db=293.15, return_wb=None, return_rh=0.0, indoor_airflow=0.5
    )
    assert standard_airflow(visit) == pytest.approx(0.5, rel=1e-4)
    assert standard_airflow(replace(visit, return_rh=None)) is None
    assert standard_airflow(replace(visit, indoor_airflow=None)) is None
    assert standard_airflow(replace(visit, indoor_airflow_standard=0.6)) == 0.6


def test_the_condenser_coil_of_the_nameplate_is_the_one_that_is_sized():
    unit = generic_unit(replace(DESCRIPTION, coil_type="microchannel"))
    sized = nominal_unit(
        DESCRIPTION.refrigerant,
        DESCRIPTION.rated_capacity,
        DESCRIPTION.rated_eer,
        expansion=DESCRIPTION.expansion,
        compressor=DESCRIPTION.compressor,
        coil_type="microchannel",
    )
    assert unit.condenser.volume == pytest.approx(float(sized.condenser.volume))
    assert unit.condenser.dust_insulation < generic_unit(DESCRIPTION).condenser.dust_insulation


def test_no_fit_makes_a_compressor_that_nobody_builds():
    """Efficiency rises with its parameter and stays under the largest; at nothing it is the nameplate's."""
    unit = generic_unit(DESCRIPTION)
    values = np.zeros((len(NAMES), 41))
    values[NAMES.index("efficiency")] = np.linspace(-0.4, 0.8, 41)
    shown = np.asarray(adjusted(unit, values).compressor.efficiency)
    assert np.all(np.diff(shown) > -1e-12)
    assert shown[-1] < 1.01 * LARGEST_EFFICIENCY
    same = adjusted(unit, np.zeros(len(NAMES))).compressor.efficiency
    assert same == pytest.approx(float(unit.compressor.efficiency), rel=1e-12)
