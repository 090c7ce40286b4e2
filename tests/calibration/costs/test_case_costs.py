"""Cost of fouling and time of cleaning come from one fouled unit, and from findings already there."""

from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest

from calibration.case.records import Season
from calibration.costs import fouled_unit
from calibration.costs.case_costs import as_of_visit, case_costs
from calibration.costs.recommendation import recommendation
from calibration.diagnosis.finding import find
from tests.calibration.demo_in_bins import DEMO, baseline

DONE: list[float] = []
FOUND = DEMO.found_visits[-1]


@cache
def finding():
    return find(DEMO, FOUND, baseline=baseline())


@cache
def costs():
    return case_costs(DEMO, baseline(), draws=3, progress=DONE.append, findings={FOUND.label: finding()})


def test_season_interval_and_recommendation_are_of_one_unit():
    assert costs().season.unit is costs().interval.unit
    assert costs().recommendation == recommendation(costs().interval)
    assert np.isfinite(costs().interval.costs.advised_per_year).all()


def test_a_finding_that_is_there_is_not_drawn_again(monkeypatch):
    assert costs().season.unit.finding is finding()

    def again(*arguments, **options):
        raise AssertionError("a known finding was drawn again")

    monkeypatch.setattr(fouled_unit, "find", again)
    one = case_costs(replace(DEMO, cleaning=None), baseline(), draws=2, findings={FOUND.label: finding()})
    assert one.season.unit.finding is finding()


def test_the_costs_rest_on_the_level_of_the_finding():
    assert costs().season.unit.level == pytest.approx(finding().blocked.value, abs=0.005)


def test_progress_goes_from_nothing_to_all():
    costs()
    assert sorted(DONE) == DONE
    assert DONE[-1] == pytest.approx(1.0)


def test_without_a_price_of_a_cleaning_the_cost_is_there_and_no_advice():
    case = replace(DEMO, cleaning=replace(DEMO.cleaning, price=None))
    found = case_costs(case, baseline(), draws=2, findings={FOUND.label: finding()})
    assert (found.interval, found.recommendation) == (None, None)
    assert found.season.today.year_cents[0] == costs().season.today.year_cents[0]


def test_a_season_that_cannot_be_simulated_is_refused():
    case = replace(DEMO, season=Season(weather="nowhere.epw"))
    with pytest.raises(ValueError, match=r"nowhere\.epw does not exist"):
        case_costs(case, baseline(), draws=2)


def test_a_case_as_of_a_visit_keeps_the_clean_ones_and_those_before_it():
    later, undated = replace(FOUND, label="later"), replace(FOUND, label="undated", date=None)
    earlier = replace(FOUND, label="earlier", date=FOUND.date - timedelta(days=1))
    case = replace(DEMO, visits=(*DEMO.visits, later, undated, earlier))
    assert [one.label for one in as_of_visit(case, FOUND).visits] == [
        "spring, coil clean",
        "earlier",
        FOUND.label,
    ]
    assert [one.label for one in as_of_visit(case, undated).visits] == ["spring, coil clean", "undated"]
    assert as_of_visit(case, case.clean_visits[0]).visits == case.clean_visits
