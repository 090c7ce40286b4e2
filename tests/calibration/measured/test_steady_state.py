"""Steady stretches of invented logs whose truth is known."""

import csv
import datetime as dt
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.files.log_file import Log, read_log
from calibration.measured.steady_state import standard_error_of_mean, steady_record
from calibration.measured.windows import longest_steady

STEADY = {
    "outdoor_db": (308.15, 0.1),
    "return_db": (299.8, 0.1),
    "return_wb": (292.6, 0.05),
    "supply_db": (288.2, 0.1),
    "suction_pressure": (1.01e6, 2e3),
    "liquid_pressure": (2.65e6, 4e3),
    "suction_temperature": (288.7, 0.1),
    "liquid_temperature": (310.9, 0.05),
    "outdoor_power": (2900.0, 8.0),
}


def made_log(minutes=60, interval=5.0, settles_at=20.0, seed=1, **changes):
    """A log that moves exponentially to its end state, with time constant a fifth of `settles_at` [min]."""
    rng = np.random.default_rng(seed)
    seconds = np.arange(0.0, minutes * 60, interval)
    readings = {}
    for name, (level, noise) in STEADY.items():
        start = 0.08 * level if name.endswith(("pressure", "power")) else 6.0
        decay = np.exp(-seconds / (settles_at * 60 / 5)) if settles_at else 0.0
        readings[name] = level + start * decay + noise * rng.standard_normal(len(seconds))
    readings.update(changes)
    return Log(seconds, readings, dt.datetime(2026, 5, 14, 14, 0), 0, {})


def test_a_settled_log_gives_a_visit_of_its_averages():
    record = steady_record(made_log(settles_at=0.0), coil="clean", label="logged")
    assert record.is_steady
    assert record.minutes == pytest.approx(60, abs=0.5)
    assert (record.reason, record.lacking) == ("", ())
    visit = record.visit
    assert (visit.label, visit.coil, visit.date, visit.time) == (
        "logged",
        "clean",
        dt.date(2026, 5, 14),
        dt.time(14, 0),
    )
    assert visit.settled_minutes == pytest.approx(record.minutes)
    for name, (level, noise) in STEADY.items():
        average = record.averages[name]
        assert getattr(visit, name) == average.value
        assert abs(average.value - level) < 5 * noise / np.sqrt(720)
        assert average.standard_error == pytest.approx(noise / np.sqrt(720), rel=0.6)
    assert all(drift.is_steady for drift in record.drifts)
    assert {drift.key for drift in record.drifts} == set(STEADY)


def test_the_start_is_left_out():
    record = steady_record(made_log(minutes=90, settles_at=30.0))
    assert 600 < record.begin < 2400
    assert record.end == pytest.approx(5400, abs=30)
    assert record.visit.liquid_pressure == pytest.approx(STEADY["liquid_pressure"][0], rel=0.01)


def test_the_longest_of_two_stretches():
    log = made_log(minutes=120, settles_at=0.0)
    log.readings["liquid_pressure"][:] += np.where(log.seconds < 2400, 0.0, 3e5)
    record = steady_record(log)
    assert record.begin == pytest.approx(2400, abs=60)
    assert record.end == pytest.approx(7200, abs=60)


def test_a_slow_drift_ends_a_stretch():
    # 0.3 K in 15 min passes every window; two standard accuracies of a thermometer are 0.9 K
    log = made_log(minutes=240, settles_at=0.0)
    log.readings["outdoor_db"] += 0.3 / 900 * log.seconds
    record = steady_record(log)
    assert 15 < record.minutes < 75
    (drift,) = [drift for drift in record.drifts if drift.key == "outdoor_db"]
    assert drift.change == pytest.approx(0.3, rel=0.1)


def test_a_hunting_valve_is_averaged_and_a_wild_one_is_not():
    log = made_log(settles_at=0.0)
    swing = np.sin(2 * np.pi * log.seconds / 120)
    log.readings["suction_temperature"] += 1.5 * swing
    record = steady_record(log)
    assert record.minutes > 55
    assert record.visit.suction_temperature == pytest.approx(288.7, abs=0.1)
    log.readings["suction_temperature"] += 4.0 * swing
    record = steady_record(log)
    assert not record.is_steady
    assert record.reason == "still changing in the last 15 min of running: suction_temperature"
    assert record.drifts[0].key == "suction_temperature"
    assert record.drifts[0].scatter > record.drifts[0].allowed_scatter


def test_nothing_settled_says_what_drifts_and_how_fast():
    log = made_log(settles_at=0.0)
    log.readings["liquid_pressure"] += 1e5 / 900 * log.seconds
    log.readings["outdoor_db"] += 1.0 / 900 * log.seconds
    record = steady_record(log)
    assert (record.begin, record.end, record.visit, record.averages, record.minutes) == (
        None,
        None,
        None,
        {},
        0.0,
    )
    assert record.reason == "still changing in the last 15 min of running: liquid_pressure, outdoor_db"
    moving = [drift for drift in record.drifts if not drift.is_steady]
    assert [drift.key for drift in moving] == ["liquid_pressure", "outdoor_db"]
    assert moving[0].change == pytest.approx(1e5, rel=0.02)
    assert moving[1].change == pytest.approx(1.0, rel=0.2)


