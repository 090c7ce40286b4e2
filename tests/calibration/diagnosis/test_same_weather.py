"""Like for like: published tests at one another's conditions, weather told from fouling on made visits."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from calibration.case.meters import Instruments
from calibration.case.records import Case
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.same_weather import MOVING_SPREAD, conditions_of, like_for_like, rating
from calibration.studies.laboratory import DESCRIPTION as LABORATORY_UNIT
from calibration.studies.laboratory import INSTRUMENTS, laboratory_rows, laboratory_visit
from model.cycle.faults import Faults
from model.cycle.sizing import RATING_OUTDOOR
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")
METERS = Instruments(wet_bulb=0.15, air_thermometer=0.15, airflow=0.015, liquid_gauge=7e3, suction_gauge=5e3)
CASE = Case("SI", DESCRIPTION, (CLEAN,), METERS)
BASELINE = fit_baseline(DESCRIPTION, [CLEAN], METERS)


def test_published_tests_agree_once_moved_to_the_same_conditions():
    # NISTIR 7350 (2006), nine fault-free tests of one unit, fitted to test 5: nothing but weather differs.
    visits = [laboratory_visit(row) for row in laboratory_rows()]
    baseline = fit_baseline(LABORATORY_UNIT, [visits[3]], INSTRUMENTS)
    case = Case("SI", LABORATORY_UNIT, (visits[3],), INSTRUMENTS)
    raw: dict[str, list[float]] = {}
    left: dict[str, list[float]] = {}
    scores: dict[str, list[float]] = {}
    for first, second in list(combinations(visits, 2))[::2]:
        for row in like_for_like(case, first, second, "hotter", baseline).rows:
            raw.setdefault(row.figure, []).append(row.raw.value / row.second.value)
            left.setdefault(row.figure, []).append(row.remaining.value / row.second_moved.value)
            scores.setdefault(row.figure, []).append(row.remaining.value / row.remaining.standard_error)
    assert set(left) == set(MOVING_SPREAD)
    for name, errors in left.items():
        error, before = (float(np.sqrt(np.mean(np.square(values)))) for values in (errors, raw[name]))
        assert error < (0.04 if "capacity" in name or name == "eer" else 0.025), name
        assert error < 0.25 * before, name
        held = np.mean(np.abs(scores[name]) < 1.645)
        assert held >= 0.85, name


def test_other_weather_alone_leaves_nothing():
    hot = visit_of(UNIT, "hot", outdoor=313.15, returned=300.15, wet_bulb=292.15)
    found = like_for_like(CASE, CLEAN, hot, "rating", BASELINE)
    for row in found.rows:
        assert not row.excludes_zero, row.figure
        assert abs(row.remaining.value) < 0.02 * abs(row.second_moved.value) + 1.0, row.figure
        # Capacity hardly changes: hotter outdoor air takes what the more humid return air gives.
        assert row.weather_share is None or row.weather_share == pytest.approx(1.0, abs=0.25)
    assert found.row("outdoor_power").weather_share is not None


def test_fouling_remains_when_the_weather_is_taken_out():
    fouled = visit_of(UNIT, "found", faults=Faults(condenser_blocked=0.6), coil="as found", outdoor=297.15)
    cleaned = visit_of(UNIT, "after", outdoor=308.15)
    found = like_for_like(CASE, fouled, cleaned, "hotter", BASELINE)
    assert found.common.words == "conditions of after"
    power, pressure = found.row("outdoor_power"), found.row("liquid_pressure")
    assert power.raw.value < 0  # cooler weather made the fouled visit look the better one
    assert power.excludes_zero
    assert power.remaining.value > 0
    assert pressure.excludes_zero
    truth = visit_of(UNIT, "there", faults=Faults(condenser_blocked=0.6), coil="as found", outdoor=308.15)
    assert power.first_moved.value == pytest.approx(truth.outdoor_power, rel=0.02)
    assert pressure.first_moved.value == pytest.approx(truth.liquid_pressure, rel=0.02)
    assert found.faults[0][0].fault in ("condenser_blocked", "condenser_dust", "condenser_fan_slow")
    assert found.faults[1] == ()


def test_the_other_way_round_has_the_other_sign():
    hot = visit_of(UNIT, "hot", outdoor=311.15)
    there, back = (like_for_like(CASE, *pair, "rating", BASELINE) for pair in ((CLEAN, hot), (hot, CLEAN)))
    for one, other in zip(there.rows, back.rows, strict=True):
        assert one.raw.value == pytest.approx(-other.raw.value)
        assert one.remaining.value == pytest.approx(-other.remaining.value)
        assert one.remaining.standard_error == pytest.approx(other.remaining.standard_error)


def test_a_visit_at_the_common_conditions_is_not_moved():
    own = conditions_of(CLEAN)
    found = like_for_like(CASE, CLEAN, visit_of(UNIT, "hot", outdoor=311.15), own, BASELINE)
    for row in found.rows:
        assert row.first_moved.value == pytest.approx(row.first.value, rel=1e-6), row.figure


def test_any_conditions_may_be_asked_for():
    common = replace(rating(), words="design day", outdoor=316.15)
    found = like_for_like(CASE, CLEAN, visit_of(UNIT, "hot", outdoor=311.15), common, BASELINE)
    assert found.common.outdoor == 316.15
    assert rating().outdoor == RATING_OUTDOOR
    liquid = found.row("liquid_pressure")
    assert liquid.first_moved.value > liquid.second.value > liquid.first.value


def test_figures_that_one_visit_lacks_are_left_out_and_suspect_readings_replaced():
    hot = replace(visit_of(UNIT, "hot", outdoor=311.15), supply_wb=None)
    found = like_for_like(CASE, CLEAN, hot, "hotter", BASELINE)
    assert [row.figure for row in found.rows] == [
        "outdoor_power", "total_power", "suction_pressure", "liquid_pressure",
    ]  # fmt: skip
    with pytest.raises(KeyError, match="net_capacity is not among outdoor_power"):
        found.row("net_capacity")
    bad = replace(hot, outdoor_power=0.5 * hot.outdoor_power)
    found = like_for_like(CASE, CLEAN, bad, "hotter", BASELINE)
    assert found.suspects == ((), ("outdoor_power",))
    assert found.row("outdoor_power").second.value == pytest.approx(hot.outdoor_power, rel=0.03)
