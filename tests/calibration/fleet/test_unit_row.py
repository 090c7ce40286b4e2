"""A unit's row shows the very figures that the commands for one unit show, or says why it cannot."""

import datetime as dt
import json
import math
from dataclasses import replace
from functools import cache

import pytest

from calibration.case.file import case_text
from calibration.case.records import TrackedDay
from calibration.costs import fouled_unit
from calibration.costs.case_costs import case_costs
from calibration.costs.rate_prior import PUBLISHED, RatePrior
from calibration.diagnosis.finding import find
from calibration.fleet.jobs import FirstLook, Fleet, Job
from calibration.fleet.run import run_fleet
from calibration.fleet.unit_row import COLUMNS, costed_row, row_of_job, shown_row, unit_row
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


def with_few_draws(case, base, inputs, today, progress, draws, findings, prior=None):
    return fouled_unit.fouled_unit(case, base, inputs, today, progress, 4, findings, prior)


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
    assert row().money_year_mean == pytest.approx(costs.season.year_money_drawn.mean(), rel=1e-9)
    assert row().money_year_sd == pytest.approx(costs.season.year_money_drawn.std(), rel=1e-9)
    assert row().kwh_year_mean == pytest.approx(costs.season.year_energy_drawn.mean() / 3.6e6, rel=1e-9)
    advice = interval_json(costs.interval, "US")
    assert row().advice == costs.recommendation.advice
    assert row().clean_by == costs.recommendation.date.isoformat()
    assert row().clean_by in str(advice)
    assert len(row().saving_by_week.split(";")) == 52
    assert level_figures  # the page shows the finding's level too


def test_a_job_gives_the_same_row_by_way_of_its_text():
    first = job(case_text(DEMO))
    shown = row_of_job(first)
    assert "kwh_year" not in shown
    sent = row_of_job(replace(first, look=FirstLook(json.loads(json.dumps(shown)))))
    same = {name: value for name, value in vars(row()).items() if name not in ("unit", "site", "exposure")}
    assert {name: sent[name] for name in same} == same
    assert (sent["unit"], sent["site"], sent["exposure"]) == ("A", "Library", "road")


def test_a_row_says_what_its_growth_rests_on():
    measured = replace(
        DEMO.cleaning,
        growth_rate=0.3,
        growth_rate_low=0.25,
        growth_rate_high=0.35,
        growth_form="linear",
        bursts=(),
    )
    logged = replace(DEMO, cleaning=measured, track=(TrackedDay(dt.date(2026, 9, 16), 0.2, 0.1, 0.3),))
    by_log = unit_row(logged)
    assert by_log.growth_from == "measured by a log until 2026-09-16"
    assert 0.22 < by_log.growth_rate_low <= by_log.growth_rate <= by_log.growth_rate_high < 0.4
    unsaid = replace(
        DEMO, cleaning=replace(measured, growth_rate=None, growth_rate_low=None, growth_rate_high=None)
    )
    assert unit_row(unsaid).growth_from.startswith("fitted to 1 as-found visit, ")
    assert row().growth_from == "as the case says"


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


OPEN = replace(DEMO, cleaning=replace(DEMO.cleaning, growth_rate=None, growth_form="linear", bursts=()))
"""A unit whose case does not say how fast it fouls."""


def test_the_others_rate_moves_growth_and_date_and_nothing_that_was_read():
    shown = json.loads(json.dumps(shown_row(OPEN)))
    alone = costed_row(OPEN, None, shown)
    fast, slow = (costed_row(OPEN, None, shown, RatePrior(middle, 0.05, 0.1, 1.2)) for middle in (1.0, -1.0))
    assert fast["growth_rate"] > slow["growth_rate"] != alone["growth_rate"]
    assert fast["growth_from"].endswith("and to other units of the fleet")
    for same in ("verdict", "level", "eer_lost", "next_reading"):
        assert fast[same] == slow[same] == alone[same]
    assert fast["saving_by_week"] != slow["saving_by_week"]
    assert fast["growth_rate_low"] <= fast["growth_rate"] <= fast["growth_rate_high"]


