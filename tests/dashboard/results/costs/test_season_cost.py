"""What the fouling costs: it adds up, is plausible, and reads alike in table, sentence and JSON."""

import json
import re
from dataclasses import replace

import pytest

from calibration.costs.case_costs import Costs, case_costs
from calibration.costs.season_case import HEATING_LEFT_OUT
from dashboard.report.cost_sections import cost_sections
from dashboard.results.costs import cleaning_advice, season_ground
from dashboard.results.costs import season_cost as costs
from dashboard.results.costs.season_cost import money_figure, month_figures


def by_key(figures):
    return {one.key: one for one in figures}


@pytest.fixture(scope="module")
def columns(priced):
    return [by_key(figures) for _, figures in costs.season_columns(priced.season, "US")]


@pytest.mark.parametrize("which", ["today", "coming"])
def test_money_of_the_months_adds_to_the_year_to_the_cent(priced, which):
    *months, year = month_figures(getattr(priced.season, which), "USD")
    assert sum(round(100 * one.value) for one in months) == round(100 * year.value)
    cents = [round(100 * float(one.text.replace(",", ""))) for one in (*months, year)]
    assert sum(cents[:-1]) == cents[-1]


def test_money_is_energy_times_the_flat_price_and_carbon_its_intensity(columns):
    for column in columns:
        assert column["electricity_money"].value == pytest.approx(0.17 * column["energy"].value, abs=0.07)
        assert column["unmet_money"].value == pytest.approx(5 * 0.17 * column["cooling_lost"].value, abs=0.07)
        parts = column["electricity_money"].value + column["unmet_money"].value
        assert column["money"].value == pytest.approx(parts, abs=1e-9)
        assert column["carbon"].value == pytest.approx(0.37 * column["energy"].value, rel=1e-6)


def test_the_demo_is_plausible(columns, demo, priced):
    """A 3-ton unit in a mixed-humid climate; common practice, no source."""
    clean, held, growing = columns
    assert 2000 < clean["energy"].value < 4000
    assert 800 < clean["run_hours"].value < 1800
    at_visit = 100 * demo.comparison.finding.loss.eer_share.value
    assert held["energy_share"].value == pytest.approx(at_visit, abs=3.0)
    assert held["energy"].value < growing["energy"].value
    assert 30 < held["money"].value < 100
    totals = priced.season.today.clean.totals
    rated = totals.cooling.sum() / totals.energy.sum()
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


def test_fouling_that_is_not_claimed_is_said_not_to_be_established(priced):
    season = priced.season
    open_case = replace(season.unit.finding, verdict="inconclusive", claimed=())
    told = costs.season_sentences(replace(season, unit=replace(season.unit, finding=open_case)), "US")
    assert any("neither fouling nor its cost is established" in sentence for sentence in told)
    assert not any("established" in sentence for sentence in costs.season_sentences(season, "US"))


def test_where_the_readings_point_elsewhere_costs_are_those_if_it_were_fouling(gassy):
    season = gassy.costs.season
    told = costs.season_sentences(season, "US")
    assert told[0].startswith("Cleaning is not the matter: the readings point to non-condensables")
    assert told[1].startswith("All costs suppose that the condenser coil is fouled")
    assert told[2].startswith("If it were fouling: today's fouling adds")
    names = [name for name, _ in costs.season_columns(season, "US")]
    assert [name.startswith("if it were fouling: ") for name in names] == [False, True, True]
    assert all(one.label.startswith("If it were fouling: ") for one in costs.headline_figures(season, "US"))
    numbers = costs.season_json(season, "US")
    assert numbers["verdict"] == "fault"
    assert numbers["probability_of_fouling"] < 0.5


def test_without_a_visit_as_found_there_is_no_verdict(priced):
    unseen = replace(priced.season, unit=replace(priced.season.unit, finding=None))
    numbers = costs.season_json(unseen, "US")
    assert numbers["verdict"] is None and numbers["probability_of_fouling"] is None


