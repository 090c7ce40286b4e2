"""Invented logs of a unit over weeks, from the project's own model with a fouling that is known.

Not a test: other tests and the benchmark take their logs from here. Every number is made up.
"""

import datetime as dt
from functools import cache
from pathlib import Path

import numpy as np

from calibration.case.file import read_case
from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline, baseline_of
from calibration.clean_fit.observation import READINGS_OF_POINT
from calibration.costs.season_case import bursts_of
from calibration.track.stretches import Stretches
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.solve import solve
from model.maintenance.growth import daily_share
from model.properties import moist_air

DEMO = Path(__file__).resolve().parents[1] / "cases" / "demo.toml"
START = dt.date(2026, 5, 20)
ALL = ("suction_pressure", "liquid_pressure", "suction_temperature", "liquid_temperature", "outdoor_power")


@cache
def demo() -> tuple[Case, Baseline]:
    """The invented case and its clean unit."""
    case = read_case(DEMO)
    return case, baseline_of(case)


def made_stretches(level: np.ndarray, seed: int = 1, names: tuple[str, ...] = ALL) -> Stretches:
    """Three steady stretches a day at known levels of fouling (days,), with the noise of good sensors."""
    case, baseline = demo()
    rng = np.random.default_rng(seed)
    day = np.repeat(np.arange(len(level)), 3)
    count = len(day)
    outdoor = 303.0 + 4.0 * rng.standard_normal(len(level))[day] + np.tile([-2.0, 1.0, 2.0], len(level))
    back = 297.2 + 0.3 * rng.standard_normal(count)
    pressure = case.unit.ambient_pressure
    ratio = moist_air.humidity_ratio_from_relative_humidity(back, 0.5, pressure)
    point = solve(
        baseline.unit, Conditions(outdoor, back, ratio, pressure), Faults(condenser_blocked=level[day])
    )
    exact = {name: READINGS_OF_POINT[name](point, np.asarray(pressure)) for name in names}
    exact |= {"outdoor_db": outdoor}
    if len(names) == len(ALL):
        exact |= {"return_db": back, "return_wb": moist_air.wet_bulb(back, ratio, pressure)}
    noise = {"pressure": 2e3, "db": 0.05, "wb": 0.05, "temperature": 0.1, "power": 8.0}
    size = {name: noise[name.rsplit("_", 1)[1]] for name in exact}
    values = {name: series + size[name] * rng.standard_normal(count) for name, series in exact.items()}
    begin = ((START - dt.date(1970, 1, 1)).days + day) * 86_400.0 + np.tile([43e3, 50e3, 57e3], len(level))
    scatter = {name: np.full(count, size[name]) for name in values}
    return Stretches(begin, begin + 1800.0, values, scatter, count, 0, ())


def write_track_log(
    path: Path, days: int = 8, interval: float = 60.0, level: float | np.ndarray = 0.2
) -> Path:
    """A log in SI units: four runs of an hour a day, stopped in between; CSV or Parquet by its ending."""
    import pandas as pd

    stretches = made_stretches(np.broadcast_to(level, days))
    rows = int(86_400 / interval)
    start = np.datetime64(START, "s")
    seconds = interval * np.arange(days * rows)
    hour = seconds % 86_400 / 3600.0
    runs = (hour % 3.0 < 1.5) & (hour > 10.0) & (hour < 20.0)
    rng = np.random.default_rng(3)
    columns: dict[str, np.ndarray] = {"time": start + seconds.astype("timedelta64[s]")}
    units = {"pressure": "[Pa abs]", "power": "[W]"}
    for name, values in stretches.values.items():
        unit = units.get(name.rsplit("_", 1)[1], "[K]")
        mean = values[::3][np.repeat(np.arange(days), rows)]
        still = {"liquid_pressure": 1.2e6, "suction_pressure": 1.2e6, "outdoor_power": 8.0}.get(name, 298.0)
        series = np.where(runs, mean, still) * (1.0 + 2e-5 * rng.standard_normal(len(seconds)))
        columns[f"{name} {unit}"] = series.round(4)
    frame = pd.DataFrame(columns)
    if path.suffix == ".parquet":
        frame.to_parquet(path, index=False)
    else:
        frame.to_csv(path, index=False, date_format="%Y-%m-%dT%H:%M:%S")
    return path


def burst_level(days: int, cleaned: int, rate: float = 0.5) -> np.ndarray:
    """Level of the invented unit over some days (days,) as its own bursts make it grow, cleaned once."""
    case, _ = demo()
    share = daily_share(bursts_of(case.cleaning.bursts if case.cleaning else ()))
    first = START.timetuple().tm_yday
    grown = 0.005 + rate * np.cumsum(np.roll(share, -first)[np.arange(days) % len(share)])
    grown[cleaned:] -= grown[cleaned] - 0.01
    return grown
