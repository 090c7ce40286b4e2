"""Worth of a cleaning, of measuring first, and what moves the advice."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from model.maintenance.cleaning_decision import break_even, cleaning_benefits, measuring_first, sensitivities
from model.maintenance.cumulative_cost import cumulative_cost
from model.maintenance.growth import SEED_FLUFF, FoulingGrowth, growth_steps
from model.maintenance.interval import Cleaning
from model.maintenance.policies import Outlook, Upkeep
from model.maintenance.running_cost import running_cost
from model.season.fouling_cost import season_outcomes
from tests.model.maintenance.rules import schedule_costs
from tests.model.synthetic_unit import synthetic_setting, synthetic_table

TABLE, SETTING = synthetic_table(), synthetic_setting()
COSTS = running_cost(TABLE, SETTING)
GROWTH = FoulingGrowth(0.1, bursts=(SEED_FLUFF,))
STEPS = growth_steps(GROWTH, 5)


def test_without_growth_a_cleaning_saves_the_toll():
    saved = cleaning_benefits(COSTS, growth_steps(FoulingGrowth(0.0), 5), 0.4, 0)
    cents = [season_outcomes(TABLE, SETTING, level).bill.year_cents[0] for level in (0.4, 0.0)]
    assert saved[0] * 100 == pytest.approx(cents[0] - cents[1], abs=15)


def test_benefits_grow_with_dirt_and_restoration_and_run_by_sample():
    level = np.array([0.0, 0.2, 0.4])
    whole = cleaning_benefits(COSTS, STEPS, level, 120)
    part = cleaning_benefits(COSTS, STEPS, level, 120, restoration=0.5)
    assert whole[0] == 0.0
    assert np.all(np.diff(whole) > 0.0)
    assert np.all(part[1:] < whole[1:])
    assert cleaning_benefits(COSTS, STEPS, 0.4, 120)[0] == pytest.approx(whole[2])


def test_two_outcomes_by_hand():
    """Half the cleanings save 100, half nothing, at a price of 40: clean for 10; knowing which saves 30."""
    found = measuring_first(np.repeat([0.0, 100.0], 500), 40.0, 1e-3)
    assert found.expected_benefit == pytest.approx(50.0)
    assert found.chance_it_pays == pytest.approx(0.5)
    assert found.without_measuring == pytest.approx(10.0)
    assert found.perfect_knowledge == pytest.approx(30.0)
    assert found.worth_of_measuring == pytest.approx(20.0, abs=0.1)
    assert found.advice == "measure first"


def test_normal_benefit_against_the_closed_form():
    """Unit normal loss: Raiffa and Schlaifer 1961 (form from memory), E max(0, m) = s [phi(z) + z Phi(z)]."""
    mean, spread, error, price = 55.0, 20.0, 15.0, 50.0
    benefits = norm.ppf((np.arange(2000) + 0.5) / 2000, mean, spread)
    found = measuring_first(benefits, price, error)
    of_means = spread**2 / np.hypot(spread, error)  # spread of the mean after measuring
    z = (mean - price) / of_means
    assert found.with_measuring == pytest.approx(of_means * (norm.pdf(z) + z * norm.cdf(z)), rel=0.01)


@given(
    price=st.floats(1.0, 120.0),
    error=st.floats(0.5, 200.0),
    no_effect=st.floats(0.0, 0.9),
    state=st.integers(0, 50),
)
@settings(derandomize=True, deadline=None, max_examples=30)
def test_measuring_is_worth_between_nothing_and_perfect_knowledge(price, error, no_effect, state):
    benefits = np.random.default_rng(state).normal(45.0, 30.0, 300)
    found = measuring_first(benefits, price, error, no_effect=no_effect)
    assert 0.0 <= found.worth_of_measuring <= found.perfect_knowledge - found.without_measuring + 1e-9
    rougher = measuring_first(benefits, price, 2.0 * error, no_effect=no_effect)
    assert rougher.worth_of_measuring <= found.worth_of_measuring + 0.05
    if found.worth_of_measuring > 0.1:
        dear = measuring_first(benefits, price, error, found.worth_of_measuring * 1.01, no_effect)
        assert dear.advice != "measure first"


def test_dirt_that_changes_nothing_turns_the_advice():
    """Mehrabi and Yuill 2018: nine field-dirty condensers changed by about zero on average."""
    benefits = np.full(100, 70.0)
    assert measuring_first(benefits, 40.0, 10.0, 100.0).advice == "clean now"
    assert measuring_first(benefits, 40.0, 10.0, 5.0, no_effect=0.6).advice == "measure first"
    assert measuring_first(benefits, 40.0, 10.0, 100.0, no_effect=0.6).advice == "leave it"


def test_many_outcomes_are_thinned_without_harm():
    benefits = np.random.default_rng(1).normal(45.0, 30.0, 50_000)
    found = measuring_first(benefits, 40.0, 20.0)
    assert found.expected_benefit == pytest.approx(benefits.mean(), rel=1e-3)
    assert found.chance_it_pays == pytest.approx(np.mean(benefits > 40.0), abs=2e-3)


@pytest.mark.parametrize("discount", [0.0, 0.06])
def test_break_even_price_is_where_the_courses_meet(discount):
    outlook = Outlook(5, 0.3, 130, discount_rate=discount)
    price = break_even(cumulative_cost(Upkeep(COSTS, STEPS, Cleaning(50.0), outlook))).ever
    at_price = Upkeep(COSTS, STEPS, Cleaning(price), outlook)
    plans = np.concatenate([np.zeros((1, at_price.length), dtype=bool), np.eye(at_price.length, dtype=bool)])
    costs = schedule_costs(at_price, plans)
    assert costs[1:].min() == pytest.approx(costs[0], rel=1e-6)
    within = break_even(cumulative_cost(Upkeep(COSTS, STEPS, Cleaning(50.0), outlook))).within_a_year
    assert 0.0 < within < price


def test_sensitivities_move_the_right_way_and_are_sorted():
    base, swings = sensitivities(COSTS, GROWTH, Cleaning(60.0, 0.8))
    by_name = {s.name: s for s in swings}
    assert set(by_name) == {"electricity price", "cleaning price", "dirt rate", "restoration"}
    usual = base.advised_interval[0]
    assert by_name["electricity price"].interval_high < usual < by_name["electricity price"].interval_low
    assert by_name["cleaning price"].interval_low < usual < by_name["cleaning price"].interval_high
    assert by_name["dirt rate"].interval_high < usual < by_name["dirt rate"].interval_low
    assert by_name["restoration"].interval_low < usual <= by_name["restoration"].interval_high
    assert by_name["restoration"].cost_low > base.advised_per_year[0] > by_name["restoration"].cost_high
    widths = [abs(1.0 / s.interval_low - 1.0 / s.interval_high) for s in swings]
    assert widths == sorted(widths, reverse=True)
    assert all(s.regret_low >= 0.0 and s.regret_high >= 0.0 for s in swings)
    assert by_name["dirt rate"].regret_high > 1.0


def test_regret_of_cleaning_when_never_is_best():
    _, swings = sensitivities(COSTS, GROWTH, Cleaning(60.0), {"cleaning price": (0.5, 60.0)})
    dear = next(s for s in swings if s.name == "cleaning price")
    assert np.isinf(dear.interval_high)
    assert dear.regret_high > 100.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: measuring_first([1.0], 1.0, 0.0), "standard_error must be above 0, got 0"),
        (lambda: measuring_first([1.0], 1.0, 1.0, no_effect=1.0), r"no_effect must lie in \[0, 1\), got 1"),
        (lambda: sensitivities(COSTS, GROWTH, Cleaning(1.0), {"wind": (0.5, 2.0)}), "factors must be of"),
    ],
)
def test_decisions_that_cannot_be_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
