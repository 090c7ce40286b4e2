"""How long seasons, intervals and whole units take on the demo: `python -m tests.bench.seasons`.

Everything is warm: modules and property tables are loaded. A unit goes from its case file to finding, season,
interval and advice.
"""

from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import numpy as np

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.costs import fouled_unit as fouled_unit_module
from calibration.costs.case_costs import case_costs
from calibration.costs.cleaning_interval import interval_of_unit
from calibration.costs.fouled_unit import DRAWS, fouled_unit
from calibration.costs.recommendation import recommendation
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import cost_estimates, drawn_years, season_of_unit
from calibration.diagnosis.finding import find
from model.maintenance.growth import coming_year
from model.season.fouling_cost import season_outcomes
from tests.bench.rows import HEADING, Row, least_time

DEMO = Path(__file__).parents[2] / "cases" / "demo.toml"
REPEATS = 3
SEEDS = 12


def season_times() -> Iterator[Row]:
    """Rows of the benchmark's table."""
    case = read_case(DEMO)
    baseline, inputs = baseline_of(case), season_case(case)
    findings = {visit.label: find(case, visit, baseline=baseline) for visit in case.found_visits}
    unit = fouled_unit(case, baseline, inputs, findings=findings)
    growing = coming_year(unit.growth, unit.level, unit.day)

    def timed(what, action, wanted=None):
        return Row(what, least_time(action, REPEATS), "s", wanted)

    def from_file():
        """A unit from its case file to finding, season, interval and advice."""
        case = read_case(DEMO)
        baseline = baseline_of(case)
        found = {visit.label: find(case, visit, baseline=baseline) for visit in case.found_visits}
        costs = case_costs(case, baseline, findings=found)
        assert costs.interval is not None
        return recommendation(costs.interval)

    drawn = drawn_years(inputs, unit)
    yield timed(
        "one year of 8,760 hours, fouling growing",
        lambda: season_outcomes(unit.table, inputs.setting, growing),
        0.5,
    )
    yield timed(f"fouled unit, {DRAWS} draws", lambda: fouled_unit(case, baseline, inputs, findings=findings))
    yield timed(f"{DRAWS} years at every level", lambda: drawn_years(inputs, unit))
    yield timed("season from these", lambda: season_of_unit(inputs, unit, drawn=drawn))
    yield timed("interval from these", lambda: interval_of_unit(inputs, unit, drawn=drawn))
    yield timed("season and interval together", lambda: case_costs(case, baseline, findings=findings), 1.0)
    scatter = scatter_of_money(case, baseline, inputs, findings)
    yield Row(f"money as fouling grows, scatter of its range over {SEEDS} seeds", scatter, "%", 5.0)
    yield timed("case file to finding, season, interval and advice", from_file, 2.0)


def scatter_of_money(case, baseline, inputs, findings):
    """Largest standard deviation over seeds of ends, median and mean of a growing fouling's money [%]."""
    found = []
    for seed in range(SEEDS):
        with patch.object(fouled_unit_module, "RANDOM_STATE", seed):
            unit = fouled_unit(case, baseline, inputs, findings=findings)
        drawn = season_of_unit(inputs, unit).coming_drawn
        money = cost_estimates(drawn)["money"]
        found.append([money.low, money.value, money.high, drawn.year_cents.mean() / 100])
    return 100.0 * float((np.std(found, axis=0, ddof=1) / np.mean(found, axis=0)).max())


def main() -> None:
    print(HEADING)
    for row in season_times():
        print(row)


if __name__ == "__main__":
    main()