def test_a_unit_without_a_visit_of_its_own_starts_from_the_rate_of_its_site():
    new = replace(OPEN, visits=OPEN.clean_visits)
    cleaned = max(visit.date for visit in new.visits)
    today = cleaned.replace(year=cleaned.year + 2)
    prior = RatePrior(math.log(0.1), 0.1, 0.1, 1.2)
    alone, learnt = (costed_row(new, today, shown_row(new, today), one) for one in (None, prior))
    assert learnt["growth_from"] == "other units of the fleet"
    assert learnt["growth_rate"] == pytest.approx(0.1)
    assert learnt["level"] == pytest.approx(0.2, rel=0.02)
    assert alone["growth_rate"] == pytest.approx(0.048, rel=0.05)
    assert learnt["money_year"] > 1.5 * alone["money_year"]


def test_a_rate_that_the_case_gives_stays_whatever_the_others_show():
    given = replace(OPEN, cleaning=replace(OPEN.cleaning, growth_rate=0.07))
    learnt = costed_row(given, None, shown_row(given), RatePrior(-1.0, 0.05))
    assert (learnt["growth_rate"], learnt["growth_from"]) == (0.07, "as the case says")


def test_in_a_whole_run_a_new_unit_starts_from_the_rate_of_its_site(tmp_path):
    def case_job(name, case):
        text = case_text(replace(case, unit=replace(case.unit, name=name, site="Library")))
        return Job(name, "Library", "road", text, "/nowhere", "", f"key of {name}", "")

    read = case_job("read", OPEN)
    other_model = replace(OPEN.unit, rated_capacity=1.1 * OPEN.unit.rated_capacity)
    new = case_job("new", replace(OPEN, unit=other_model, visits=OPEN.clean_visits))
    done = run_fleet(Fleet((read, new), ()), tmp_path / "out.csv", workers=1)
    shown, started = done.rows
    assert (started["other_units"], started["other_units_here"]) == (1, 1)
    assert started["growth_from"] == "other units of the fleet"
    assert started["growth_rate"] == pytest.approx(started["others_rate"], rel=1e-5)
    assert started["growth_rate"] > 2.0 * math.exp(PUBLISHED.middle)  # the unit that was read fouls fast
    assert "other units" not in shown["growth_from"]
    assert shown["other_units"] is None
    alone = run_fleet(Fleet((read,), ()), tmp_path / "alone.csv", workers=1).rows[0]
    assert alone == shown


def test_the_clean_fit_is_kept_between_the_steps_and_not_worked_out_twice(monkeypatch):
    shown, whole = json.loads(json.dumps(shown_row(DEMO))), vars(row())
    monkeypatch.setattr("calibration.fleet.unit_row.baseline_of", lambda case: pytest.fail("a second fit"))
    assert costed_row(DEMO, None, shown) == whole


def test_where_a_visit_could_not_be_judged_no_fit_is_kept(monkeypatch):
    last = DEMO.found_visits[-1]
    earlier = replace(last, label="earlier", date=last.date.replace(day=1))
    case = replace(DEMO, visits=(*DEMO.clean_visits, earlier, last))

    def judged(case, visit, baseline):
        if visit.label == "earlier":
            raise ValueError("nothing can be said")
        return find(case, visit, baseline=baseline)

    monkeypatch.setattr("calibration.fleet.unit_row.find", judged)
    shown = shown_row(case)
    assert [one["visit"] for one in shown["shown"]] == [last.label]
    assert shown["fit"] is None


def test_in_a_whole_run_a_new_unit_starts_from_the_others_of_its_nameplate(tmp_path):
    def case_job(name, case):
        text = case_text(replace(case, unit=replace(case.unit, name=name)))
        return Job(name, "", "", text, "/nowhere", "", f"key of {name}", "")

    read, new = case_job("read", DEMO), case_job("new", replace(DEMO, visits=DEMO.found_visits))
    shown, started = run_fleet(Fleet((read, new), ()), tmp_path / "out.csv", workers=1).rows
    assert (started["other_units_alike"], started["probability_alike"]) == (1, None)
    assert shown["other_units_alike"] is None  # the other was not read clean
    by_itself = run_fleet(Fleet((new,), ()), tmp_path / "alone.csv", workers=1).rows[0]
    assert abs(started["eer_lost"] - shown["eer_lost"]) < abs(by_itself["eer_lost"] - shown["eer_lost"])
    first = run_fleet(Fleet((read,), ()), tmp_path / "first.csv", workers=1).rows[0]
    found = ("verdict", "level", "eer_lost", "eer_lost_low", "eer_lost_high", "next_reading")
    assert {name: first[name] for name in found} == {name: shown[name] for name in found}
