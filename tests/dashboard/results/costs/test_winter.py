"""A heat pump's winter in the season's figures: seasons add up, sentences hold figures, keys stay."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.case_costs import case_costs
from calibration.fleet.unit_row import _season_columns
from dashboard.cli import run
from dashboard.commands import demo
from dashboard.results.costs import season_cost, winter

CASE = Path(__file__).resolve().parents[4] / "cases" / "heat_pump.toml"


@pytest.fixture(scope="module")
def costs():
    case = read_case(CASE)
    return case_costs(case, baseline_of(case), draws=6)


@pytest.fixture(scope="module")
def season(costs):
    return costs.season


def by_key(figures):
    return {one.key: one for one in figures}


def test_both_seasons_add_up_to_the_cent(season):
    for _, figures in winter.year_columns(season):
        rows = by_key(figures)
        months = sum(round(100 * one.value) for one in figures[:-3])
        assert months == round(100 * rows["year"].value)
        assert rows["year"].value == pytest.approx(rows["cooling"].value + rows["heating"].value)
    first = by_key(winter.year_columns(season)[0][1])
    assert first["cooling"].value == by_key(season_cost.month_columns(season)[0][1])["year"].value
    assert season.year_money.value == pytest.approx(first["year"].value)


def test_the_demo_heat_pump_is_plausible(season):
    """A 2.5-ton heat pump in a mixed climate: seasonal COP 2.3 to 3.5, winter's part of the cost a third to
    two thirds (common practice, no source).
    """
    clean = season.winter.clean
    cop = float((clean.heat.sum() - clean.backup_heat.sum()) / clean.electricity.sum())
    assert 2.3 < cop < 3.5
    assert 0.25 < season.winter.today_money / season.year_money.value < 0.7
    assert season.winter.balance_today > season.winter.balance_clean


def test_sentences_and_headline_hold_the_figures(season):
    lines = season_cost.season_sentences(season, "US")
    assert lines[0].startswith("Cooling season: today's fouling adds")
    money = by_key(winter.winter_columns(season, "US")[1][1])["money"]
    assert any(f"costs {money.text} USD ({money.interval_text})" in line for line in lines)
    head = by_key(season_cost.headline_figures(season, "US"))
    assert head["money"].value == pytest.approx(season.year_money.value)
    assert head["money"].low <= head["money"].value <= head["money"].high
    assert not any("Not included" in line for line in lines)


def test_json_keeps_its_keys_and_adds_the_winter(season):
    numbers = season_cost.season_json(season, "US")
    json.dumps(numbers, allow_nan=False)
    plain = season_cost.season_json(replace(season, winter=None), "US")
    assert set(numbers) - set(plain) == {"heating", "both_seasons"}
    assert numbers["year"] == plain["year"]
    assert numbers["months"] == plain["months"]
    assert set(numbers["heating"]) == {"clean", "today", "coming"}
    assert numbers["heating"]["clean"]["balance_point"]["unit"] == "degF"


def test_a_fleet_has_winter_as_a_column(season):
    row = _season_columns(season)
    assert row["winter_money_year"] == pytest.approx(season.winter.today_money)
    assert row["money_year"] == pytest.approx(season.year_money.value)
    assert "winter_money_year" not in _season_columns(replace(season, winter=None))


def test_the_interval_is_shorter_with_winter_than_without(costs):
    """Cleaning pays in both seasons: fouling costs more a year, so the best interval is no longer.

    The middle of the draws: the largest savings end at one bound in both.
    """
    alone = read_case(CASE)
    alone = replace(alone, unit=replace(alone.unit, rated_heating_capacity=None))
    without = case_costs(alone, baseline_of(alone), draws=6)
    assert costs.interval.costs.best_interval[0] <= without.interval.costs.best_interval[0]
    assert float(np.median(costs.interval.saving_today)) > float(np.median(without.interval.saving_today))


def test_season_prints_the_winter(capsys):
    assert run(["season", str(CASE), "--draws", "2"]) == 0
    text = capsys.readouterr().out
    assert "A winter, while the unit heats" in text
    assert "Both seasons: cost of fouling by month" in text
    assert "Balance point" in text


def test_the_owner_s_picture_has_a_bar_of_heating(season):
    """Electricity of the heat pump with that of its backup heat, over the clean unit's."""
    ((words, share, text, sure),) = winter.winter_clean_and_now(season, "US")
    clean = float((season.winter.clean.electricity + season.winter.clean.backup_heat).sum()) / 3.6e6
    added = float((season.winter.today.electricity + season.winter.today.backup_heat).sum()) / 3.6e6
    assert words == "Electricity for heating in a year"
    assert share == pytest.approx(100.0 * (1.0 + added / clean))
    assert text == f"{clean + added:,.0f} kWh, clean {clean:,.0f} kWh"
    drawn = season.winter.used(season.winter.today_drawn).sum(axis=1)
    assert sure == bool(np.quantile(drawn, 0.05) > 0.0)
    assert winter.winter_clean_and_now(replace(season, winter=None), "US") == []


def test_the_seasons_in_short_are_the_year_s_last_rows(season):
    for (_, figures), (_, whole) in zip(
        winter.seasons_columns(season), winter.year_columns(season), strict=True
    ):
        assert [one.key for one in figures] == ["cooling", "heating", "year"]
        assert figures == whole[-3:]


def test_the_demo_shows_both_costs_of_the_heat_pump(season, monkeypatch, capsys):
    """The season of the fixture, from few draws, stands in for the same from many."""
    asked = []
    monkeypatch.setattr(
        "calibration.costs.season_cost.season_findings",
        lambda case, baseline: asked.append(case.unit.name) or season,
    )
    demo._print_heat_pump(None)
    assert asked == [read_case(CASE).unit.name]
    printed = capsys.readouterr().out
    for words in ("Cooling season", "Heating season", "Year, both seasons", "in winter today's fouling"):
        assert words in printed or words.capitalize() in printed