def test_a_unit_that_is_off_is_not_settled():
    log = made_log(minutes=120, settles_at=0.0)
    off = log.seconds > 3600
    log.readings["outdoor_power"][off] = 0.0
    record = steady_record(log)
    assert record.end == pytest.approx(3600, abs=30)
    log.readings["outdoor_power"][:] = 0.0
    assert steady_record(log).reason == "the unit does not run in this log"


@pytest.mark.parametrize("seen", ["pressures", "air"])
def test_running_is_seen_without_a_wattmeter(seen):
    log = made_log(minutes=120, settles_at=0.0)
    off = log.seconds > 3600
    del log.readings["outdoor_power"]
    if seen == "pressures":
        log.readings["liquid_pressure"][off] = log.readings["suction_pressure"][off]
    else:
        del log.readings["liquid_pressure"], log.readings["suction_pressure"]
        log.readings["supply_db"][off] = log.readings["return_db"][off]
    assert steady_record(log).end == pytest.approx(3600, abs=30)


def test_a_gap_ends_a_stretch_and_a_short_one_does_not():
    def without(first, last):
        log = made_log(minutes=80, settles_at=0.0)
        keep = (log.seconds < first) | (log.seconds >= last)
        readings = {name: values[keep] for name, values in log.readings.items()}
        return steady_record(Log(log.seconds[keep], readings, None, 0, {}))

    assert without(1800, 1920).minutes == pytest.approx(80, abs=1)
    split = without(1800, 2700)
    assert split.begin == pytest.approx(2700, abs=30)
    assert split.visit.date is None


def test_missing_entries_are_bridged_and_dead_readings_left_out():
    log = made_log(settles_at=0.0)
    rng = np.random.default_rng(2)
    log.readings["supply_db"][rng.random(len(log.seconds)) < 0.3] = np.nan
    log.readings["discharge_temperature"] = np.full(len(log.seconds), np.nan)
    record = steady_record(log)
    assert record.minutes > 55
    assert record.visit.supply_db == pytest.approx(288.2, abs=0.05)
    assert record.visit.discharge_temperature is None


def test_a_channel_that_shows_nothing_settles_nothing_and_hinders_nothing():
    empty = {"outdoor_fan_power": np.zeros(720)}
    record, without = (steady_record(made_log(settles_at=0.0, **more)) for more in (empty, {}))
    assert record.minutes == without.minutes
    assert record.visit.outdoor_fan_power == 0.0
    assert "outdoor_fan_power" not in {drift.key for drift in record.drifts}


def test_a_short_log():
    record = steady_record(made_log(minutes=8, settles_at=0.0))
    assert record.reason == "the log lasts 8 min; at least 15 min of running are needed"


def test_readings_that_are_hardly_there():
    log = made_log(settles_at=0.0)
    for name in set(log.readings) - {"outdoor_power"}:
        del log.readings[name]
    log.readings["outdoor_power"] = np.full(len(log.seconds), 2900.0)
    assert steady_record(log).is_steady
    log.readings["outdoor_db"] = log.readings.pop("outdoor_power") * np.nan
    assert steady_record(log).reason.startswith("every reading is missing for more than half of the")


def test_stops_and_starts():
    log = made_log(minutes=120, settles_at=0.0)
    log.readings["outdoor_power"] *= (log.seconds % 900) < 600
    assert (
        steady_record(log).reason
        == "the unit never runs for 15 min without a gap, a stop or a change of conditions"
    )


def test_a_log_without_what_a_visit_needs():
    log = made_log(settles_at=0.0)
    del log.readings["outdoor_db"], log.readings["return_wb"]
    record = steady_record(log)
    assert record.is_steady
    assert record.visit is None
    assert record.lacking == ("outdoor_db", "return_wb")


@pytest.mark.parametrize("interval", [0.5, 7.0, 60.0, 240.0])
def test_any_sampling_rate(interval):
    record = steady_record(made_log(minutes=150, interval=interval, settles_at=40.0))
    assert record.is_steady
    assert record.visit.outdoor_power == pytest.approx(2900.0, rel=0.01)


def test_two_humidities_and_airflows_make_one_of_each():
    log = made_log(settles_at=0.0)
    log.readings["return_rh"] = np.full(len(log.seconds), 0.5)
    log.readings["indoor_airflow"] = np.full(len(log.seconds), 0.56)
    log.readings["indoor_airflow_standard"] = np.full(len(log.seconds), 0.55)
    log.readings["outdoor_phases"] = np.full(len(log.seconds), 3.0)
    visit = steady_record(log).visit
    assert (visit.return_rh, visit.indoor_airflow, visit.indoor_airflow_standard) == (
        None,
        None,
        pytest.approx(0.55),
    )
    assert visit.return_wb is not None
    assert visit.outdoor_phases == 3


