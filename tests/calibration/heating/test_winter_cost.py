"""A case's heating seasons: what is filled in, what fouling costs, and dates that come from both seasons."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from calibration.case.records import Season
from calibration.costs.season_case import HEATING_LEFT_OUT, WINTER_NEEDS_HOURS, season_case
from calibration.heating.winter_cost import has_winter, heating_rules, winter_case, with_winter
from model.maintenance.running_cost import RunningCost
from tests.calibration.heating.test_heating_fit import CASE, fitted

DRAWS = 8


SILENT = replace(
    CASE,
    season=replace(
        CASE.season, heating_design_load=None, heating_design_outdoor=None, heating_balance_temperature=None
    ),
)
"""The case without a word about its heating load."""


@lru_cache
def winter():
    return winter_case(SILENT, fitted(), season_case(SILENT), DRAWS)


def with_season(**changes):
    return replace(CASE, season=replace(CASE.season or Season(), **changes))


def test_what_is_not_given_is_filled_in_and_said():
    """Load line of AHRI 210/240, region IV: 0.77 Q(47) at 5 degF, none at 65 degF (from memory)."""
    rules = winter().rules
    assert rules.load(258.15) == pytest.approx(0.77 * CASE.unit.rated_heating_capacity)
    assert rules.load(291.49) == 0.0
    assert len(winter().assumptions) == 2
    assumed: list[str] = []
    given = with_season(heating_design_load=9000.0, heating_design_outdoor=265.0, backup_price=0.05)
    rules = heating_rules(given, given.season, assumed)
    assert (rules.design_load, rules.design_outdoor, rules.backup_price) == (9000.0, 265.0, 0.05)
    assert assumed == []


def test_defrost_on_demand_counts():
    demand = replace(CASE, unit=replace(CASE.unit, defrost="demand"))
    assert heating_rules(demand, demand.season, []).credit == pytest.approx(1.03)
    assert winter().rules.credit == 1.0


def test_more_fouling_costs_more_in_every_draw():
    for season in (winter().likely, winter().drawn):
        money = season.amounts.money.sum(axis=2)
        assert np.all(np.diff(money, axis=1) > 0.0)
    assert winter().drawn.samples == DRAWS


def test_dates_come_from_both_seasons():
    """Running cost of the two seasons is their sum, step by step and level by level."""
    level = np.linspace(0.0, 0.8, 17)
    summer = RunningCost(level, np.ones((1, 73, 17)), np.zeros((1, 73, 17)), np.ones(73, dtype=bool), 5)
    both = with_winter(summer, winter())
    added = both.cost - summer.cost
    assert added[0, :, 0].sum() == pytest.approx(float(winter().likely.year([[0.0]]).money.sum()))
    assert added[0, 2, 8] > added[0, 2, 0] > added[0, 40, 0]
    assert with_winter(summer, None) is summer


def test_which_cases_have_a_winter():
    assert has_winter(CASE, season_case(CASE))
    assert season_case(CASE).warnings == ()
    bins = with_season(weather="bins")
    assert not has_winter(bins, season_case(bins))
    assert season_case(bins).warnings == (WINTER_NEEDS_HOURS,)
    silent = replace(CASE, unit=replace(CASE.unit, rated_heating_capacity=None))
    assert not has_winter(silent, season_case(silent))
    assert season_case(silent).warnings == (HEATING_LEFT_OUT,)
