"""The toll of a case, and the unit behind it, on the demo."""

import datetime as dt
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.costs.fouled_unit import DRAWS, fouled_unit
from calibration.costs.growth_fit import day_of_year
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import cost_estimates, season_findings
from calibration.diagnosis.finding import find
from model.cycle.faults import Faults
from model.cycle.solve import solve
from model.season.cycle_table import cycle_table
from model.season.tariff import Tariff
from tests.calibration.demo_in_bins import DEMO, HOURLY, baseline
from tests.model.season.floating_humidity import Moisture, indoor_wet_bulb
from tests.model.synthetic_unit import season_fouling_cost

DONE: list[float] = []


@cache
def findings():
    return season_findings(DEMO, baseline(), progress=DONE.append)


def test_todays_level_is_that_of_the_visit():
    found = find(DEMO, DEMO.found_visits[-1], baseline=baseline()).blocked
    unit = findings().unit
    assert unit.today == dt.date(2026, 8, 12)
    assert unit.level == pytest.approx(found.value, abs=0.001)  # a thousandth of the draws is clean
    low, high = np.quantile(unit.levels, [0.05, 0.95])
    assert low == pytest.approx(found.low, abs=0.02)
    assert high == pytest.approx(found.high, abs=0.02)
    assert "late summer" in unit.level_from


def unit_found(verdict, fouling):
    """The demo's unit, where the finding of its visit has another verdict and probability of fouling."""
    finding = findings().unit.finding
    treatments = tuple(
        replace(one, probability=fouling) if one.key == "clean_condenser" else one
        for one in finding.treatments
    )
    claimed = ("clean_condenser",) if verdict == "fault" and fouling > 0.5 else ()
    known = replace(finding, verdict=verdict, treatments=treatments, claimed=claimed)
    return fouled_unit(DEMO, baseline(), season_case(DEMO), findings={finding.visit.label: known})


@pytest.mark.parametrize(("verdict", "fouling"), [("inconclusive", 0.55), ("no_fault", 0.1)])
def test_fouling_that_is_not_claimed_may_be_none(verdict, fouling):
    """So many draws are clean as the finding gives to a clean coil."""
    unit = unit_found(verdict, fouling)
    assert not unit.is_proven and not unit.if_fouled
    assert np.mean(unit.levels == 0.0) == pytest.approx(1.0 - fouling, abs=0.01)
    assert unit.level == pytest.approx(np.median(unit.levels), abs=0.02)
    assert f"the coil clean with a probability of {100 * (1 - fouling):.0f} %" in unit.level_from


@pytest.mark.parametrize(
    ("verdict", "fouling"), [("fault", 0.05), ("inconclusive", 0.45), ("none_of_these", 0.3)]
)
def test_where_the_readings_point_elsewhere_fouling_is_only_supposed(verdict, fouling):
    """The costs are those of a fouled coil, every draw of it, and the unit says that it is only supposed."""
    unit = unit_found(verdict, fouling)
    assert unit.if_fouled and unit.has_readings and not unit.is_proven
    assert unit.level == pytest.approx(unit.finding.blocked.value, abs=0.005)
    assert not np.any(unit.levels == 0.0)
    assert "supposing that its coil is fouled" in unit.level_from


def test_the_table_is_that_of_the_fitted_unit():
    unit, room = findings().unit, findings().inputs.room
    point = solve(baseline().unit, replace(room, outdoor_temperature=305.0), Faults(condenser_blocked=0.35))
    found = unit.table.at(305.0, 0.35)
    assert found.total_capacity == pytest.approx(float(point.net_capacity), rel=5e-3)
    assert found.total_power == pytest.approx(float(point.total_power), rel=5e-3)


def test_draws_lie_around_the_most_likely_unit_as_wide_as_predicted():
    from calibration.clean_fit.prediction import predicted

    room = replace(findings().inputs.room, outdoor_temperature=308.15)
    drawn = findings().unit.tables.at(np.full((DRAWS, 1), 308.15), np.zeros((DRAWS, 1))).total_capacity[:, 0]
    expected = predicted(baseline(), room)
    own = 0.02 * float(expected.point.net_capacity)  # the model's own part is not drawn for a clean unit
    carried = np.sqrt(float(expected.standard_errors["net_capacity"]) ** 2 - own**2)
    assert drawn.mean() == pytest.approx(float(expected.point.net_capacity), rel=0.01)
    assert drawn.std() == pytest.approx(carried, rel=0.25)