def test_a_unit_that_is_off_too_often_costs_its_unmet_cooling(priced):
    """It draws less than a clean one: the sentence says so, and no cost is negative."""
    season = priced.season
    off = replace(
        season.today,
        energy=-0.1 * season.today.energy,
        unmet_cents=season.today.unmet_cents + 10_000,
        cents=season.today.cents + 10_000,
    )
    told = costs.season_sentences(replace(season, today=off, today_drawn=off), "US")[0]
    assert re.match(r"Today's fouling costs (1,2\d\d) USD \(\1 to \1\) a year", told)
    assert "uses less electricity than a clean one" in told
    held = by_key(costs.season_columns(season, "US")[2][1])
    part = f"{held['unmet_money'].text} USD ({held['unmet_money'].interval_text}) of it for cooling"
    grown = replace(season, today=season.coming, today_drawn=season.coming_drawn)
    assert part in costs.season_sentences(grown, "US")[0]


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
    told = " ".join(season_ground.ground_sentences(priced.season, "US"))
    for words in (
        "Greensboro",
        "0.17 USD per kWh",
        "rising 2 %",
        f"{priced.season.unit.level:.0%}".replace("%", " %"),
        "60 points a year",
        "6 draws of the unit",
    ):
        assert words in told
    assumption = "no tariff given: 0.17 per kWh at all hours assumed"
    inputs = replace(priced.season.inputs, assumptions=(assumption,))
    assert f"Assumed: {assumption}." in season_ground.ground_sentences(
        replace(priced.season, inputs=inputs), "US"
    )


def test_a_case_that_says_nothing_names_every_assumption(demo):
    case = replace(demo.case, cleaning=replace(demo.case.cleaning, price=None), season=None)
    known = {demo.visit.label: demo.comparison.finding}
    found = case_costs(case, demo.baseline, draws=2, findings=known)
    ground = " ".join(season_ground.ground_sentences(found.season, "SI"))
    assert "temperature bins of AHRI 210/240" in ground
    assert ground.count("Assumed:") == 4


def test_money_figures_carry_currency_and_period():
    one = money_figure("cost", "Cost", 12.3456789, "EUR", (10.0, 15.0), per="a year", decimals=2)
    assert (one.text, one.unit, one.interval_text) == ("12.35", "EUR a year", "10.00 to 15.00")
    assert money_figure("cost", "Cost", None, "EUR").text == "-"


def test_a_heat_pump_is_warned_about_wherever_its_costs_are(priced):
    """Sentences of season and report, and `--json` of season and interval; nothing for an air conditioner."""
    warning = HEATING_LEFT_OUT
    inputs = replace(priced.season.inputs, warnings=(warning,))
    season, interval = (replace(one, inputs=inputs) for one in (priced.season, priced.interval))
    assert warning in costs.season_sentences(season, "US")
    assert costs.season_json(season, "US")["warnings"] == [warning]
    assert cleaning_advice.interval_json(interval, "US")["warnings"] == [warning]
    sections = cost_sections(Costs(season, interval, None), "US")
    assert warning in str(sections)
    assert costs.season_json(priced.season, "US")["warnings"] == []
    assert HEATING_LEFT_OUT not in " ".join(costs.season_sentences(priced.season, "US"))


def test_the_ground_names_the_speeds(priced):
    room = priced.season.inputs.room
    rooms = (replace(room, compressor_speed=0.6), room)
    inputs = replace(priced.season.inputs, rooms=rooms)
    (words,) = season_ground._speed_sentences(inputs)
    assert words.startswith("Compressor: 2 stages, 60 % and 100 % of full speed")
    running = replace(inputs.setting.running, between_speeds="varies")
    (words,) = season_ground._speed_sentences(
        replace(inputs, setting=replace(inputs.setting, running=running))
    )
    assert words.startswith("Compressor: variable speed from 60 % to 100 % of full")
    assert season_ground._speed_sentences(priced.season.inputs) == []


def test_the_ground_names_blower_and_economiser(priced):
    inputs = priced.season.inputs
    assert season_ground._air_sentences(inputs) == []
    running = replace(inputs.setting.running, blower_always_on=True)
    found = replace(inputs, setting=replace(inputs.setting, running=running), economiser_hours=1234.0)
    blower, economiser = season_ground._air_sentences(found)
    assert "every hour" in blower
    assert "1,234 hours" in economiser