def test_gauge_readings_count_from_the_logged_barometer():
    log = made_log(settles_at=0.0)
    log.readings["barometer"] = np.full(len(log.seconds), 95e3)
    gauges = frozenset({"suction_pressure"})
    shifted = Log(log.seconds, log.readings, None, 0, {}, (), 101325.0, gauges)
    visit = steady_record(shifted).visit
    assert visit.ambient_pressure == 95e3
    assert visit.suction_pressure == pytest.approx(1.01e6 - 6325.0, abs=500)
    assert visit.liquid_pressure == pytest.approx(2.65e6, abs=1000)


def test_traces_keep_the_extremes():
    log = made_log(minutes=600, interval=1.0, settles_at=0.0)
    log.readings["liquid_pressure"][20_000] = 9e6
    trace = next(trace for trace in steady_record(log).traces if trace.key == "liquid_pressure")
    assert len(trace.seconds) <= 1200
    assert trace.high.max() == 9e6
    assert np.all(trace.low <= trace.mean)
    assert np.all(trace.mean <= trace.high)
    assert np.average(trace.mean) == pytest.approx(log.readings["liquid_pressure"].mean(), rel=1e-3)


@pytest.mark.parametrize("memory", [0.0, 0.5, 0.9])
def test_standard_error_knows_that_neighbours_are_alike(memory):
    """First-order autoregression: variance of the mean is variance (1 + r) / (1 - r) / n (textbooks)."""
    rng = np.random.default_rng(5)
    count, runs = 2000, 60
    errors, means = [], []
    for _ in range(runs):
        shocks = rng.standard_normal(count)
        series = np.empty(count)
        series[0] = shocks[0] / np.sqrt(1 - memory**2)
        for i in range(1, count):
            series[i] = memory * series[i - 1] + shocks[i]
        errors.append(standard_error_of_mean(series))
        means.append(series.mean())
    truth = np.sqrt(1 / (1 - memory) ** 2 / count)
    assert np.mean(errors) == pytest.approx(truth, rel=0.08)
    assert np.std(means) == pytest.approx(truth, rel=0.25)


def test_standard_error_of_a_constant_is_zero():
    assert standard_error_of_mean(np.full(50, 3.0)) == 0.0


@given(st.lists(st.floats(0, 3), min_size=1, max_size=40), st.integers(1, 3))
@settings(derandomize=True, deadline=None)
def test_longest_still_stretch_against_trying_all(values, copies):
    series = [np.roll(np.array(values), shift) for shift in range(copies)]
    count = len(values)

    def still(first, last):
        return all(np.ptp(one[first:last]) <= 1.0 for one in series)

    best = max(
        last - first for first in range(count) for last in range(first + 1, count + 1) if still(first, last)
    )
    start, length = longest_steady(series)
    assert length == best
    assert still(start, start + length)


def test_from_a_file_to_a_visit(tmp_path):
    log = made_log(minutes=40, settles_at=0.0)
    path = tmp_path / "log.csv"
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(
            ["time", "outdoor_db [degC]", "return_db [degC]", "return_wb [degC]", "outdoor_power [kW]"]
        )
        for i, second in enumerate(log.seconds):
            stamp = log.start + dt.timedelta(seconds=second)
            degrees = [
                f"{log.readings[name][i] - 273.15:.2f}" for name in ("outdoor_db", "return_db", "return_wb")
            ]
            writer.writerow([stamp.isoformat(" "), *degrees, f"{log.readings['outdoor_power'][i] / 1e3:.4f}"])
    record = steady_record(read_log(path, "US"))
    assert record.minutes == pytest.approx(40, abs=0.5)
    assert record.visit.outdoor_power == pytest.approx(2900, rel=1e-3)
    assert record.visit.outdoor_db == pytest.approx(308.15, abs=0.03)


def most_memory_for(path, count: int) -> int:
    """Most bytes that a log of so many rows takes while it is read and looked at."""
    rows = "".join(f"{i},{95 + i % 7 * 0.1:.1f},{2900 + i % 11}\n" for i in range(count))
    path.write_text("time,outdoor_db,outdoor_power\n" + rows)
    tracemalloc.start()
    try:
        log = read_log(path, "US")
        steady_record(log)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
        assert len(log.seconds) == count


def test_memory_of_a_log_grows_with_its_rows_and_no_faster(tmp_path):
    once, twice = (most_memory_for(tmp_path / "long.csv", count) for count in (100_000, 200_000))
    assert twice < 2.2 * once
    assert twice < 200_000 * 3 * 17 * 8, "of each entry of three columns no more than 17 numbers of 8 bytes"