@pytest.mark.parametrize(("outdoor_air", "indoor_gain"), [(0.015, 1.0e-4), (0.06, 3.0e-4)])
def test_a_room_whose_humidity_floats_has_nearly_the_same_toll(outdoor_air, indoor_gain):
    """The season holds one humidity. Where it floats between leaks, people and coil, from a tight house to a
    leaky one in a humid climate, the year's energy moves by up to 4 %, the toll by less than 1 %.
    """
    inputs, unit = season_case(HOURLY), baseline().unit
    dry = float(inputs.room.return_temperature)
    table = cycle_table(unit, inputs.room, wet_bulb=np.arange(283.15, 296.2, 1.0))
    room = Moisture(outdoor_air, indoor_gain, dry)
    setting = replace(inputs.setting, tariff=Tariff(0.17))
    floats = replace(setting, wet_bulb=indoor_wet_bulb(table, setting.year, setting.load, room))
    held = season_fouling_cost(cycle_table(unit, inputs.room), setting, 0.4)
    found = season_fouling_cost(table, floats, 0.4)
    assert np.ptp(floats.wet_bulb[setting.load.sensible > 0.0]) > 4.0
    assert found.clean.totals.energy.sum() == pytest.approx(held.clean.totals.energy.sum(), rel=0.04)
    assert found.energy.sum() == pytest.approx(held.energy.sum(), rel=0.01)


def test_months_add_up_and_lie_in_the_interval():
    assert findings().today.cents.sum() == findings().today.year_cents[0]
    told = cost_estimates(findings().today_drawn)
    assert told["money"].low <= findings().today.year_cents[0] / 100 <= told["money"].high
    assert told["energy"].low <= findings().today.energy.sum() <= told["energy"].high
    assert 0.0 < told["energy_share"].low < told["energy_share"].high < 0.5
    for estimate in told.values():
        assert estimate.low <= estimate.value <= estimate.high


def test_carbon_is_energy_times_its_intensity():
    told = cost_estimates(findings().today_drawn)
    assert told["carbon"].value == pytest.approx(told["energy"].value / 3.6e6 * 0.37, rel=1e-6)


def test_growing_dirt_takes_more_and_the_unit_trips_sooner():
    assert findings().coming.energy.sum() > findings().today.energy.sum()
    assert findings().trip_today.low < findings().trip_clean.low
    assert findings().extra_today is None
    assert findings().extra_coming is None


def test_progress_goes_from_nothing_to_all():
    assert sorted(DONE) == DONE
    assert DONE[-1] == pytest.approx(1.0)


def test_the_same_case_gives_the_same_answer():
    again = season_findings(DEMO, baseline())
    assert np.array_equal(again.today_drawn.cents, findings().today_drawn.cents)
    assert np.array_equal(again.coming.cents, findings().coming.cents)


def test_later_days_are_dirtier():
    inputs = season_case(DEMO)
    later = fouled_unit(DEMO, baseline(), inputs, dt.date(2027, 7, 1))
    assert later.level > findings().unit.level + 0.25
    assert later.day == day_of_year(dt.date(2027, 7, 1)) == 181


def test_without_an_as_found_visit_time_alone_speaks():
    clean_only = replace(DEMO, visits=DEMO.clean_visits)
    inputs = season_case(clean_only)
    unit = fouled_unit(clean_only, baseline(), inputs, dt.date(2026, 7, 1))
    assert "since the last cleaning" in unit.level_from
    assert 0.3 < unit.level < 0.5
    assert unit.levels.std() > 0.02


def test_a_coil_that_was_cleaned_after_the_visit_is_clean():
    after = replace(DEMO.clean_visits[0], label="after cleaning", date=dt.date(2026, 8, 13))
    case = replace(DEMO, visits=(*DEMO.visits, after))
    unit = fouled_unit(case, baseline(), season_case(case), draws=2)
    assert (unit.today, unit.level) == (after.date, 0.0)
    assert "since the last cleaning, 2026-08-13" in unit.level_from
    assert not unit.has_readings


