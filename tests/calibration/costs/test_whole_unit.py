"""A unit of two equal circuits costs what two units cost."""

import datetime as dt
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.case.circuits import circuit_cases
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.case_costs import case_costs
from calibration.costs.whole_unit import added_output, whole_loss, whole_season, whole_upkeep
from calibration.estimate import Estimate
from tests.calibration.demo_in_bins import DEMO, baseline
from tests.calibration.two_circuits import two_circuits

TWO = two_circuits(DEMO)


@cache
def costs():
    """Of the demo alone, and of each circuit of its double."""
    alone = case_costs(DEMO, baseline(), draws=2)
    return alone, [case_costs(one, baseline_of(one), draws=2) for one in circuit_cases(TWO)]


def test_two_equal_circuits_cost_what_two_units_cost():
    alone, circuits = costs()
    whole = whole_season([one.season for one in circuits])
    for name in ("today", "coming", "today_drawn", "coming_drawn"):
        one, two = getattr(alone.season, name), getattr(whole, name)
        assert np.allclose(two.energy, 2.0 * one.energy, rtol=1e-9)
        assert np.array_equal(two.cents, 2 * one.cents)
        assert np.allclose(two.clean.totals.energy, 2.0 * one.clean.totals.energy, rtol=1e-9)


def test_long_run_costs_and_prices_add_up():
    alone, circuits = costs()
    whole, one = whole_upkeep([each.interval for each in circuits]), alone.interval
    assert whole.price == 2.0 * one.cleaning.price
    clean = one.costs.clean_per_year
    assert whole.advised == pytest.approx(2.0 * float(one.costs.advised_per_year[0] - clean[0]), rel=1e-9)
    assert whole.never == pytest.approx(2.0 * float(one.costs.never_per_year[0] - clean[0]), rel=1e-9)
    assert whole.advised_drawn.shape == one.drawn.advised_per_year.shape
    assert [each.interval.policies.best.dates for each in circuits] == [one.policies.best.dates] * 2


def test_losses_add_up():
    alone, circuits = costs()
    finding = alone.season.unit.finding
    clean, lost = whole_loss([one.season.unit.finding for one in circuits])
    assert clean.capacity.value == pytest.approx(2.0 * finding.design_loss.clean_capacity.value, rel=1e-6)
    assert lost.power.value == pytest.approx(2.0 * finding.design_loss.power_added.value, rel=1e-6)
    whole = added_output([Estimate(2.0, 1.0, 4.0)] * 2, [Estimate(1.0, 0.5, 1.5)] * 2)
    assert whole.capacity == Estimate(4.0, 2.0, 8.0)
    assert whole.eer == 2.0


def test_fouling_grows_until_the_last_visit_to_any_circuit():
    assert TWO.last_date == dt.date(2026, 8, 12)
    assert replace(DEMO, visits=()).last_date is None


def test_no_circuit_is_refused():
    with pytest.raises(ValueError, match="circuits must hold one at least, got none"):
        whole_season([])
