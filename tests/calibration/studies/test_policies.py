"""Rules for cleaning on the demo's unit, over two prices of a cleaning: a small `coiltoll study policies`."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.studies.policies import policy_study
from tests.calibration.demo_in_bins import DEMO, baseline

SHARES = (0.1, 0.4)
TOLD: list[float] = []


@pytest.fixture(scope="module")
def study():
    return policy_study(DEMO, baseline(), SHARES, TOLD.append)


def test_no_rule_beats_the_best_dates_and_dearer_cleanings_punish_haste(study):
    """Rossi and Braun 1994: at most 11.7 % for yearly cleaning and 4.2 % for cleaning only for comfort."""
    assert study.never_beaten
    assert study.published == {"every year": 0.117, "when comfort is lost": 0.042}
    yearly = study.over_best["every year"]
    assert 0.0 < yearly[0] < yearly[1]
    assert np.all(study.over_best["best dates"] == 0.0)


def test_prices_are_shares_of_what_a_year_of_neglect_costs(study):
    never = [
        next(rule for rule in comparison.results if rule.name == "never") for comparison in study.comparisons
    ]
    # Never cleaning does not ask what a cleaning would cost.
    assert never[0].cost_per_year == pytest.approx(never[1].cost_per_year, rel=1e-12)
    assert study.price_over_neglect == pytest.approx(SHARES)
    assert study.prices[1] / study.prices[0] == pytest.approx(4.0)
    assert 0.0 < study.prices[1] < never[0].cost_per_year


def test_the_cases_own_price_plays_no_part(study):
    dear = replace(DEMO, cleaning=replace(DEMO.cleaning, price=10.0 * DEMO.cleaning.price))
    again = policy_study(dear, baseline(), SHARES[:1])
    assert again.prices[0] == pytest.approx(study.prices[0], rel=1e-12)
    assert again.over_best["every year"][0] == pytest.approx(study.over_best["every year"][0], rel=1e-12)


def test_progress_is_told_price_by_price(study):
    assert TOLD == [0.5, 1.0]
