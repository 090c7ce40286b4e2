"""When to clean the demo's unit, and the study of rules on it."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.costs import cleaning_interval as made
from model.season.performance_table import approach_at
from tests.calibration.demo_in_bins import DEMO, baseline

DONE: list[float] = []


@cache
def findings():
    return made.interval_findings(DEMO, baseline(), progress=DONE.append)


def test_best_interval_lies_on_its_curve_and_in_its_band():
    costs = findings().costs
    assert costs.best_per_year[0] <= costs.cost_per_year[0].min()
    assert costs.best_per_year[0] < costs.never_per_year[0]
    low, high = np.quantile(findings().drawn.best_interval, [0.05, 0.95], method="inverted_cdf")
    assert low <= costs.best_interval[0] <= high


def test_the_best_dates_are_not_beaten():
    results = findings().policies.results
    assert [r.name for r in results] == [
        "best dates",
        "when a condition is reached",
        "fixed interval",
        "every year",
        "when comfort is lost",
        "never",
    ]
    blind = [r for r in results if r.name not in ("when a condition is reached", "when comfort is lost")]
    assert all(r.over_best >= 0.0 for r in blind)  # a rule that reads the unit may do better


def test_the_condition_to_watch_is_an_approach_over_that_of_a_clean_coil():
    assert np.all(findings().watched_approach > findings().clean_approach + 2.0)
    watched = approach_at(
        findings().unit.table, findings().policies.watched_level, findings().watched_outdoor[1]
    )
    assert float(watched) == pytest.approx(findings().watched_approach[1], abs=1e-6)


def test_yearly_costs_and_savings_cover_the_year():
    assert sorted(findings().yearly_days) == sorted(findings().saving.day) == list(range(0, 365, 5))
    best = findings().yearly_days[np.argmin(findings().yearly_costs)]
    assert best == findings().saving.until_day == findings().policies.yearly_day
    autumn = findings().saving.saving[findings().saving.day == 280][0]
    assert autumn < 0.4 * findings().saving.saving.max()


def test_worth_and_measuring_agree_with_the_price():
    dear = made.interval_findings(
        replace(DEMO, cleaning=replace(DEMO.cleaning, price=5000.0)), baseline(), draws=8
    )
    assert dear.measuring.advice == "leave it"
    assert dear.policies.best.dates == ()
    assert np.isinf(dear.costs.best_interval[0])
    cheap = made.interval_findings(
        replace(DEMO, cleaning=replace(DEMO.cleaning, price=2.0)), baseline(), draws=8
    )
    assert cheap.measuring.advice == "clean now"
    assert cheap.costs.best_interval[0] < findings().costs.best_interval[0]
    assert cheap.worth.within_a_year == pytest.approx(dear.worth.within_a_year, rel=1e-9)


def test_looks_alone_do_not_prove_a_loss():
    """Mehrabi and Yuill 2018: with no reading, half of the cleanings are taken to change nothing."""
    unseen = replace(DEMO, visits=DEMO.clean_visits)
    found = made.interval_findings(unseen, baseline(), findings().unit.today, draws=8)
    assert found.measuring.chance_it_pays <= 0.5


def test_progress_goes_from_nothing_to_all():
    assert sorted(DONE) == DONE
    assert DONE[-1] == pytest.approx(1.0)


def test_a_case_without_a_price_is_refused():
    with pytest.raises(ValueError, match=r"cleaning\.price is needed to say when to clean"):
        made.interval_findings(replace(DEMO, cleaning=None), baseline())