def test_with_nothing_known_the_coil_is_clean_and_a_date_is_needed():
    bare = replace(DEMO, visits=(), cleaning=None)
    inputs = season_case(bare)
    with pytest.raises(ValueError, match="no visit has a date; one is expected at a visit"):
        fouled_unit(bare, baseline(), inputs)
    unit = fouled_unit(bare, baseline(), inputs, dt.date(2026, 7, 1))
    assert unit.level == 0.0
    assert "no visit as found and no date of a cleaning is known" in unit.level_from
    assert unit.growths.rate.std() > 0.02  # the published spread


def test_asymptotic_draws_keep_their_time_constant():
    cleaning = replace(DEMO.cleaning, growth_form="asymptotic", growth_rate=0.1, time_constant=4.0, bursts=())
    case = replace(DEMO, cleaning=cleaning)
    unit = fouled_unit(case, baseline(), season_case(case))
    assert np.allclose(np.asarray(unit.growths.limit) / np.asarray(unit.growths.rate), 4.0)


def test_fewer_draws_are_the_first_of_many_in_kind():
    few = season_findings(DEMO, baseline(), draws=5)
    assert few.today_drawn.year_cents.shape == (5,)
    assert few.today.year_cents == findings().today.year_cents
    with pytest.raises(ValueError, match="draws must be 2 or more, got 1"):
        season_findings(DEMO, baseline(), draws=1)


def test_a_visit_without_a_date_counts_as_of_today_and_the_last_of_a_day_counts():
    found = DEMO.found_visits[-1]
    undated = replace(DEMO, visits=(*DEMO.clean_visits, replace(found, date=None)))
    inputs = season_case(undated)
    today = dt.date(2026, 9, 1)
    unit = fouled_unit(undated, baseline(), inputs, today, draws=2)
    assert unit.has_readings
    assert unit.level == pytest.approx(findings().unit.level)
    twice = replace(DEMO, visits=(*DEMO.visits, replace(found, label="the same day, later")))
    assert "the same day, later" in fouled_unit(twice, baseline(), inputs, today, draws=2).level_from


def test_leap_day_counts_as_the_day_before():
    assert day_of_year(dt.date(2028, 2, 29)) == day_of_year(dt.date(2028, 2, 28)) == 58
    assert day_of_year(dt.date(2026, 12, 31)) == 364


def test_an_hourly_year_has_its_map():
    found = season_findings(HOURLY, baseline(), draws=2)
    assert found.extra_today.shape == found.extra_coming.shape == (365, 24)
    assert found.extra_today.sum() * 3600.0 == pytest.approx(found.today.energy.sum())
    assert found.extra_coming.sum() * 3600.0 == pytest.approx(found.coming.energy.sum())
    assert found.extra_today[180:240].max() > 100.0


def test_two_stages_use_less_and_lose_less():
    """The same readings, its nameplate with a low stage: the year is cheaper, and so is its fouling."""
    unit = replace(DEMO.unit, stages=(0.67, 1.0), outdoor_fan_speeds=(0.7, 1.0), blower_speeds=(0.7, 1.0))
    single = findings()
    staged = season_findings(replace(DEMO, unit=unit), baseline(), draws=2)
    one, two = (float(found.today.clean.totals.energy.sum()) for found in (single, staged))
    assert 0.65 < two / one < 0.85
    assert staged.today.energy.sum() < 0.9 * single.today.energy.sum()
    assert len(staged.unit.table.slower) == len(staged.unit.tables.slower) == 1


def test_a_variable_speed_year_is_cheaper_still():
    speeds = {"outdoor_fan_speeds": (0.7, 1.0), "blower_speeds": (0.7, 1.0)}
    staged, varies = (
        season_findings(replace(DEMO, unit=replace(DEMO.unit, **speeds, **kind)), baseline(), draws=2)
        for kind in ({"stages": (0.67, 1.0)}, {"speed_range": (0.67, 1.0)})
    )
    used = [float(found.today.clean.totals.energy.sum()) for found in (staged, varies)]
    assert 0.93 * used[0] < used[1] < used[0]
