"""Findings of the demo's visits with a reading changed, each worked out once for all tests of the screens."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from calibration.case.file import read_case
from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_of
from calibration.diagnosis.finding import Finding, find

DEMO = Path(__file__).resolve().parents[2] / "cases" / "demo.toml"


@cache
def demo_case() -> Case:
    return read_case(DEMO)


@cache
def demo_baseline() -> Baseline:
    return baseline_of(demo_case())


def as_found() -> Visit:
    return demo_case().found_visits[0]


def clean() -> Visit:
    return demo_case().clean_visits[0]


def visits() -> dict[str, Visit]:
    """Visits by what was changed of them."""
    return {
        "as found": as_found(),
        "nothing wrong": replace(clean(), label="later", coil="as found"),
        "liquid pipe 4 K high": replace(clean(), liquid_temperature=clean().liquid_temperature + 4.0),
        "liquid pipe 3.5 K high": replace(clean(), liquid_temperature=clean().liquid_temperature + 3.5),
        "airflow 20 % low": replace(clean(), indoor_airflow=0.8 * clean().indoor_airflow),
        "supply air at 60 degC": replace(as_found(), supply_db=333.15),
        "no superheat": replace(as_found(), suction_temperature=as_found().suction_temperature - 7.0),
        "open": replace(
            clean(), label="later", coil="as found", liquid_temperature=clean().liquid_temperature + 3.0
        ),
        "supply and suction pipe wrong": replace(
            as_found(),
            supply_db=as_found().supply_db + 9.0,
            suction_temperature=as_found().suction_temperature + 7.0,
        ),
        "nothing fits": replace(
            as_found(),
            suction_pressure=0.8 * as_found().suction_pressure,
            liquid_pressure=1.15 * as_found().liquid_pressure,
            discharge_temperature=as_found().discharge_temperature - 22.0,
            outdoor_power=0.6 * as_found().outdoor_power,
            supply_wb=as_found().supply_wb - 6.0,
            condenser_leaving_db=as_found().condenser_leaving_db - 9.0,
        ),
    }


@cache
def found(name: str) -> Finding:
    """Finding of one of `visits`."""
    return find(demo_case(), visits()[name], baseline=demo_baseline())
