"""A unit's row shows the very figures that the commands for one unit show, or says why it cannot."""

from dataclasses import replace
from functools import cache

import pytest

from calibration.case.file import case_text
from calibration.costs import fouled_unit
from calibration.costs.case_costs import case_costs
from calibration.diagnosis.finding import find
from calibration.fleet.jobs import Job
from calibration.fleet.unit_row import COLUMNS, row_of_job, unit_row
from dashboard.results.comparison import level_figures
from dashboard.results.costs.cleaning_advice import interval_json
from dashboard.results.costs.season_cost import season_json
from tests.calibration.demo_in_bins import DEMO, baseline

CONTRACT = ["unit", "site", "verdict", "probability_of_fouling", "level", "eer_lost", "kwh_year",
"money_year",
            "money_year_low", "money_year_high", "advice", "clean_by", "next_reading", "problem"]  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def fewer_draws():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("calibration.costs.case_costs.fouled_unit", with_few_draws)
        yield


def with_few_draws(case, base, inputs, today, progress, draws, findings):
    return fouled_unit.fouled_unit(case, base, inputs, today, progress, 4, findings)


@cache
def row():
    return unit_row(DEMO)


def job(text, **changes):
    return replace(Job("A", "Library", "road", text, "/nowhere", "", "key", ""), **changes)


def test_the_columns_that_others_rely_on_come_first():
    assert list(COLUMNS[: len(CONTRACT)]) == CONTRACT


def test_a_row_has_the_figures_of_match_season_and_interval():
    found = find(DEMO, DEMO.found_visits[-1], baseline=baseline())
    costs = case_costs(DEMO, baseline())
    season = season_json(costs.season, "US")
    year = season["year"]["today"]
    assert row().verdict == season["verdict"] == found.verdict
    assert row().probability_of_fouling == pytest.approx(found.probability_of_fouling, rel=1e-9)
    assert row().level == pytest.approx(found.blocked.value, rel=1e-9)
    assert row().eer_lost == pytest.approx(found.loss.eer_share.value, rel=1e-9)
    assert row().kwh_year == pytest.approx(year["energy"]["value"], rel=1e-6)
    assert row().kwh_year_low == pytest.approx(year["energy"]["low"], rel=1e-6)
    assert row().money_year == pytest.approx(year["money"]["value"], abs=1e-6)
    assert row().money_year_low == pytest.approx(year["money"]["low"], abs=1e-6)
    assert row().money_year_high == pytest.approx(year["money"]["high"], abs=1e-6)
    advice = interval_json(costs.interval, "US")
    assert row().advice == costs.recommendation.advice
    assert row().clean_by == costs.recommendation.date.isoformat()
    assert row().clean_by in str(advice)
    assert len(row().saving_by_week.split(";")) == 52
    assert level_figures  # the page shows the finding's level too


def test_a_job_gives_the_same_row_by_way_of_its_text():
    sent = row_of_job(job(case_text(DEMO)))
    same = {name: value for name, value in vars(row()).items() if name not in ("unit", "site", "exposure")}
    assert {name: sent[name] for name in same} == same
    assert (sent["unit"], sent["site"], sent["exposure"]) == ("A", "Library", "road")


def test_without_a_price_there_is_no_advice_and_the_row_says_so():
    bare = unit_row(replace(DEMO, cleaning=None))
    assert bare.advice == ""
    assert "no price of a cleaning" in bare.problem
    assert bare.verdict == row().verdict
    assert bare.money_year is not None


def test_without_a_date_there_is_a_finding_and_no_cost():
    undated = replace(DEMO, visits=tuple(replace(one, date=None) for one in DEMO.visits))
    found = unit_row(undated)
    assert found.verdict == row().verdict
    assert found.money_year is None
    assert "no visit has a date" in found.problem


def test_without_a_visit_as_found_there_is_no_verdict():
    cleaned = unit_row(replace(DEMO, visits=DEMO.clean_visits))
    assert cleaned.verdict == ""
    assert "no visit as found" in cleaned.problem
    assert cleaned.level is not None


def test_a_case_that_cannot_be_read_says_why():
    broken = row_of_job(job(case_text(DEMO).replace('refrigerant = "R410A"', 'refrigerant = "R999"')))
    assert "R999" in broken["problem"]
    assert broken["verdict"] == ""
    assert row_of_job(job("", problem="left out: row 3"))["problem"] == "left out: row 3"
