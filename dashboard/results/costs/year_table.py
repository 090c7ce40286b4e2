"""A year hour by hour and month by month as tables for a file: CSV or Parquet, units in the headings."""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from calibration.case.units import CAPACITY, ENERGY, HUMIDITY_RATIO, POWER, TEMPERATURE, System
from calibration.costs.season_cost import SeasonFindings
from calibration.costs.year_by_hour import year_by_hour
from calibration.files.atomic_file import write_whole
from model.arrays import Array
from model.season.fouling_cost import FoulingCost
from model.season.simulation import HourlySeason
from model.season.tariff import CENTS

if TYPE_CHECKING:
    import pandas as pd

ENDINGS = (".csv", ".parquet")
CALENDAR = ("month", "day_of_year", "hour")
TRIPS = ("tripped_clean", "tripped_fouled", "tripped_growing")
DIGITS = 6  # after the point: more would differ from processor to processor


def hour_table(found: SeasonFindings, system: System) -> dict[str, Array]:
    """Every hour of the year that the costs are from.

    Parameters
    ----------
    found : SeasonFindings
        Of the case.
    system : {"US", "SI"}
        Units of the columns, which their names state.

    Returns
    -------
    dict of str to ndarray, shape (8760,)
        By column: calendar, weather, load, price, and what the unit does with a clean coil (`clean`), with
        today's fouling (`fouled`) and with fouling as it grows (`growing`).

    Raises
    ------
    ValueError
        Where the weather is temperature bins, which have no hours.
    """
    hours = year_by_hour(found)
    year, currency = hours.year, found.inputs.currency
    shown = {
        "month": year.month,
        "day_of_year": year.day + 1,
        "hour": year.hour,
        f"outdoor_db [{TEMPERATURE.label(system)}]": TEMPERATURE.from_si(year.temperature, system),
        f"outdoor_humidity_ratio [{HUMIDITY_RATIO.label(system)}]": year.humidity_ratio,
        f"load [{CAPACITY.label(system)}]": CAPACITY.from_si(hours.load, system),
        f"energy_price [{currency}/kWh]": hours.price,
        "carbon_intensity [kg/kWh]": hours.carbon,
    }
    for name, one in (("clean", hours.clean), ("fouled", hours.fouled), ("growing", hours.growing)):
        shown |= _unit_columns(name, one, system)
        shown[f"energy_cost_{name} [{currency}]"] = hours.energy_cost(one)
    return {name: np.round(np.asarray(values, dtype=float), DIGITS) for name, values in shown.items()}


def _unit_columns(name: str, one: HourlySeason, system: System) -> dict[str, Array]:
    """What the unit does in each hour, for one state of its coil."""
    capacity, unit = CAPACITY.label(system), POWER.label(system)
    return {
        f"capacity_{name} [{capacity}]": CAPACITY.from_si(one.capacity[0], system),
        f"cooling_{name} [{capacity}]": CAPACITY.from_si(one.served[0], system),
        f"unmet_{name} [{capacity}]": CAPACITY.from_si(one.lost[0], system),
        f"run_fraction_{name}": one.run_fraction[0],
        f"power_{name} [{unit}]": POWER.from_si(one.power[0], system),
        f"tripped_{name}": one.tripped[0].astype(int),
    }


def month_table(found: SeasonFindings) -> dict[str, Array]:
    """Every month of the year: energy, money and hours, clean, and what fouling adds.

    Parameters
    ----------
    found : SeasonFindings
        Of the case.

    Returns
    -------
    dict of str to ndarray, shape (12,)
        By column; money holds what unmet cooling is counted as.
    """
    currency = found.inputs.currency
    shown: dict[str, Array] = {"month": np.arange(1.0, 13.0)}
    cases: Mapping[str, FoulingCost] = {"fouled": found.today, "growing": found.coming}
    for name, outcome in (("clean", found.today.clean), *((k, one.fouled) for k, one in cases.items())):
        totals = outcome.totals
        shown[f"energy_{name} [kWh]"] = ENERGY.from_si(totals.energy[0], "SI")
        shown[f"money_{name} [{currency}]"] = outcome.month_cents[0] / CENTS
        shown[f"running_{name} [h]"] = totals.run_hours[0]
        shown[f"unmet_{name} [h]"] = totals.short_hours[0]
        shown[f"tripped_{name} [h]"] = totals.trip_hours[0]
    return {name: np.round(values, DIGITS) for name, values in shown.items()}


def check_ending(path: Path, option: str) -> None:
    """Refuse a file that is to be neither CSV nor Parquet, before any work.

    Parameters
    ----------
    path : Path
        Where to write.
    option : str
        How it was asked for.

    Raises
    ------
    ValueError
        With the endings that are expected.
    """
    if path.suffix.lower() not in ENDINGS:
        raise ValueError(
            f"{option}: {path} ends in {path.suffix or 'nothing'}; {' or '.join(ENDINGS)} is expected"
        )


def write_columns(path: Path, columns: Mapping[str, Array]) -> None:
    """Write a table in one step.

    Parameters
    ----------
    path : Path
        Ending in .csv or .parquet.
    columns : mapping of str to ndarray, shape (rows,)
        By column.

    Raises
    ------
    OSError
        When it cannot be written; what was there is as it was.
    """
    import pandas as pd

    table = pd.DataFrame(dict(columns))
    whole = {name: "int64" for name in (*CALENDAR, *TRIPS) if name in columns}
    write_whole(path, _content(table.astype(whole), path.suffix.lower()))


def _content(table: "pd.DataFrame", ending: str) -> bytes:
    if ending == ".parquet":
        buffer = io.BytesIO()
        table.to_parquet(buffer, index=False)
        return buffer.getvalue()
    return table.to_csv(index=False, lineterminator="\n").encode("utf-8")
