"""An invented table of results, made without working anything out, and a workspace of its units."""

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np

from calibration.fleet.journal import write_table
from calibration.fleet.unit_row import WEEKS_AHEAD, UnitRow
from tests.fuzz.hostile_files import DEMO

SITES = ("Annex", "Clinic", "Depot", "Library", "Mill", "Office court", "School")
TODAY = dt.date(2026, 8, 14)


def made_rows(count: int) -> list[dict[str, Any]]:
    """So many rows, the same each time."""
    draw = np.random.default_rng(7)
    return [_row(number, draw) for number in range(count)]


def _row(number: int, draw: np.random.Generator) -> dict[str, Any]:
    kind = int(draw.integers(10))
    money, due = float(draw.gamma(1.5, 60.0)), TODAY + dt.timedelta(days=int(draw.integers(0, 400)))
    row: dict[str, Any] = {"verdict": "fault", "advice": "later", "treatments": "clean_condenser"}
    if kind == 0:
        row = {"verdict": "fault", "advice": "not_a_cleaning_matter", "treatments": "repair_leak_and_charge"}
        row |= {"left_cost": 180.0, "if_fouled": True}
    elif kind < 4:
        row = {"verdict": "no_fault", "advice": "leave", "treatments": ""}
        money *= 0.1
    elif kind == 4:
        row = {"verdict": "inconclusive", "advice": "measure_first", "next_reading": "liquid_temperature"}
    return vars(
        UnitRow(
            **{"unit": f"RTU-{number + 1}", "site": SITES[number % len(SITES)], "if_fouled": False} | row,
            probability_of_fouling=round(float(draw.uniform(0.5, 1.0)), 3),
            level=(level := round(float(draw.uniform(0.05, 0.4)), 3)),
            level_low=round(0.5 * level, 3),
            level_high=round(1.5 * level, 3),
            eer_lost=(lost := round(float(draw.uniform(0.01, 0.12)), 3)),
            eer_lost_low=round(0.5 * lost, 3),
            eer_lost_high=round(1.5 * lost, 3),
            **_spanned("money_year", money),
            **_spanned("kwh_year", 6.0 * money),
            **_spanned("unmet_hours", 0.05 * money),
            clean_by="" if row["advice"] in ("leave", "not_a_cleaning_matter") else due.isoformat(),
            refrigerant=("R410A", "R32", "R454B")[number % 3],
            currency="USD",
            visits=2,
            last_visit=str(TODAY - dt.timedelta(days=int(draw.integers(0, 300)))),
            as_of=TODAY.isoformat(),
            growth_rate=0.06,
            growth_rate_low=0.03,
            growth_rate_high=0.1,
            growth_from="fitted to 1 as-found visit, linear, and to other units of the fleet",
            other_units=39,
            other_units_here=5,
            other_units_alike=7 if number % 3 else None,
            probability_alike=0.97 if number % 3 else None,
            price=180.0,
            saving_now=round(3.0 * money, 2),
            worth_of_measuring=round(float(draw.uniform(0.0, 90.0)), 2),
            saving_by_week=";".join(f"{3.0 * money * (1 - week / 80):.2f}" for week in range(WEEKS_AHEAD)),
        )
    )


def _spanned(name: str, value: float) -> dict[str, float]:
    return {
        name: round(value, 2),
        f"{name}_low": round(0.6 * value, 2),
        f"{name}_high": round(1.6 * value, 2),
        f"{name}_mean": round(1.1 * value, 2),
        f"{name}_sd": round(0.3 * value, 2),
    }


def made_workspace(folder: Path, count: int) -> None:
    """So many case files and the table of their results."""
    folder.mkdir(parents=True, exist_ok=True)
    rows = made_rows(count)
    for row in rows:
        text = DEMO.replace("Millbrook Street reading room", str(row["unit"]))
        (folder / f"{str(row['unit']).lower()}.toml").write_text(text, "utf-8")
    write_table(folder / "results.csv", rows)
