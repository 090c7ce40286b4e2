"""Where the growth of a case comes from: its own rate, its visits, or the published span."""

import datetime as dt
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.case.records import TrackedDay
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.growth_fit import level_points, own_rate, shrunk_fit
from calibration.costs.likely_growth import GIVEN_RATE_SPREAD, found_until, last_known_state, likely_growth
from calibration.costs.quasi_draws import evenly_spread
from calibration.costs.rate_prior import RatePrior
from calibration.costs.season_case import season_case
from calibration.diagnosis.finding import find
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW, growth_steps, level_path

DEMO = read_case(Path(__file__).parents[3] / "cases" / "demo.toml")
DRAWS = 400


@cache
def finding():
    return find(DEMO, DEMO.found_visits[0], baseline=baseline_of(DEMO))


def grown(case, found=()):
    return likely_growth(case, season_case(case), found, evenly_spread(1, DRAWS, 1)[0])


def without_rate(**changes):
    cleaning = replace(DEMO.cleaning, growth_rate=None, growth_form="linear", bursts=())
    return replace(DEMO, cleaning=replace(cleaning, **changes))


def test_a_given_rate_is_taken_with_its_spread():
    growth = grown(DEMO, [finding()])
    assert growth.likely == season_case(DEMO).growth
    low, high = np.quantile(growth.drawn.rate, [0.05, 0.95])
    assert low == pytest.approx(0.6 / GIVEN_RATE_SPREAD, rel=0.1)
    assert high == pytest.approx(0.6 * GIVEN_RATE_SPREAD, rel=0.1)
    assert growth.source == "as the case says"


def test_a_rate_with_its_own_range_is_drawn_from_it_and_says_so():
    day = TrackedDay(dt.date(2026, 9, 16), 0.2, 0.1, 0.3)
    cleaning = replace(DEMO.cleaning, growth_rate=0.4, growth_rate_low=0.1, growth_rate_high=0.5)
    growth = grown(replace(DEMO, cleaning=cleaning, track=(day,)))
    low, high = np.quantile(growth.drawn.rate, [0.05, 0.95])
    assert (low, high) == pytest.approx((0.1, 0.5), rel=0.1)
    assert np.median(growth.drawn.rate) == pytest.approx(0.4, rel=0.05)
    assert growth.source == "measured by a log until 2026-09-16"
    assert grown(replace(DEMO, cleaning=cleaning)).source == "as the case says"


def test_a_coil_that_does_not_foul_stays_clean_in_every_draw():
    still = replace(DEMO, cleaning=replace(DEMO.cleaning, growth_rate=0.0))
    assert not np.any(grown(still).drawn.rate)


def test_without_a_rate_the_visits_speak():
    """From clean on 19 May to the range of what was found on 12 August, on the side of usual growth."""
    growth = grown(without_rate(), [finding()])
    assert "fitted to 1 as-found visit" in growth.source
    path = level_path(growth_steps(growth.likely), 0.0, 138, 85)[0]
    found = finding().blocked
    assert found.low < path[-1] < found.value
    assert np.median(growth.drawn.rate) == pytest.approx(growth.likely.rate, rel=0.05)
    assert np.std(growth.drawn.rate) > 0.01


def test_without_visits_the_published_span_is_drawn_from():
    growth = grown(without_rate())
    low, high = np.quantile(growth.drawn.rate, [0.05, 0.95])
    assert low == pytest.approx(CONDENSER_RATE_LOW, rel=0.25)
    assert high == pytest.approx(CONDENSER_RATE_HIGH, rel=0.25)
    assert "published" in growth.source


def test_bursts_in_months_of_their_own_keep_the_published_rate():
    growth = grown(without_rate(growth_form="bursts", bursts=(9,)), [finding()])
    assert "published" in growth.source
    assert growth.likely.bursts


def test_asymptotic_growth_keeps_its_time_constant():
    cleaning = replace(DEMO.cleaning, growth_rate=0.1, growth_form="asymptotic", time_constant=4.0, bursts=())
    growth = grown(replace(DEMO, cleaning=cleaning))
    assert np.allclose(growth.drawn.limit, np.minimum(4.0 * growth.drawn.rate, 0.95))


def test_found_visits_are_in_order_until_today():
    (visit,) = DEMO.found_visits
    others = (
        replace(visit, label="undated", date=None),
        replace(visit, label="later", date=dt.date(2027, 1, 1)),
        replace(visit, label="earlier", date=dt.date(2025, 1, 1)),
    )
    case = replace(DEMO, visits=(*DEMO.visits, *others))
    today = dt.date(2026, 10, 1)
    assert [label for _, label in found_until(case, today)] == ["earlier", visit.label, "undated"]


def test_the_coil_is_as_it_was_known_last():
    (clean,), (found,) = DEMO.clean_visits, DEMO.found_visits
    later = found.date + dt.timedelta(days=30)
    after = replace(clean, label="after cleaning", date=found.date)
    cleaning = replace(DEMO.cleaning, last_cleaned=later)
    both, cleaned = replace(DEMO, visits=(clean, found, after)), replace(DEMO, cleaning=cleaning)
    assert last_known_state(DEMO, later) == (found.date, found.label)
    assert last_known_state(DEMO, found.date - dt.timedelta(days=1)) == (clean.date, "")
    assert last_known_state(both, later) == (found.date, "")
    assert last_known_state(replace(both, visits=(clean, after, found)), later).found == found.label
    assert last_known_state(cleaned, later) == (later, "")
    assert last_known_state(cleaned, found.date).found == found.label
    assert last_known_state(DEMO, clean.date - dt.timedelta(days=1)) is None


def test_what_other_units_show_takes_the_place_of_the_published_span():
    case, chance = without_rate(), evenly_spread(1, DRAWS, 1)[0]
    prior = RatePrior(np.log(0.2), 0.2)
    alone = likely_growth(case, season_case(case), (), chance, prior)
    assert alone.source == "other units of the fleet"
    assert alone.likely.rate == pytest.approx(0.2)
    low, high = np.quantile(alone.drawn.rate, [0.05, 0.95])
    assert (low, high) == pytest.approx((0.2 * np.exp(-0.329), 0.2 * np.exp(0.329)), rel=0.02)
    read = likely_growth(case, season_case(case), [finding()], chance, prior)
    own = shrunk_fit(level_points(case, [finding()]), prior).rate
    assert read.likely.rate == own.value
    assert read.source == "fitted to 1 as-found visit, linear, and to other units of the fleet"


def test_in_a_fleet_bursts_keep_their_months_and_take_the_fitted_rate():
    case = without_rate(growth_form="bursts", bursts=(6,))
    prior = RatePrior(np.log(0.2), 0.2)
    fitted = likely_growth(case, season_case(case), [finding()], evenly_spread(1, DRAWS, 1)[0], prior)
    assert fitted.likely.bursts == season_case(case).growth.bursts
    assert fitted.likely.rate > 0.2
    assert fitted.source.startswith("fitted to 1 as-found visit")


def test_others_move_a_unit_by_one_error_of_its_own_rate_at_most():
    points = level_points(without_rate(), [finding()])
    own, error = own_rate(points)
    for middle in (-6.0, -4.0):
        fit = shrunk_fit(points, RatePrior(middle, 0.1))
        assert fit.rate.value == pytest.approx(own - error)
        assert fit.rate.low < 0.1 * own
        assert fit.rate.low <= fit.rate.value <= fit.rate.high
    assert shrunk_fit(points, RatePrior(np.log(own), 0.1)).rate.value == pytest.approx(own, rel=0.05)
