"""Heat balance: routes of a made visit meet the model's capacity, intervals grow with the meters' errors."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import Instruments
from calibration.case.records import Case
from calibration.clean_fit.baseline import baseline_of
from calibration.clean_fit.observation import conditions, observation
from calibration.diagnosis.heat_balance import (
    AIR,
    COMPRESSOR,
    CONDENSER,
    CONTRADICTION,
    REFRIGERANT,
    heat_balance_of,
)
from calibration.studies.laboratory import DESCRIPTION as LABORATORY_UNIT
from calibration.studies.laboratory import INSTRUMENTS, laboratory_rows, laboratory_visit
from model.cycle.faults import Faults
from model.cycle.solve import solve
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")


def balance(visit, meters=None, visits=(CLEAN,)):
    return heat_balance_of(Case("SI", DESCRIPTION, tuple(visits), meters or Instruments()), visit)


def known(visit, meters=None):
    """Heat balance by a fitted unit that is the true one."""
    case = Case("SI", DESCRIPTION, (CLEAN,), meters or Instruments())
    fitted = baseline_of(case)
    exact = replace(fitted, generic=UNIT, values=np.zeros_like(fitted.values), unit=UNIT)
    return heat_balance_of(case, visit, exact)


@pytest.mark.parametrize("faults", [Faults(), Faults(condenser_blocked=0.5), Faults(charge_change=-0.1)])
def test_every_route_meets_the_capacity_that_the_readings_were_made_with(faults):
    visit = visit_of(UNIT, "found", faults=faults, coil="as found" if faults != Faults() else "clean")
    seen = observation(visit, Instruments())
    truth = float(solve(UNIT, conditions(seen.settings, 101_325.0), faults).gross_capacity)
    found = known(visit)
    for name, capacity in found.capacities.items():
        assert capacity.value == pytest.approx(truth, rel=0.001), name
    assert found.power is not None
    assert found.power.difference.value == pytest.approx(0.0, abs=0.01 * visit.outdoor_power)


def test_a_clean_visit_has_four_routes_that_agree_and_no_loss():
    found = known(visit_of(UNIT, "second", outdoor=308.15))
    assert list(found.capacities) == [AIR, REFRIGERANT, COMPRESSOR, CONDENSER]
    assert len(found.differences) == 6
    assert found.worst.agrees
    for loss in found.losses.values():
        assert loss.value == pytest.approx(0.0, abs=0.001)


def test_published_refrigerant_sides_lie_within_the_interval():
    # NISTIR 7350 measured the refrigerant's flow: its column evap_refside_capacity_W is the coil's capacity.
    rows = laboratory_rows()
    visits = [laboratory_visit(row) for row in rows]
    case = Case("SI", LABORATORY_UNIT, (visits[3],), INSTRUMENTS)
    for row, visit in zip(rows, visits, strict=True):
        if visit is visits[3]:
            continue
        found = heat_balance_of(case, visit)
        low, high = found.capacities[REFRIGERANT].ends
        assert low < row["evap_refside_capacity_W"] < high
        assert found.worst.agrees


def test_a_wet_bulb_that_reads_high_contradicts_the_refrigerant_side():
    visit = visit_of(UNIT, "second", outdoor=308.15)
    meters = Instruments(wet_bulb=0.2, air_thermometer=0.2, airflow=0.02)
    found = balance(replace(visit, supply_wb=visit.supply_wb + 3.0), meters)
    assert not found.worst.agrees
    assert found.worst is not None
    assert AIR in (found.worst.first, found.worst.second)
    assert abs(found.worst.errors) > CONTRADICTION
    assert found.worst.errors < 0


def test_half_the_watts_contradict_the_compressors_states():
    visit = visit_of(UNIT, "second", outdoor=308.15)
    found = balance(replace(visit, outdoor_power=0.5 * visit.outdoor_power))
    assert found.power is not None
    assert not found.power.agrees
    assert found.power.errors < 0


def test_what_two_routes_share_cancels_in_their_difference():
    found = balance(visit_of(UNIT, "second", outdoor=308.15))
    pair = next(one for one in found.differences if (one.first, one.second) == (REFRIGERANT, COMPRESSOR))
    apart = np.hypot(
        found.capacities[REFRIGERANT].standard_error, found.capacities[COMPRESSOR].standard_error
    )
    assert pair.difference.standard_error < apart
    # The compressor's displacement is in the clean capacity too: the loss is known better than either.
    loss = found.losses[REFRIGERANT]
    assert loss.standard_error < found.capacities[REFRIGERANT].standard_error / found.clean.value


def test_better_meters_and_a_clean_visit_narrow_the_routes():
    visit = visit_of(UNIT, "second", outdoor=308.15)
    field, fine = balance(visit), balance(visit, Instruments(wet_bulb=0.1, airflow=0.01, air_thermometer=0.1))
    assert fine.capacities[AIR].standard_error < 0.6 * field.capacities[AIR].standard_error
    bare = balance(visit, visits=())
    assert bare.fitted_to == ()
    assert bare.capacities[REFRIGERANT].standard_error > 1.5 * field.capacities[REFRIGERANT].standard_error


def test_routes_whose_readings_are_missing_say_what_they_wait_for():
    visit = replace(
        visit_of(UNIT, "second"), supply_wb=None, discharge_temperature=None, condenser_leaving_db=None
    )
    found = balance(visit)
    assert list(found.capacities) == [REFRIGERANT]
    assert found.missing == {
        AIR: ("supply_wb",),
        COMPRESSOR: ("discharge_temperature",),
        CONDENSER: ("condenser_leaving_db",),
    }
    assert found.worst is not None  # the compressor's power is still a check


def test_a_visit_of_weather_alone_has_no_route():
    names = ("supply_db", "supply_wb", "suction_pressure", "outdoor_power", "condenser_leaving_db")
    bare = balance(replace(visit_of(UNIT, "bare"), **dict.fromkeys(names)))
    assert bare.capacities == {}
    assert bare.worst is None


def test_a_starved_condenser_shows_in_its_air():
    visit = visit_of(UNIT, "found", faults=Faults(condenser_blocked=0.6), coil="as found")
    seen = observation(visit, Instruments())
    weather = conditions(seen.settings, 101_325.0)
    clean, found = solve(UNIT, weather), solve(UNIT, weather, Faults(condenser_blocked=0.6))
    share = float(found.outdoor_airflow / clean.outdoor_airflow)
    airflow = known(visit).condenser_airflow
    assert airflow is not None
    assert airflow.value == pytest.approx(share, abs=0.02)
    assert CONDENSER not in known(visit).capacities


def test_a_blower_that_was_not_read_is_taken_as_the_units_with_a_wider_interval():
    visit = visit_of(UNIT, "second")
    with_it, without = balance(visit), balance(replace(visit, indoor_power=None))
    assert without.capacities[AIR].value == pytest.approx(with_it.capacities[AIR].value, rel=0.01)
    assert without.capacities[AIR].standard_error > with_it.capacities[AIR].standard_error


def test_wet_suction_and_gas_in_the_liquid_line_are_remarked():
    visit = visit_of(UNIT, "second")
    fluid_dew = visit.suction_temperature - 30.0
    wet = balance(replace(visit, suction_temperature=fluid_dew))
    assert any("suction may carry liquid" in remark for remark in wet.remarks)
    flashing = balance(replace(visit, liquid_temperature=visit.liquid_temperature + 20.0))
    assert any("liquid line may carry gas" in remark for remark in flashing.remarks)
    assert balance(visit).remarks == ()
