"""Hours of a case's year: the season's totals are their sums, and bins have none."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.case.records import TariffEntry
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.season_cost import season_findings
from calibration.costs.year_by_hour import year_by_hour
from dashboard.commands.demo import DEMO_CASE


@pytest.fixture(scope="module")
def found():
    case = read_case(DEMO_CASE)
    return season_findings(case, baseline_of(case), draws=2)


def test_energy_of_the_hours_is_that_of_the_season(found):
    hours = year_by_hour(found)
    for season, outcome in (
        (hours.clean, found.today.clean),
        (hours.fouled, found.today.fouled),
        (hours.growing, found.coming.fouled),
    ):
        assert 3600.0 * season.power.sum() == pytest.approx(outcome.totals.energy.sum(), rel=1e-9)
    assert hours.load.shape == hours.price.shape == hours.carbon.shape == (8760,)


def test_fouling_that_grows_costs_more_than_today_only_after_today(found):
    hours = year_by_hour(found)
    more = hours.growing.power[0] - hours.fouled.power[0]
    on_from_today = hours.year.day >= found.unit.day
    assert more[on_from_today].sum() > 0.0
    assert np.all(hours.growing.capacity[0] <= hours.clean.capacity[0] + 1e-6)


def test_bins_have_no_hours():
    case = read_case(DEMO_CASE)
    binned = replace(case, season=replace(case.season, weather="bins"))
    found = season_findings(binned, baseline_of(case), draws=2)
    with pytest.raises(ValueError, match="temperature bins have no hours"):
        year_by_hour(found)


def test_money_of_the_hours_is_that_of_the_bill_with_own_generation():
    """Hours in which the household exports have the export price; bills are rounded to the cent by month."""
    case = read_case(DEMO_CASE)
    tariff = TariffEntry(0.2, generation=(600.0 * 3.6e6,) * 12, export_price=0.05)
    sunny = replace(case, season=replace(case.season, tariff=tariff))
    found = season_findings(sunny, baseline_of(case), draws=2)
    hours = year_by_hour(found)
    money = hours.energy_cost(hours.fouled)
    assert money.sum() == pytest.approx(found.today.fouled.bill.energy_cents.sum() / 100.0, abs=0.06)
    bought = hours.fouled.power[0] / 1e3 * hours.price
    assert money.sum() < 0.95 * bought.sum()
