"""What the fouling costs: it adds up, is plausible, and reads alike in table, sentence and JSON."""

import json
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from calibration.case.records import Season
from dashboard.results import season_cost as costs
from dashboard.results.season_cost import Costs, as_of_visit, case_costs, money_figure, month_figures


def by_key(figures):
    return {one.key: one for one in figures}


@pytest.fixture(scope="module")
def columns(priced):
    return [by_key(figures) for _, figures in costs.season_columns(priced.season, "US")]


@pytest.mark.parametrize("which", ["today", "coming"])
def test_money_of_the_months_adds_to_the_year_to_the_cent(priced, which):
    *months, year = month_figures(getattr(priced.season, which), "USD")
    assert sum(round(100 * one.value) for one in months) == round(100 * year.value)
    assert sum(round(100 * float(one.text)) for one in months) == round(100 * float(year.text))


def test_money_is_energy_times_the_flat_price_and_carbon_its_intensity(columns):
    for column in columns:
        assert column["money"].value == pytest.approx(0.17 * column["energy"].value, abs=0.07)
        assert column["carbon"].value == pytest.approx(0.37 * column["energy"].value, rel=1e-6)


def test_the_demo_is_plausible(columns, demo, priced):
    """A 3-ton unit in a mixed-humid climate; common practice, no source."""
    clean, held, growing = columns
    assert 2000 < clean["energy"].value < 4000
    assert 800 < clean["run_hours"].value < 1800
    at_visit = 100 * demo.comparison.toll.eer_share.value
    assert held["energy_share"].value == pytest.approx(at_visit, abs=3.0)
    assert held["energy"].value < growing["energy"].value
    assert 30 < held["money"].value < 100
    rated = priced.season.today.clean.totals.seasonal_cop[0]
    assert 0.8 < rated / demo.case.unit.rated_eer < 1.1


def test_every_value_lies_in_its_interval_and_the_columns_have_the_same_rows(columns):
    clean, held, growing = columns
    assert list(held) == list(growing)
    assert [key for key in held if key != "energy_share"] == list(clean)
    for one in (*held.values(), *growing.values()):
        assert one.low <= one.value <= one.high


def test_sentences_hold_the_figures_and_no_jargon(priced, columns):
    told = costs.season_sentences(priced.season, "US")
    _, held, growing = columns
    assert f"{held['energy'].text} kWh ({held['energy'].interval_text})" in told[0]
    assert f"{held['money'].text} USD ({held['money'].interval_text})" in told[0]
    assert growing["money"].text in told[1]
    for sentence in told:
        assert "coiltoll" not in sentence and "standard" not in sentence


def test_a_cost_of_fouling_that_is_not_proven_is_said_to_prove_nothing(priced):
    season = priced.season
    unproven = replace(season, unit=replace(season.unit, is_proven=False))
    said = "neither fouling nor its cost is established"
    assert any(said in sentence for sentence in costs.season_sentences(unproven, "US"))
    assert not any(said in sentence for sentence in costs.season_sentences(season, "US"))


def test_a_unit_that_without_unmet_load_hours_is_said_to_have_none(priced):
    season = priced.season
    calm = {
        name: replace(cost, short_hours=0.0 * cost.short_hours, trip_hours=0.0 * cost.trip_hours)
        for name, cost in (("today", season.today), ("coming", season.coming))
    }
    told = costs.season_sentences(replace(season, **calm), "US")
    assert any("no more unmet-load hours" in sentence for sentence in told)
    assert not any("high-pressure trips" in sentence for sentence in told)


@pytest.mark.parametrize("system", ["US", "SI"])
def test_json_holds_what_the_tables_show(priced, system):
    told = costs.season_json(priced.season, system)
    json.dumps(told, allow_nan=False)
    names = ("clean", "today", "coming")
    for name, (_, figures) in zip(names, costs.season_columns(priced.season, system), strict=True):
        for one in figures:
            assert told["year"][name][one.key]["value"] == one.value
    assert told["hardest"]["clean"]["trip_temperature"]["unit"] == ("degF" if system == "US" else "degC")
    assert told["today"] == "2026-08-12"


def test_ground_names_weather_price_dirt_and_every_assumption(priced):
    told = " ".join(costs.ground_sentences(priced.season, "US"))
    for words in (
        "Greensboro",
        "0.17 USD per kWh",
        "rising 2 %",
        "46 %",
        "60 points a year",
        "6 Monte Carlo draws",
    ):
        assert words in told
    assumption = "no tariff given: 0.17 per kWh at all hours assumed"
    inputs = replace(priced.season.inputs, assumptions=(assumption,))
    assert f"Assumed: {assumption}." in costs.ground_sentences(replace(priced.season, inputs=inputs), "US")


def test_without_a_price_of_a_cleaning_the_cost_is_given_and_the_rest_is_missing(demo):
    case = replace(demo.case, cleaning=replace(demo.case.cleaning, price=None), season=None)
    done = []
    found = case_costs(case, demo.baseline, draws=2, progress=done.append)
    assert found.interval is None
    assert "No cleaning price" in found.missing
    assert done == sorted(done)
    ground = " ".join(costs.ground_sentences(found.season, "SI"))
    assert "temperature bins of AHRI 210/240" in ground
    assert ground.count("Assumed:") == 4


def test_a_season_that_cannot_be_simulated_is_a_sentence(demo):
    case = replace(demo.case, season=Season(weather="nowhere.epw"))
    with pytest.raises(ValueError, match=r"nowhere\.epw does not exist"):
        case_costs(case, demo.baseline, draws=2)


def test_a_case_as_of_a_visit_keeps_the_clean_ones_and_those_before_it(demo):
    (visit,) = demo.case.found_visits
    later, undated = replace(visit, label="later"), replace(visit, label="undated", date=None)
    earlier = replace(visit, label="earlier", date=visit.date - timedelta(days=1))
    case = replace(demo.case, visits=(*demo.case.visits, later, undated, earlier))
    kept = [one.label for one in as_of_visit(case, visit).visits]
    assert kept == ["spring, coil clean", "earlier", visit.label]
    kept = [one.label for one in as_of_visit(case, undated).visits]
    assert kept == ["spring, coil clean", "undated"]
    assert as_of_visit(case, case.clean_visits[0]).visits == case.clean_visits


def test_money_figures_carry_currency_and_period():
    one = money_figure("cost", "Cost", 12.3456789, "EUR", (10.0, 15.0), per="a year", decimals=2)
    assert (one.text, one.unit, one.interval_text) == ("12.35", "EUR a year", "10.00 to 15.00")
    assert money_figure("cost", "Cost", None, "EUR").text == "-"


def test_costs_are_of_one_fouled_unit(priced):
    assert isinstance(priced, Costs)
    assert priced.season.unit is priced.interval.unit
    assert np.isfinite(priced.interval.costs.advised_per_year).all()
