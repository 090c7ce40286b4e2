"""Growth fitted to levels: made growths are found again, forms told apart where the visits allow it.

Forms after Kern and Seaton 1959 (from memory) and steps of the season; every number is invented.
"""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.meters import Instruments
from calibration.case.records import Case, CleaningEntry
from calibration.clean_fit.baseline import fit_baseline
from calibration.costs.growth_fit import (
    FORMS,
    LevelPoint,
    exposure_between,
    growth_fits,
    level_of,
    level_points,
)
from calibration.diagnosis.finding import find
from model.cycle.faults import Faults
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW, asymptotic_level
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

CLEANED = dt.date(2020, 3, 1)


def points(years, levels, reach=0.02):
    return [
        LevelPoint(
            f"year {year:g}",
            CLEANED,
            CLEANED + dt.timedelta(days=round(365 * year)),
            s,
            max(s - reach, 0),
            s + reach,
        )
        for year, s in zip(years, levels, strict=True)
    ]


def by_form(fits):
    return {fit.form: fit for fit in fits}


def test_linear_growth_is_found_again():
    years = np.array([0.5, 1.5, 2.5, 3.5, 4.5])
    fits = growth_fits(points(years, 0.12 * years))
    linear = by_form(fits)["linear"]
    assert linear.rate.low < 0.12 < linear.rate.high
    assert linear.rate.value == pytest.approx(0.12, abs=0.01)
    assert linear.misfit < 2.0
    assert linear.limit is None


def test_asymptotic_growth_is_found_again_and_preferred():
    years = np.array([0.4, 0.8, 1.5, 3.0, 5.0, 8.0])
    fits = growth_fits(points(years, asymptotic_level(years, 0.4, 1.5)))
    best = fits[0]
    assert best.form == "asymptotic"
    assert best.probability > 0.9
    assert best.limit is not None
    assert best.time_constant is not None
    assert best.limit.low < 0.4 < best.limit.high
    assert best.time_constant.low < 1.5 < best.time_constant.high


def test_steps_of_spring_are_preferred_where_visits_before_and_after_differ():
    dates = [
        dt.date(2020, 5, 1),
        dt.date(2020, 7, 15),
        dt.date(2021, 4, 20),
        dt.date(2021, 7, 20),
        dt.date(2022, 4, 10),
    ]
    made = [
        LevelPoint(str(day), CLEANED, day, value, max(value - 0.02, 0), value + 0.02)
        for day in dates
        for value in [0.2 * exposure_between("a step each spring", CLEANED, day)]
    ]
    best = growth_fits(made)[0]
    assert best.form == "a step each spring"
    assert best.probability > 0.9
    assert best.rate.low < 0.2 < best.rate.high


def test_one_visit_tells_no_form_from_another():
    fits = growth_fits(points([1.0], [0.2]))
    assert all(fit.probability < 0.7 for fit in fits)
    assert sum(fit.probability for fit in fits) == pytest.approx(1.0)


def test_no_visit_leaves_the_published_span():
    linear = by_form(growth_fits([]))["linear"]
    assert linear.rate.low == pytest.approx(CONDENSER_RATE_LOW, rel=0.03)
    assert linear.rate.high == pytest.approx(CONDENSER_RATE_HIGH, rel=0.03)
    assert linear.misfit == 0.0


def test_more_visits_narrow_the_rate():
    few, many = (
        by_form(growth_fits(points(years, 0.1 * np.array(years))))["linear"].rate
        for years in ([1.0], [1.0, 2.0, 3.0, 4.0])
    )
    assert many.high - many.low < 0.5 * (few.high - few.low)


def test_the_band_holds_the_visits_and_widens_beyond_them():
    years = np.array([1.0, 2.0, 3.0])
    linear = by_form(growth_fits(points(years, 0.1 * years)))["linear"]
    inside, beyond = (linear.level(CLEANED, CLEANED + dt.timedelta(days=365 * year)) for year in (2, 6))
    assert inside.low < 0.2 < inside.high
    assert beyond.high - beyond.low > inside.high - inside.low
    assert linear.level(CLEANED, CLEANED).value == 0.0


@given(
    start=st.dates(dt.date(2015, 1, 1), dt.date(2025, 12, 31)),
    days=st.integers(0, 4000),
    form=st.sampled_from(FORMS),
)
@settings(derandomize=True, deadline=None, max_examples=60)
def test_exposure_grows_by_one_a_year(start, days, form):
    end = start + dt.timedelta(days=days)
    exposure = exposure_between(form, start, end)
    assert exposure >= -1e-9
    assert abs(exposure - days / 365.0) <= 1.02
    assert exposure_between(form, start, end + dt.timedelta(days=1)) >= exposure - 1e-9


def test_level_never_passes_its_limit():
    for form in FORMS:
        assert level_of(form, 1e3, 0.5, 0.6) == pytest.approx(0.6)
        assert level_of(form, 0.0, 0.5, 0.6) == 0.0


def test_wrong_points_are_refused():
    with pytest.raises(
        ValueError, match="visit early: found on 2020-01-01 before the cleaning on 2020-03-01"
    ):
        LevelPoint("early", CLEANED, dt.date(2020, 1, 1), 0.1, 0.0, 0.2)
    with pytest.raises(ValueError, match=r"0.3 must lie in \[0, 0.2\]"):
        LevelPoint("odd", CLEANED, dt.date(2021, 1, 1), 0.3, 0.0, 0.2)
    with pytest.raises(ValueError, match="found must not be before"):
        exposure_between("linear", CLEANED, dt.date(2019, 1, 1))


def test_visits_of_a_case_become_points_counted_from_the_last_cleaning():
    unit = true_unit()
    clean = replace(visit_of(unit, "clean"), date=dt.date(2024, 4, 1))
    found = [
        replace(
            visit_of(unit, f"found {year}", faults=Faults(condenser_blocked=share), coil="as found"), date=day
        )
        for year, share, day in ((1, 0.2, dt.date(2025, 4, 1)), (2, 0.4, dt.date(2026, 4, 1)))
    ]
    undated = visit_of(unit, "undated", coil="as found")
    case = Case("SI", DESCRIPTION, (clean, *found, undated), Instruments())
    baseline = fit_baseline(DESCRIPTION, [clean])
    findings = [find(case, visit, baseline=baseline) for visit in reversed((*found, undated))]
    first, second = level_points(case, findings)
    assert (first.visit, second.visit) == ("found 1", "found 2")
    assert first.years == pytest.approx(1.0, abs=0.01)
    assert first.value < second.value
    same_day = replace(case, cleaning=CleaningEntry(last_cleaned=found[1].date))
    assert level_points(same_day, findings) == (first, second)  # found first, cleaned afterwards
    cleaned = replace(case, cleaning=CleaningEntry(last_cleaned=dt.date(2025, 6, 1)))
    assert level_points(cleaned, findings)[1].cleaned == dt.date(2025, 6, 1)
    assert level_points(cleaned, findings)[0].cleaned == dt.date(2024, 4, 1)
    elsewhere = [replace(one, treatments=(), probabilities=()) for one in findings]
    assert level_points(case, elsewhere) == ()  # what points to another fault says nothing of fouling
