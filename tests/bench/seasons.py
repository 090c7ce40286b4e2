"""How long a year of hours and a thousand years take on the demo: `python -m tests.bench.seasons`.

The targets: a year of 8,760 hours with fouling under 0.5 s once warm, 1,000 drawn seasons under 20 s. Beside
them stand the findings behind `coiltoll season` and `coiltoll interval`.
"""

from pathlib import Path

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.cleaning_interval import interval_of_unit
from calibration.costs.fouled_unit import DRAWS, fouled_unit
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import season_of_unit
from model.maintenance.growth import coming_year
from model.season.fouling_cost import season_outcomes
from tests.bench.rows import now

DEMO = Path(__file__).parents[2] / "cases" / "demo.toml"
YEAR_TARGET, DRAWN_TARGET = 0.5, 20.0  # [s]
SEASONS = 1000


def season_times() -> dict[str, float]:
    """Seconds of each part, by name."""
    case = read_case(DEMO)
    baseline, inputs = baseline_of(case), season_case(case)
    begin = now()
    unit = fouled_unit(case, baseline, inputs, draws=SEASONS)
    drawn_unit = now() - begin
    growing = coming_year(unit.growth, unit.level, unit.day)
    season_outcomes(unit.table, inputs.setting, growing)  # warm
    begin = now()
    season_outcomes(unit.table, inputs.setting, growing)
    year = now() - begin
    begin = now()
    season_outcomes(unit.tables, inputs.setting, coming_year(unit.growths, unit.levels, unit.day))
    drawn = now() - begin
    usual = fouled_unit(case, baseline, inputs, draws=DRAWS)
    begin = now()
    season_of_unit(inputs, usual)
    findings = now() - begin
    begin = now()
    interval_of_unit(inputs, usual)
    return {
        "one year of 8,760 hours, fouling growing": year,
        f"{SEASONS:,} drawn units, tables": drawn_unit,
        f"{SEASONS:,} drawn years of 8,760 hours": drawn,
        f"season of {DRAWS} draws, without the unit": findings,
        "interval, without the unit": now() - begin,
    }


def main() -> None:
    for name, seconds in season_times().items():
        print(f"{name:45s} {seconds:7.3f} s")
    print(f"targets: a year {YEAR_TARGET:g} s, {SEASONS:,} drawn years {DRAWN_TARGET:g} s")


if __name__ == "__main__":
    main()
