"""The year as tables: hours add up to what the season says, and months to the year."""

import numpy as np
import pytest

from dashboard.results.costs.season_cost import season_json
from dashboard.results.costs.year_table import check_ending, hour_table, month_table, write_columns


@pytest.fixture(scope="module")
def hours(priced):
    return hour_table(priced.season, "US")


def test_every_hour_is_there_once(hours):
    assert {len(column) for column in hours.values()} == {8760}
    calendar = list(zip(hours["day_of_year"], hours["hour"], strict=True))
    assert len(set(calendar)) == 8760 and calendar == sorted(calendar)
    assert hours["month"][0] == 1 and hours["month"][-1] == 12


def test_hours_add_up_to_the_season(hours, priced):
    year = season_json(priced.season, "US")["year"]
    clean = hours["power_clean [W]"].sum() / 1000.0
    assert clean == pytest.approx(year["clean"]["energy"]["value"], abs=0.6)
    for name, key in (("fouled", "today"), ("growing", "coming")):
        added = hours[f"power_{name} [W]"].sum() / 1000.0 - clean
        assert added == pytest.approx(year[key]["energy"]["value"], abs=1.1)


def test_a_fouled_coil_cools_no_more_and_a_hotter_hour_asks_for_more(hours):
    cooled = hours["load [Btu/h]"] > 0.0
    assert np.all(hours["capacity_fouled [Btu/h]"][cooled] <= hours["capacity_clean [Btu/h]"][cooled] + 1.0)
    assert np.corrcoef(hours["outdoor_db [degF]"], hours["load [Btu/h]"])[0, 1] > 0.5
    served = hours["cooling_clean [Btu/h]"].sum() + hours["unmet_clean [Btu/h]"].sum()
    assert served == pytest.approx(hours["load [Btu/h]"].sum(), rel=1e-6)


def test_months_add_up_to_the_year(priced):
    months = month_table(priced.season)
    assert list(months["month"]) == list(range(1, 13))
    year = season_json(priced.season, "US")["year"]
    assert months["energy_clean [kWh]"].sum() == pytest.approx(year["clean"]["energy"]["value"], abs=0.6)
    added = months["money_fouled [USD]"].sum() - months["money_clean [USD]"].sum()
    assert added == pytest.approx(year["today"]["money"]["value"], abs=0.6)


def test_both_formats_hold_the_same(hours, tmp_path):
    import pandas as pd

    for ending in (".csv", ".parquet"):
        write_columns(tmp_path / f"hours{ending}", hours)
    plain, packed = pd.read_csv(tmp_path / "hours.csv"), pd.read_parquet(tmp_path / "hours.parquet")
    assert list(plain.columns) == list(packed.columns) == list(hours)
    pd.testing.assert_frame_equal(plain, packed, check_dtype=False, rtol=1e-9)


def test_another_ending_is_refused_before_any_work(tmp_path):
    with pytest.raises(ValueError, match=r"-o: .*hours.txt ends in .txt; .csv or .parquet is expected"):
        check_ending(tmp_path / "hours.txt", "-o")
